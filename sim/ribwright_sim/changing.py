"""A stack whose strip is being changed: what no longer touches, and the faces that look into the room."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .laws import Laws
from .layout import Stack

F64 = NDArray[np.float64]

# Silicone rubber and wood, from memory unverified; the slat's own stands with the stack.
BLANKET_EMISSIVITY = FORM_EMISSIVITY = 0.9
# Where the loss of a face is asked for, to have its slope [K].
AROUND_K = np.array([-0.5, 0.0, 0.5])[:, None, None]


def strip_cells(stack: Stack) -> slice:
    """The cells of each column of `stack` that leave with the strip: wood, and its foil on both sides."""
    return slice(stack.wood.start - 1, stack.wood.stop + 1)


def apart(stack: Stack, contact_w_m2_k: F64) -> F64:
    """The joints between cells once slat and blankets lie apart [W/(m2 K)].

    Args:
        stack: whose joints these are.
        contact_w_m2_k: as they were, (columns, cells - 1) [W/(m2 K)].
    """
    cells = strip_cells(stack)
    result = contact_w_m2_k.copy()
    result[:, [cells.start - 1, cells.stop - 1]] = 0.0
    return result


def lose_inside(stack: Stack, laws: Laws, at_c: F64, sink: F64, slope: F64) -> None:
    """Add what the inner faces of slat and blankets and the bare front of the form lose to the room.

    Args:
        stack: whose faces these are.
        laws: whose loss of a face counts.
        at_c: every cell [C], (columns, cells), as the next two.
        sink: loss of every cell, added to [W/m2].
        slope: its slope, added to [W/(m2 K)].
    """
    cells = strip_cells(stack)
    slat, blanket = cells.start - 1, cells.stop
    at = [slat, blanket, slat - 1]
    emissivity = np.full((len(at_c), len(at)), FORM_EMISSIVITY)
    emissivity[:, 0], emissivity[:, 1] = stack.emissivity[:, 0], BLANKET_EMISSIVITY
    size_m = stack.face_size_m[:, [0, 1, 0]]
    around = at_c[:, at] + AROUND_K
    flux = np.asarray(laws.face_flux_w_m2(around, stack.ambient_c, size_m, emissivity))
    sink[:, at] += flux[1]
    slope[:, at] += flux[2] - flux[0]
