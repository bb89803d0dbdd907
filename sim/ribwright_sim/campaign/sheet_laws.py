"""What a sheet obeys between its steps: joints, losses, heat along and across; all held for `EVERY` steps.

s, p, plan: as in sheet_kernel.py. In s join writes the joints, lose the losses and what the surroundings
give, spread what comes sideways.
"""

from __future__ import annotations

import numpy as np

from .sheet_parts import (
    ACROSS,
    AMBIENT,
    APART,
    BACK,
    COLUMNS,
    CONTACT,
    CONVECTION,
    CURVED,
    DAMP,
    DAMP_DROP,
    DRAUGHT,
    F64,
    FACE,
    FACES,
    FACTOR,
    FOIL_S,
    FORM,
    GAP,
    GLOW,
    HAND_C,
    HAND_S,
    HEAD,
    I64,
    KELVIN,
    LAPSED,
    ON_FORM,
    OPEN_JOINT,
    PRESS_GAIN,
    PRESS_TO,
    PRESSED,
    ROWS,
    SOLID,
    STEFAN_BOLTZMANN,
    STEP_S,
    WARM,
    WARM_SLOPE,
    WOOD,
    WOOD_IN,
    WOOD_OUT,
    Parts,
    at,
    each,
)


def lapse(doings: F64, clock: F64, ramp_s: float) -> None:
    """Let the time since the last look run off: joints settle, openings and hands come to their end.

    doings: what a person did, (DOINGS, columns). clock: (CLOCK,), see sheet_parts.py. ramp_s: how long a
    whole pressing or lifting takes, above 0.
    """
    gone_s = clock[LAPSED] * STEP_S
    clock[LAPSED] = 0.0
    for c in each(doings.shape[1]):
        far = doings[PRESS_TO, c] - doings[PRESSED, c]
        most = gone_s / ramp_s
        doings[PRESSED, c] = doings[PRESSED, c] + np.minimum(most, np.maximum(-most, far))
        doings[FOIL_S, c] = np.maximum(0.0, doings[FOIL_S, c] - gone_s)
        doings[HAND_S, c] = np.maximum(0.0, doings[HAND_S, c] - gone_s)


def join(s: Parts, p: Parts, plan: I64) -> None:
    """Conductance of every joint, by its kind and the sheet's law of contact.

    STEADY: as drawn. WARM: changes in a straight line with the temperature. DAMP: joints of the wood get
    worse as the wood beside them dries. Pressing, lifting and a person's factor come on top in all three.
    """
    t, water, joint, doings = s[0], s[1], s[2], s[6]
    solid, touch, ref, n = p[1], p[2], p[6], p[9]
    for k in range(plan[ROWS] - 1):
        kind = plan[HEAD + k]
        for c in each(plan[COLUMNS]):
            if kind == APART:
                joint[k, c] = 0.0 * touch[k, c]
            elif kind == SOLID:
                joint[k, c] = 1.0 / solid[k, c]
            else:
                better = 1.0 * doings[FACTOR, c]
                if plan[CONTACT] == WARM:
                    mean_c = 0.5 * (t[k, c] + t[k + 1, c])
                    better = better * np.minimum(1.8, np.maximum(0.4, 1.0 + n[WARM_SLOPE] * (mean_c - 20.0)))
                if kind in (WOOD_IN, WOOD_OUT):
                    better = better * (1.0 + (n[PRESS_GAIN] - 1.0) * doings[PRESSED, c])
                    beside = 0 if kind == WOOD_IN else plan[WOOD] - 1
                    if plan[CONTACT] == DAMP:
                        damp = np.minimum(1.0, water[beside, c] / ref[beside, c])
                        better = better * (1.0 - n[DAMP_DROP] * (1.0 - damp))
                    if kind == WOOD_OUT:
                        better = better * (1.0 - n[OPEN_JOINT] * np.minimum(1.0, 1e9 * doings[FOIL_S, c]))
                grip = better / touch[k, c]
                if kind == ON_FORM:
                    grip = n[GAP] + grip * doings[PRESSED, c]
                joint[k, c] = 1.0 / (solid[k, c] + 1.0 / grip)


def lose(s: Parts, p: Parts, plan: I64) -> None:
    """What each cell loses to the surroundings, and what these give back.

    STRAIGHT: faces lose in proportion. CURVED: convection with the fourth root of the difference
    (Churchill and Chu's laminar form, from memory), and radiation.
    """
    t, loss, warm, doings, clock = s[0], s[3], s[4], s[6], s[9]
    rim, face, by_row, n = p[3], p[4], p[8], p[9]
    room_k = n[AMBIENT] + KELVIN
    for k in range(plan[ROWS]):
        for c in each(plan[COLUMNS]):
            outside = n[FACE] * face[k, c]
            if plan[FACES] == CURVED:
                rise = np.maximum(1.0, np.abs(t[k, c] - n[AMBIENT]))
                kelvin = t[k, c] + KELVIN
                glow = n[GLOW] * STEFAN_BOLTZMANN * (kelvin * kelvin + room_k * room_k) * (kelvin + room_k)
                outside = face[k, c] * (n[CONVECTION] * np.sqrt(np.sqrt(0.01 * rise)) + glow)
            outside = clock[DRAUGHT] * (outside + rim[k, c])
            if k == plan[FORM]:
                # The face the strip turns to the form is in the open until it lies there.
                outside = outside * (1.0 - doings[PRESSED, c])
            if k == 0 and plan[FORM] > 0:
                outside = outside + n[BACK]
            outside = outside + by_row[1, k] * np.minimum(1.0, 1e9 * doings[FOIL_S, c])
            hand = by_row[2, k] * np.minimum(1.0, 1e9 * doings[HAND_S, c])
            loss[k, c] = outside + hand
            warm[k, c] = outside * n[AMBIENT] + hand * HAND_C


def spread(s: Parts, p: Parts, plan: I64) -> None:
    """What comes to each cell along and across the sheet, explicit."""
    t, side = s[0], s[5]
    grid, by_row = p[7], p[8]
    for k in range(plan[ROWS]):
        for c in each(plan[COLUMNS]):
            side[k, c] = 0.0 * grid[0, c]
        for way in range(1, 3):
            by = plan[ACROSS] if way == 1 else 1
            for c in each(plan[COLUMNS] - by):
                beyond = at(c, by)
                flux_w = by_row[0, k] * grid[way, c] * (t[k, beyond] - t[k, c])
                side[k, c] = side[k, c] + flux_w / grid[0, c]
                side[k, beyond] = side[k, beyond] - flux_w / grid[0, beyond]
