"""A plant as a product of lags, and the half rule that makes a first- or second-order model of it.

Skogestad 2003, from memory; two of its reductions were seen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .loop_models import C128, F64, FirstOrder, Integrating, SecondOrder, checked
from .materials import StackError

# Dead time and cancelled zeros depend on each other; they settle in two or three rounds.
_ROUNDS = 50
# A zero this many times a lag, or more, is set against the next larger one.  Just below 1.6: the published
# example with 0.08 between 0.05 and 0.2 lies on the limit, and takes 0.2.
_NEAR = 1.6 - 1e-9


@dataclass(frozen=True, slots=True)
class LagModel:
    """gain prod(zeros_s s + 1) / prod(lags_s s + 1) exp(-dead_s s), over s once more where `integrating`.

    gain: [K], or [K/s] where integrating; above 0.  lags_s: [s], each above 0.  zeros_s: [s], positive where
    the plant leads, negative where it first answers the wrong way; no more of them than lags and integrator.
    dead_s: [s], 0 or above.  Raises StackError otherwise.
    """

    gain: float
    lags_s: tuple[float, ...] = ()
    zeros_s: tuple[float, ...] = ()
    dead_s: float = 0.0
    integrating: bool = False

    def __post_init__(self) -> None:
        checked("gain", self.gain, "K", "count heat as positive")
        checked("dead_s", self.dead_s, "s", "no plant answers before it is asked", zero=True)
        for lag_s in self.lags_s:
            checked("lags_s", lag_s, "s", "leave out what is no lag")
        for zero_s in self.zeros_s:
            checked("size of zeros_s", abs(zero_s), "s", "leave out what is no zero")
        poles = len(self.lags_s) + self.integrating
        if len(self.zeros_s) > poles:
            limit = f"must be {poles} or fewer"
            raise StackError(
                "range", "zeros_s", len(self.zeros_s), limit, "zeros", "add the lags they belong to"
            )

    def response(self, rad_s: F64) -> C128:
        """Complex gain at angular frequencies [rad/s], above 0 where integrating."""
        s = 1j * np.asarray(rad_s, dtype=np.float64)
        whole = self.gain * np.exp(-self.dead_s * s)
        for zero_s in self.zeros_s:
            whole = whole * (zero_s * s + 1.0)
        for lag_s in self.lags_s:
            whole = whole / (lag_s * s + 1.0)
        return np.asarray(whole / s if self.integrating else whole)


def first_order(model: LagModel) -> FirstOrder | Integrating:
    """First order plus dead time by the half rule; Integrating, without lag, where the plant integrates.

    The largest lag is kept with half of the next; the dead time gets the other half, all smaller lags and the
    negative zeros.  Positive zeros are cancelled first, see _without_lead().
    Args: model.  Raises StackError when no lag is left to keep.

    >>> first_order(LagModel(1.0, (1.0, 0.2)))
    FirstOrder(gain=1.0, lag_s=1.1, dead_s=0.1)
    """
    gain, kept_s, dead_s = _reduced(model, 1)
    return Integrating(gain, dead_s) if model.integrating else FirstOrder(gain, kept_s[0], dead_s)


def second_order(model: LagModel) -> SecondOrder | Integrating:
    """Second order plus dead time by the half rule; Integrating, with one lag, where the plant integrates.

    As first_order(), but two lags are kept and the smaller gets half of the third.
    Args: model.  Raises StackError when no lag is left to keep.

    >>> second_order(LagModel(1.0, (1.0, 1.0, 1.0, 1.0)))
    SecondOrder(gain=1.0, lag_s=1.5, second_lag_s=1.0, dead_s=1.5)
    """
    gain, kept_s, dead_s = _reduced(model, 2)
    if model.integrating:
        return Integrating(gain, dead_s, kept_s[1])
    large_s, small_s = sorted(kept_s, reverse=True)
    return SecondOrder(gain, large_s, small_s, dead_s)


def _reduced(model: LagModel, order: int) -> tuple[float, list[float], float]:
    """Gain, the `order` kept lags [s] and the dead time [s]; an integrator is a lag without end.

    The rule for positive zeros asks for the dead time it leads to.  Rounds start from the one without zeros;
    where more than one agrees with itself, that finds the longer.
    """
    leads_s = sorted((zero_s for zero_s in model.zeros_s if zero_s > 0.0), reverse=True)
    wrong_way_s = -sum(zero_s for zero_s in model.zeros_s if zero_s < 0.0)
    ends = [math.inf] if model.integrating else []
    _, dead_s = _halved(ends + sorted(model.lags_s, reverse=True), order)
    dead_s += model.dead_s + wrong_way_s
    for _ in range(_ROUNDS):
        gain, lags_s = _without_lead(model.gain, list(model.lags_s), leads_s, dead_s)
        kept_s, more_s = _halved(ends + sorted(lags_s, reverse=True), order)
        before_s, dead_s = dead_s, model.dead_s + wrong_way_s + more_s
        if math.isclose(before_s, dead_s, rel_tol=1e-12, abs_tol=0.0):
            return gain, kept_s, dead_s
    raise StackError(
        "range", "zeros_s", model.zeros_s, "must leave one dead time", "s", "reduce the model by hand"
    )


def _halved(lags_s: list[float], order: int) -> tuple[list[float], float]:
    """The kept lags and what goes to the dead time [s], of lags from large to small."""
    if not lags_s:
        raise StackError(
            "missing", "lags_s", "none left", "one is needed", "lag", "the plant has no lag to keep"
        )
    kept_s, rest_s = lags_s[:order] + [0.0] * (order - len(lags_s)), lags_s[order:]
    if not rest_s:
        return kept_s, 0.0
    kept_s[-1] += 0.5 * rest_s[0]
    return kept_s, 0.5 * rest_s[0] + sum(rest_s[1:])


def _without_lead(
    gain: float, lags_s: list[float], leads_s: list[float], dead_s: float
) -> tuple[float, list[float]]:
    """Gain and lags [s] once every positive zero T0 is set against a lag t0, with the dead time L in mind.

    T0 above t0: T0 / t0 where t0 is above L; T0 / L where L lies between; 1 where L is above both.
    T0 below t0: T0 / t0 where T0 is above 5 L, else a lag t - T0 and a factor t / t0, t = min(t0, 5 L).
    """
    for lead_s in leads_s:
        lag_s = _partner_s(lead_s, lags_s)
        lags_s.remove(lag_s)
        if lead_s > lag_s:
            gain *= max(lead_s, dead_s) / max(lag_s, dead_s)
        elif lead_s >= 5.0 * dead_s:
            gain *= lead_s / lag_s
        else:
            short_s = min(lag_s, 5.0 * dead_s)
            gain *= short_s / lag_s
            if short_s > lead_s:
                lags_s.append(short_s - lead_s)
    return gain, lags_s


def _partner_s(lead_s: float, lags_s: list[float]) -> float:
    """The lag [s] a positive zero is set against: the next larger, or a smaller one that is nearer."""
    larger = [lag_s for lag_s in lags_s if lag_s >= lead_s]
    smaller = [lag_s for lag_s in lags_s if lag_s < lead_s]
    if not larger and not smaller:
        raise StackError(
            "missing", "lags_s", "none left", f"one is needed for the zero of {lead_s}", "s", "add its lag"
        )
    if not larger:
        return max(smaller)
    above_s = min(larger)
    if smaller:
        below_s = max(smaller)
        if lead_s / below_s < min(_NEAR, above_s / lead_s):
            return below_s
    return above_s
