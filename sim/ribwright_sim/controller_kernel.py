"""Control laws inside the fast solver: one zone, one window, every lane.

Written once for two ways of running, as kernels.py.  A law reads what its zone's junction showed, keeps its
memory in the rows the solver gives it, and writes the duty of the next window.

`w`, `r`, `z` and `j` are what kernels.py says of them; `memory` and `gain` are the first rows of the zone's
memory and gains, in the order of their names below.  `target_c` is not a number where no heat is wanted [C].

`zone_control` is the board's own law (ribwright_board.core.zone) with simple_pid's arithmetic, for a run
without faults and with a branch that carries all zones; a test holds it to the board's code.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.zone import (
    LEARN_RISE_K,
    MIN_SLOPE_K_PER_S,
    SLOPE_LEAST,
    SLOPE_S,
    SLOPE_WINDOWS,
)

from .kernels import each_lane
from .rows import Rows

F64 = NDArray[np.float64]

# Memory and gains of each law, by name, in the order of their rows.
PID_MEMORY = ("integral", "filtered_c")
PID_GAINS = ("kp", "ki", "kd", "filter_share", "unwind_share", "window_s")
ZONE_MEMORY = (
    *(f"mean_{i}" for i in range(SLOPE_WINDOWS)),
    *("count integral rising rise_s rise_from_c full best_slope lag_s law_slope old_target_c fresh".split()),
    "noise",
)
ZONE_GAINS = (
    *("c_gain", "c_integral", "c_derivative", "kappa", "kp", "ki", "kd", "window_s"),
    # Beyond the board's: noise of a window's mean reading [K], and 1 for a law that keeps its fixed gains.
    *("noise_k", "fixed"),
)
NOISE_FACTOR, NOISE_MODULUS = 16807.0, 2147483647.0
# Four draws that are even from -0.5 to 0.5 have a variance of a third.
NOISE_SPREAD = 3.0**0.5
# Share of what is lost assumed where a short rise has taught nothing, as the board does.
UNTAUGHT = 0.5


def pid_control(w: F64, r: Rows, z: int, target_c: float) -> None:
    """A plain PID on one reading a window: derivative on the filtered reading, back-calculation.

    u = kp e + i - kd d(filtered)/dt, clipped to 0-1; then i += ki e dt + unwind_share (u - unclipped).
    """
    memory, gain = r.control + z * r.control_rows, r.gains + z * r.gain_rows
    if target_c != target_c:
        for j in each_lane(r.lanes):
            w[r.duty + z, j] = 0.0
        return
    for j in each_lane(r.lanes):
        reading_c, window_s = w[r.junction + z, j], w[gain + 5, j]
        step_c = w[gain + 3, j] * (reading_c - w[memory + 1, j])
        error_k = target_c - reading_c
        raw = w[gain, j] * error_k + w[memory, j] - w[gain + 2, j] * step_c / window_s
        duty = np.minimum(np.maximum(raw, 0.0), 1.0)
        w[memory + 1, j] += step_c
        w[memory, j] += w[gain + 1, j] * error_k * window_s + w[gain + 4, j] * (duty - raw)
        w[r.duty + z, j] = duty


def replay_control(w: F64, r: Rows, z: int, duty: float) -> None:
    """No law: the zone is on for `duty`, the share of the window, 0-1, that stands in place of a target."""
    for j in each_lane(r.lanes):
        w[r.duty + z, j] = duty


def aim(w: F64, r: Rows, memory: int, target_c: float) -> None:
    """Take note of a zone's target, as ZoneLoop.aim does."""
    wanted = target_c == target_c
    for j in each_lane(r.lanes):
        old_c, rising = w[memory + 17, j], w[memory + 10, j]
        unset = old_c != old_c
        begin = wanted & (unset | (target_c > old_c + 5.0))
        shift = wanted & np.logical_not(begin) & (target_c != old_c) & (rising == 0.0)
        above_k = np.maximum(old_c - w[r.ambient, j], 1.0)
        share = np.minimum(np.maximum(target_c - w[r.ambient, j], 0.0) / above_k, 2.0)
        handed = np.minimum(np.maximum(w[memory + 9, j] * share, 0.0), 1.0)
        w[memory + 9, j] = np.where(shift, handed, w[memory + 9, j])
        w[memory + 18, j] = np.where(shift, 1.0, w[memory + 18, j])
        w[memory + 8, j] = np.where(begin, 0.0, w[memory + 8, j])
        w[memory + 11, j] = np.where(begin, 0.0, w[memory + 11, j])
        w[memory + 13, j] = np.where(begin, 0.0, w[memory + 13, j])
        w[memory + 14, j] = np.where(begin, 0.0, w[memory + 14, j])
        w[memory + 10, j] = np.where(begin, 1.0, rising * wanted)
        w[memory + 17, j] = target_c


def span_of(window_s: Any) -> Any:
    """How many of the eight means the slope is taken over, as core.zone.slope_windows."""
    return np.minimum(np.maximum(np.rint(SLOPE_S / window_s), SLOPE_LEAST), SLOPE_WINDOWS)


def slope_k_s(w: F64, memory: int, j: Any, window_s: Any) -> Any:
    """Least-squares slope of the newest means [K/s], 0 until there are enough."""
    weighted = 0.0 * window_s
    squares = 0.0 * window_s
    span = span_of(window_s)
    for i in range(SLOPE_WINDOWS):
        place = i - (SLOPE_WINDOWS - span)
        away = (place >= 0.0) * (place - 0.5 * (span - 1.0))
        weighted = weighted + away * w[memory + i, j]
        squares = squares + away * away
    return np.where(w[memory + 8, j] >= span, weighted / (squares * window_s), 0.0)


def learn(w: F64, memory: int, j: Any, mean_c: Any, slope: Any, window_s: Any) -> None:
    """Keep the largest slope at full power and the lag it shows, as ZoneLoop._learn does.

    mean_c: the window's mean reading [C]. slope: of slope_k_s() [K/s], below 0 in lanes that learn nothing.
    """
    rise_k = mean_c - w[memory + 12, j]
    span = span_of(window_s)
    good = (
        (w[memory + 13, j] >= span)
        & (slope > w[memory + 14, j])
        & (slope >= MIN_SLOPE_K_PER_S)
        & (rise_k >= LEARN_RISE_K)
    )
    middle_c = 0.0 * mean_c
    for i in range(SLOPE_WINDOWS):
        middle_c = middle_c + (i >= SLOPE_WINDOWS - span) * w[memory + i, j]
    middle_c = middle_c / span
    middle_s = w[memory + 11, j] - span * window_s / 2.0
    lag_s = np.maximum(middle_s - (middle_c - w[memory + 12, j]) / np.where(good, slope, 1.0), 0.0)
    w[memory + 14, j] = np.where(good, slope, w[memory + 14, j])
    w[memory + 15, j] = np.where(good, lag_s, w[memory + 15, j])
    w[memory + 16, j] = np.where(good, slope, w[memory + 16, j])


def noise_k(w: F64, memory: int, gain: int, j: Any) -> Any:
    """Noise of one window's mean [K]: four draws of a multiplicative generator, of the stated spread."""
    total = 0.0 * w[gain + 8, j]
    drawn = w[memory + 19, j] + 1.0 * (w[memory + 19, j] == 0.0)
    for _ in range(4):
        # Park and Miller 1988: 7^5 modulo 2^31 - 1; every product is exact in double precision.
        drawn = drawn * NOISE_FACTOR
        drawn = drawn - np.rint(drawn / NOISE_MODULUS - 0.5) * NOISE_MODULUS
        total = total + drawn / NOISE_MODULUS - 0.5
    w[memory + 19, j] = drawn
    return w[gain + 8, j] * total * NOISE_SPREAD


def zone_control(w: F64, r: Rows, z: int, target_c: float) -> None:
    """The board's law for one window, on the mean reading of the window before."""
    memory, gain = r.control + z * r.control_rows, r.gains + z * r.gain_rows
    aim(w, r, memory, target_c)
    if target_c != target_c:
        for j in each_lane(r.lanes):
            w[r.duty + z, j] = 0.0
            w[memory + 8, j] = 0.0
        return
    for j in each_lane(r.lanes):
        mean_c = w[r.junction_mean + z, j] + noise_k(w, memory, gain, j)
        window_s = w[gain + 7, j]
        count, rising = w[memory + 8, j], 1.0 * w[memory + 10, j]
        fresh_rise = (count == 0.0) & (rising > 0.0) & (w[memory + 11, j] == 0.0)
        w[memory + 12, j] = np.where(fresh_rise, mean_c, w[memory + 12, j])
        before_c = np.where(count > 0.0, w[memory + SLOPE_WINDOWS - 1, j], mean_c)
        for i in range(SLOPE_WINDOWS - 1):
            w[memory + i, j] = w[memory + i + 1, j]
        w[memory + SLOPE_WINDOWS - 1, j] = mean_c
        w[memory + 8, j] += 1.0
        slope = slope_k_s(w, memory, j, window_s)
        # A lane that does not rise must learn nothing: no slope is large enough.
        learn(w, memory, j, mean_c, np.where(rising > 0.0, slope, -1.0), window_s)
        w[memory + 11, j] += rising * window_s
        best, law = w[memory + 14, j], w[memory + 16, j]
        taught = best > 0.0
        guess = np.where(taught, 1.0 - w[gain + 3, j] * slope / np.where(taught, best, 1.0), UNTAUGHT)
        integral = np.where(rising > 0.0, np.minimum(np.maximum(guess, 0.0), 1.0), w[memory + 9, j])
        scaled = (law > 0.0) & (w[gain + 9, j] == 0.0)
        lag_s = w[memory + 15, j] + window_s / 2.0
        kp = np.where(scaled, w[gain, j] / (np.where(scaled, law, 1.0) * lag_s), w[gain + 4, j])
        ki = np.where(scaled, kp / (w[gain + 1, j] * lag_s), w[gain + 5, j])
        kd = np.where(scaled, kp * w[gain + 2, j] * lag_s, w[gain + 6, j])
        error_k = target_c - mean_c
        damping = kd * (mean_c - before_c) / window_s
        raw = kp * error_k + integral - damping
        still = (rising > 0.0) | ((raw >= 1.0) & (error_k > 0.0)) | ((raw <= 0.0) & (error_k < 0.0))
        integral = np.minimum(np.maximum(integral + np.where(still, 0.0, ki * error_k * window_s), 0.0), 1.0)
        # Right after a hand-over simple_pid has no reading to take the derivative from.
        damping = np.where((w[memory + 18, j] > 0.0) & (rising == 0.0), 0.0, damping)
        duty = np.minimum(np.maximum(kp * error_k + integral - damping, 0.0), 1.0)
        full = (duty >= 1.0) & (rising > 0.0)
        w[memory + 13, j] = np.where(full, w[memory + 13, j] + 1.0, w[memory + 13, j])
        w[memory + 10, j] = np.where(full, rising, 0.0)
        w[memory + 9, j] = integral
        w[memory + 18, j] = 0.0
        w[r.duty + z, j] = duty


control = pid_control
