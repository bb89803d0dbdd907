"""Colour and heat damage, counted as the time at 177 C that would have done the same.

PROPOSAL, unverified: one Arrhenius law with the middle of the activation energies published for hot,
dry wood. The count itself has no published limit for colour, so the limits of the words below are
proposals too; what is published is the temperature from which darkening is plain to see. A rehearsal
draws the activation energy over its published range and shows the band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .effects import KELVIN
from .materials import StackError
from .wood import GAS_J_PER_MOL_K

F64 = NDArray[np.float64]
Real = float | F64

REFERENCE_C = 177.0
# Yan and Morrell 2019 (abstract): colour change of Douglas-fir, dry open oven, 160-200 C.
ACTIVATION_LOW_J_MOL, ACTIVATION_HIGH_J_MOL = 94.9e3, 126.4e3
# The middle of that range.
ACTIVATION_J_MOL = 110e3
# Feher et al. 2014, BioRes. 9(2):3456 (abstract): veneers of oak, ash, beech, cherry and maple.
VISIBLE_ABOVE_C = 160.0
# Lowden and Hull 2013, Fire Sci. Rev. 2:4, Table 1: main breakdown begins, a flame is possible.
BREAKDOWN_C = 225.0


@dataclass(frozen=True, slots=True)
class Shade:
    """A word for the colour to expect: from how many minutes, what it means, where the limit is from."""

    word: str
    from_minutes: float
    meaning: str
    source: str
    status: str


# Lightest first. A dose alone never calls wood visibly darker that stayed below VISIBLE_ABOVE_C.
SHADES: tuple[Shade, ...] = (
    Shade("none", 0.0, "no change to be seen", "below the next limit", "proposal"),
    Shade("faint", 1.0, "seen beside an unheated offcut only", "1 min at 177 C", "proposal"),
    Shade(
        "visible",
        5.0,
        "plainly darker",
        "5 min at 177 C, and hotter than 160 C: below that change is hardly visible (Feher et al. 2014)",
        "temperature published (abstract), minutes a proposal",
    ),
    Shade(
        "scorch",
        30.0,
        "brown, the surface is damaged",
        "30 min at 177 C, or 225 C where main breakdown begins (Lowden and Hull 2013)",
        "temperature published, minutes a proposal",
    ),
)


def rate(at_c: Real, activation_j_mol: float = ACTIVATION_J_MOL) -> F64:
    """How much faster colour changes than at 177 C.

    Args:
        at_c: temperature of the wood's face [C], above -273.15.
        activation_j_mol: activation energy [J/mol].

    Raises StackError for an activation energy outside 32 to 150 kJ/mol, which no wood has shown.

    >>> round(float(rate(177.0) / rate(150.0)), 1)
    6.5
    """
    if not 32e3 <= activation_j_mol <= 150e3:
        raise StackError(
            "range",
            "activation_j_mol",
            activation_j_mol,
            "allowed 32000 to 150000",
            "J/mol",
            "published values for wood lie between",
        )
    at_k = np.asarray(at_c, dtype=np.float64) + KELVIN
    result: F64 = np.exp(-activation_j_mol / GAS_J_PER_MOL_K * (1.0 / at_k - 1.0 / (REFERENCE_C + KELVIN)))
    return result


def minutes_so_far(time_s: F64, at_c: F64, activation_j_mol: float = ACTIVATION_J_MOL) -> F64:
    """Colour index along a run: minutes at 177 C that would have done the same, by the trapezoid rule.

    Args:
        time_s: rising times, (n,) [s].
        at_c: temperature of the face then, (n, ...) [C].
        activation_j_mol: as rate().

    Returns an array shaped as `at_c`, beginning with 0.  Raises as rate().
    """
    speed = rate(at_c, activation_j_mol)
    steps = np.diff(time_s).reshape((-1,) + (1,) * (speed.ndim - 1))
    result: F64 = np.zeros_like(speed)
    np.cumsum(0.5 * (speed[1:] + speed[:-1]) * steps / 60.0, axis=0, out=result[1:])
    return result


def shade(minutes: float, hottest_c: float) -> Shade:
    """The colour to expect.

    Args:
        minutes: colour index, minutes at 177 C.
        hottest_c: highest temperature of the face [C].

    >>> shade(0.4, 158.0).word, shade(9.0, 158.0).word, shade(9.0, 172.0).word, shade(0.1, 230.0).word
    ('none', 'faint', 'visible', 'scorch')
    """
    if hottest_c >= BREAKDOWN_C:
        return SHADES[-1]
    reached = [one for one in SHADES if minutes >= one.from_minutes]
    if hottest_c < VISIBLE_ABOVE_C:
        reached = reached[:2]
    return reached[-1]
