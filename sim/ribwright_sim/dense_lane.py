"""The sweeps of steps.py for one lane without a compiler: a matrix does what two sweeps over the rows do.

`w`, `r` and `state` as in kernels.py; `w` has one lane.  `depth` changes nothing: the whole chain is taken.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .kernels import BLEND
from .rows import Rows

F64 = NDArray[np.float64]


def factorise(w: F64, r: Rows, stage_s: float, depth: int) -> None:
    """Invert 1 + stage_s * K."""
    n = r.chain
    inverse, link = w[r.inverse : r.inverse + n, 0], w[r.link - 1 : r.link + n, 0]
    off = -stage_s * link[1:-1] * inverse[:-1] * inverse[1:]
    ground = link[:-1] + link[1:] + w[r.slope : r.slope + n, 0]
    matrix = np.zeros((n, n))
    flat = matrix.reshape(-1)
    flat[:: n + 1] = 1.0 + stage_s * ground * inverse * inverse
    flat[1 :: n + 1] = off
    flat[n :: n + 1] = off
    w[r.dense : r.dense + n * n, 0] = np.linalg.inv(matrix).reshape(-1)


def _solve(w: F64, r: Rows, right: F64) -> F64:
    n = r.chain
    result: F64 = w[r.dense : r.dense + n * n, 0].reshape(n, n) @ right
    return result


def sweep_in(w: F64, r: Rows, state: int) -> None:
    """Nothing to eliminate."""


def sweep_out(w: F64, r: Rows, state: int) -> None:
    """As steps.sweep_out."""
    n = r.chain
    now, push = w[state : state + n, 0], w[r.push : r.push + n, 0]
    stage = _solve(w, r, now + push)
    w[r.stage : r.stage + n, 0] = stage
    w[r.middle : r.middle + n, 0] = (1.0 - BLEND) * now + BLEND * stage + push


def sweep_back(w: F64, r: Rows) -> None:
    """Nothing to eliminate."""


def sweep_end(w: F64, r: Rows, state: int) -> None:
    """As steps.sweep_end."""
    n = r.chain
    stage = _solve(w, r, w[r.middle : r.middle + n, 0])
    w[r.stage : r.stage + n, 0] = stage
    pulses = w[r.pulse : r.pulse + n * r.zones, 0].reshape(r.zones, n)
    w[state : state + n, 0] = stage + w[r.kick : r.kick + r.zones, 0] @ pulses
