"""The stack as plain arrays: everything a solver needs besides the laws, fixed for a whole run.

A side is cut into columns along its length; each is a row of cells through the thickness, the form's back
first and the outer slat last.  Shapes: N columns, C cells, W wood cells, Z zones (blankets), P links along
the side.  Cell arrays are per square metre of their column.

How a solver uses them, with the bundle of laws in `laws.py`:

* wood cells are `wood`; their conductivity is `conductivity_w_m_k(gravity, k_factor, k_rise, bound, T)`,
  their capacity `dry_kg_m2 * (a + b T)` from `heat_terms_j_kg_k(bound, free)`; other cells stand here.
* between cells: 1 / (half resistance + 1 / contact + half resistance), half resistance = thickness / (2 k);
  contact = hanging + share * (pressed - hanging), share = `contact_share(time since met, form_ramp_s)`.
* the faces `face_cell` lose `face_flux_w_m2(T of the cell, ambient_c, face_size_m, emissivity)` times
  1 - face_covered * share; the form's back loses
  (T - ambient) / (1 / back_w_m2_k + half resistance of cell 0).
* a zone that is on puts power_w * power_factor * mains**2 * heater_share / area_m2 into its cells [W/m2].
* each wood cell loses water by `drying_rates_percent_s` and with it 0.01 * dry_kg_m2 * rate * heat.
* along the side: along_w_k * (T[along_to] - T[along_from]) flows into `along_from` [W], out of `along_to`.
* a junction relaxes with junction_lag_s toward weight * (face of its cell toward the next cell) +
  (1 - weight) * (next cell).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from .cut import Column, cut, heated_share, own_columns, places
from .fit_parameters import Values
from .fitted import fit_sandwich, fit_spot, fit_wood, fit_zones, fitted_values
from .layers import (
    CELLS,
    INNER_SLAT,
    OUTER_SLAT,
    WOOD,
    WOOD_CELLS,
    along_links,
    blanket_cells,
    cells_of,
    contacts_of,
    core_of,
)
from .materials import load_materials
from .stack import Sandwich, Spot, WoodPiece, Zone
from .stack_file import ambient_of, draw_spot, read_piece, read_sandwich, read_zones

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Stack:
    """A cut side as arrays; see the top of this file for how they are used.

    Attributes:
        columns: names of the columns. zones: names of the zones.
        own: per zone, the columns it answers for and is pressed at.
        ambient_c: room [C].
        wood: the wood cells of every column.
        area_m2: (N,). thickness_m, conductivity_w_m_k, capacity_j_m2_k: (N, C), wood entries of the last
            two unused.
        contact_hanging_w_m2_k, contact_pressed_w_m2_k: (N, C - 1), 0 where nothing touches.
        form_ramp_s: (N,). back_w_m2_k: (N,) from the back of cell 0 to the room.
        face_cell: (2,), face_covered: (2,) 1 where the form covers the face, face_size_m and emissivity:
            (N, 2).
        power_w, power_factor: (Z,). heater_share: (Z, N, C), sums to 1 for each zone.
        gravity, k_factor, k_rise, dry_kg_m2: (N,), the last of one wood cell.
        escape_s, seep_s, vent_kg_m2_s, room_percent: (N,).
        bound_percent, free_percent: (N, W), at the start.
        along_from, along_to: (P,) cells counted through all columns (column * C + cell).
        along_w_k: (P,) [W/K].
        junction_column, junction_cell, junction_face_weight, junction_lag_s, junction_j_m2_k,
        cold_rise_k: (Z,).
        core: (Z,) first of the two cells of the zone's element, in its junction's column.
    """

    columns: tuple[str, ...]
    zones: tuple[str, ...]
    own: tuple[tuple[int, ...], ...]
    ambient_c: float
    wood: slice
    area_m2: F64
    thickness_m: F64
    conductivity_w_m_k: F64
    capacity_j_m2_k: F64
    contact_hanging_w_m2_k: F64
    contact_pressed_w_m2_k: F64
    form_ramp_s: F64
    back_w_m2_k: F64
    face_cell: I64
    face_covered: F64
    face_size_m: F64
    emissivity: F64
    power_w: F64
    power_factor: F64
    heater_share: F64
    gravity: F64
    k_factor: F64
    k_rise: F64
    dry_kg_m2: F64
    escape_s: F64
    seep_s: F64
    vent_kg_m2_s: F64
    room_percent: F64
    bound_percent: F64
    free_percent: F64
    along_from: I64
    along_to: I64
    along_w_k: F64
    junction_column: I64
    junction_cell: I64
    junction_face_weight: F64
    junction_lag_s: F64
    junction_j_m2_k: F64
    cold_rise_k: F64
    core: I64


def stack_for(
    rig: Mapping[str, object],
    piece: Mapping[str, object],
    *,
    seed: int = 0,
    ambient_c: float | None = None,
    values: Values | None = None,
) -> Stack:
    """The stack of a rig file's mapping and a profile's [piece].

    Args:
        rig: with [[zones]] (power_w, length_mm, width_mm), optional [stack], and [fit] once it was fitted.
        piece: species, thickness_mm, wetted or moisture_percent, plies.
        seed: 0 for nominal values, else a stack drawn within the stated ranges.
        ambient_c: room [C]; absent, the rig's [stack] ambient, else 20.
        values: in place of the rig's [fit], by the names of fit_parameters.py.

    Raises StackError naming the place, the value and its limit.
    """
    rng = np.random.default_rng(seed) if seed else None
    wood = read_piece(piece, rng)
    zones, sandwich = read_zones(rig, rng), read_sandwich(rig, rng)
    columns = cut(zones, sandwich)
    spots = [draw_spot(load_materials(), rng) for _ in columns]
    found = fitted_values(rig, rng) if values is None else values
    if found:
        zones, sandwich = fit_zones(zones, found), fit_sandwich(rig, sandwich, found)
        spots = [
            fit_spot(spot, found, column.outwards[-1]) for spot, column in zip(spots, columns, strict=True)
        ]
        wood = fit_wood(wood, found)
    room_c = ambient_of(rig) if ambient_c is None else ambient_c
    stack = lay_out(zones, sandwich, columns, spots, wood, room_c)
    along = found.get("along", 1.0)
    return replace(stack, along_w_k=stack.along_w_k * along) if isinstance(along, float) else stack


def lay_out(
    zones: Sequence[Zone],
    sandwich: Sandwich,
    columns: Sequence[Column],
    spots: Sequence[Spot],
    wood: WoodPiece,
    ambient_c: float,
) -> Stack:
    """Every array of the stack.

    Args:
        zones: the blankets and their junctions, in the rig's order.
        sandwich: the layers.
        columns: as cut.cut() makes them.
        spots: contacts, faces and vent of each column.
        wood: the strip.
        ambient_c: the room [C].

    Raises StackError where short blankets do not fit on the long one.
    """
    n, z = len(columns), len(zones)
    width_m = np.array([max(zones[i].width_m for i in column.zones) for column in columns])
    length_m = np.array([column.length_m for column in columns])
    thickness, k, capacity = cells_of(sandwich, columns, wood)
    hanging, pressed = contacts_of(columns, spots)
    heater = np.zeros((z, n, CELLS))
    for i, span in enumerate(places(zones, sandwich.waist_place)):
        for c, column in enumerate(columns):
            if i in column.zones:
                share = heated_share(span, column, sandwich.edge_length_m, sandwich.edge_power)
                element = core_of(blanket_cells(column)[i])
                heater[i, c, [element, element + 1]] = 0.5 * share
        heater[i] /= heater[i].sum()
    own = tuple(own_columns(columns, i) for i in range(z))
    at = [one[-1] for one in own]
    dry = wood.dry_kg_m3 * wood.thickness_m / WOOD_CELLS
    free = np.full((n, WOOD_CELLS), wood.free_percent)
    free[:, [0, -1]] += 100.0 * wood.face_water_kg_m2 / dry
    along_from, along_to, along_w_k = along_links(sandwich, columns, width_m, wood)

    def spot(name: str) -> F64:
        return np.array([getattr(one, name) for one in spots], dtype=np.float64)

    def zone_(name: str) -> F64:
        return np.array([getattr(one, name) for one in zones], dtype=np.float64)

    return Stack(
        columns=tuple(column.name for column in columns),
        zones=tuple(zone.name for zone in zones),
        own=own,
        ambient_c=ambient_c,
        wood=WOOD,
        area_m2=width_m * length_m,
        thickness_m=thickness,
        conductivity_w_m_k=k,
        capacity_j_m2_k=capacity,
        contact_hanging_w_m2_k=hanging,
        contact_pressed_w_m2_k=pressed,
        form_ramp_s=spot("form_ramp_s"),
        back_w_m2_k=spot("form_back"),
        face_cell=np.array([INNER_SLAT, OUTER_SLAT]),
        face_covered=np.array([1.0, 0.0]),
        face_size_m=np.repeat(width_m[:, None], 2, axis=1),
        emissivity=np.full((n, 2), sandwich.emissivity),
        power_w=zone_("power_w"),
        power_factor=zone_("power_factor"),
        heater_share=heater,
        gravity=np.full(n, wood.basic_gravity),
        k_factor=np.full(n, wood.conductivity_factor),
        k_rise=np.full(n, wood.conductivity_rise),
        dry_kg_m2=np.full(n, dry),
        escape_s=spot("escape_s"),
        seep_s=spot("seep_s"),
        vent_kg_m2_s=spot("vent_kg_m2_s"),
        room_percent=spot("room_moisture_percent"),
        bound_percent=np.full((n, WOOD_CELLS), wood.bound_percent),
        free_percent=free,
        along_from=along_from,
        along_to=along_to,
        along_w_k=along_w_k,
        junction_column=np.array(at),
        junction_cell=np.array([blanket_cells(columns[c])[i][-1] for i, c in enumerate(at)]),
        junction_face_weight=zone_("junction_face_weight"),
        junction_lag_s=zone_("junction_lag_s"),
        junction_j_m2_k=zone_("junction_j_m2_k"),
        cold_rise_k=zone_("cold_junction_rise_k"),
        core=np.array([core_of(blanket_cells(columns[c])[i]) for i, c in enumerate(at)]),
    )
