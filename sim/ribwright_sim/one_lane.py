"""The sweeps of steps.py for a single lane: what is handed from row to row stays out of memory.

Compiled runs of one lane use these; they do the same arithmetic in the same order.  `w`, `r` and `state` as
in kernels.py; `w` has one lane.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .kernels import BLEND
from .rows import Rows

F64 = NDArray[np.float64]


def sweep_in(w: F64, r: Rows, state: int) -> None:
    """As steps.sweep_in."""
    carry = 0.0
    for i in range(r.chain - 1, -1, -1):
        carry = w[state + i, 0] + w[r.push + i, 0] + w[r.factor + i, 0] * carry
        w[r.middle + i, 0] = carry


def sweep_out(w: F64, r: Rows, state: int) -> None:
    """As steps.sweep_out."""
    carry = 0.0
    for i in range(r.chain):
        carry = w[r.weight + i, 0] * w[r.middle + i, 0] + w[r.factor + i - 1, 0] * carry
        w[r.stage + i, 0] = carry
        w[r.middle + i, 0] = (1.0 - BLEND) * w[state + i, 0] + BLEND * carry + w[r.push + i, 0]


def sweep_back(w: F64, r: Rows) -> None:
    """As steps.sweep_back."""
    carry = w[r.middle + r.chain - 1, 0]
    for i in range(r.chain - 2, -1, -1):
        carry = w[r.middle + i, 0] + w[r.factor + i, 0] * carry
        w[r.middle + i, 0] = carry


def sweep_end(w: F64, r: Rows, state: int) -> None:
    """As steps.sweep_end."""
    carry = 0.0
    for i in range(r.chain):
        carry = w[r.weight + i, 0] * w[r.middle + i, 0] + w[r.factor + i - 1, 0] * carry
        w[r.stage + i, 0] = carry
        w[state + i, 0] = carry + w[r.kick, 0] * w[r.pulse + i, 0]
    for z in range(1, r.zones):
        for i in range(r.chain):
            w[state + i, 0] += w[r.kick + z, 0] * w[r.pulse + z * r.chain + i, 0]
