"""Water leaving over one span of the solver, as heat that goes in a straight line with temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .laws import Laws
from .layout import Stack

F64 = NDArray[np.float64]

# Steps over which the drying law's slopes are taken: temperature [K], water [% of ovendry mass].
STEP_K, STEP_PERCENT = 0.5, 0.1
_STEPS_K = np.array([0.0, -STEP_K, STEP_K, 0.0, 0.0])[:, None, None]


@dataclass(frozen=True, slots=True)
class Evaporation:
    """Heat taken by the water leaving each cell, as flux + slope (T - T now).

    Arrays are (bound or free, columns, cells).

    Attributes:
        flux_w_m2: [W/m2]. slope_w_m2_k: [W/(m2 K)]. heat_j_kg: what one kg takes [J/kg].
    """

    flux_w_m2: F64
    slope_w_m2_k: F64
    heat_j_kg: F64

    def none(self) -> Evaporation:
        """The same cells while no water leaves them."""
        nothing = np.zeros_like(self.flux_w_m2)
        return Evaporation(nothing, nothing, self.heat_j_kg)


def evaporation(
    stack: Stack, laws: Laws, span_s: float, at_c: F64, bound: F64, free: F64, room_drive: float
) -> Evaporation:
    """What leaves the wood cells over the next `span_s` [s].

    Args:
        stack: whose drying parameters count.
        laws: the drying law and the heat it takes.
        span_s: how long the answer is held [s].
        at_c: wood cells [C].
        bound: their bound water [%].
        free: their free water [%].
        room_drive: `effects.vapour_drive` of the room's temperature.

    The rate is the mean over the span of an exponential approach: no span overshoots what it approaches.
    """

    def each(values: F64) -> F64:
        return values[:, None]

    less_bound, less_free = np.maximum(bound - STEP_PERCENT, 0.0), np.maximum(free - STEP_PERCENT, 0.0)
    leaving = np.array(
        laws.drying_rates_percent_s(
            at_c + _STEPS_K,
            np.array((bound, bound, bound, less_bound, bound)),
            np.array((free, free, free, free, less_free)),
            each(stack.dry_kg_m2),
            each(stack.escape_s),
            each(stack.seep_s),
            each(stack.vent_kg_m2_s),
            each(stack.room_percent),
            room_drive,
        )
    )
    rate = leaving[:, 0]
    fall = np.array((rate[0] - leaving[0, 3], rate[1] - leaving[1, 4]))
    step = np.array((bound - less_bound, free - less_free))
    decay = np.maximum(fall, 0.0) / np.maximum(step, 1e-12) * span_s
    mean = np.where(decay > 1e-9, -np.expm1(-decay) / np.maximum(decay, 1e-9), 1.0)
    heat = np.array(laws.vapour_heat_j_kg(at_c, bound))
    per_percent = 0.01 * each(stack.dry_kg_m2) * heat * mean
    slope = (leaving[:, 2] - leaving[:, 1]) / (2.0 * STEP_K)
    return Evaporation(per_percent * rate, per_percent * slope, heat)
