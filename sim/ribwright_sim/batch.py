"""Plants by candidates: every set of gains on every plant, in one call.  What tuning and campaigns run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from .solver import Runs, Solver

F64 = NDArray[np.float64]


def race(
    solver: Solver,
    plants: int,
    candidates: Sequence[Sequence[Mapping[str, float]]],
    targets_c: F64,
    *,
    band_k: float = 2.0,
    threads: int = 1,
) -> Runs:
    """Run all candidates on the first `plants` stacks of a solver.

    Args:
        solver: with at least so many stacks.
        plants: how many of them; racing starts on a few and takes the best on to all.
        candidates: per candidate and zone the gains.
        targets_c: (windows, zones) [C], not a number where no heat is wanted.
        band_k: what counts as arrived [K].
        threads: blocks run at the same time.

    Arrays of the result end in (..., candidates, plants).
    """
    lanes = np.tile(np.arange(plants), len(candidates))
    gains = [one for one in candidates for _ in range(plants)]
    flat = solver.run(gains, targets_c, lanes=lanes.tolist(), band_k=band_k, threads=threads)
    shape = (len(candidates), plants)
    return Runs(
        *(
            getattr(flat, one.name).reshape(*getattr(flat, one.name).shape[:-1], *shape)
            for one in fields(Runs)
        )
    )
