"""What the plant knows and no controller sees: fields, energy and water, as plain values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Sample:
    """The plant's true state at one moment.

    Attributes:
        time_s: simulated time since the start [s].
        thermocouple_c: per zone, junction temperature, no noise [C].
        blanket_core_c: per zone, at its element, where its junction sits [C].
        slat_c: per zone, the outer slat over its junction [C].
        wood_mid_c: per column, middle of the wood's thickness [C].
        wood_hot_c: per column, hottest place of the wood, its faces included [C].
        moisture_percent: per column, mean bound moisture of the wood, % of ovendry mass.
        free_percent: per column, mean water on its faces and in its pores, % of ovendry mass.
        wood_c: per column, each layer from the form outwards [C].
        wood_moisture_percent: per column, bound moisture of each layer, % of ovendry mass.
    """

    time_s: float
    thermocouple_c: tuple[float, ...]
    blanket_core_c: tuple[float, ...]
    slat_c: tuple[float, ...]
    wood_mid_c: tuple[float, ...]
    wood_hot_c: tuple[float, ...]
    moisture_percent: tuple[float, ...]
    free_percent: tuple[float, ...]
    wood_c: tuple[tuple[float, ...], ...]
    wood_moisture_percent: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Energy:
    """Where the heat went since the start, the whole side together [J].

    Attributes:
        heater_j: electrical heat put in.
        lost_j: convection and radiation to the room, form back included.
        vapour_j: latent and sorption heat of the water that left, and the warmth it carried.
        stored_j: heat content now minus at the start, from the property equations themselves.
        scheme_j: what the solver's own cell balances do not account for; round-off only.
    """

    heater_j: float
    lost_j: float
    vapour_j: float
    stored_j: float
    scheme_j: float

    @property
    def residual_j(self) -> float:
        """Heat unaccounted for [J]."""
        return self.heater_j - self.lost_j - self.vapour_j - self.stored_j

    @property
    def residual_fraction(self) -> float:
        """Size of `residual_j` as a share of the largest entry, which counts as 1 J at least."""
        entries = (self.heater_j, self.lost_j, self.vapour_j, self.stored_j)
        return abs(self.residual_j) / max(1.0, *(abs(entry) for entry in entries))


@dataclass(frozen=True, slots=True)
class Water:
    """Water in and on the wood, the whole side together [kg]: at the start, now, and gone as vapour."""

    start_kg: float
    now_kg: float
    gone_kg: float
