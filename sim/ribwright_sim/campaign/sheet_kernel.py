"""The steps of a sheet on a fixed grid of time; callers may chop time as they like.

Every column is solved through the thickness by the implicit Euler scheme (first order, monotone: nothing
overshoots), which makes the size of a step no matter of stability.  Heat along and across the sheet,
contacts, faces and what a person does are looked at once in `EVERY` steps and held between.

s, p: views of a state and of a sheet's numbers, by sheet_parts.state_parts and number_parts; a state is
changed in place. plan: whole numbers of a sheet, see sheet_parts.py. drive: per zone, share of its blanket's
rated power, mains and faults included. heat: what drying takes, (2 wood, columns), see dry(). before: the
wood's temperature before the step [C], (wood, columns). work: (2 rows + 3 wood, columns), in this order the
diagonal [W/(m2 K)] and right side [W/m2] of the heat balance, heat, before.
"""

from __future__ import annotations

import numpy as np

from .sheet_laws import join, lapse, lose, spread
from .sheet_parts import (
    ACTIVATED,
    ACTIVATION,
    AMBIENT,
    BOILING_C,
    BOILING_K,
    COLUMNS,
    DRY_LAYER,
    DRYING,
    EVERY,
    F64,
    FILM,
    FROM_BLANKET,
    FROM_NEXT,
    FRONT,
    HEAD,
    HEATER_J,
    I64,
    KELVIN,
    LAG_S,
    LAPSED,
    LATENT,
    LOST_J,
    RAMP,
    RATE_100,
    READING_C,
    ROWS,
    SEEP,
    STEP_S,
    STEPS,
    THIN,
    UNTIL,
    VAPOUR_J,
    VAPOUR_K,
    VENT,
    WATER_J_KG_K,
    WOOD,
    WOOD_FIRST,
    ZONES,
    Parts,
    each,
    number_parts,
    state_parts,
)


def dry(s: Parts, p: Parts, plan: I64, heat: F64) -> None:
    """Heat that leaving water takes from each wood cell [W/m2] and its slope [W/(m2 K)], two rows a cell.

    FRONT: heat must pass a film and the dry layer that grows as water goes, to a front that boils at 100 C.
    ACTIVATED: in proportion to the water left, faster with temperature as a diffusion is (Arrhenius).
    VENTED: steam pressed out by its pressure above the room's, and a slow seep below.
    """
    t, water = s[0], s[1]
    ref, n = p[6], p[9]
    wood, law = plan[WOOD], plan[DRYING]
    room = np.exp(VAPOUR_K * (1.0 / BOILING_K - 1.0 / (n[AMBIENT] + KELVIN)))
    for i in range(wood):
        k = plan[WOOD_FIRST] + i
        for c in each(plan[COLUMNS]):
            kelvin = t[k, c] + KELVIN
            left = np.maximum(0.0, water[i, c] - ref[wood + i, c])
            wet = left / (left + n[THIN])
            if law == FRONT:
                gone = np.minimum(1.0, np.maximum(0.0, 1.0 - water[i, c] / ref[i, c]))
                slope = wet / (n[FILM] + n[DRY_LAYER] * gone)
                over_k = np.maximum(0.0, t[k, c] - BOILING_C)
                takes = slope * over_k
                slope = slope * np.minimum(1.0, 1e9 * over_k)
            elif law == ACTIVATED:
                rate = n[RATE_100] * np.exp(n[ACTIVATION] * (1.0 / BOILING_K - 1.0 / kelvin))
                takes = n[LATENT] * left * rate
                slope = takes * n[ACTIVATION] / (kelvin * kelvin)
            else:
                drive = np.exp(VAPOUR_K * (1.0 / BOILING_K - 1.0 / kelvin))
                over = np.maximum(0.0, drive - 1.0)
                seep = left / n[SEEP] * np.minimum(1.0, np.maximum(0.0, drive - room))
                takes = n[LATENT] * (n[VENT] * wet * over + seep)
                slope = n[LATENT] * n[VENT] * wet * drive * VAPOUR_K / (kelvin * kelvin)
                slope = slope * np.minimum(1.0, 1e9 * over)
            # As if the water were solved for, too: what is there cannot be taken twice.
            spare = 1.0 / (1.0 + takes * STEP_S / (n[LATENT] * left + 1e-9))
            heat[2 * i, c] = takes * spare
            heat[2 * i + 1, c] = slope * spare * spare


def dried(s: Parts, p: Parts, plan: I64, heat: F64, before: F64) -> None:
    """Take away the water that the heat of this step has driven out."""
    t, water, book = s[0], s[1], s[7]
    cap, ref, area, n = p[0], p[6], p[7], p[9]
    wood = plan[WOOD]
    for i in range(wood):
        k = plan[WOOD_FIRST] + i
        for c in each(plan[COLUMNS]):
            took = heat[2 * i, c] + heat[2 * i + 1, c] * (t[k, c] - before[i, c])
            left = np.maximum(0.0, water[i, c] - ref[wood + i, c])
            takes = np.minimum(np.maximum(0.0, took), left * n[LATENT] / STEP_S)
            # What the straight line was off by stays in the cell.
            t[k, c] = t[k, c] + (took - takes) * STEP_S / (cap[k, c] + WATER_J_KG_K * water[i, c])
            gone = takes * STEP_S / n[LATENT]
            water[i, c] = water[i, c] - gone
            book[VAPOUR_J, c] = book[VAPOUR_J, c] + area[0, c] * gone * (n[LATENT] + WATER_J_KG_K * t[k, c])


def balance(s: Parts, p: Parts, plan: I64, drive: F64, work: F64) -> None:
    """Diagonal and right side of the heat balance of every cell; joints between rows come in later."""
    t, water, loss, warm, side, book = s[0], s[1], s[3], s[4], s[5], s[7]
    cap, power, area = p[0], p[5], p[7]
    rows, columns, wood, first = plan[ROWS], plan[COLUMNS], plan[WOOD], plan[WOOD_FIRST]
    diagonal, right = work[:rows], work[rows : 2 * rows]
    heat, before = work[2 * rows : 2 * rows + 2 * wood], work[2 * rows + 2 * wood :]
    for k in range(rows):
        for c in each(columns):
            held = cap[k, c] / STEP_S
            diagonal[k, c] = held + loss[k, c]
            right[k, c] = held * t[k, c] + side[k, c] + warm[k, c]
    for i in range(wood):
        for c in each(columns):
            before[i, c] = t[first + i, c]
            held = WATER_J_KG_K / STEP_S * water[i, c]
            slope = heat[2 * i + 1, c]
            diagonal[first + i, c] = diagonal[first + i, c] + held + slope
            right[first + i, c] = right[first + i, c] + (held + slope) * before[i, c] - heat[2 * i, c]
    for z in range(plan[ZONES]):
        core = plan[HEAD + rows + z]
        for c in each(columns):
            given = drive[z] * power[z, c]
            right[core, c] = right[core, c] + given
            book[HEATER_J, c] = book[HEATER_J, c] + given * area[0, c] * STEP_S


def pass_through(s: Parts, p: Parts, plan: I64, work: F64) -> None:
    """Solve what `balance` has set up through the thickness, and book what was lost."""
    t, joint, loss, warm, book = s[0], s[2], s[3], s[4], s[7]
    area = p[7]
    rows, columns = plan[ROWS], plan[COLUMNS]
    diagonal, right = work[:rows], work[rows : 2 * rows]
    for k in range(rows - 1):
        for c in each(columns):
            diagonal[k, c] = diagonal[k, c] + joint[k, c]
            share = joint[k, c] / diagonal[k, c]
            right[k + 1, c] = right[k + 1, c] + share * right[k, c]
            diagonal[k + 1, c] = diagonal[k + 1, c] + joint[k, c] * (1.0 - share)
    for c in each(columns):
        t[rows - 1, c] = right[rows - 1, c] / diagonal[rows - 1, c]
    for j in range(1, rows):
        k = rows - 1 - j
        for c in each(columns):
            t[k, c] = (right[k, c] + joint[k, c] * t[k + 1, c]) / diagonal[k, c]
    for k in range(rows):
        for c in each(columns):
            lost = (loss[k, c] * t[k, c] - warm[k, c]) * STEP_S
            book[LOST_J, c] = book[LOST_J, c] + lost * area[0, c]


def advance(w: F64, numbers: F64, plan: I64, steps: int, drive: F64) -> None:
    """Move a state on by whole steps.

    Args:
        w: the state, changed in place.
        numbers: of the sheet, see sheet_parts.number_parts.
        plan: of the sheet, its whole numbers.
        steps: how many of STEP_S.
        drive: per zone the share of its power, mains and faults included; the mean over each step.
    """
    s, p = state_parts(w, plan), number_parts(numbers, plan)
    t, ends, clock, n = s[0], s[8], s[9], p[9]
    rows, zones = plan[ROWS], plan[ZONES]
    # Diagonal, right side, drying (two rows a wood cell), wood before the step.
    work = np.empty((2 * rows + 3 * plan[WOOD], plan[COLUMNS]))
    heat, before = work[2 * rows : 2 * (rows + plan[WOOD])], work[2 * (rows + plan[WOOD]) :]
    places = HEAD + rows + zones
    for _ in range(steps):
        if clock[UNTIL] <= 0.0:
            lapse(s[6], clock, n[RAMP])
            join(s, p, plan)
            lose(s, p, plan)
            spread(s, p, plan)
            clock[UNTIL] = EVERY
        dry(s, p, plan, heat)
        balance(s, p, plan, drive, work)
        pass_through(s, p, plan, work)
        dried(s, p, plan, heat, before)
        for z in range(zones):
            column = plan[places + z]
            near_c = (
                ends[FROM_BLANKET, z] * t[plan[places + zones + z], column]
                + ends[FROM_NEXT, z] * t[plan[places + 2 * zones + z], column]
                + (1.0 - ends[FROM_BLANKET, z] - ends[FROM_NEXT, z]) * n[AMBIENT]
            )
            share = STEP_S / (ends[LAG_S, z] + STEP_S)
            ends[READING_C, z] = ends[READING_C, z] + share * (near_c - ends[READING_C, z])
        clock[UNTIL] = clock[UNTIL] - 1.0
        clock[LAPSED] = clock[LAPSED] + 1.0
        clock[STEPS] = clock[STEPS] + 1.0
