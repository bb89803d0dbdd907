"""What no controller can beat: the fastest arrival, and the form met by one that sees every state.

p, s, w: a stack, its state and its work, as in stack.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .jit import jit
from .stack import (
    BEAD,
    CLOCK,
    MET,
    READINGS_A_S,
    STATES,
    STEP_S,
    STEPS_A_READING,
    WORK,
    begin,
    refresh,
    step,
)

F64 = NDArray[np.float64]

# A stack that has not arrived by then cannot, for our purposes.
LATEST_S = 3600.0
SHORT_K, COAST_K = 2.0, 1.0


@jit
def _quarter(p: F64, s: F64, w: F64, on: float) -> None:
    refresh(p, s, w)
    for _ in range(STEPS_A_READING):
        step(p, s, w, on)


@jit
def coast_peak_c(p: F64, s: F64, scratch: F64, w: F64) -> float:
    """Highest thermocouple temperature from here on with the heat off; `s` is left as it is.

    scratch: (STATES,), written over.
    """
    for i in range(STATES):
        scratch[i] = s[i]
    peak = scratch[BEAD]
    falling = 0
    while falling < 8:
        before = scratch[BEAD]
        _quarter(p, scratch, w, 0.0)
        falling = falling + 1 if scratch[BEAD] < before else 0
        peak = max(peak, scratch[BEAD])
    return peak


@jit
def bound_s(p: F64, target_c: float) -> float:
    """First time the thermocouple passes the target less 2 K when heated at full power until the latest
    cut-off whose coasting peak is the target plus 1 K; not a number for never.
    """
    s, w, scratch = np.zeros(STATES), np.zeros(WORK), np.zeros(STATES)
    begin(p, s)
    steps = int(LATEST_S * READINGS_A_S)
    for _ in range(steps):
        _quarter(p, s, w, 1.0)
        if s[BEAD] >= target_c - SHORT_K:
            return s[CLOCK]
        if s[BEAD] > target_c - 15.0 and coast_peak_c(p, s, scratch, w) >= target_c + COAST_K:
            while s[BEAD] < target_c - SHORT_K and s[CLOCK] < LATEST_S:
                _quarter(p, s, w, 0.0)
            return s[CLOCK] if s[CLOCK] < LATEST_S else np.nan
    return np.nan


@jit
def clairvoyant(p: F64, target_c: float, met_s: float, set_s: float, bead_c: F64) -> None:
    """A run that sees every state, not the coming contact: each second the largest duty whose coasting peak
    stays below the target.

    met_s, set_s: when the form is met and when the run ends, whole seconds. bead_c: (readings,) up to there,
    written.
    """
    s, w = np.zeros(STATES), np.zeros(WORK)
    trial, scratch = np.zeros(STATES), np.zeros(STATES)
    begin(p, s)
    for k in range(int(set_s)):
        if float(k) == met_s:
            s[MET] = s[CLOCK]
        duty = 1.0
        if s[BEAD] > target_c - 40.0:
            low, high = 0.0, 1.0
            peaks = np.zeros(2)
            for end in range(2):
                for i in range(STATES):
                    trial[i] = s[i]
                for _ in range(READINGS_A_S):
                    _quarter(p, trial, w, float(end))
                peaks[end] = coast_peak_c(p, trial, scratch, w)
            if peaks[0] >= target_c:
                duty = low
            elif peaks[1] <= target_c:
                duty = high
            else:
                # Nearly a straight line: what full power adds to the peak, it adds in shares.
                duty = (target_c - peaks[0]) / (peaks[1] - peaks[0])
        on_s = duty
        for i in range(READINGS_A_S):
            refresh(p, s, w)
            for _ in range(STEPS_A_READING):
                step(p, s, w, max(0.0, min(1.0, on_s / STEP_S)))
                on_s -= STEP_S
            bead_c[k * READINGS_A_S + i] = s[BEAD]
