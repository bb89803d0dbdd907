"""How far the wood is above the temperature at which it softens, at the water it holds now.

PROPOSAL, unverified: the curve is a bridge between two published points, 170 C dry and 60 C wet. No
publication gives it for thin sides between slats. A rehearsal therefore moves it by up to
`SPREAD_K` either way and shows the band, and everything drawn from it is marked as unverified.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .materials import StackError
from .wood import FIBRE_SATURATION_PERCENT, softening_c

F64 = NDArray[np.float64]
Real = float | F64

# The transition is broad: isolated lignins alone soften anywhere from 127 to 193 C when dry (Goring 1965).
SPREAD_K = 20.0
SOFT, PARTLY, STIFF = "soft", "partly soft", "stiff"


def softens_at_c(moisture_percent: Real, shift_k: float = 0.0) -> F64:
    """Softening temperature of a hardwood [C].

    Args:
        moisture_percent: % of ovendry mass; water beyond fibre saturation (30 %) is free and changes nothing.
        shift_k: where within the spread this piece lies, -SPREAD_K to SPREAD_K.

    Raises StackError for moisture below 0, or a shift beyond the spread.

    >>> round(float(softens_at_c(8.0)), 1)
    130.2
    """
    moisture = np.asarray(moisture_percent, dtype=np.float64)
    if not (moisture >= 0.0).all():
        raise StackError(
            "range", "moisture_percent", float(moisture.min()), "must be 0 or above", "%", "dry wood has 0"
        )
    if not abs(shift_k) <= SPREAD_K:
        raise StackError(
            "range", "shift_k", shift_k, f"allowed {-SPREAD_K:g} to {SPREAD_K:g}", "K", "stay in the spread"
        )
    return np.asarray(softening_c(np.minimum(moisture, FIBRE_SATURATION_PERCENT))) + shift_k


def margin_k(wood_c: Real, moisture_percent: Real, shift_k: float = 0.0) -> F64:
    """How far wood is above its softening temperature [K]; below 0 it is still stiff.

    Args:
        wood_c: temperature of the wood [C].
        moisture_percent: its moisture now, % of ovendry mass.
        shift_k: as softens_at_c().

    Raises as softens_at_c().

    >>> round(float(margin_k(150.0, 8.0)), 1)
    19.8
    """
    return np.asarray(wood_c, dtype=np.float64) - softens_at_c(moisture_percent, shift_k)


def softness(low_k: float, high_k: float) -> str:
    """One word for a band of margins: "soft", "partly soft" or "stiff".

    Args:
        low_k: lower end of the band of margins [K].
        high_k: its upper end [K].

    >>> softness(3.0, 30.0), softness(-10.0, 12.0), softness(-30.0, -5.0)
    ('soft', 'partly soft', 'stiff')
    """
    if low_k >= 0.0:
        return SOFT
    return PARTLY if high_k >= 0.0 else STIFF
