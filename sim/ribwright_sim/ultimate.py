"""Where a loop starts to oscillate, what a relay experiment makes of it, and how close a loop comes to it."""

from __future__ import annotations

import math

import numpy as np

from .loop_models import C128, F64, PidSettings, Response, UltimatePoint, checked
from .materials import StackError

# Frequencies a search looks at; each crossing between two of them is then halved down to round-off.
_POINTS = 20_000
_HALVINGS = 60
# Frequencies at a time for which a table of all powers is no larger than a step through them.
_FEW = 12
LOW_RAD_S, HIGH_RAD_S = 1e-5, 1e3
# A part so much smaller than the whole is round-off.
_DUST = 1e-9


def _frequencies(low_rad_s: float, high_rad_s: float) -> F64:
    checked("low_rad_s", low_rad_s, "rad/s", "start the search above 0")
    checked("high_rad_s", high_rad_s, "rad/s", "end the search above its start")
    if high_rad_s <= low_rad_s:
        limit = f"must be above {low_rad_s}"
        raise StackError("range", "high_rad_s", high_rad_s, limit, "rad/s", "end the search above its start")
    return np.geomspace(low_rad_s, high_rad_s, _POINTS)


def ultimate_point(
    response: Response, low_rad_s: float = LOW_RAD_S, high_rad_s: float = HIGH_RAD_S
) -> UltimatePoint:
    """Smallest proportional gain at which the loop oscillates, and its period.

    Ku = 1 / |G| where G is real and negative.  Of several such crossings the largest |G| counts, which is
    right for plants that are stable with a small gain.
    Args: response, complex gain of the plant; low_rad_s and high_rad_s, where to look [rad/s].
    Raises StackError where no gain makes the loop oscillate in that range.
    """
    rad_s = _frequencies(low_rad_s, high_rad_s)
    seen = response(rad_s)
    ends = np.flatnonzero(np.sign(seen.imag[:-1]) * np.sign(seen.imag[1:]) <= 0.0)
    low, high = rad_s[ends], rad_s[ends + 1]
    sign = np.sign(seen.imag[ends])
    for _ in range(_HALVINGS if len(ends) else 0):
        middle = 0.5 * (low + high)
        before = np.sign(response(middle).imag) == sign
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    found = np.append(0.5 * (low + high), high_rad_s)
    there = response(found)
    # The top counts only where it is itself real, as half the sampling rate is.
    real = np.append(np.ones(len(ends), dtype=bool), abs(there[-1].imag) <= _DUST * abs(there[-1]))
    depth = np.where(real & (there.real < 0.0), -there.real, 0.0)
    best = int(np.argmax(depth))
    if not depth[best] > 0.0:
        span = f"must turn by half a period between {low_rad_s:g} and {high_rad_s:g}"
        raise StackError(
            "missing", "ultimate gain", "no oscillation", span, "rad/s", "add dead time, or look elsewhere"
        )
    return UltimatePoint(1.0 / float(depth[best]), 2.0 * math.pi / float(found[best]))


def sampled_ultimate_point(
    response: Response, sample_s: float, low_rad_s: float = LOW_RAD_S
) -> UltimatePoint:
    """Ultimate gain and period of a sampled loop, up to an oscillation of two samples.

    Args: response of the sampled plant, from LinearPlant.sampled() or sampled_response(); sample_s [s];
    low_rad_s, where to start looking [rad/s].
    Raises StackError as ultimate_point(), and for a sample_s not above 0.
    """
    checked("sample_s", sample_s, "s", "use 1")
    return ultimate_point(response, low_rad_s, math.pi / sample_s)


def sampled_response(step_readings: F64, sample_s: float) -> Response:
    """Response of a sampled plant from its step response: the sum of its rises times z^-k.

    Beyond the record the rises go on as they did in its last tenth: they fade by a constant factor, or stay
    as they are where the plant integrates.  Exact for a linear plant once only its slowest lag is left.
    Args: step_readings (n,), readings [K] after a unit step at sample 0, the first at sample 0, n above 20;
    sample_s [s].  Raises StackError for a shorter record or one with a reading that is not finite.
    """
    checked("sample_s", sample_s, "s", "use 1")
    readings = np.asarray(step_readings, dtype=np.float64)
    if readings.ndim != 1 or len(readings) <= 20 or not np.all(np.isfinite(readings)):
        seen = f"{readings.size} readings"
        limit = "must be above 20 and all finite"
        raise StackError("range", "step_readings", seen, limit, "readings", "record the whole step")
    rises = np.diff(readings)
    part = len(rises) // 20
    late, later = float(rises[-2 * part : -part].sum()), float(rises[-part:].sum())
    fade = (later / late) ** (1.0 / part) if late > 0.0 and later > 0.0 else 0.0
    fade = min(fade, 1.0)
    last, count = float(rises[-1]), len(rises)
    turns = -1j * sample_s * np.arange(1, count + 1)

    def response(rad_s: F64) -> C128:
        rad_s = np.asarray(rad_s, dtype=np.float64)
        back = np.exp(-1j * rad_s * sample_s)
        tail = last * fade * back ** (count + 1) / (1.0 - fade * back)
        # For the few frequencies that a search narrows down, all powers at once are ten times as quick.
        if rad_s.size <= _FEW:
            return np.asarray(np.exp(rad_s[..., None] * turns) @ rises + tail)
        return np.asarray(back * np.polyval(rises[::-1], back) + tail)

    return response


def relay_point(
    half_swing: float, half_peak_to_peak: float, period_s: float, hysteresis: float = 0.0
) -> UltimatePoint:
    """Ultimate point a relay experiment stands for: Ku = 4 d / (pi sqrt(a^2 - eps^2)), Tu its period.

    Astrom and Hagglund 1984; method seen, formula from memory.  It takes the oscillation for a sine.
    Args: half_swing d, half of what the duty jumps by; half_peak_to_peak a of the readings [K];
    period_s [s]; hysteresis eps, half the relay's band [K], below a.  Raises StackError otherwise.

    >>> round(relay_point(0.5, 2.0, 30.0).gain, 4)
    0.3183
    """
    checked("half_swing", half_swing, "duty", "let the relay switch between two duties")
    checked("half_peak_to_peak", half_peak_to_peak, "K", "repeat the experiment")
    checked("hysteresis", hysteresis, "K", "use 0 for none", zero=True)
    if hysteresis >= half_peak_to_peak:
        limit = f"must be below {half_peak_to_peak}"
        raise StackError("range", "hysteresis", hysteresis, limit, "K", "narrow the relay's band")
    size = math.sqrt(half_peak_to_peak**2 - hysteresis**2)
    return UltimatePoint(4.0 * half_swing / (math.pi * size), period_s)


def loop_response(plant: Response, settings: PidSettings) -> Response:
    """Response of plant and PID in a row, without a derivative filter.

    Args: plant, its complex gain over frequency; settings, ideal form.
    """
    return lambda rad_s: np.asarray(plant(rad_s) * settings.response(rad_s))


def maximum_sensitivity(
    loop: Response, low_rad_s: float = LOW_RAD_S, high_rad_s: float = HIGH_RAD_S
) -> float:
    """Largest |1 / (1 + L)| of a loop, Ms: its inverse is how near L comes to -1.

    Below about 1.7 a loop is usually called robust (common practice, no source).  It says nothing about an
    unstable loop: check that first.
    Args: loop, its complex gain; low_rad_s and high_rad_s, where to look [rad/s].
    """
    rad_s = _frequencies(low_rad_s, high_rad_s)
    while True:
        size = 1.0 / np.abs(1.0 + loop(rad_s))
        best = int(np.argmax(size))
        low, high = rad_s[max(best - 1, 0)], rad_s[min(best + 1, len(rad_s) - 1)]
        if high / low - 1.0 < _DUST:
            return float(size[best])
        rad_s = np.linspace(low, high, 101)
