"""One run of one stack under one law: the step, the hold, the form, the set.

Times count from the step. The form is met at 2 bounds + 602 s, the set (25 K lower) begins 300 s later and
lasts 400 s. Readings come four times a second with noise, rounded to a quarter of a kelvin as the board's
converter does. Relays are on from the start of a window for a whole number of 10 ms.

p, s, w: a stack, its state and its work, as in stack.py. q: parameters of a law, as in laws.py.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from . import laws
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
    middle_c,
    refresh,
    step,
)

F64 = NDArray[np.float64]

GRAIN_S, QUANTUM_C, NOISE_K = 0.010, 0.25, 0.3
HOLD_AFTER_S, PRESS_S, SET_S, SET_DROP_K = 602.0, 300.0, 400.0, 25.0


@dataclass(frozen=True, slots=True)
class Times:
    """When what happens [s]: the form is met, the set begins, the run ends; whole windows."""

    met_s: float
    set_s: float
    end_s: float


def times(bound_s: float, window_s: float) -> Times:
    """Of a stack whose bound is `bound_s`, for relay windows of `window_s`."""
    met_s = float(np.ceil((2.0 * bound_s + HOLD_AFTER_S) / window_s) * window_s)
    set_s = met_s + PRESS_S
    return Times(met_s, set_s, set_s + SET_S)


def noise_k(seed: int, place: int, seconds: float, sigma_k: float = NOISE_K) -> F64:
    """Of every reading of a run.

    Args:
        seed: of the ensemble.
        place: of the stack in it.
        seconds: length of the run.
        sigma_k: its standard deviation.
    """
    rng = np.random.default_rng([seed + 7, place])
    return sigma_k * rng.standard_normal(int(seconds * READINGS_A_S) + READINGS_A_S)


@jit
def window(p: F64, s: F64, w: F64, duty: float, noise: F64, first: int, bead_c: F64, readings_c: F64) -> int:
    """One relay window; says whether the relay was on in it: 0 off, 1 for a part, 2 to its end.

    duty: share of the window, 0 to 1. noise [K], bead_c (the true temperature, written): one number a reading
    of the whole run; first: place of the window's first one. readings_c: the window's own, written, of which
    there are as many as it is long.
    """
    count = len(readings_c)
    length_s = count * STEPS_A_READING * STEP_S
    on_s = round(duty * length_s / GRAIN_S) * GRAIN_S
    passed_s = 0.0
    for i in range(count):
        refresh(p, s, w)
        for _ in range(STEPS_A_READING):
            step(p, s, w, max(0.0, min(1.0, (on_s - passed_s) / STEP_S)))
            passed_s += STEP_S
        bead_c[first + i] = s[BEAD]
        readings_c[i] = np.round((s[BEAD] + noise[first + i]) / QUANTUM_C) * QUANTUM_C
    if on_s <= 0.0:
        return 0
    return 2 if on_s >= length_s - 0.5 * GRAIN_S else 1


@jit
def run(
    p: F64, kind: int, q: F64, noise: F64, plan: F64, window_s: float, bead_c: F64, wood_c: F64, on: F64
) -> None:
    """A whole run.

    kind: of laws.py. noise: as of noise_k(). plan: target [C], when the form is met, when the set begins, the
    end [s], above 0 where the maker signals the form.
    bead_c, wood_c: (readings,) true temperatures. on: (windows,) as window() says.
    """
    s, w, m = np.zeros(STATES), np.zeros(WORK), np.zeros(laws.MEMORY)
    begin(p, s)
    laws.start(m)
    per_window = round(window_s * READINGS_A_S)
    readings_c = np.zeros(per_window)
    duty = 0.0
    for k in range(len(on)):
        now_s = k * window_s
        if k == 0:
            for i in range(per_window):
                readings_c[i] = np.round((s[BEAD] + noise[len(noise) - 1 - i]) / QUANTUM_C) * QUANTUM_C
        target_c = plan[0] if now_s < plan[2] else plan[0] - SET_DROP_K
        if now_s == plan[1]:
            s[MET] = s[CLOCK]
            if plan[4] > 0.0 and m[laws.RISING] == 0.0:
                m[laws.BUMP_LEFT] = q[laws.BUMP]
        if kind == laws.ON_OFF:
            duty = laws.on_off_duty(q, m, readings_c[per_window - 1], target_c)
        elif kind == laws.BARE:
            duty = laws.bare_duty(q, m, readings_c[per_window - 1], target_c, window_s)
        else:
            mean_c = 0.0
            for i in range(per_window):
                mean_c += readings_c[i]
            duty = laws.zone_duty(q, m, mean_c / per_window, target_c, p[14], window_s)
        on[k] = window(p, s, w, duty, noise, k * per_window, bead_c, readings_c)
        for i in range(per_window):
            wood_c[k * per_window + i] = middle_c(s)


@dataclass(frozen=True, slots=True)
class Figures:
    """What a run was worth.

    overshoot_k: over the target before the form is met. settle_s: last time outside 2 K before that.
    hold_rms_k: over 10 min from 2 bounds on. dip_k: below the target after the form is met. recover_s: last
    time outside 2 K within 300 s of it. after_contact_k: over the target in those. undershoot_k: below the
    set's target. relay_cycles_per_min: times the relay came on during those 10 min.
    """

    overshoot_k: float
    settle_s: float
    hold_rms_k: float
    dip_k: float
    recover_s: float
    after_contact_k: float
    undershoot_k: float
    relay_cycles_per_min: float


def figures(bead_c: F64, on: F64, target_c: float, bound_s: float, when: Times, window_s: float) -> Figures:
    """Of one run's true temperatures.

    Args:
        bead_c: (readings,) at the thermocouple.
        on: (windows,) as window() says.
        target_c: of the hold.
        bound_s: of the stack.
        when: of the run.
        window_s: relay window.
    """
    met, put, end = (int(t * READINGS_A_S) for t in (when.met_s, when.set_s, when.end_s))
    # A reading's place counts from the end of its quarter second.
    before, after, low = bead_c[:met], bead_c[met:put], bead_c[put:end]
    outside = np.flatnonzero(np.abs(before - target_c) > 2.0)
    gone = np.flatnonzero(np.abs(after - target_c) > 2.0)
    start = int(2.0 * bound_s * READINGS_A_S)
    hold = bead_c[start : start + 600 * READINGS_A_S]
    first = int(2.0 * bound_s / window_s)
    inside = on[first - 1 : first + int(600 / window_s)]
    # A relay that was on to its window's end does not come on again.
    starts = (inside[1:] > 0.0) & (inside[:-1] < 2.0)
    # Back in the wide band once, the set has arrived; what follows is its undershoot.
    return Figures(
        overshoot_k=float(max(0.0, before.max() - target_c)),
        settle_s=float((outside[-1] + 1) / READINGS_A_S) if outside.size else 0.0,
        hold_rms_k=float(np.sqrt(np.mean((hold - target_c) ** 2))),
        dip_k=float(max(0.0, target_c - after.min())),
        recover_s=float((gone[-1] + 1) / READINGS_A_S) if gone.size else 0.0,
        after_contact_k=float(max(0.0, after.max() - target_c)),
        undershoot_k=float(max(0.0, target_c - SET_DROP_K - low.min())),
        relay_cycles_per_min=float(starts.sum() / 10.0),
    )
