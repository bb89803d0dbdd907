"""From a rig and a piece to the numbers of each zone's stack.

Order of the cells, from the form outwards: form | inner slat | foil | wood | foil | blanket | outer slat,
and last the thermocouple's bead between blanket and outer slat.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from .effects import mains_power_w
from .materials import Materials, StackError, load_materials
from .wood import MOISTURE_BY_WETTED, MOISTURE_LIMIT_PERCENT, gravity_at, species

if TYPE_CHECKING:
    import numpy as np

FORM_CELLS, WOOD_CELLS, BLANKET_CELLS = 5, 6, 6
INNER_SLAT = FORM_CELLS
INNER_FOIL = INNER_SLAT + 1
WOOD = slice(INNER_FOIL + 1, INNER_FOIL + 1 + WOOD_CELLS)
OUTER_FOIL = WOOD.stop
BLANKET = slice(OUTER_FOIL + 1, OUTER_FOIL + 1 + BLANKET_CELLS)
# The element sits in the middle of the mat; an even number of cells puts it on the middle pair.
ELEMENT = (BLANKET.start + BLANKET_CELLS // 2 - 1, BLANKET.start + BLANKET_CELLS // 2)
OUTER_SLAT = BLANKET.stop
BEAD = OUTER_SLAT + 1
CELLS = BEAD + 1

# Stack of our example rig; thicknesses from the shared stack description, [stack] overrides them.
STACK_DEFAULTS: Mapping[str, object] = {
    "slat": "spring steel",
    "slat_mm": 0.25,
    "blanket_mm": 1.4,
    "foil_mm": 0.02,
    "form": "plywood",
    "form_mm": 25.0,
}


# A stack may start anywhere between a frosty shed and the board's own ceiling.
ROOM_MIN_C, ROOM_MAX_C = -30.0, 200.0


@dataclass(frozen=True, slots=True)
class Solid:
    """A layer: thickness [m], density [kg/m3], specific heat [J/(kg K)], conductivity [W/(m K)]."""

    thickness_m: float
    density_kg_m3: float
    specific_heat_j_kg_k: float
    conductivity_w_m_k: float


@dataclass(frozen=True, slots=True)
class ZoneStack:
    """Everything one zone's column needs; conductances in W/(m2 K), times in s."""

    name: str
    area_m2: float
    height_m: float
    power_w: float
    power_factor: float
    slat: Solid
    foil: Solid
    blanket: Solid
    form: Solid
    emissivity: float
    slat_on_foil: float
    foil_on_wood_hanging: float
    foil_on_wood_pressed: float
    foil_on_blanket: float
    slat_on_blanket: float
    slat_on_form: float
    form_back: float
    form_ramp_s: float
    escape_s: float
    seep_s: float
    room_moisture_percent: float
    junction_face_weight: float
    junction_lag_s: float
    junction_j_m2_k: float
    cold_junction_rise_k: float

    def flux_w_m2(self, mains: float) -> float:
        """Heater flux over the zone at `mains` (volts over rated volts) [W/m2]."""
        return mains_power_w(self.power_w, mains, self.power_factor) / self.area_m2


@dataclass(frozen=True, slots=True)
class WoodPiece:
    """The strip: species, thickness of all plies [m], moisture [%], basic gravity and conductivity terms."""

    species: str
    thickness_m: float
    moisture_percent: float
    basic_gravity: float
    conductivity_factor: float
    conductivity_rise: float

    @property
    def dry_kg_m3(self) -> float:
        """Dry mass per volume of the strip as it lies in the stack [kg/m3]."""
        return 1000.0 * float(gravity_at(self.basic_gravity, self.moisture_percent))


def number(mapping: Mapping[str, object], key: str, where: str, unit: str, default: object = None) -> float:
    """A finite number above zero at `key`; raises StackError for anything else."""
    value = mapping.get(key, default)
    if value is None:
        raise StackError("missing", f"{where}.{key}", "absent", "a number is needed,", unit, "add it")
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise StackError(
            "type", f"{where}.{key}", repr(value), "must be a number,", unit, "write it without quotes"
        )
    if not (value > 0.0 and math.isfinite(value)):
        raise StackError(
            "range", f"{where}.{key}", value, "must be above 0", unit, "measure it and correct the file"
        )
    return float(value)


def moisture_of(piece: Mapping[str, object]) -> float:
    """Starting moisture of the piece [%]: its own `moisture_percent`, or the assumption for `wetted`."""
    value = piece.get("moisture_percent")
    if value is None:
        wetted = str(piece.get("wetted", "dry"))
        if wetted not in MOISTURE_BY_WETTED:
            raise StackError(
                "unknown",
                "piece.wetted",
                repr(wetted),
                f"known: {', '.join(MOISTURE_BY_WETTED)}",
                "",
                "use one of them or give moisture_percent",
            )
        return MOISTURE_BY_WETTED[wetted]
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise StackError(
            "type", "piece.moisture_percent", repr(value), "must be a number,", "%", "write it without quotes"
        )
    if not 0.0 <= value <= MOISTURE_LIMIT_PERCENT:
        raise StackError(
            "range",
            "piece.moisture_percent",
            value,
            f"allowed 0 to {MOISTURE_LIMIT_PERCENT:g}",
            "%",
            "the conductivity equation ends there; dry the piece or give its true moisture",
        )
    return float(value)


def read_piece(piece: Mapping[str, object], rng: np.random.Generator | None) -> WoodPiece:
    """The strip described by a profile's [piece]; drawn within its ranges when `rng` is given.

    Raises StackError for an unknown species, a thickness not above zero, moisture out of range.
    """
    kind = species(str(piece.get("species", "sapele")))
    thickness_mm = number(piece, "thickness_mm", "piece", "mm", 1.7)
    plies = number(piece, "plies", "piece", "", 1)
    rows = load_materials()
    return WoodPiece(
        species=kind.name,
        thickness_m=thickness_mm * plies * 1e-3,
        moisture_percent=moisture_of(piece),
        basic_gravity=kind.basic_gravity if rng is None else float(rng.uniform(kind.low, kind.high)),
        conductivity_factor=rows.row("wood", "conductivity_factor").pick(rng),
        conductivity_rise=rows.row("wood", "conductivity_rise").pick(rng),
    )


def _solid(rows: Materials, name: str, thickness_mm: float, rng: np.random.Generator | None) -> Solid:
    return Solid(
        thickness_m=thickness_mm * 1e-3,
        density_kg_m3=rows.row(name, "density").pick(rng),
        specific_heat_j_kg_k=rows.row(name, "specific_heat").pick(rng),
        conductivity_w_m_k=rows.row(name, "conductivity").pick(rng),
    )


def _table(rig: Mapping[str, object], key: str) -> Mapping[str, object]:
    value = rig.get(key, {})
    if not isinstance(value, Mapping):
        raise StackError(
            "type", f"rig.{key}", type(value).__name__, "must be a table", "", f"write it as [{key}]"
        )
    return value


def read_zones(rig: Mapping[str, object], rng: np.random.Generator | None) -> tuple[ZoneStack, ...]:
    """One ZoneStack for each of the rig's [[zones]]; drawn within the ranges when `rng` is given.

    Raises StackError for a rig without zones, a size, thickness or power not above zero, and a
    material without the needed rows.
    """
    zones = rig.get("zones")
    if not isinstance(zones, Sequence) or isinstance(zones, str) or not zones:
        raise StackError(
            "missing", "rig.zones", "absent or empty", "at least one zone is needed", "", "add [[zones]]"
        )
    given = {**STACK_DEFAULTS, **_table(rig, "stack")}
    rows = load_materials()
    slat_name, form_name = str(given["slat"]), str(given["form"])
    slat = _solid(rows, slat_name, number(given, "slat_mm", "stack", "mm"), rng)
    foil = _solid(rows, "aluminium foil", number(given, "foil_mm", "stack", "mm"), rng)
    blanket = _solid(rows, "silicone blanket", number(given, "blanket_mm", "stack", "mm"), rng)
    form = _solid(rows, form_name, number(given, "form_mm", "stack", "mm"), rng)
    emissivity = rows.row(slat_name, "emissivity").pick(rng)

    def contact(name: str) -> float:
        return rows.row(name, "contact_conductance").pick(rng)

    result = []
    for index, zone in enumerate(zones):
        where = f"zones[{index}]"
        if not isinstance(zone, Mapping):
            raise StackError(
                "type", where, type(zone).__name__, "must be a table", "", "write it as [[zones]]"
            )
        length_mm = number(zone, "length_mm", where, "mm")
        width_mm = number(zone, "width_mm", where, "mm")
        hanging = contact("foil on wood hanging")
        result.append(
            ZoneStack(
                name=str(zone.get("name", f"zone {index + 1}")),
                area_m2=length_mm * width_mm * 1e-6,
                height_m=width_mm * 1e-3,
                power_w=number(zone, "power_w", where, "W"),
                power_factor=rows.row("silicone blanket", "power_factor").pick(rng),
                slat=slat,
                foil=foil,
                blanket=blanket,
                form=form,
                emissivity=emissivity,
                slat_on_foil=contact("slat on foil"),
                foil_on_wood_hanging=hanging,
                # Pressing can only improve the joint, whatever was drawn.
                foil_on_wood_pressed=max(hanging, contact("foil on wood pressed")),
                foil_on_blanket=contact("foil on blanket"),
                slat_on_blanket=contact("slat on blanket"),
                slat_on_form=contact("slat on form"),
                form_back=rows.row("form back", "surface_coefficient").pick(rng),
                form_ramp_s=rows.row("form contact", "ramp_time").pick(rng),
                escape_s=rows.row("vented foil", "escape_time").pick(rng),
                seep_s=rows.row("vented foil", "seep_time").pick(rng),
                room_moisture_percent=rows.row("vented foil", "room_moisture").pick(rng),
                junction_face_weight=rows.row("thermocouple", "face_weight").pick(rng),
                junction_lag_s=rows.row("thermocouple", "lag").pick(rng),
                junction_j_m2_k=rows.row("thermocouple", "heat_capacity").pick(rng),
                cold_junction_rise_k=rows.row("cold junction", "rise").pick(rng),
            )
        )
    return tuple(result)


def ambient_of(rig: Mapping[str, object]) -> float:
    """Room temperature [C] from the rig's [stack] `ambient`, which is in the rig's unit; 20 when absent."""
    value = _table(rig, "stack").get("ambient")
    if value is None:
        return 20.0
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise StackError(
            "type",
            "stack.ambient",
            repr(value),
            "must be a number,",
            str(rig.get("unit", "C")),
            "write it without quotes",
        )
    return (float(value) - 32.0) / 1.8 if rig.get("unit") == "F" else float(value)


def check_conditions(*, mains: float, ambient_c: float, start_c: float) -> None:
    """Raises StackError for mains (volts over rated) below 0, or a room or start [C] out of range."""
    if not mains >= 0.0:
        raise StackError("range", "mains", mains, "must be 0 or above", "", "give volts over rated volts")
    for where, seen_c in (("ambient_c", ambient_c), ("start_c", start_c)):
        if not ROOM_MIN_C <= seen_c <= ROOM_MAX_C:
            limit = f"allowed {ROOM_MIN_C:g} to {ROOM_MAX_C:g}"
            raise StackError("range", where, seen_c, limit, "C", "give the temperature in Celsius")
