"""Small models of a zone from one record of a step, and the relay experiment.

All take what was seen: times [s] from the step on, the first reading being the one before it answered.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .loop_models import F64, FirstOrder, Integrating, UltimatePoint, checked
from .materials import StackError
from .ultimate import relay_point

# A record has settled when its last tenth adds no more than this share of the whole rise.
_SETTLED = 0.02
# Shares of the rise a first-order lag has made after a third of its lag and after all of it.
_EARLY, _LATE = 1.0 - math.exp(-1.0 / 3.0), 1.0 - math.exp(-1.0)
# Lags and sums with dead time tried at once, how often the grid closes in, and by how much.
_GRID, _ZOOMS, _CLOSER = 25, 24, 0.4


def _record(times_s: F64, readings: F64, duty: float, least: int) -> tuple[F64, F64]:
    """Times and rises above the first reading, per unit duty; StackError where they cannot be a record."""
    checked("duty", duty, "1", "step the duty up")
    t, y = np.asarray(times_s, dtype=np.float64), np.asarray(readings, dtype=np.float64)
    if t.ndim != 1 or t.shape != y.shape or len(t) < least:
        seen, limit = f"{t.size} times, {y.size} readings", f"must be as many, {least} or more"
        raise StackError("range", "record", seen, limit, "readings", "record the whole step")
    if not (np.all(np.isfinite(t)) and np.all(np.isfinite(y)) and np.all(np.diff(t) > 0.0)):
        limit = "must be finite, and times must rise"
        raise StackError("range", "record", "a gap or a jump", limit, "", "leave out what was not read")
    return t, (y - y[0]) / duty


def _gain(t: F64, rise: F64) -> float:
    """Rise at the end [K per unit duty], if it has come to rest there."""
    final = checked("rise", float(rise[-1]), "K", "the reading did not rise: check what is heated")
    tenth = t[-1] - 0.1 * (t[-1] - t[0])
    moved = abs(final - float(np.interp(tenth, t, rise))) / final
    if moved > _SETTLED:
        limit = f"must be {_SETTLED:g} or less"
        raise StackError("range", "rise in the last tenth", f"{moved:.3g}", limit, "of all", "record longer")
    return final


def _dead_s(seen_s: float, advice: str) -> float:
    return checked("dead_s", seen_s, "s", advice)


def tangent_model(times_s: F64, readings: F64, duty: float = 1.0, span_s: float = 0.0) -> FirstOrder:
    """First order plus dead time by the tangent where the rise is steepest (Ziegler and Nichols 1942).

    Dead time is where the tangent starts, lag is the whole rise over its slope.
    Args: times_s and readings [K], (n,) from the step until all is at rest, n 5 or more; duty of the step;
    span_s, over how long a slope is taken by least squares [s], at least three readings.
    Raises StackError for a record that is none, has not settled, or leaves a dead time not above 0.
    """
    checked("span_s", span_s, "s", "use 0 for three readings", zero=True)
    t, rise = _record(times_s, readings, duty, 5)
    gain = _gain(t, rise)
    width = min(len(t), max(3, int(np.searchsorted(t, t[0] + span_s, side="right"))))
    spans_t = np.lib.stride_tricks.sliding_window_view(t, width)
    spans_y = np.lib.stride_tricks.sliding_window_view(rise, width)
    middle_t, middle_y = spans_t.mean(axis=1), spans_y.mean(axis=1)
    off_t = spans_t - middle_t[:, None]
    slopes = (off_t * spans_y).sum(axis=1) / (off_t**2).sum(axis=1)
    best = int(np.argmax(slopes))
    slope = float(slopes[best])
    dead_s = float(middle_t[best] - middle_y[best] / slope - t[0])
    advice = "read more often, or use early_model(), which needs none"
    return FirstOrder(gain, gain / slope, _dead_s(dead_s, advice))


def two_point_model(times_s: F64, readings: F64, duty: float = 1.0) -> FirstOrder:
    """First order plus dead time through 28.3 % and 63.2 % of the rise; formula seen second-hand.

    lag = 1.5 (t63.2 - t28.3), dead time = t63.2 - lag.  A plant that answers fast at first and slowly later,
    as a blanket with wood in it does, has no such model: the dead time comes out negative and is refused.
    Args times_s, readings, duty and errors as tangent_model().
    """
    t, rise = _record(times_s, readings, duty, 5)
    gain = _gain(t, rise)
    early_s, late_s = (_crossing_s(t, rise, share * gain) for share in (_EARLY, _LATE))
    lag_s = 1.5 * (late_s - early_s)
    advice = "the answer is not S-shaped; use tangent_model() or early_model()"
    return FirstOrder(gain, lag_s, _dead_s(late_s - lag_s, advice))


def _crossing_s(t: F64, rise: F64, level: float) -> float:
    """When the rise first reaches a level, in straight lines between readings, from the step on [s]."""
    k = int(np.argmax(rise >= level))
    share = (level - rise[k - 1]) / (rise[k] - rise[k - 1])
    return float(t[k - 1] + share * (t[k] - t[k - 1]) - t[0])


def early_model(times_s: F64, readings: F64, duty: float = 1.0, until_s: float = 30.0) -> Integrating:
    """Integrator, lag and dead time that fit the first seconds of a step best, by least squares.

    The slow lags of the wood count as an integrator, as the half rule would have it, so nothing needs to
    settle.  rise = k' (t - L - T (1 - exp(-(t - L) / T))); k' is solved for, L and T are searched.
    Args: times_s, readings, duty as tangent_model(); until_s, how much counts [s], 8 readings or more.
    Raises StackError for a record that is none or does not rise.  The dead time may come out as 0.
    """
    checked("until_s", until_s, "s", "use 30")
    t, rise = _record(times_s, readings, duty, 8)
    t = t - t[0]
    kept = t <= until_s
    if kept.sum() < 8:
        raise StackError("range", "until_s", until_s, "must span 8 readings", "s", "read more often")
    t, rise = t[kept], rise[kept]
    checked("rise", float(rise[-1]), "K", "the reading did not rise: check what is heated")
    end_s = float(t[-1])
    # Lag and dead time can hardly be told apart, their sum can: it is searched, and the lag within it.
    late_s, lag_s, width_s = 0.5 * end_s, 0.5 * end_s, 0.5 * end_s
    slope = dead_s = 0.0
    for _ in range(_ZOOMS):
        lags = np.clip(np.linspace(lag_s - width_s, lag_s + width_s, _GRID), 0.0, end_s)
        lates = np.linspace(late_s - width_s, late_s + width_s, _GRID)
        slope, dead_s, lag_s = _best_fit(t, rise, lates, lags, 0.9 * end_s)
        late_s = dead_s + lag_s
        width_s *= _CLOSER
    return Integrating(checked("slope", slope, "K/s", "check what is heated"), dead_s, lag_s)


def _best_fit(t: F64, rise: F64, lates: F64, lags: F64, last_s: float) -> tuple[float, float, float]:
    """Slope, dead time and lag of the pair on the grid that leaves the least sum of squares."""
    deads = np.clip(lates[:, None] - lags, 0.0, last_s)
    since = np.maximum(t - deads[..., None], 0.0)
    lag = lags[:, None]
    shape = since + lag * np.expm1(-since / np.maximum(lag, 1e-9))
    power = (shape**2).sum(axis=2)
    match = (shape * rise).sum(axis=2)
    slopes = match / np.maximum(power, 1e-300)
    # What a pair explains of the squares; one that would have the zone cool explains nothing.
    best = np.unravel_index(int(np.argmax(np.where(slopes > 0.0, match * slopes, 0.0))), slopes.shape)
    return float(slopes[best]), float(deads[best]), float(lags[best[1]])


@dataclass(frozen=True, slots=True)
class RelayFigures:
    """What a relay experiment saw.

    half_swing [duty], half_peak_to_peak [K], period_s [s], hysteresis [K], cycles measured.
    """

    half_swing: float
    half_peak_to_peak: float
    period_s: float
    hysteresis: float
    cycles: int

    def point(self) -> UltimatePoint:
        """The ultimate point it stands for; raises StackError as relay_point()."""
        return relay_point(self.half_swing, self.half_peak_to_peak, self.period_s, self.hysteresis)


def relay_experiment(
    advance: Callable[[float], float],
    target: float,
    duties: tuple[float, float] = (0.0, 1.0),
    *,
    sample_s: float = 1.0,
    hysteresis: float = 0.0,
    skip: int = 3,
    cycles: int = 6,
    limit_s: float = 7200.0,
) -> RelayFigures:
    """Switch between two duties around a target until the oscillation is even, then measure whole cycles.

    Starts with the higher duty.  The duty that holds the target should lie half way between the two: the
    further off, the longer the period against the true one.
    Args: advance(duty) lets sample_s [s] pass and gives the reading [K or C] after it; target, same scale;
    duties (lower, higher); hysteresis, half the relay's band [K]; skip, cycles to let pass, and cycles to
    measure, 1 or more; limit_s, give up after so long [s].
    Raises StackError for bad arguments, a reading that is not finite, or too few cycles within limit_s.
    """
    low, high = duties
    checked("higher duty less lower", high - low, "duty", "name the lower duty first")
    checked("sample_s", sample_s, "s", "use 1")
    checked("limit_s", limit_s, "s", "use 7200")
    checked("hysteresis", hysteresis, "K", "use 0 for none", zero=True)
    checked("cycles", cycles, "cycles", "use 6")
    checked("skip", skip, "cycles", "use 3", zero=True)
    readings: list[float] = []
    rises: list[int] = []
    on = True
    while len(rises) <= skip + cycles:
        if len(readings) * sample_s >= limit_s:
            seen, limit = max(len(rises) - 1, 0), f"must be {skip + cycles} within {limit_s:g} s"
            advice = "choose duties that can reach and leave the target, or wait longer"
            raise StackError("missing", "cycles", seen, limit, "cycles", advice)
        reading = float(advance(high if on else low))
        if not math.isfinite(reading):
            raise StackError("range", "reading", reading, "must be finite", "K", "find out why it is missing")
        readings.append(reading)
        was_on, on = on, reading < target + hysteresis if on else reading < target - hysteresis
        if on and not was_on:
            rises.append(len(readings))
    first, last = rises[skip], rises[-1]
    spans = [readings[rises[k] : rises[k + 1]] for k in range(skip, skip + cycles)]
    swing = sum(max(span) - min(span) for span in spans) / len(spans)
    return RelayFigures(
        0.5 * (high - low), 0.5 * swing, (last - first) * sample_s / cycles, hysteresis, cycles
    )
