"""What the book's own sides tell of spring-back: a linear model with weak priors, and intervals that are
honest with a dozen sides.

Why no library: scikit-learn's BayesianRidge fixes noise and prior width at one best guess, which makes its
intervals too short with so few sides, and knows nothing of pairs, whose sides share board and day; a mixed
model by asymptotics has the first fault as well. Here both unknown spreads are summed over a grid, exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# Below this many real, measured sides nothing is told. PROPOSAL: fewer sides than twice the unknowns that are
# usually left say more about the priors than about the shop.
LEAST_SIDES = 8
# What is claimed of every interval: nine times in ten, or more often, the truth lies in it.
CLAIM = 0.90
# The share of the draws it takes in. An interval of nine draws in ten is right nine times in ten on average
# over everything the priors hold for likely; for one law, which is all that a shop has, it may be less, and
# 200 notebooks are luck as well: at a chance of exactly 0.90 an effect falls below 180 of 200 every other
# time. At 0.95 the smallest of six effects stays at 180 or above with odds of better than a hundred to one.
INTERVAL = 0.95
DRAWS, SEED = 8000, 4127
# Spread of one side about the model, and of a piece as a whole, mm. Finer than 0.05 mm nobody measures a gap.
NOISE_MM = np.geomspace(0.05, 6.0, 28)
PIECE_SHARE = np.array([0.0, 0.25, 0.5, 1.0, 1.5, 2.5])
INTERCEPT_SIGMA_MM = 20.0


@dataclass(frozen=True)
class Factor:
    """What may bear on spring-back. name: of the value in a Case. words: for people, for one step more of it.
    step: a step worth telling, in unit. sigma: how much one unit may do, mm, one sigma. least_spread: with
    less variation among the sides, nothing can be told of it.
    """

    name: str
    words: str
    unit: str
    step: float
    sigma: float
    least_spread: float


# The sigmas are PROPOSALS: no figure for thin hardwood was found published. Each lets a usual change of its
# factor do about two millimetres.
FACTORS = (
    Factor("set_c", "a set 5 K hotter", "K", 5, 0.20, 1.0),
    Factor("set_min", "a set 5 min longer", "min", 5, 0.20, 0.5),
    Factor("heat_min", "5 min more at bending heat", "min", 5, 0.20, 0.5),
    Factor("thickness_mm", "0.1 mm more thickness", "mm", 0.1, 10.0, 0.02),
    Factor("moisture_percent", "4 % more moisture", "%", 4, 0.25, 1.0),
    Factor("tightest_radius_mm", "a radius 5 mm wider", "mm", 5, 0.10, 2.0),
)


@dataclass(frozen=True)
class Case:
    """One measured side: which piece, its values by factor (None where unknown), its mean gap in mm."""

    piece: int
    values: dict[str, float | None]
    gap_mm: float


@dataclass(frozen=True)
class Effect:
    """What one unit more of a factor does to the gap, mm: mean, and the interval that keeps CLAIM."""

    factor: Factor
    mean: float
    low: float
    high: float

    @property
    def told(self) -> bool:
        """Whether the interval leaves no doubt about the sign."""
        return self.low > 0 or self.high < 0


@dataclass(frozen=True)
class Learned:
    """What was learned. factors: in the order of columns. centres: means of their values. draws: of intercept
    and effects, a row each. noise_mm: draws of a side's spread. left_out: factors with the reason. sides:
    how many were used.
    """

    factors: tuple[Factor, ...]
    centres: np.ndarray
    draws: np.ndarray
    noise_mm: np.ndarray
    left_out: dict[str, str]
    sides: int

    def effects(self) -> list[Effect]:
        """The effect of every factor, per unit."""
        tail = (1 - INTERVAL) / 2
        found = []
        for column, factor in enumerate(self.factors, start=1):
            low, high = np.quantile(self.draws[:, column], [tail, 1 - tail])
            found.append(Effect(factor, float(self.draws[:, column].mean()), float(low), float(high)))
        return found

    def gap_draws(self, values: dict[str, float | None]) -> np.ndarray:
        """Draws of the mean gap of sides with such values, mm; what is unknown stands at its mean.

        values: by factor.
        """
        return self.draws @ np.array([1.0, *self._centred(values)])

    def _centred(self, values: dict[str, float | None]) -> list[float]:
        found = []
        for factor, centre in zip(self.factors, self.centres, strict=True):
            value = values.get(factor.name)
            found.append(0.0 if value is None else value - float(centre))
        return found


def usable(cases: Sequence[Case]) -> tuple[tuple[Factor, ...], list[Case], dict[str, str]]:
    """Factors that the sides can tell of, the sides that know them all, and why others are left out.

    cases: measured sides. A factor needs to be known of four fifths of them and to vary.
    """
    kept, why = [], {}
    for factor in FACTORS:
        known = [value for case in cases if (value := case.values.get(factor.name)) is not None]
        if len(known) < 0.8 * len(cases):
            why[factor.name] = f"known of {len(known)} of {len(cases)} sides only"
        elif np.std(known) < factor.least_spread:
            unit = "C" if factor.unit == "K" else factor.unit
            why[factor.name] = f"the same on all sides, {np.mean(known):.4g} {unit}"
        else:
            kept.append(factor)
    used = [case for case in cases if all(case.values.get(factor.name) is not None for factor in kept)]
    return tuple(kept), used, why


def _groups(x: np.ndarray, y: np.ndarray, pieces: np.ndarray) -> list[tuple[int, np.ndarray, np.ndarray]]:
    """Sums over the pieces that have a number of sides: that number, summed rows, summed gaps."""
    _, where, sizes = np.unique(pieces, return_inverse=True, return_counts=True)
    rows = np.zeros((sizes.size, x.shape[1]))
    gaps = np.zeros(sizes.size)
    np.add.at(rows, where, x)
    np.add.at(gaps, where, y)
    return [(int(size), rows[sizes == size], gaps[sizes == size]) for size in np.unique(sizes)]


def learn(cases: Sequence[Case]) -> Learned:
    """Learn from measured sides.

    cases: at least LEAST_SIDES with a factor that varies, or ValueError is raised.

    gap = intercept + sum of effects + piece + side, all normal. For each pair of spreads (of a side, and of a
    piece as a share of it) the posterior of the effects is normal and its weight known in closed form; draws
    are taken from the mixture (Gelman et al., Bayesian Data Analysis, 3rd ed., sections 14.6 and 15.1: from
    memory).
    """
    factors, used, left_out = usable(cases)
    if len(used) < LEAST_SIDES or not factors:
        raise ValueError(f"{len(used)} sides, {len(factors)} factors")
    raw = np.array([[case.values[factor.name] for factor in factors] for case in used], float)
    centres = raw.mean(axis=0)
    gaps = np.array([case.gap_mm for case in used])
    middle = gaps.mean()
    y = gaps - middle
    x = np.column_stack([np.ones(len(used)), raw - centres])
    groups = _groups(x, y, np.array([case.piece for case in used]))
    prior = np.array([INTERCEPT_SIGMA_MM, *(factor.sigma for factor in factors)]) ** -2.0
    xx, xy, yy = x.T @ x, x.T @ y, float(y @ y)
    logs, means, roots = [], [], []
    for noise in NOISE_MM:
        for share in PIECE_SHARE:
            ratio = share * share
            gram, cross, square, log_det = xx.copy(), xy.copy(), yy, len(used) * 2 * np.log(noise)
            for size, rows, sums in groups:
                pull = ratio / (1 + size * ratio)
                gram -= pull * rows.T @ rows
                cross -= pull * rows.T @ sums
                square -= pull * float(sums @ sums)
                log_det += sums.size * np.log1p(size * ratio)
            precision = gram / noise**2 + np.diag(prior)
            lower = np.linalg.cholesky(precision)
            half = np.linalg.solve(lower, cross / noise**2)
            logs.append(-0.5 * (log_det + 2 * np.log(np.diag(lower)).sum() + square / noise**2 - half @ half))
            means.append(np.linalg.solve(lower.T, half))
            roots.append(np.linalg.inv(lower))
    # Beforehand the spread itself is flat, not its logarithm: intervals come out wider, and honest.
    log_weights = np.array(logs) + np.log(np.repeat(NOISE_MM, PIECE_SHARE.size))
    weights = np.exp(log_weights - log_weights.max())
    # The same book always says the same.
    dice = np.random.default_rng(SEED)
    chosen = dice.choice(weights.size, DRAWS, p=weights / weights.sum())
    normal = dice.standard_normal((DRAWS, x.shape[1]))
    draws = np.array(means)[chosen] + np.einsum("dji,dj->di", np.array(roots)[chosen], normal)
    draws[:, 0] += middle
    noise_mm = np.repeat(NOISE_MM, PIECE_SHARE.size)[chosen]
    return Learned(factors, centres, draws, noise_mm, left_out, len(used))
