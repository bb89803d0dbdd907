"""Which factor goes with a defect: a logistic model with weak priors, told only where its sign is sure."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from .learn import Case, Factor, usable
from .models import DEFECTS

# Of each kind, and of sides without it, at least so many. PROPOSAL.
LEAST_OF_EACH = 4
# Log odds that one standard deviation of a factor may do, one sigma. PROPOSAL: odds up to sevenfold.
SIGMA_LOG_ODDS = 1.0
# Two-sided 90 % of a normal distribution.
Z_90 = 1.6449


@dataclass(frozen=True)
class Leaning:
    """A defect that leans on a factor. odds: factor on the odds for a step more, with interval."""

    kind: str
    factor: Factor
    odds: float
    low: float
    high: float

    def as_json(self) -> dict[str, Any]:
        """The leaning for a program."""
        told = {"kind": self.kind, "factor": self.factor.name, "step": self.factor.step}
        return {**told, "odds": self.odds, "interval": [self.low, self.high]}


def _fit(x: np.ndarray, seen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Most likely log odds under the prior, and their spread by the curvature there; Newton's method."""
    prior = np.array([0.1, *np.full(x.shape[1] - 1, SIGMA_LOG_ODDS**-2.0)])
    odds = np.zeros(x.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-np.clip(x @ odds, -30, 30)))
        curve = (x.T * (chance * (1 - chance))) @ x + np.diag(prior)
        step = np.linalg.solve(curve, x.T @ (seen - chance) - prior * odds)
        odds += step
        if np.abs(step).max() < 1e-9:
            break
    return odds, np.sqrt(np.diag(np.linalg.inv(curve)))


def leanings(cases: Sequence[Case], defects: Sequence[set[str]]) -> tuple[list[Leaning], dict[str, str]]:
    """Defects that lean on a factor, and for the other kinds why nothing is told.

    cases: measured sides. defects: kinds that each has.
    """
    factors, _, _ = usable(cases)
    rows = [
        (case, kinds)
        for case, kinds in zip(cases, defects, strict=True)
        if all(case.values.get(factor.name) is not None for factor in factors)
    ]
    found: list[Leaning] = []
    silent: dict[str, str] = {}
    for kind in DEFECTS:
        seen = np.array([float(kind in kinds) for _, kinds in rows])
        with_it = int(seen.sum())
        if min(with_it, seen.size - with_it) < LEAST_OF_EACH or not factors:
            silent[kind] = (
                f"not enough yet: {with_it} of {seen.size} sides, {LEAST_OF_EACH} with and without are needed"
            )
            continue
        raw = np.array([[case.values[factor.name] for factor in factors] for case, _ in rows], float)
        spread = raw.std(axis=0)
        x = np.column_stack([np.ones(len(rows)), (raw - raw.mean(axis=0)) / spread])
        odds, sigmas = _fit(x, seen)
        before = len(found)
        for i, factor in enumerate(factors):
            per_step = factor.step / spread[i]
            ends = (odds[i + 1] - Z_90 * sigmas[i + 1], odds[i + 1] + Z_90 * sigmas[i + 1])
            if ends[0] > 0 or ends[1] < 0:
                low, middle, high = (float(np.exp(v * per_step)) for v in (ends[0], odds[i + 1], ends[1]))
                found.append(Leaning(kind, factor, middle, low, high))
        if len(found) == before:
            silent[kind] = "leans on nothing that the sides could show"
    return found, silent
