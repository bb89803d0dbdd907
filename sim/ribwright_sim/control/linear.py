"""A stack as a linear model: dry, hot and in free air, about the temperature it holds.

What textbook rules are tuned on here is the best they could wish for: noise-free, exact, at the right place.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribwright_sim.linear_plant import LinearPlant

from .drawn import AT
from .stack import BEAD, FORM, STATES, STEP_S, WATER, WOOD_CELLS, WORK, begin, refresh, step

F64 = NDArray[np.float64]

# The cells of the stack and the bead; the form is not there.
LIVE = (*range(FORM), BEAD)
NUDGE_K, NUDGE_DUTY = 0.01, 0.001
ROUNDS = 12


def _rates(plant: F64, live_c: F64, duty: float) -> F64:
    state, work = np.zeros(STATES), np.zeros(WORK)
    begin(plant, state)
    state[WATER : WATER + WOOD_CELLS] = 0.0
    # Without water and without swing; the clock stands where the sine is nought.
    still = plant.copy()
    still[AT["moisture_percent"]], still[AT["swing_phase"]] = 0.0, 0.0
    state[list(LIVE)] = live_c
    before = state.copy()
    refresh(still, state, work)
    step(still, state, work, duty)
    rates: F64 = ((state - before) / STEP_S)[list(LIVE)]
    return rates


def linear(plant: F64, target_c: float) -> tuple[LinearPlant, float]:
    """The stack about `target_c` at its thermocouple, and the duty that holds it; by Newton's method.

    The model's input is the duty, its reading the rise at the thermocouple [K].

    Args:
        plant: one row of drawn.NAMES.
        target_c: what is held.
    """
    n = len(LIVE)
    live_c, duty = np.full(n, target_c), 0.4
    for _ in range(ROUNDS):
        rest = _rates(plant, live_c, duty)
        a = np.empty((n, n))
        for j in range(n):
            up, down = live_c.copy(), live_c.copy()
            up[j] += NUDGE_K
            down[j] -= NUDGE_K
            a[:, j] = (_rates(plant, up, duty) - _rates(plant, down, duty)) / (2.0 * NUDGE_K)
        b = (_rates(plant, live_c, duty + NUDGE_DUTY) - rest) / NUDGE_DUTY
        whole = np.zeros((n + 1, n + 1))
        whole[:n, :n], whole[:n, n], whole[n, n - 1] = a, b, 1.0
        move = np.linalg.solve(whole, np.append(rest, live_c[-1] - target_c))
        live_c, duty = live_c - move[:n], duty - float(move[n])
        if np.abs(move[:n]).max() < 1e-7:
            break
    return LinearPlant(a, b, np.eye(n)[-1]), duty
