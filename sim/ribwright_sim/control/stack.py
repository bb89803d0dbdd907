"""One heated stack in explicit finite volumes, per m2 of face.

From one side to the other: slat, foil + wood + foil, blanket, thermocouple, slat; a form meets one of the
slats when the strip is bent. Conductivity and heat capacity of wood: Wood Handbook (USDA FPL-GTR-190, 2010)
Eqs. 4-15 to 4-18. The evaporation is a stand-in of the right shape: equilibrium moisture falls linearly
from the first one at 90 C to none at 130 C, first heating only.

p: a stack, one row of drawn.NAMES. s: its state, (STATES,), by the places below: temperatures [C] of slat,
wood, blanket, slat and form, water of the wood cells [%], bead [C], clock and when the form was met [s], -1
for not yet, then heat gone with vapour, put in and lost [J/m2]. w: work of a run, (WORK,): capacity of every
cell [J/(m2 K)] and ties to the next [W/(m2 K)], as `refresh` leaves them.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .jit import jit

F64 = NDArray[np.float64]

STEP_S = 0.05
STEPS_A_READING, READINGS_A_S = 5, 4
WOOD_CELLS, BLANKET_CELLS, FORM_CELLS = 8, 6, 6
WOOD, BLANKET = 1, 1 + WOOD_CELLS
FAR = BLANKET + BLANKET_CELLS  # the slat on the blanket's side
FORM = FAR + 1
WATER = FORM + FORM_CELLS
BEAD = WATER + WOOD_CELLS
CLOCK, MET, VAPOUR, PUT_IN, LOST = BEAD + 1, BEAD + 2, BEAD + 3, BEAD + 4, BEAD + 5
STATES = LOST + 1
# Work of a run: capacity of the cells, ties between neighbours; refreshed with every reading.
WORK = 2 * FORM

STEEL_J_M3_K = 7850.0 * 470.0
FOIL_J_M2_K = 60.0
FORM_J_M3_K = 600.0 * 1600.0
FORM_M = (1.0e-3, 1.7e-3, 2.8e-3, 4.0e-3, 6.0e-3, 9.5e-3)  # 25 mm in all
FORM_BACK_W_M2_K = 10.0
SIGMA = 5.670374419e-8
KELVIN = 273.15
SWING, SWING_S = 0.01, 300.0


@jit
def wood_k_w_m_k(density: float, moisture: float, at_c: float) -> float:
    """Across the grain; Eq. 4-15, +2.5 % per 10 K above 24 C (p. 4-11).

    density: at 12 % [kg/m3]. moisture: [%].
    """
    gravity = density / 1120.0
    base = gravity * (0.1941 + 0.004064 * min(moisture, 25.0)) + 0.01864
    return base * (1.0 + 0.0025 * (at_c - 24.0))


@jit
def wood_j_kg_k(moisture: float, at_c: float) -> float:
    """Per kg of dry wood with its water; moisture [%]; Eqs. 4-16a, 4-17, 4-18."""
    kelvin = at_c + KELVIN
    wet = 1.0 + 0.01 * moisture
    bound = moisture * (-0.06191 + 2.36e-4 * kelvin - 1.33e-4 * moisture)
    return 1000.0 * (0.1031 + 0.003867 * kelvin + 0.0418 * moisture + wet * bound)


@jit
def begin(p: F64, s: F64) -> None:
    """A cold stack in state `s`, all of it but the form as warm as the room."""
    for i in range(STATES):
        s[i] = 0.0
    for i in range(FORM):
        s[i] = p[14]
    for i in range(FORM_CELLS):
        s[FORM + i] = p[14] + p[23]
    for i in range(WOOD_CELLS):
        s[WATER + i] = p[2]
    s[BEAD] = p[14]
    s[MET] = -1.0


@jit
def _contact(p: F64, s: F64) -> float:
    """How far the form is met, 0 to 1."""
    if s[MET] < 0.0:
        return 0.0
    return min(1.0, (s[CLOCK] - s[MET]) / p[22])


@jit
def refresh(p: F64, s: F64, w: F64) -> None:
    """Capacities and ties as the state has them now."""
    press = 1.0 + _contact(p, s) * (p[13] - 1.0)
    dx = p[0] / WOOD_CELLS
    dry = p[1] / 1.12 * dx
    db = p[5] / BLANKET_CELLS
    w[0] = STEEL_J_M3_K * p[9]
    w[FAR] = w[0]
    for i in range(WOOD_CELLS):
        w[WOOD + i] = dry * wood_j_kg_k(s[WATER + i], s[WOOD + i])
    w[WOOD] += FOIL_J_M2_K
    w[BLANKET - 1] += FOIL_J_M2_K
    for i in range(BLANKET_CELLS):
        w[BLANKET + i] = p[7] * db
    tie = FORM
    half = 0.0  # resistance of half the wood cell before
    for i in range(WOOD_CELLS):
        mine = 0.5 * dx / (p[3] * wood_k_w_m_k(p[1], s[WATER + i], s[WOOD + i]))
        w[tie + i] = 1.0 / (mine + (half if i else 1.0 / (p[10] * press)))
        half = mine
    blanket_half = 0.5 * db / p[6]
    w[tie + WOOD_CELLS] = 1.0 / (half + 1.0 / (p[11] * press) + blanket_half)
    for i in range(1, BLANKET_CELLS):
        w[tie + WOOD_CELLS + i] = 0.5 / blanket_half
    w[tie + FAR - 1] = 1.0 / (blanket_half + 1.0 / (p[12] * press))


@jit
def _face_w_m2(at_c: float, room_c: float, convection: float, emissivity: float) -> float:
    face, room = at_c + KELVIN, room_c + KELVIN
    return convection * (at_c - room_c) + emissivity * SIGMA * (face**4 - room**4)


@jit
def _water(p: F64, s: F64, w: F64) -> None:
    """What evaporates in one step cools its cell."""
    dry = p[1] / 1.12 * p[0] / WOOD_CELLS
    for i in range(WOOD_CELLS):
        at_c = s[WOOD + i]
        if at_c <= 90.0:
            continue
        rest = p[2] * max(0.0, (130.0 - at_c) / 40.0)
        over = s[WATER + i] - rest
        if over > 0.0:
            gone = over * STEP_S / p[4]
            s[WATER + i] -= gone
            taken = 0.01 * gone * dry * (2501.0e3 - 2400.0 * at_c + 100.0e3)
            s[VAPOUR] += taken
            s[WOOD + i] -= taken / w[WOOD + i]


@jit
def step(p: F64, s: F64, w: F64, on: float) -> None:
    """One STEP_S; on: share of it in which the relay conducts."""
    met = _contact(p, s)
    volts = p[26] * (1.0 + SWING * math.sin(2.0 * math.pi * s[CLOCK] / SWING_S + p[27]))
    power = on * p[8] * volts * volts
    outer = FAR if p[19] > 0.5 else 0
    near = _face_w_m2(s[0], p[14], p[15], p[16])
    far = _face_w_m2(s[FAR], p[14], p[17], p[18])
    into_form = 0.0
    if met > 0.0:
        into_form = met * (s[outer] - s[FORM]) / (1.0 / p[20] + 0.5 * FORM_M[0] / p[21])
        if outer == 0:
            near *= 1.0 - met
        else:
            far *= 1.0 - met
    # Heat crosses from one cell to the next; before its own change a cell has given to the next.
    cross = -near - (into_form if outer == 0 else 0.0)
    for i in range(FAR):
        out = w[FORM + i] * (s[i] - s[i + 1])
        gain = cross - out
        if i == BLANKET + 2 or i == BLANKET + 3:
            gain += 0.5 * power
        s[i] += STEP_S * gain / w[i]
        cross = out
    s[FAR] += STEP_S * (cross - far - (into_form if outer == FAR else 0.0)) / w[FAR]
    s[PUT_IN] += STEP_S * power
    s[LOST] += STEP_S * (near + far + into_form)
    if met > 0.0:
        cross = into_form
        for i in range(FORM_CELLS):
            if i + 1 < FORM_CELLS:
                out = 2.0 * p[21] * (s[FORM + i] - s[FORM + i + 1]) / (FORM_M[i] + FORM_M[i + 1])
            else:
                out = FORM_BACK_W_M2_K * (s[FORM + i] - p[14])
            s[FORM + i] += STEP_S * (cross - out) / (FORM_J_M3_K * FORM_M[i])
            cross = out
    _water(p, s, w)
    # What the bead touches: the blanket's face and the slat.
    inside, slat = s[FAR - 1], s[FAR]
    face = inside - (inside - slat) * w[FORM + FAR - 1] * 0.5 * p[5] / BLANKET_CELLS / p[6]
    touched = p[24] * face + (1.0 - p[24]) * slat
    s[BEAD] += STEP_S * (touched - s[BEAD]) / p[25]
    s[CLOCK] += STEP_S


@jit
def middle_c(s: F64) -> float:
    """Of the wood, in state `s`."""
    return 0.5 * (s[WOOD + WOOD_CELLS // 2 - 1] + s[WOOD + WOOD_CELLS // 2])


@jit
def _dry_duty(p: F64, target_c: float) -> float:
    """Share of full power that holds the bead in free air at last, the wood dry."""
    s, w = np.zeros(STATES), np.zeros(WORK)
    begin(p, s)
    for i in range(WOOD_CELLS):
        s[WATER + i] = 0.0
    for i in range(FORM):
        s[i] = target_c
    refresh(p, s, w)
    # The slat on the blanket's side follows from the bead, the rest from what flows through it.
    tie, inner = w[FORM + FAR - 1], 0.5 * p[5] / BLANKET_CELLS / p[6]
    slat = target_c
    for _ in range(30):
        flow = _face_w_m2(slat, p[14], p[17], p[18])
        inside = slat + flow / tie
        face = inside - flow * inner
        slat += target_c - (p[24] * face + (1.0 - p[24]) * slat)
    # Towards the wood: the blanket's middle is as warm as what feeds both ways.
    flow = _face_w_m2(slat, p[14], p[17], p[18])
    core = slat + flow / tie + flow * 2.0 * 2.0 * inner
    through = inner * 4.0 + 1.0 / w[FORM]
    for i in range(1, BLANKET):
        through += 1.0 / w[FORM + i]
    near = core
    for _ in range(60):
        near += 0.3 * (core - through * _face_w_m2(near, p[14], p[15], p[16]) - near)
    power = p[8] * p[26] * p[26]
    return (flow + _face_w_m2(near, p[14], p[15], p[16])) / power


def hold_duty(plant: F64, target_c: float) -> float:
    """Share of full power that holds `target_c` at the thermocouple in free air, in the end.

    Args:
        plant: one row of drawn.NAMES.
        target_c: at the thermocouple.
    """
    return float(_dry_duty(plant, target_c))
