"""A solver's running totals and the heat and water its cells hold."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .effects import KELVIN
from .laws import Laws
from .layout import Stack

F64 = NDArray[np.float64]


def content_j(stack: Stack, laws: Laws, at_c: F64, bound: F64, free: F64) -> float:
    """Heat content above 0 C from the property laws themselves, whole stack without junctions [J].

    Args:
        stack: whose cells these are.
        laws: whose heat capacity counts.
        at_c: (columns, cells) [C]; cells beyond the stack's are left out.
        bound: bound water of the wood cells [%].
        free: their free water [%].
    """
    cells = at_c[:, : stack.thickness_m.shape[1]]
    wood_c = cells[:, stack.wood]
    content = stack.capacity_j_m2_k * cells
    constant, slope = laws.heat_terms_j_kg_k(bound, free)
    content[:, stack.wood] = stack.dry_kg_m2[:, None] * wood_c * (constant + slope * (KELVIN + 0.5 * wood_c))
    return float((content * stack.area_m2[:, None]).sum())


def water_kg(stack: Stack, bound: F64, free: F64) -> float:
    """Water in and on the wood, whole stack [kg]; bound and free in % of ovendry mass."""
    return float((0.01 * (stack.dry_kg_m2 * stack.area_m2)[:, None] * (bound + free)).sum())


@dataclass(frozen=True, slots=True)
class Ledger:
    """A solver's running totals, whole stack.

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


@dataclass(frozen=True, slots=True)
class Settled:
    """State and totals at one moment: cells [C], wood cells' water [% of ovendry mass], running totals."""

    at_c: F64
    bound_percent: F64
    free_percent: F64
    ledger: Ledger
