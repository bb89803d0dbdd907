"""A sheet drawn by a seed: which structure, which numbers, where things lie.

Ranges with a source in materials.csv are drawn from there; the others stand in RANGES, all of them proposals:
wide on purpose, since these sheets are to be unlike what the guard was tuned on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np

from ribwright_sim.materials import load_materials
from ribwright_sim.stack import Zone
from ribwright_sim.stack_file import draw_spot, read_piece, read_sandwich, read_zones

from .sheet_area import ACROSS, Area, lay_out, patches
from .sheet_parts import (
    ACTIVATED,
    CURVED,
    DAMP,
    F64,
    FRONT,
    I64,
    NUMBERS,
    STEADY,
    STRAIGHT,
    VENTED,
    WARM,
)
from .sheet_rows import BLANKET_CELLS, WOOD_CELLS, Rows


class Structure(NamedTuple):
    """The laws of a sheet, by their names in sheet_parts.py, and whether the short blanket lies inside."""

    drying: int
    contact: int
    faces: int
    short_inside: bool


STRUCTURES: tuple[Structure, ...] = tuple(
    Structure(*one)
    for one in product((FRONT, ACTIVATED, VENTED), (STEADY, WARM, DAMP), (STRAIGHT, CURVED), (False, True))
)

# name: low, high.  Proposals, except where a source is named.
RANGES: Mapping[str, tuple[float, float]] = {
    # Heat to boil water away, 2257 kJ/kg at 100 C (steam tables, from memory), and more for bound water.
    "latent_j_kg": (2.257e6, 1.12 * 2.257e6),
    # Drying by a boiling front: steam's way out, and up to 1 mm of dry wood, as resistances.
    "film_m2_k_w": (1.0 / 2500.0, 1.0 / 800.0),
    "dry_layer_m2_k_w": (1.0 / 400.0, 1.0 / 120.0),
    # Drying by diffusion: share of the water per second at 100 C; 38-48 kJ/mol over 8.3145 J/(mol K).
    "rate_100_s": (1.0 / 260.0, 1.0 / 80.0),
    "activation_k": (4570.0, 5770.0),
    # Below this a cell no longer dries as a wet one; and what stays for good, as a share of the first water.
    "thin_kg_m2": (0.003, 0.008),
    "residual": (0.03, 0.12),
    # Contacts: change with temperature, share lost when the wood is dry, patches over the area.
    "warm_slope": (-0.002, 0.003),
    "damp_drop": (0.1, 0.5),
    "patch_contact": (0.0, 0.3),
    "patch_power": (0.0, 0.05),
    # Scatter of all faces' losses.
    "loss": (0.72, 1.38),
    "rubber_emissivity": (0.85, 0.95),
    "rim_w_m_k": (0.03, 0.2),
    "gap_w_m2_k": (2.0, 8.0),
    "open_w_m2_k": (16.0, 42.0),
    "open_joint": (0.3, 0.8),
    "hand_w_m2_k": (20.0, 60.0),
    "blanket_heat": (0.9, 1.15),
    "cold_share": (0.6, 1.0),
}
# Of every junction.
JUNCTION_RANGES: Mapping[str, tuple[float, float]] = {
    "lag_s": (2.0, 8.0),
    "face_share": (0.65, 0.95),
    "hanging_lag_s": (6.0, 20.0),
    "hanging_share": (0.05, 0.3),
}
# A face in the open [W/(m2 K)]: in all, and its convection 100 K above the room (proposals).
FACE_W_M2_K, BARE_FACE_W_M2_K, CONVECTION_W_M2_K = 11.5, 13.5, 6.5
HAND_M2 = 0.009
# Share of a blanket's length, about its middle, in which its junction may lie.
CENTRAL_SHARE = 0.5
# What ovendry wood counts as full of, so that a share of it can be taken [kg/m2].
LEAST_KG_M2 = 1e-6


@dataclass(frozen=True, slots=True)
class Junction:
    """A thermocouple: lag [s], share of the blanket in what it feels; both when it hangs in air; its chip."""

    lag_s: float
    face_share: float
    hanging_lag_s: float
    hanging_share: float
    chip_rise_k: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """Everything of a sheet that never changes; copies of the sheet share it.

    Attributes:
        zones: names. structure: its laws. ambient_c: of the room.
        area: where columns and blankets lie. plan, numbers: see sheet_parts.py.
        water_kg_m2: at the start, (cells, columns). junctions: per zone.
        cutoffs: per zone, row and column its cut-off is bonded to.
        blankets, spans: per zone, first row, and first and stop of its columns.
        hands: per zone, the columns a hand covers. slat: row of the inner slat, -1 without one.
        soaked_kg_m2: water on each face of a strip that drips.
        cold_share: how much of the way to the room's temperature a newly closed strip has gone.
    """

    zones: tuple[str, ...]
    structure: Structure
    ambient_c: float
    area: Area
    plan: I64
    numbers: F64
    water_kg_m2: F64
    junctions: tuple[Junction, ...]
    cutoffs: tuple[tuple[int, int], ...]
    blankets: tuple[int, ...]
    spans: tuple[tuple[int, int], ...]
    hands: tuple[I64, ...]
    slat: int
    soaked_kg_m2: float
    cold_share: float


def draw(
    rig: Mapping[str, object], piece: Mapping[str, object], seed: int, *, bare: bool, ambient_c: float
) -> Drawn:
    """The sheet of a seed; raises StackError for a rig or piece that cannot be simulated.

    Args:
        rig: mapping of a rig file.
        piece: a profile's [piece].
        seed: picks the structure and every number.
        bare: blankets alone, apart from one another, both faces to the air.
        ambient_c: room [C].
    """
    rng = np.random.default_rng([seed, 71])
    structure = STRUCTURES[int(rng.integers(len(STRUCTURES)))]
    pick = {name: float(rng.uniform(*span)) for name, span in RANGES.items()}
    zones, sandwich = read_zones(rig, rng), read_sandwich(rig, rng)
    wood, spot = read_piece(piece, rng), draw_spot(load_materials(), rng)
    area = lay_out(zones, sandwich, short_inside=structure.short_inside)
    wooden, rubbery, heating = (patches(area, rng) for _ in range(3))
    wooden, rubbery = np.exp(pick["patch_contact"] * wooden), np.exp(pick["patch_contact"] * rubbery)
    rows = Rows(area)
    water = np.zeros((0, area.columns))
    if not bare:
        rows.add_form_and_slat(sandwich, spot, wooden)
        water = rows.add_wood(wood, sandwich, spot, wooden, pick["open_w_m2_k"])
    rows.add_blankets(sandwich, spot, rubbery, pick, bare=bare)
    if not bare:
        rows.add_outer_slat(sandwich, spot, rubbery, pick)
    single = pick | {
        "ambient_c": ambient_c,
        "press_gain": (1.0 / spot.slat_on_foil + 1.0 / spot.foil_on_wood_hanging)
        / (1.0 / spot.slat_on_foil + 1.0 / spot.foil_on_wood_pressed),
        "vent_kg_m2_s": spot.vent_kg_m2_s,
        "seep_s": spot.seep_s,
        "face_w_m2_k": pick["loss"] * (BARE_FACE_W_M2_K if bare else FACE_W_M2_K),
        "convection_w_m2_k": pick["loss"] * CONVECTION_W_M2_K,
        "glow": pick["rubber_emissivity"] if bare else sandwich.emissivity,
        "back_w_m2_k": spot.form_back,
        "ramp_s": spot.form_ramp_s,
    }
    blankets = tuple(rows.blankets[layer] for layer in area.layer)
    power = _power(zones, area, 1.0 + pick["patch_power"] * heating)
    # Junctions are bonded in the middle of the width and well away from the blanket's ends (common practice,
    # no source), cut-offs anywhere.
    at = [
        int(rng.choice(_central(inner // ACROSS, lies))) * ACROSS + ACROSS // 2
        for inner, lies in zip(area.inner, area.lies, strict=True)
    ]
    lie = [np.flatnonzero(lies) for lies in area.lies]
    return Drawn(
        zones=tuple(zone.name for zone in zones),
        structure=structure,
        ambient_c=ambient_c,
        area=area,
        plan=_plan(structure, rows, blankets, at, bare=bare),
        numbers=_numbers(rows, power, water, pick["residual"], [single[name] for name in NUMBERS]),
        water_kg_m2=water,
        junctions=tuple(_junction(zone, rng) for zone in zones),
        cutoffs=tuple(
            (first + BLANKET_CELLS - 1, int(rng.choice(own)))
            for first, own in zip(blankets, area.own, strict=True)
        ),
        blankets=blankets,
        spans=tuple((int(there[0]), int(there[-1]) + 1) for there in lie),
        hands=tuple(_hand(area, own, rng) for own in area.own),
        slat=rows.form,
        soaked_kg_m2=load_materials().row("wood soaked", "added_water").pick(rng),
        cold_share=pick["cold_share"],
    )


def _central(places: I64, lies: F64) -> I64:
    """Places in the middle CENTRAL_SHARE of where a blanket lies; the nearest one where there is none."""
    there = np.flatnonzero(lies) // ACROSS
    middle = 0.5 * (there[0] + there[-1])
    away = np.abs(places - middle)
    near: I64 = places[away <= 0.5 * CENTRAL_SHARE * (there[-1] - there[0])]
    nearest: I64 = places[away == away.min()]
    return near if near.size else nearest


def _junction(zone: Zone, rng: np.random.Generator) -> Junction:
    values = {name: float(rng.uniform(*span)) for name, span in JUNCTION_RANGES.items()}
    # Slow ones are rarer than quick ones.
    low, high = JUNCTION_RANGES["lag_s"]
    values["lag_s"] = low * (high / low) ** (float(rng.uniform()) ** 1.5)
    return Junction(**values, chip_rise_k=zone.cold_junction_rise_k)


def _hand(area: Area, own: I64, rng: np.random.Generator) -> I64:
    """Own columns next to one another along the side, as many as a hand covers."""
    start = int(rng.integers(own.size)) // ACROSS * ACROSS
    count = np.searchsorted(np.cumsum(area.area_m2[own[start:]]), HAND_M2) + 1
    return own[start : start + int(count)]


def _power(zones: Sequence[Zone], area: Area, patchy: F64) -> F64:
    """Watt density of each blanket [W/m2] at rated volts, (zones, columns)."""
    shape = area.droop * patchy
    whole = (area.lies * area.area_m2).sum(axis=1, keepdims=True)
    shape *= whole / (shape * area.area_m2).sum(axis=1, keepdims=True)
    rated = [zone.power_w * zone.power_factor / (zone.length_m * zone.width_m) for zone in zones]
    return np.asarray(shape * np.array(rated)[:, None])


def _plan(
    structure: Structure, rows: Rows, blankets: Sequence[int], junctions: Sequence[int], *, bare: bool
) -> I64:
    """Whole numbers of a sheet, in the order of sheet_parts.py."""
    felt = [_felt(rows, first, column, bare=bare) for first, column in zip(blankets, junctions, strict=True)]
    head = (len(rows.cap), rows.area.columns, len(blankets), 0 if bare else WOOD_CELLS, rows.wood, ACROSS)
    laws = (structure.drying, structure.contact, structure.faces, rows.form)
    # A joint stands with the row before it; the outermost has none.
    kinds = (*rows.kind[1:], 0)
    cores, (faces, nexts) = [first + 1 for first in blankets], zip(*felt, strict=True)
    return np.array((*head, *laws, *kinds, *cores, *junctions, *faces, *nexts), dtype=np.int64)


def _felt(rows: Rows, first: int, column: int, *, bare: bool) -> tuple[int, int]:
    """Row of the blanket's face that a junction lies on, and the row beyond it.

    It lies under the outer slat; where another blanket is in between, on the foil.
    """
    outer = first + BLANKET_CELLS - 1
    if bare:
        return outer, outer
    beyond = [layer for layer, row in enumerate(rows.blankets) if row > first]
    covered = any(rows.area.covered(layer)[column] for layer in beyond)
    return (first, rows.wood + WOOD_CELLS - 1) if covered else (outer, rows.slat)


def _numbers(rows: Rows, power: F64, water: F64, residual: float, single: Sequence[float]) -> F64:
    """Numbers of a sheet in one array, in the order of sheet_parts.py."""
    area = rows.area
    touch = np.vstack((rows.touch[1:], np.ones(area.columns)))
    blocks = (
        *(np.array(rows.cap), rows.solid(), touch, np.array(rows.rim), np.array(rows.face)),
        *(power, np.maximum(water, LEAST_KG_M2), residual * water),
        *(area.area_m2, area.along, area.across),
        *(np.array(rows.sheet), np.array(rows.opened), np.array(rows.hand), np.array(single)),
    )
    return np.concatenate([block.ravel() for block in blocks])
