"""Rig parameters from recorded warm-ups, by least squares.

What was believed before is one more residual for each unknown: what a log says nothing of stays where it was.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from .fit_parameters import MOST_SIGMAS, Slot
from .fit_problem import Problem, Seen
from .fit_weights import doubtful_slopes, left_over, noises, posterior, residuals, search_floor, slopes

F64 = NDArray[np.float64]

MOST_EVALUATIONS = 25


@dataclass(frozen=True, slots=True)
class Solution:
    """Where the search ended.

    Attributes:
        slots: the unknowns. steps: (unknowns,) prior standard deviations from nominal.
        covariance: (unknowns, unknowns) of `steps`; without any log it would be the unit matrix.
        seen: per log, at `steps`. noise_k: (logs, zones) from reading to reading. taken_k: (logs, zones)
            what a residual was weighed with in the end. wood_taken_k: (logs,) the same for the wood.
        evaluations: batches of simulated warm-ups.
    """

    slots: tuple[Slot, ...]
    steps: F64
    covariance: F64
    seen: tuple[Seen, ...]
    noise_k: F64
    taken_k: F64
    wood_taken_k: F64
    evaluations: int


def solve(problem: Problem, progress: Callable[[int], None] | None = None) -> Solution:
    """Search the steps that explain all logs best, twice: the second time weighed by what was left over.

    What the model cannot follow leaves residuals that hang together; they are then weighed as the fewer
    readings they are worth, so that a sigma is not smaller than the model is good.

    problem: the logs and the unknowns. progress: called with the batches of simulated warm-ups so far.
    """
    noise, wood_noise = noises(problem)
    floor = search_floor(problem, noise)
    taken, wood_taken = floor, wood_noise
    steps = np.zeros(len(problem.slots))
    cache: dict[bytes, list[Seen]] = {}
    count = 0

    def look(at: F64) -> list[Seen]:
        nonlocal count
        key = at.tobytes()
        if key not in cache:
            cache.clear()
            cache[key] = problem.look(at)
            count += 1
            if progress is not None:
                progress(count)
        return cache[key]

    for _ in range(2):
        weights = (taken, wood_taken)
        steps = least_squares(
            lambda at, weights=weights: np.concatenate((residuals(look(at), *weights), at)),
            steps,
            jac=lambda at, weights=weights: np.concatenate((slopes(look(at), *weights), np.eye(len(at)))),
            bounds=(-MOST_SIGMAS, MOST_SIGMAS),
            xtol=1e-3,
            ftol=1e-3,
            max_nfev=MOST_EVALUATIONS,
        ).x
        seen = look(steps)
        taken, wood_taken = left_over(seen, floor, wood_noise)
    covariance = posterior(doubtful_slopes(problem, seen, taken, wood_taken))
    return Solution(problem.slots, steps, covariance, tuple(seen), noise, taken, wood_taken, count)
