"""The board's own estimate of the middle of the wood, fitted to a second thermocouple.

Which estimator it is, the caller says: anything that gives the middle of the wood for a few numbers, such as
the board's own code fed second by second with the readings of a log.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from ribwright_board.core.wood_figures import ESCAPE_S, LEAD_S, LOSS_W_M2_K, RESISTANCE_M2_K_W

from .fit_estimates import IDENTIFIED, PARTLY, VERDICTS
from .fit_weights import WOOD_DOUBT_K, posterior, worth_k

F64 = NDArray[np.float64]

# Where a rig that nobody has calibrated begins, and proposals for how far it may be from there.
NOMINAL = (RESISTANCE_M2_K_W, LOSS_W_M2_K, ESCAPE_S, LEAD_S)
SHARES = (0.5, 0.4, 0.6, 0.6)
LEAST_READINGS = 4
# Steps of the prior's sigma between two looks for a slope.
STEP = 0.01


@dataclass(frozen=True, slots=True)
class SlabFit:
    """What was found.

    Attributes:
        values: resistance [m2 K/W], loss [W/(m2 K)], escape, lead [s]. sigmas: their standard deviations.
        left: standard deviations over those before, 0-1. verdicts: as of any parameter.
        residual_k, before_k: root mean square against the second thermocouple, after and before the fit.
    """

    values: tuple[float, ...]
    sigmas: tuple[float, ...]
    left: tuple[float, ...]
    verdicts: tuple[str, ...]
    residual_k: float
    before_k: float


def fit_slab(
    estimate: Callable[..., F64],
    wood_c: F64,
    nominal: tuple[float, ...] = NOMINAL,
) -> SlabFit:
    """Fit an estimator's numbers to what was read in the wood.

    Args:
        estimate: (resistance m2 K/W, loss W/(m2 K), escape s, lead s), or the first of them, as `nominal` has
            -> (n,) middle of the wood [C], when `wood_c` was read.
        wood_c: (n,) the second thermocouple [C].
        nominal: the numbers before anything was read.

    Raises ValueError for fewer than LEAST_READINGS readings, or when the estimator gives another number of
    them.
    """
    middle = np.array(nominal)
    shares = np.array(SHARES[: len(nominal)])
    if len(wood_c) < LEAST_READINGS:
        raise ValueError(f"{len(wood_c)} readings in the wood, {LEAST_READINGS} are needed; read more often")

    def away(steps: F64) -> F64:
        told = np.asarray(estimate(*(middle * np.exp(shares * steps)).tolist()), dtype=np.float64)
        if told.shape != wood_c.shape:
            raise ValueError(f"the estimator gives {told.shape} values, {wood_c.shape} were read")
        return np.asarray(told - wood_c, dtype=np.float64)

    def search(weight_k: float, start: F64) -> F64:
        found = least_squares(
            lambda steps: np.concatenate((away(steps) / weight_k, steps)),
            start,
            diff_step=STEP,
            bounds=(-4.0, 4.0),
        )
        return np.asarray(found.x, dtype=np.float64)

    before = away(np.zeros(len(nominal)))
    steps = search(WOOD_DOUBT_K, np.zeros(len(nominal)))
    weight_k = max(worth_k(away(steps)), WOOD_DOUBT_K)
    steps = search(weight_k, steps)
    slopes = np.stack(
        [(away(steps + STEP * one) - away(steps)) / STEP for one in np.eye(len(nominal))], axis=1
    )
    left = np.sqrt(np.diag(posterior(slopes / weight_k)))
    values = middle * np.exp(shares * steps)
    verdicts = [VERDICTS[0 if one <= IDENTIFIED else 1 if one <= PARTLY else 2] for one in left]
    return SlabFit(
        values=tuple(values.tolist()),
        sigmas=tuple((values * shares * left).tolist()),
        left=tuple(left.tolist()),
        verdicts=tuple(verdicts),
        residual_k=float(np.sqrt(np.mean(away(steps) ** 2))),
        before_k=float(np.sqrt(np.mean(before**2))),
    )
