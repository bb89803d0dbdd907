"""How far the outer fibres are stretched at the tightest radius, and how far they may be.

The geometry is exact for pure bending. The limits are few and come from summaries of bending tests;
what lies between them is a PROPOSAL, unverified, and a rehearsal shows it as a band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .materials import StackError
from .softening import SPREAD_K

F64 = NDArray[np.float64]
Real = float | F64


@dataclass(frozen=True, slots=True)
class StrainLimit:
    """Strain at which the fibres gave way in one state of the wood [%]; None where not stated."""

    state: str
    at_c: float | None
    moisture_percent: float | None
    tension_percent: float
    compression_percent: float
    source: str
    status: str


COLD = StrainLimit("cold", 20.0, 17.0, 1.0, 5.0, "summary of wood-forming tests", "seen second-hand")
HOT = StrainLimit("hot and wet", 100.0, 33.0, 2.0, 35.0, "summary of wood-forming tests", "seen second-hand")
PECK = StrainLimit(
    "hot and moist hardwood",
    None,
    None,
    2.0,
    25.0,
    "Peck 1957, USDA Agriculture Handbook 125: stretch 1-2 %, compression 25-30 %",
    "from memory, unverified",
)
LIMITS: tuple[StrainLimit, ...] = (COLD, HOT, PECK)
# Wengert, as summarised: a flat piece without steam or end pressure, in thicknesses.
RADIUS_RULE = (20.0, 30.0)


def _above_zero(where: str, value: float) -> float:
    if not value > 0.0:
        raise StackError("range", where, value, "must be above 0", "mm", "measure it and correct the file")
    return value


def outer_strain_percent(thickness_mm: float, inner_radius_mm: float) -> float:
    """Stretch of the outer fibres of a strip that bends about its middle: t / (2 R + t) [%].

    Args:
        thickness_mm: of the strip [mm].
        inner_radius_mm: of the form at the tightest place [mm].

    Raises StackError for a length not above zero.

    >>> round(outer_strain_percent(2.0, 50.0), 3)
    1.961
    """
    t_mm = _above_zero("thickness_mm", thickness_mm)
    return 100.0 * t_mm / (2.0 * _above_zero("inner_radius_mm", inner_radius_mm) + t_mm)


def strap_compression_percent(thickness_mm: float, inner_radius_mm: float) -> float:
    """Compression of the inner fibres when a strap takes all the stretch: t / (R + t) [%].

    Args:
        thickness_mm: of the strip [mm].
        inner_radius_mm: of the form at the tightest place [mm].

    Raises StackError for a length not above zero.

    >>> round(strap_compression_percent(2.0, 50.0), 3)
    3.846
    """
    t_mm = _above_zero("thickness_mm", thickness_mm)
    return 100.0 * t_mm / (_above_zero("inner_radius_mm", inner_radius_mm) + t_mm)


def tightest_radius_in_thicknesses(tension_percent: float, compression_percent: float) -> float:
    """Tightest inner radius that keeps both limits, in thicknesses: (1 - e_c) / (e_t + e_c).

    The relation of Stevens and Turner.

    Args:
        tension_percent: allowed stretch [%], 0 with a perfect strap.
        compression_percent: allowed compression [%].

    Raises StackError when both are 0.

    >>> round(tightest_radius_in_thicknesses(2.0, 4.0), 1)
    16.0
    """
    stretch, squeeze = tension_percent / 100.0, compression_percent / 100.0
    if not stretch + squeeze > 0.0:
        raise StackError(
            "range", "strain limits", tension_percent, "must be above 0 together", "%", "state the limits"
        )
    return (1.0 - squeeze) / (stretch + squeeze)


def tension_limit_percent(margin_k: Real) -> F64:
    """Allowed stretch of the outer fibres at a margin above softening [%].

    PROPOSAL, unverified bridge between the two published states: the cold limit where wood is stiff
    (SPREAD_K or more below softening), the hot one where it is soft, straight in between.  Both
    states lie well outside the bridge: 17 % at 20 C is some 76 K below softening, 33 % at 100 C 40 K above.

    Args:
        margin_k: temperature above softening [K], see softening.margin_k().

    >>> [float(tension_limit_percent(k)) for k in (-76.0, 0.0, 40.0)]
    [1.0, 1.5, 2.0]
    """
    limits = [COLD.tension_percent, HOT.tension_percent]
    return np.asarray(np.interp(margin_k, [-SPREAD_K, SPREAD_K], limits), dtype=np.float64)
