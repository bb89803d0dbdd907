"""Water leaving the wood through vented foil: how fast, and what heat it takes.

PROPOSAL, unverified: above boiling the moisture relaxes toward its equilibrium in steam at one
atmosphere within `escape_s`; below, only a slow seep through the folds.  Heat supply usually decides,
which is the plateau near 100 C.  Moisture does not move between cells in this version.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from .effects import latent_heat_j_kg, seep_rate_per_s
from .wood import sorption_heat_j_kg, steam_equilibrium_percent

F64 = NDArray[np.float64]

# Below this the foil holds: the equilibrium is set beyond any moisture a stack may start with.
HOLDS_BELOW_C, HOLDS_PERCENT = 98.5, 40.0


@cache
def _equilibrium_table() -> tuple[F64, F64]:
    """Temperature [C] and the moisture steam at one atmosphere leaves in the wood [%]."""
    hot_c = np.arange(100.0, 261.0)
    moisture = [steam_equilibrium_percent(float(t)) for t in hot_c]
    return np.array([HOLDS_BELOW_C, *hot_c, 300.0]), np.array([HOLDS_PERCENT, *moisture, 0.0])


def vented_equilibrium_percent(at_c: F64 | float) -> F64:
    """Moisture [%] toward which wood in vented foil relaxes; 40 (out of reach) below boiling."""
    at, moisture = _equilibrium_table()
    result: F64 = np.interp(np.asarray(at_c), at, moisture)
    return result


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Heat taken by the water leaving each cell, as flux + slope (T - T now) [W/m2, W/(m2 K)].

    `heat_j_kg` is what one kg takes: latent plus sorption heat.
    """

    flux_w_m2: F64
    slope_w_m2_k: F64
    heat_j_kg: F64


@dataclass(frozen=True, slots=True)
class Drying:
    """The drying effect of a set of zones; arrays are (zones, 1)."""

    dry_kg_m2: float
    ambient_c: float
    escape_s: F64
    seep_s: F64
    room_percent: F64

    def over(self, span_s: float, at_c: F64, moisture_percent: F64) -> Evaporation:
        """Evaporation held over the next `span_s` [s] from cells `at_c` [C] with `moisture_percent`.

        The rate is the mean over the span of an exponential approach, so no span can overshoot.
        """
        excess = moisture_percent - vented_equilibrium_percent(at_c)
        boiling = excess > 0.0
        secant = vented_equilibrium_percent(at_c - 0.5) - vented_equilibrium_percent(at_c + 0.5)
        rate = -np.expm1(-span_s / self.escape_s) / span_s
        above_room = np.maximum(moisture_percent - self.room_percent, 0.0)
        seeping = above_room * seep_rate_per_s(at_c, self.ambient_c, 1.0) / self.seep_s
        heat = latent_heat_j_kg(at_c) + sorption_heat_j_kg(moisture_percent)
        per_percent = 0.01 * self.dry_kg_m2 * heat
        return Evaporation(
            flux_w_m2=per_percent * (np.where(boiling, excess, 0.0) * rate + seeping),
            slope_w_m2_k=per_percent * np.where(boiling, secant, 0.0) * rate,
            heat_j_kg=heat,
        )
