"""How closely the fit of a rig follows logs of rigs it does not know: two drawn ones, read with noise."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.proving import PULSE_DUTY, PULSE_S, WATCH_S
from ribwright_sim.fit_estimates import fit
from ribwright_sim.layout import stack_for
from ribwright_sim.measure.ours import PIECE, RIG
from ribwright_sim.plant import Plant
from ribwright_sim.warmup import Warmup

F64 = NDArray[np.float64]

SEEDS = (20240602, 20240603)
# Of the mean of a second's readings; a log's figures are rounded to tenths.
NOISE_K, ROUNDED_TO = 0.12, 1
# The waist alone, then the whole side: how long and what for.
PLAN = ((240, (150.0, None)), (240, (None, 150.0)))
GAIN_PER_K, AHEAD_K = 0.1, 2.0


def _second(plant: Plant, shares: list[float]) -> F64:
    """One second with each zone on for its share from the start; the mean of each junction."""
    edges = sorted({0.0, 1.0, *shares})
    before = np.array([plant.thermocouple_c(zone) for zone in range(len(shares))])
    total = np.zeros(len(shares))
    for begin, end in pairwise(edges):
        plant.advance(end - begin, [share > begin for share in shares])
        now = np.array([plant.thermocouple_c(zone) for zone in range(len(shares))])
        total += 0.5 * (end - begin) * (before + now)
        before = now
    return total


def recorded(seed: int) -> Warmup:
    """A log of one drawn rig: the proof's pulses, then the plan.

    Args:
        seed: of the rig and of the noise.
    """
    plant = Plant(stack_for(RIG, PIECE, seed=seed))
    zones = len(plant.zones)
    rng = np.random.default_rng([seed, 8])
    for zone in range(zones):
        for duty, seconds in ((PULSE_DUTY, PULSE_S), (0.0, WATCH_S)):
            for _ in range(seconds):
                _second(plant, [duty if other == zone else 0.0 for other in range(zones)])
    read_c = [plant.thermocouple_c(zone) for zone in range(zones)]
    measured: list[list[float]] = []
    on_s: list[list[float]] = []
    for seconds, targets_c in PLAN:
        for _ in range(seconds):
            wanted = [0.0 if target is None else target + AHEAD_K for target in targets_c]
            shares = [
                round(min(max(GAIN_PER_K * (one - now), 0.0), 1.0), 2)
                for one, now in zip(wanted, read_c, strict=True)
            ]
            noisy = _second(plant, shares) + NOISE_K * rng.standard_normal(zones)
            read_c = noisy.round(ROUNDED_TO).tolist()
            measured.append(read_c)
            on_s.append(shares)
    rows = np.arange(1.0, len(measured) + 1)
    return Warmup(f"drawn rig {seed}", PIECE, rows, np.array(measured), np.array(on_s))


def fit_figures() -> dict[str, float]:
    """The part of control.json that speaks of the fit: what is left, beside the noise that was put in."""
    found = [fit(RIG, [recorded(seed)]) for seed in SEEDS]
    return {
        "fit_residual_k": max(one.fit_residual_k for one in found),
        "fit_noise_k": NOISE_K,
        "fit_logs": float(len(found)),
    }
