"""What a residual of a fit is worth: while searching, and for the sigmas of what was found.

problem: the logs and what is not known of the rig. seen: these logs beside the model, in the same order, as
problem.look() gives them. taken: (logs, zones) what a residual of a zone is weighed with [K]. wood_taken:
(logs,) the same of the second thermocouple [K]. noise, wood_noise: of the readings, or the least that is
taken for it, in the same shapes [K].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from .fit_problem import Problem, Seen
from .warmup import LEAST_NOISE_K, LEAST_WOOD_NOISE_K, Warmup, white_noise_k

F64 = NDArray[np.float64]

# What the search may leave, and for how long at a stretch: small, so that it follows a log closely.  The
# second makes a reading a second worth as much as one in so many.
MISSED_K, MISSED_S = 0.15, 30.0
# What a sigma allows for: a model that fits may still be another than the rig (draught, mains that wander, a
# thermocouple's own 0.4 %).  It grows with the rise, up to so much at DOUBT_RISE_K.  Chosen so that on rigs
# of which all that is true sigmas are as large as the errors; tests/sim/test_fit_sigmas.py holds them to it.
DOUBT_K, DOUBT_S, DOUBT_RISE_K = 0.5, 60.0, 60.0
# The same for the second thermocouple: its own error, its leads, wood that is not alike everywhere.
WOOD_DOUBT_K = 0.7
# While the middle of the wood is here its water leaves, by a law that is a proposal.
BOILING_C, BOILING_K = (80.0, 135.0), 3.0
# Neighbouring residuals that hang together further than this say no more than at it.
MOST_LIKENESS = 0.95


def posterior(weighed: F64) -> F64:
    """Covariance of the steps, (unknowns, unknowns), from weighed slopes (residuals, unknowns) and the prior.

    Gauss's normal equations, with one more equation of weight 1 for each unknown.
    """
    return np.asarray(np.linalg.inv(weighed.T @ weighed + np.eye(weighed.shape[1])), dtype=np.float64)


def noises(problem: Problem) -> tuple[F64, F64]:
    """Noise from reading to reading, (logs, zones) and of the wood (logs,) [K]."""
    zones = [
        [max(white_noise_k(column), LEAST_NOISE_K) for column in warmup.measured_c[warmup.fresh()].T]
        for warmup in problem.warmups
    ]
    woods = [
        LEAST_WOOD_NOISE_K if one.wood is None else max(white_noise_k(one.wood.wood_c), LEAST_WOOD_NOISE_K)
        for one in problem.warmups
    ]
    return np.array(zones), np.array(woods)


def search_floor(problem: Problem, noise: F64) -> F64:
    """What a search weighs readings with at least, (logs, zones) [K]."""
    windows_s = np.array([[warmup.window_s] for warmup in problem.warmups])
    return np.asarray(np.sqrt(noise**2 + MISSED_K**2 * MISSED_S / windows_s), dtype=np.float64)


def doubtful_slopes(problem: Problem, seen: Sequence[Seen], taken: F64, wood_taken: F64) -> F64:
    """Slopes counted in what a sigma allows for, (residuals, unknowns)."""
    logs = zip(seen, taken, problem.warmups, strict=True)
    doubted = [_doubted(one, zones_k, warmup.window_s) for one, zones_k, warmup in logs]
    wood = np.hypot(wood_taken, [_wood_doubt_k(warmup) for warmup in problem.warmups])
    return slopes(doubted, np.ones_like(taken), wood)


def residuals(seen: Sequence[Seen], taken: F64, wood_taken: F64) -> F64:
    """Model less reading of all logs in what each is weighed with, (residuals,)."""
    parts = []
    for one, zones_k, wood_k in zip(seen, taken, wood_taken, strict=True):
        away = (one.model_c - one.measured_c) / zones_k
        parts += [np.where(np.isfinite(away), away, 0.0).ravel(), (one.wood_model_c - one.wood_c) / wood_k]
    return np.concatenate(parts)


def slopes(seen: Sequence[Seen], taken: F64, wood_taken: F64) -> F64:
    """Change of `residuals` per step of each unknown, (residuals, unknowns)."""
    parts = []
    for one, zones_k, wood_k in zip(seen, taken, wood_taken, strict=True):
        known = np.isfinite(one.measured_c)[:, :, None]
        slope = np.where(known, one.slope_c / zones_k[None, :, None], 0.0)
        parts += [slope.reshape(-1, slope.shape[-1]), one.wood_slope_c / wood_k]
    return np.concatenate(parts)


def _doubted(seen: Seen, taken_k: F64, window_s: float) -> Seen:
    """A log whose slopes are counted in what a sigma allows for, more where water leaves the wood."""
    boiling = (seen.middle_c > BOILING_C[0]) & (seen.middle_c < BOILING_C[1])
    rise_k = seen.model_c - seen.model_c[0]
    doubt_k = np.where(boiling, BOILING_K, DOUBT_K)[:, None] * np.clip(rise_k / DOUBT_RISE_K, 0.0, 1.0)
    weight_k = np.hypot(taken_k[None, :], doubt_k * (DOUBT_S / window_s) ** 0.5)
    return replace(seen, slope_c=seen.slope_c / weight_k[:, :, None])


def _wood_doubt_k(warmup: Warmup) -> float:
    """What a sigma allows one reading of the second thermocouple, more the closer they follow [K]."""
    if warmup.wood is None or len(warmup.wood.time_s) < 2:
        return WOOD_DOUBT_K
    apart_s = float(np.median(np.diff(warmup.wood.time_s)))
    return WOOD_DOUBT_K * float(np.sqrt(max(1.0, DOUBT_S / apart_s)))


def left_over(seen: Sequence[Seen], noise: F64, wood_noise: F64) -> tuple[F64, F64]:
    """What to weigh residuals with, as taken and wood_taken: noise, or what is left and hangs together."""
    zones = [
        [max(worth_k(away), least) for away, least in zip((s.model_c - s.measured_c).T, one, strict=True)]
        for s, one in zip(seen, noise, strict=True)
    ]
    woods = [
        max(worth_k(s.wood_model_c - s.wood_c), least) for s, least in zip(seen, wood_noise, strict=True)
    ]
    return np.array(zones), np.array(woods)


def worth_k(away_k: F64) -> float:
    """Root mean square of residuals, raised for those that hang together [K].

    A series in which neighbours are alike by r holds (1 - r) / (1 + r) times as many independent ones
    (Bartlett 1935, for a first-order series; from memory).
    """
    known = away_k[np.isfinite(away_k)]
    square = float(np.mean(known * known)) if len(known) else 0.0
    if square == 0.0 or len(known) < 3:
        return float(np.sqrt(square))
    like = min(max(float(np.mean(known[1:] * known[:-1])) / square, 0.0), MOST_LIKENESS)
    return float(np.sqrt(square * (1.0 + like) / (1.0 - like)))
