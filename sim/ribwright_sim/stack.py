"""The parts of the stack as plain numbers, before it is cut into columns.

Order of the layers, from the form outwards: form | inner slat | foil | wood | foil | blankets | outer slat.
A short blanket lies on the outer side of a long one, so that every junction is under the outer slat.
"""

from __future__ import annotations

from dataclasses import dataclass

from .wood import gravity_at


@dataclass(frozen=True, slots=True)
class Solid:
    """A layer: thickness [m], density [kg/m3], specific heat [J/(kg K)], conductivity [W/(m K)]."""

    thickness_m: float
    density_kg_m3: float
    specific_heat_j_kg_k: float
    conductivity_w_m_k: float

    @property
    def volumetric_j_m3_k(self) -> float:
        """Heat capacity per volume [J/(m3 K)]."""
        return self.density_kg_m3 * self.specific_heat_j_kg_k


@dataclass(frozen=True, slots=True)
class Zone:
    """One blanket and its junction: size [m], rated power [W] and its tolerance [1], lag [s]."""

    name: str
    length_m: float
    width_m: float
    power_w: float
    power_factor: float
    junction_face_weight: float
    junction_lag_s: float
    junction_j_m2_k: float
    cold_junction_rise_k: float


@dataclass(frozen=True, slots=True)
class Sandwich:
    """What the whole strip shares: layers, faces, where the waist lies, how blankets droop at their ends."""

    slat: Solid
    foil: Solid
    blanket: Solid
    form: Solid
    emissivity: float
    waist_place: float
    edge_length_m: float
    edge_power: float
    along_grain: float


@dataclass(frozen=True, slots=True)
class Spot:
    """What may differ from column to column: contacts and faces in W/(m2 K), times in s, the vent."""

    slat_on_foil: float
    foil_on_wood_hanging: float
    foil_on_wood_pressed: float
    foil_on_blanket: float
    blanket_on_blanket: float
    slat_on_blanket: float
    slat_on_form: float
    form_back: float
    form_ramp_s: float
    escape_s: float
    seep_s: float
    vent_kg_m2_s: float
    room_moisture_percent: float


@dataclass(frozen=True, slots=True)
class WoodPiece:
    """The strip: thickness of all plies [m], its water [%], water on each face [kg/m2], its conductivity."""

    species: str
    thickness_m: float
    bound_percent: float
    free_percent: float
    face_water_kg_m2: float
    basic_gravity: float
    conductivity_factor: float
    conductivity_rise: float

    @property
    def dry_kg_m3(self) -> float:
        """Dry mass per volume of the strip as it lies in the stack [kg/m3]."""
        return 1000.0 * float(gravity_at(self.basic_gravity, self.bound_percent))
