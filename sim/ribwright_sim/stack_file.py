"""From a rig file's mapping and a profile's [piece] to the parts of the stack, with named errors."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ribwright_board.core.wood import MOISTURE_BY_WETTED, basic_gravity_of

from .materials import Materials, StackError, load_materials
from .stack import Sandwich, Solid, Spot, WoodPiece, Zone
from .wood import FIBRE_SATURATION_PERCENT, MOISTURE_LIMIT_PERCENT, species

if TYPE_CHECKING:
    import numpy as np

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
# A strip weighed on a kitchen scale and measured with a rule (PROPOSAL).
WEIGHED_SHARE = 0.03


def number(mapping: Mapping[str, object], key: str, where: str, unit: str, default: object = None) -> float:
    """A finite number above zero at `key`; raises StackError for anything else.

    mapping: a table of a rig file or a profile. where: its dotted place, and unit: of the number, for the
    error's words. default: taken where the key is absent; None, and that is an error too.
    """
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


def _wetted(piece: Mapping[str, object]) -> str:
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
    return wetted


def moisture_of(piece: Mapping[str, object]) -> float:
    """Starting moisture of the piece [%]: its own `moisture_percent`, or the assumption for `wetted`.

    Raises StackError for one that is no number or out of range, or an unknown word for `wetted`.
    """
    value = piece.get("moisture_percent")
    if value is None:
        return MOISTURE_BY_WETTED[_wetted(piece)]
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
            "the equations of wood end near fibre saturation; dry the piece or give its true moisture",
        )
    return float(value)


def _gravity(piece: Mapping[str, object]) -> tuple[str, float, float, float]:
    """Name, basic gravity and its range: from the stated density at 12 % moisture, else from the species."""
    name = str(piece.get("species", "sapele"))
    if piece.get("density_kg_m3") is None:
        kind = species(name)
        return kind.name, kind.basic_gravity, kind.low, kind.high
    basic = basic_gravity_of(number(piece, "density_kg_m3", "piece", "kg/m3"))
    return name, basic, basic * (1.0 - WEIGHED_SHARE), basic * (1.0 + WEIGHED_SHARE)


def read_piece(piece: Mapping[str, object], rng: np.random.Generator | None) -> WoodPiece:
    """The strip described by a profile's [piece]; drawn within its ranges when `rng` is given.

    A stated `moisture_percent` replaces the assumption about the wood; what `wetted` says was put on the
    faces comes on top of it.

    Raises StackError for an unknown species without a density, a thickness not above zero, moisture out of
    range.
    """
    name, basic, low, high = _gravity(piece)
    thickness_mm = number(piece, "thickness_mm", "piece", "mm", 1.7)
    plies = number(piece, "plies", "piece", "", 1)
    moisture = moisture_of(piece)
    wetted = _wetted(piece)
    rows = load_materials()
    return WoodPiece(
        species=name,
        thickness_m=thickness_mm * plies * 1e-3,
        bound_percent=min(moisture, FIBRE_SATURATION_PERCENT),
        free_percent=max(moisture - FIBRE_SATURATION_PERCENT, 0.0),
        face_water_kg_m2=0.0 if wetted == "dry" else rows.row(f"wood {wetted}", "added_water").pick(rng),
        basic_gravity=basic if rng is None else float(rng.uniform(low, high)),
        conductivity_factor=rows.row("wood", "conductivity_factor").pick(rng),
        conductivity_rise=rows.row("wood", "conductivity_rise").pick(rng),
    )


def _table(rig: Mapping[str, object], key: str) -> Mapping[str, object]:
    value = rig.get(key, {})
    if not isinstance(value, Mapping):
        raise StackError(
            "type", f"rig.{key}", type(value).__name__, "must be a table", "", f"write it as [{key}]"
        )
    return value


def read_sandwich(rig: Mapping[str, object], rng: np.random.Generator | None) -> Sandwich:
    """The layers of the rig's [stack]; drawn within the materials' ranges when `rng` is given.

    Raises StackError for a thickness not above zero and a material without the needed rows.
    """
    given = {**STACK_DEFAULTS, **_table(rig, "stack")}
    rows = load_materials()

    def solid(name: str, key: str) -> Solid:
        return Solid(
            number(given, key, "stack", "mm") * 1e-3,
            *(rows.row(name, what).pick(rng) for what in ("density", "specific_heat", "conductivity")),
        )

    slat = str(given["slat"])
    return Sandwich(
        slat=solid(slat, "slat_mm"),
        foil=solid("aluminium foil", "foil_mm"),
        blanket=solid("silicone blanket", "blanket_mm"),
        form=solid(str(given["form"]), "form_mm"),
        emissivity=rows.row(slat, "emissivity").pick(rng),
        waist_place=rows.row("side", "waist_place").pick(rng),
        edge_length_m=rows.row("silicone blanket", "edge_length").pick(rng) * 1e-3,
        edge_power=rows.row("silicone blanket", "edge_power").pick(rng),
        along_grain=rows.row("wood", "along_grain").pick(rng),
    )


def draw_spot(rows: Materials, rng: np.random.Generator | None) -> Spot:
    """Contacts, faces and vent of one column, drawn within their ranges when `rng` is given.

    rows: of all materials, as load_materials() gives them.
    """

    def contact(name: str) -> float:
        return rows.row(name, "contact_conductance").pick(rng)

    hanging = contact("foil on wood hanging")
    return Spot(
        slat_on_foil=contact("slat on foil"),
        foil_on_wood_hanging=hanging,
        # Pressing can only improve the joint, whatever was drawn.
        foil_on_wood_pressed=max(hanging, contact("foil on wood pressed")),
        foil_on_blanket=contact("foil on blanket"),
        blanket_on_blanket=contact("blanket on blanket"),
        slat_on_blanket=contact("slat on blanket"),
        slat_on_form=contact("slat on form"),
        form_back=rows.row("form back", "surface_coefficient").pick(rng),
        form_ramp_s=rows.row("form contact", "ramp_time").pick(rng),
        escape_s=rows.row("vented foil", "escape_time").pick(rng),
        seep_s=rows.row("vented foil", "seep_time").pick(rng),
        vent_kg_m2_s=rows.row("vented foil", "vent").pick(rng),
        room_moisture_percent=rows.row("vented foil", "room_moisture").pick(rng),
    )


def read_zones(rig: Mapping[str, object], rng: np.random.Generator | None) -> tuple[Zone, ...]:
    """One Zone for each of the rig's [[zones]]; drawn within the ranges when `rng` is given.

    Raises StackError for a rig without zones, a size or power not above zero, and a watt density no
    blanket is made for.
    """
    zones = rig.get("zones")
    if not isinstance(zones, Sequence) or isinstance(zones, str) or not zones:
        raise StackError(
            "missing", "rig.zones", "absent or empty", "at least one zone is needed", "", "add [[zones]]"
        )
    rows = load_materials()
    limit_w_m2 = rows.row("silicone blanket", "watt_density_limit").value
    result = []
    for index, zone in enumerate(zones):
        where = f"zones[{index}]"
        if not isinstance(zone, Mapping):
            raise StackError(
                "type", where, type(zone).__name__, "must be a table", "", "write it as [[zones]]"
            )
        length_m = number(zone, "length_mm", where, "mm") * 1e-3
        width_m = number(zone, "width_mm", where, "mm") * 1e-3
        power_w = number(zone, "power_w", where, "W")
        if power_w > limit_w_m2 * length_m * width_m:
            raise StackError(
                "range",
                f"{where}.power_w",
                f"{power_w:g} W on {length_m * width_m * 1e4:.0f} cm2",
                f"a blanket of this size takes at most {limit_w_m2 * length_m * width_m:.0f}",
                "W",
                "read power and size from the blanket's label again",
            )
        result.append(
            Zone(
                name=str(zone.get("name", f"zone {index + 1}")),
                length_m=length_m,
                width_m=width_m,
                power_w=power_w,
                power_factor=rows.row("silicone blanket", "power_factor").pick(rng),
                junction_face_weight=rows.row("thermocouple", "face_weight").pick(rng),
                junction_lag_s=rows.row("thermocouple", "lag").pick(rng),
                junction_j_m2_k=rows.row("thermocouple", "heat_capacity").pick(rng),
                cold_junction_rise_k=rows.row("cold junction", "rise").pick(rng),
            )
        )
    return tuple(result)


def ambient_of(rig: Mapping[str, object]) -> float:
    """Room temperature [C] from the rig's [stack] `ambient`, which is in the rig's unit; 20 when absent.

    Raises StackError for one that is no number.
    """
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
