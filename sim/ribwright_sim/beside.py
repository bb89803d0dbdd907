"""Heat that does not flow through the stack's layers: along the side, and into a junction's bead."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .layout import Stack

F64 = NDArray[np.float64]


def along_w_m2(stack: Stack, at_c: F64) -> F64:
    """Heat into every cell from its neighbours along the side [W/m2].

    Args:
        stack: whose links these are.
        at_c: every cell [C], (columns, cells), as what is given back.
    """
    flat = at_c.ravel()
    flow_w = stack.along_w_k * (flat[stack.along_to] - flat[stack.along_from])
    into_w = np.bincount(stack.along_from, flow_w, flat.size) - np.bincount(stack.along_to, flow_w, flat.size)
    result: F64 = into_w.reshape(at_c.shape) / stack.area_m2[:, None]
    return result


def tie_beads(stack: Stack, stiffness: F64, bead: NDArray[np.int64], half: F64, link: F64) -> None:
    """Tie each bead to what it touches, so that it lags by its time constant.

    The face has no cell of its own: its temperature lies between its cell and the next.

    Args:
        stack: whose junctions these are.
        stiffness: added to, (columns, cells, cells) [W/(m2 K)].
        bead: cell of each zone's junction.
        half: resistance of half of each cell [m2 K/W].
        link: conductance between neighbouring cells [W/(m2 K)].
    """
    column, cell = stack.junction_column, stack.junction_cell
    total = stack.junction_j_m2_k / stack.junction_lag_s
    near = stack.junction_face_weight * (1.0 - half[column, cell] * link[column, cell]) * total
    for other, tie in ((cell, near), (cell + 1, total - near)):
        np.add.at(stiffness, (column, other, other), tie)
        np.add.at(stiffness, (column, bead, bead), tie)
        stiffness[column, bead, other] -= tie
        stiffness[column, other, bead] -= tie
