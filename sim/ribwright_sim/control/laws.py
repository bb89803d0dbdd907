"""The laws that are compared, one window at a time, in one compiled function.

`ours` and `reference_law` share `zone_duty`, which follows ribwright_board.core.zone step by step with
simple_pid's arithmetic; that it does so is measured against the true core in every run. `bare_duty` is
simple_pid as a library is used: one reading a window, integral held within the limits.

q: parameters of a law, (PARAMETERS,). m: its memory, (MEMORY,), changed in place; both by the places below.
What a law gives is the duty of the next window, 0 to 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.zone import (
    BUMP_FADE_K,
    BUMP_S,
    LEARN_RISE_K,
    MIN_SLOPE_K_PER_S,
    SLOPE_LEAST,
    SLOPE_S,
    SLOPE_WINDOWS,
)

from .jit import jit

F64 = NDArray[np.float64]

ON_OFF, BARE, ZONE = 0, 1, 2
# Parameters of a law, by place: gains of the self-scaling law, fixed ones, then what else there is.
C_GAIN, C_INTEGRAL, C_DERIVATIVE, KAPPA, KP, KI, KD, SCALED, BUMP, BAND_K = range(10)
PARAMETERS = 10
# Memory of a law, by place; the last eight window means stand at its end.
INTEGRAL, BEFORE_C, OLD_TARGET_C, RISING, RISE_S, RISE_FROM_C, FULL, BEST, LAG_S, LAW, COUNT = range(11)
FRESH, BUMP_LEFT, DUTY, MEANS = 11, 12, 13, 14
MEMORY = MEANS + SLOPE_WINDOWS


@jit
def start(m: F64) -> None:
    """An empty memory."""
    for i in range(MEMORY):
        m[i] = 0.0
    m[OLD_TARGET_C] = np.nan
    m[BEFORE_C] = np.nan


@jit
def _clip(value: float) -> float:
    return max(0.0, min(1.0, value))


@jit
def on_off_duty(q: F64, m: F64, reading_c: float, target_c: float) -> float:
    """Full power below the band, none above it."""
    if reading_c < target_c - q[BAND_K]:
        m[DUTY] = 1.0
    elif reading_c > target_c + q[BAND_K]:
        m[DUTY] = 0.0
    return m[DUTY]


@jit
def bare_duty(q: F64, m: F64, reading_c: float, target_c: float, window_s: float) -> float:
    """simple_pid with its limits at 0 and 1, derivative on the reading."""
    error_k = target_c - reading_c
    m[INTEGRAL] = _clip(m[INTEGRAL] + q[KI] * error_k * window_s)
    step_k = 0.0 if np.isnan(m[BEFORE_C]) else reading_c - m[BEFORE_C]
    m[BEFORE_C] = reading_c
    m[DUTY] = _clip(q[KP] * error_k + m[INTEGRAL] - q[KD] * step_k / window_s)
    return m[DUTY]


@jit
def _aim(m: F64, target_c: float, ambient_c: float) -> None:
    old_c = m[OLD_TARGET_C]
    m[OLD_TARGET_C] = target_c
    if np.isnan(old_c) or target_c > old_c + 5.0:
        m[RISING], m[RISE_S], m[FULL], m[BEST], m[COUNT] = 1.0, 0.0, 0.0, 0.0, 0.0
        m[BUMP_LEFT] = 0.0
    elif target_c != old_c:
        m[BUMP_LEFT] = 0.0
        if m[RISING] == 0.0:
            share = max(target_c - ambient_c, 0.0) / max(old_c - ambient_c, 1.0)
            m[INTEGRAL] = _clip(m[INTEGRAL] * min(share, 2.0))
            m[FRESH] = 1.0


@jit
def _span(window_s: float) -> int:
    """Windows the slope is taken over, as core.zone.slope_windows."""
    return int(max(float(SLOPE_LEAST), min(float(SLOPE_WINDOWS), np.round(SLOPE_S / window_s))))


@jit
def _slope_k_per_s(m: F64, window_s: float) -> float:
    span = _span(window_s)
    if m[COUNT] < span:
        return 0.0
    weighted = squares = 0.0
    for i in range(span):
        away = i - 0.5 * (span - 1)
        weighted += away * m[MEANS + SLOPE_WINDOWS - span + i]
        squares += away * away
    return weighted / (squares * window_s)


@jit
def _learn(m: F64, mean_c: float, slope: float, window_s: float) -> None:
    span = _span(window_s)
    if m[FULL] < span or slope <= m[BEST] or slope < MIN_SLOPE_K_PER_S:
        return
    if mean_c - m[RISE_FROM_C] < LEARN_RISE_K:
        return
    middle_c = 0.0
    for i in range(span):
        middle_c += m[MEANS + SLOPE_WINDOWS - span + i]
    middle_c /= span
    middle_s = m[RISE_S] - span * window_s / 2.0
    m[BEST], m[LAW] = slope, slope
    m[LAG_S] = max(middle_s - (middle_c - m[RISE_FROM_C]) / slope, 0.0)


@jit
def zone_duty(q: F64, m: F64, mean_c: float, target_c: float, ambient_c: float, window_s: float) -> float:
    """The board's law for one window, on the mean reading of the window before."""
    _aim(m, target_c, ambient_c)
    if m[COUNT] == 0.0 and m[RISING] > 0.0 and m[RISE_S] == 0.0:
        m[RISE_FROM_C] = mean_c
    before_c = m[MEANS + SLOPE_WINDOWS - 1] if m[COUNT] > 0.0 else mean_c
    for i in range(SLOPE_WINDOWS - 1):
        m[MEANS + i] = m[MEANS + i + 1]
    m[MEANS + SLOPE_WINDOWS - 1] = mean_c
    m[COUNT] += 1.0
    rising = m[RISING] > 0.0
    if rising:
        slope = _slope_k_per_s(m, window_s)
        _learn(m, mean_c, slope, window_s)
        m[RISE_S] += window_s
        integral = 1.0 - q[KAPPA] * slope / m[BEST] if m[BEST] > 0.0 else 0.5
        m[INTEGRAL] = _clip(integral)
    kp, ki, kd = q[KP], q[KI], q[KD]
    if q[SCALED] > 0.0 and m[LAW] > 0.0:
        lag_s = m[LAG_S] + window_s / 2.0
        kp = q[C_GAIN] / (m[LAW] * lag_s)
        ki, kd = kp / (q[C_INTEGRAL] * lag_s), kp * q[C_DERIVATIVE] * lag_s
    error_k = target_c - mean_c
    damped = kd * (mean_c - before_c) / window_s
    if rising:
        m[DUTY] = _clip(kp * error_k + m[INTEGRAL] - damped)
        if m[DUTY] >= 1.0:
            m[FULL] += 1.0
        else:
            m[RISING] = 0.0
        return m[DUTY]
    bump = m[BUMP_LEFT] * max(0.0, min(1.0, 1.0 + error_k / BUMP_FADE_K))
    m[BUMP_LEFT] *= max(0.0, 1.0 - window_s / BUMP_S)
    raw = kp * error_k + m[INTEGRAL] - damped + bump
    if not ((raw >= 1.0 and error_k > 0.0) or (raw <= 0.0 and error_k < 0.0)):
        m[INTEGRAL] = _clip(m[INTEGRAL] + ki * error_k * window_s)
    if m[FRESH] > 0.0:
        damped = 0.0
    m[FRESH] = 0.0
    m[DUTY] = min(1.0, _clip(kp * error_k + m[INTEGRAL] - damped) + bump)
    return m[DUTY]
