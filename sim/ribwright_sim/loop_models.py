"""Small models of a heated zone and the settings of its PID, as textbook tuning rules speak of them.

A gain is in readings per unit of duty [K], so a controller's gain is in duty per reading [1/K].
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from .materials import StackError

F64 = NDArray[np.float64]
C128 = NDArray[np.complex128]
# What stands on the left for frequencies [rad/s] on the right: a plant, a controller or both in a row.
Response = Callable[[F64], C128]


def checked(where: str, value: float, unit: str, advice: str, *, zero: bool = False) -> float:
    """The value, if it is finite and above 0 (or 0, where `zero`); raises StackError otherwise.

    Args: where, value and its unit; advice, the next step for a person; zero, whether 0 will do.
    """
    if math.isfinite(value) and (value > 0.0 or (zero and value == 0.0)):
        return float(value)
    limit = "must be finite and 0 or above" if zero else "must be finite and above 0"
    raise StackError("range", where, value, limit, unit, advice)


@dataclass(frozen=True, slots=True)
class FirstOrder:
    """gain exp(-dead_s s) / (lag_s s + 1): a first-order lag behind a dead time.

    gain [K], lag_s [s] above 0, dead_s [s] 0 or above; raises StackError otherwise.
    """

    gain: float
    lag_s: float
    dead_s: float

    def __post_init__(self) -> None:
        checked("gain", self.gain, "K", "count heat as positive")
        checked("lag_s", self.lag_s, "s", "take a model without this lag")
        checked("dead_s", self.dead_s, "s", "the record does not fit this model; take another", zero=True)

    def response(self, rad_s: F64) -> C128:
        """Complex gain at angular frequencies [rad/s]."""
        s = 1j * np.asarray(rad_s, dtype=np.float64)
        return np.asarray(self.gain * np.exp(-self.dead_s * s) / (self.lag_s * s + 1.0))


@dataclass(frozen=True, slots=True)
class SecondOrder:
    """gain exp(-dead_s s) / ((lag_s s + 1)(second_lag_s s + 1)): two lags behind a dead time.

    gain [K], lag_s [s] above 0, second_lag_s [s] 0 to lag_s, dead_s [s] 0 or above; StackError otherwise.
    """

    gain: float
    lag_s: float
    second_lag_s: float
    dead_s: float

    def __post_init__(self) -> None:
        checked("gain", self.gain, "K", "count heat as positive")
        checked("lag_s", self.lag_s, "s", "take a model without this lag")
        checked("second_lag_s", self.second_lag_s, "s", "take a model without this lag", zero=True)
        checked("dead_s", self.dead_s, "s", "the record does not fit this model; take another", zero=True)
        if self.second_lag_s > self.lag_s:
            limit = f"must be {self.lag_s} or less"
            raise StackError(
                "range", "second_lag_s", self.second_lag_s, limit, "s", "name the larger lag first"
            )

    def response(self, rad_s: F64) -> C128:
        """Complex gain at angular frequencies [rad/s]."""
        s = 1j * np.asarray(rad_s, dtype=np.float64)
        lags = (self.lag_s * s + 1.0) * (self.second_lag_s * s + 1.0)
        return np.asarray(self.gain * np.exp(-self.dead_s * s) / lags)


@dataclass(frozen=True, slots=True)
class Integrating:
    """slope_per_s exp(-dead_s s) / (s (lag_s s + 1)): heat piles up, behind a lag and a dead time.

    slope_per_s [K/s at full duty] above 0, dead_s and lag_s [s] 0 or above; raises StackError otherwise.
    """

    slope_per_s: float
    dead_s: float
    lag_s: float = 0.0

    def __post_init__(self) -> None:
        checked("slope_per_s", self.slope_per_s, "K/s", "count heat as positive")
        checked("dead_s", self.dead_s, "s", "the record does not fit this model; take another", zero=True)
        checked("lag_s", self.lag_s, "s", "take a model without this lag", zero=True)

    def response(self, rad_s: F64) -> C128:
        """Complex gain at angular frequencies [rad/s] above 0."""
        s = 1j * np.asarray(rad_s, dtype=np.float64)
        return np.asarray(self.slope_per_s * np.exp(-self.dead_s * s) / (s * (self.lag_s * s + 1.0)))


Model = TypeVar("Model", FirstOrder, SecondOrder, Integrating)


def with_window(model: Model, window_s: float) -> Model:
    """The model with half a window more dead time: what holding a duty for a whole window costs.

    Args: model; window_s, the relay window [s], finite and 0 or above, StackError otherwise.

    >>> with_window(FirstOrder(337.0, 183.0, 4.4), 1.0).dead_s
    4.9
    """
    half_s = 0.5 * checked("window_s", window_s, "s", "use 1", zero=True)
    return replace(model, dead_s=model.dead_s + half_s)


@dataclass(frozen=True, slots=True)
class UltimatePoint:
    """Gain [1/K] at which a purely proportional loop just keeps oscillating, and the period [s] it has."""

    gain: float
    period_s: float

    def __post_init__(self) -> None:
        checked("ultimate gain", self.gain, "1/K", "repeat the experiment")
        checked("period_s", self.period_s, "s", "repeat the experiment")


@dataclass(frozen=True, slots=True)
class PidSettings:
    """Ideal form: u = kc (e + integral(e) / ti_s + td_s de/dt).

    kc [1/K] above 0, ti_s [s] above 0 or infinite for no integral, td_s [s] 0 or above; StackError otherwise.
    """

    kc: float
    ti_s: float = math.inf
    td_s: float = 0.0

    def __post_init__(self) -> None:
        _check_settings(self.kc, self.ti_s, self.td_s)

    @property
    def ki(self) -> float:
        """Integral gain kc / ti_s [1/(K s)], 0 without integral."""
        return self.kc / self.ti_s

    @property
    def kd(self) -> float:
        """Derivative gain kc td_s [s/K]."""
        return self.kc * self.td_s

    def response(self, rad_s: F64) -> C128:
        """Complex gain at angular frequencies [rad/s] above 0, without a derivative filter."""
        s = 1j * np.asarray(rad_s, dtype=np.float64)
        return np.asarray(self.kc + self.ki / s + self.kd * s)


@dataclass(frozen=True, slots=True)
class SeriesSettings:
    """Series form: kc (1 + 1 / (ti_s s)) (1 + td_s s), the form SIMC is stated in; limits as PidSettings."""

    kc: float
    ti_s: float
    td_s: float = 0.0

    def __post_init__(self) -> None:
        _check_settings(self.kc, self.ti_s, self.td_s)


def _check_settings(kc: float, ti_s: float, td_s: float) -> None:
    checked("kc", kc, "1/K", "correct the model the rule was given")
    checked("td_s", td_s, "s", "correct the model the rule was given", zero=True)
    if ti_s != math.inf:
        checked("ti_s", ti_s, "s", "leave it out for no integral")
