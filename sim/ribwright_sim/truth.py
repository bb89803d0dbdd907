"""What the plant knows and no controller sees: fields, energy and water, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Sample:
    """The plant's true state at one moment, one entry per zone.

    Attributes:
        time_s: simulated time since the start [s].
        thermocouple_c: junction temperature, no noise [C].
        blanket_core_c: hottest place of the blanket, at its element [C].
        slat_c: the slat on the blanket's outer side [C].
        wood_mid_c: middle of the wood's thickness [C].
        wood_hot_c: hottest place of the wood, its faces included [C].
        moisture_percent: mean moisture of the wood, % of ovendry mass.
    """

    time_s: float
    thermocouple_c: tuple[float, ...]
    blanket_core_c: tuple[float, ...]
    slat_c: tuple[float, ...]
    wood_mid_c: tuple[float, ...]
    wood_hot_c: tuple[float, ...]
    moisture_percent: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Energy:
    """Where the heat went since the start, all zones together [J].

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
    """Water in the wood, all zones together [kg]: at the start, now, and gone as vapour."""

    start_kg: float
    now_kg: float
    gone_kg: float


@dataclass(frozen=True, slots=True)
class Ledger:
    """The plant's running totals, all zones together.

    Attributes:
        heater_j: electrical heat [J].
        lost_j: heat to the room [J].
        latent_j: latent and sorption heat of the water gone [J].
        carried_j: warmth that water carried [J].
        stepped_j: heat the cells took up, by the coefficients they were stepped with [J].
        gone_kg: water gone [kg].
    """

    heater_j: float = 0.0
    lost_j: float = 0.0
    latent_j: float = 0.0
    carried_j: float = 0.0
    stepped_j: float = 0.0
    gone_kg: float = 0.0

    def energy(self, stored_j: float) -> Energy:
        """The balance, given the true change of heat content [J]."""
        return Energy(
            heater_j=self.heater_j,
            lost_j=self.lost_j,
            vapour_j=self.latent_j + self.carried_j,
            stored_j=stored_j,
            scheme_j=self.heater_j - self.lost_j - self.latent_j - self.stepped_j,
        )


@dataclass(frozen=True, slots=True)
class Settled:
    """The field and totals at one moment: cells [C], wood cells [% of ovendry mass], running totals."""

    at_c: NDArray[np.float64]
    moisture_percent: NDArray[np.float64]
    ledger: Ledger
