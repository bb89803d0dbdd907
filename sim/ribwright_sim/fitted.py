"""What a fit found, put into the parts of a stack: by the fit itself, and from a rig file's [fit].

A value replaces what the table of materials says, in a drawn stack too; there it is drawn again within its
own standard deviation.  That leaves out that errors of the found values hang together, so such stacks differ
a little more than the logs leave room for.

values: by the parameters' names, as fitted_values() gives them; what is missing changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from .fit_parameters import Parameter, Values, rig_parameters
from .materials import StackError, load_materials
from .stack import Sandwich, Spot, WoodPiece, Zone
from .stack_file import STACK_DEFAULTS, draw_spot, read_sandwich
from .wood import FIBRE_SATURATION_PERCENT

ADVICE = "fit the rig again, or remove [fit]"


def fitted_values(rig: Mapping[str, object], rng: np.random.Generator | None) -> Values:
    """The values of a rig's [fit]; empty without one, drawn within its sigmas when `rng` is given.

    rig: a rig file's mapping.

    Raises StackError for a key that is no parameter, or a value that is no number or out of range.
    """
    table = rig.get("fit")
    if table is None:
        return {}
    values, sigmas = (_part(table, name) for name in ("values", "sigmas"))
    zones = rig.get("zones")
    count = len(zones) if isinstance(zones, Sequence) else 0
    known = {parameter.name: parameter for parameter in rig_parameters()}
    for name in (*values, *sigmas):
        if name not in known:
            limit = f"known: {', '.join(known)}"
            raise StackError("unknown", f"fit.{name}", repr(name), limit, "", ADVICE)
    found: dict[str, float | Sequence[float]] = {}
    for name, parameter in known.items():
        if name not in values:
            continue
        size = count if parameter.of == "zone" else 1
        middle = _numbers(values[name], f"fit.values.{name}", parameter, size)
        spread = _numbers(sigmas.get(name, [0.0] * size), f"fit.sigmas.{name}", None, size)
        drawn = [_draw(parameter, *pair, rng) for pair in zip(middle, spread, strict=True)]
        found[name] = drawn if parameter.of == "zone" else drawn[0]
    return found


def _part(table: object, name: str) -> Mapping[str, object]:
    part = table.get(name) if isinstance(table, Mapping) else None
    if not isinstance(part, Mapping):
        raise StackError("type", f"fit.{name}", type(part).__name__, "must be a table", "", ADVICE)
    return part


def _numbers(value: object, where: str, parameter: Parameter | None, size: int) -> list[float]:
    """The number or numbers of one key, each within the parameter's limits, or from 0 for a sigma."""
    listed: list[object] = [value]
    if isinstance(value, Sequence) and not isinstance(value, str):
        listed = list(value)
    if len(listed) != size:
        raise StackError("range", where, len(listed), f"must be {size}", "numbers", ADVICE)
    low, high = (parameter.low, parameter.high) if parameter else (0.0, 1e3)
    found: list[float] = []
    for one in listed:
        if isinstance(one, bool) or not isinstance(one, (int, float)) or not low <= one <= high:
            raise StackError("range", where, repr(one), f"allowed {low:g} to {high:g}", "", ADVICE)
        found.append(float(one))
    return found


def _draw(parameter: Parameter, value: float, sigma: float, rng: np.random.Generator | None) -> float:
    if rng is None:
        return value
    away = float(rng.standard_normal())
    drawn = value * float(np.exp(sigma / value * away)) if parameter.scale == "log" else value + sigma * away
    return min(max(drawn, parameter.low), parameter.high)


def fit_zones(zones: Sequence[Zone], values: Values) -> tuple[Zone, ...]:
    """Zones with what was found in place of what they had; zones: of a stack, in the rig's order."""
    return tuple(
        replace(
            zone,
            power_factor=_of_zone(values, "power", i, zone.power_factor),
            junction_lag_s=_of_zone(values, "lag", i, zone.junction_lag_s),
            junction_face_weight=_of_zone(values, "weight", i, zone.junction_face_weight),
        )
        for i, zone in enumerate(zones)
    )


def fit_sandwich(rig: Mapping[str, object], sandwich: Sandwich, values: Values) -> Sandwich:
    """Layers with what was found in place of what they had.

    rig: a rig file's mapping, for what the table says of its layers. sandwich: of a nominal or a drawn stack.
    """
    if not values:
        return sandwich
    stack = rig.get("stack")
    given = {**STACK_DEFAULTS, **(stack if isinstance(stack, Mapping) else {})}
    table = read_sandwich(rig, None).blanket
    blanket = sandwich.blanket
    if "blanket_heat" in values:
        heat = table.specific_heat_j_kg_k * _one(values, "blanket_heat")
        blanket = replace(blanket, density_kg_m3=table.density_kg_m3, specific_heat_j_kg_k=heat)
    if "blanket_conductivity" in values:
        k = table.conductivity_w_m_k * _one(values, "blanket_conductivity")
        blanket = replace(blanket, conductivity_w_m_k=k)
    emissivity = sandwich.emissivity
    if "loss" in values:
        # Stands for all loss that is not as in still air, so it may pass 1.
        emissivity = load_materials().row(str(given["slat"]), "emissivity").value * _one(values, "loss")
    edge_power = _one(values, "edge", sandwich.edge_power)
    return replace(sandwich, blanket=blanket, emissivity=emissivity, edge_power=edge_power)


def fit_spot(spot: Spot, values: Values, zone: int) -> Spot:
    """Contacts and escape of a column with what was found in place of what they had.

    spot: of the column. zone: position of its outermost blanket.
    """
    table = draw_spot(load_materials(), None)
    more: dict[str, float] = {}
    if "contact" in values:
        factor = _of_zone(values, "contact", zone, 1.0)
        names = ("slat_on_blanket", "blanket_on_blanket", "foil_on_blanket")
        more |= {name: getattr(table, name) * factor for name in names}
    if "wood_contact" in values:
        factor = _one(values, "wood_contact")
        names = ("slat_on_foil", "foil_on_wood_hanging", "foil_on_wood_pressed")
        more |= {name: getattr(table, name) * factor for name in names}
    if "escape" in values:
        more["escape_s"] = _one(values, "escape")
    if "vent" in values:
        more["vent_kg_m2_s"] = table.vent_kg_m2_s * _one(values, "vent")
    return replace(spot, **more)


def fit_wood(wood: WoodPiece, values: Values) -> WoodPiece:
    """A strip that differs by what was found from `wood`, what the profile says of it."""
    bound = wood.bound_percent
    if "moisture" in values:
        bound = min(max(bound + _one(values, "moisture"), 1.0), FIBRE_SATURATION_PERCENT)
    return replace(
        wood,
        conductivity_factor=wood.conductivity_factor * _one(values, "wood_conductivity", 1.0),
        basic_gravity=wood.basic_gravity * _one(values, "wood_density", 1.0),
        face_water_kg_m2=wood.face_water_kg_m2 * _one(values, "face_water", 1.0),
        bound_percent=bound,
    )


def _of_zone(values: Values, name: str, zone: int, default: float) -> float:
    value = values.get(name)
    return float(value[zone]) if isinstance(value, Sequence) else default


def _one(values: Values, name: str, default: float = 1.0) -> float:
    value = values.get(name, default)
    return float(value) if isinstance(value, (int, float)) else default
