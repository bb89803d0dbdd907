"""Plain walls posed to the shipped solver: one column, constant laws, heat where a test wants it."""

import math

import numpy as np

from ribwright_sim.field import Field
from ribwright_sim.laws import Laws
from ribwright_sim.layers import WITHIN
from ribwright_sim.layout import Stack

# Wood-like wall of the reference sheet: conductivity W/(m K), density kg/m3, heat capacity J/(kg K).
K, RHO, C = 0.17, 700.0, 1700.0
ALPHA = K / (RHO * C)
ROOM_C = 20.0


# No water, constant heat capacity, faces that lose in proportion; conductivity linear in temperature.
WALL = Laws(
    conductivity_w_m_k=lambda _gravity, factor, rise, bound, at_c: (
        factor * (1.0 + rise * (at_c - ROOM_C)) + 0.0 * bound
    ),
    heat_terms_j_kg_k=lambda bound, _free: (C + 0.0 * bound, 0.0 * bound),
    drying_rates_percent_s=lambda at_c, *_: (0.0 * at_c, 0.0 * at_c),
    vapour_heat_j_kg=lambda at_c, _bound: (1.0 + 0.0 * at_c, 1.0 + 0.0 * at_c),
    face_flux_w_m2=lambda face_c, room_c, size, _emissivity: size * (face_c - room_c),
    contact_share=lambda _since_s, ramp_s: 0.0 * ramp_s,
)


def wall(
    thickness_m,
    cells,
    *,
    h=(0.0, 0.0),
    heat_w_m2=0.0,
    heated=(),
    k=K,
    k_rise=0.0,
    rho=RHO,
    start_c=20.0,
    room_c=ROOM_C,
    refresh_s=1.0,
):
    """A Field of one uniform wall.

    h: what its two faces lose per kelvin over the room [W/(m2 K)].  heat_w_m2: flux put into `heated` cells,
    shared evenly.
    """
    dx = thickness_m / cells
    shares = np.zeros((1, 1, cells))
    if len(heated):
        shares[0, 0, list(heated)] = 1.0 / len(heated)
    through = [1.0 / (1.0 / one + 0.5 * dx / k) if one else 0.0 for one in h]
    one = np.ones(1)
    stack = Stack(
        columns=("wall",),
        zones=("heat",),
        own=((0,),),
        ambient_c=room_c,
        wood=slice(0, cells),
        area_m2=one,
        thickness_m=np.full((1, cells), dx),
        conductivity_w_m_k=np.full((1, cells), k),
        capacity_j_m2_k=np.ones((1, cells)),
        contact_hanging_w_m2_k=np.full((1, cells - 1), WITHIN),
        contact_pressed_w_m2_k=np.full((1, cells - 1), WITHIN),
        form_ramp_s=one,
        back_w_m2_k=np.zeros(1),
        face_cell=np.array([0, cells - 1]),
        face_covered=np.zeros(2),
        face_size_m=np.array([through]),
        emissivity=np.zeros((1, 2)),
        power_w=one * max(heat_w_m2, 1e-12),
        power_factor=one,
        heater_share=shares,
        gravity=one,
        k_factor=one * k,
        k_rise=one * k_rise,
        dry_kg_m2=one * rho * dx,
        escape_s=one,
        seep_s=one,
        vent_kg_m2_s=one,
        room_percent=one,
        bound_percent=np.zeros((1, cells)),
        free_percent=np.zeros((1, cells)),
        along_from=np.zeros(0, dtype=np.int64),
        along_to=np.zeros(0, dtype=np.int64),
        along_w_k=np.zeros(0),
        junction_column=np.zeros(1, dtype=np.int64),
        junction_cell=np.zeros(1, dtype=np.int64),
        junction_face_weight=one,
        junction_lag_s=one,
        junction_j_m2_k=one * 1e-9,
        cold_rise_k=np.zeros(1),
        core=np.zeros(1, dtype=np.int64),
    )
    field = Field(stack, WALL, start_c=start_c, refresh_s=refresh_s)
    if heat_w_m2:
        field.switch(np.ones(1))
    return field


def cells_c(field):
    """Temperature of every cell [C]."""
    return field.settle().at_c[0, : field.stack.thickness_m.shape[1]]


def at_depth(field, x_m):
    """Temperature at x_m from the first face [C], by the parabola through three cells' middles."""
    values = cells_c(field)
    dx = field.stack.thickness_m[0, 0]
    i = min(max(round(x_m / dx - 0.5), 1), len(values) - 2)
    u = x_m / dx - 0.5 - i
    low, here, high = values[i - 1 : i + 2]
    return float(here + 0.5 * u * (high - low) + 0.5 * u * u * (high - 2.0 * here + low))


# Infinite contact: what holds a face at the room's temperature.
HELD = math.inf
