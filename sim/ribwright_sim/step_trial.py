"""One step from cold to a target and a hold, with the firmware's zone loop: the tuner's measuring rod."""

from __future__ import annotations

import copy
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ribwright_board.core.window import GRAIN_MS, Windows
from ribwright_board.core.zone import ZoneLoop

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from .plant import Plant

SAMPLE_MS = 100
# Reading noise and step of the converter, as the ensemble of the control study has them.
NOISE_K = 0.3
STEP_K = 0.25
SETTLE_BAND_K = 2.0


@dataclass(frozen=True, slots=True)
class StepFigures:
    """How one zone did, on the junction's true temperature.

    overshoot_k: highest above the target. settle_s: last time outside 2 K. hold_rms_k: over the second
    half of the hold. arrive_s: first time within 2 K. slope_k_per_s, lag_s: what the loop learned.
    """

    overshoot_k: float
    settle_s: float
    hold_rms_k: float
    arrive_s: float
    slope_k_per_s: float
    lag_s: float


def step_trial(
    plant: Plant,
    gains: Sequence[Mapping[str, float]],
    target_c: float,
    *,
    window_ms: int = 1000,
    hold_s: float = 240.0,
    limit_s: float = 1500.0,
    seed: int = 0,
) -> list[StepFigures]:
    """Heat each zone by itself, from where the plant stands, to one target and hold it there.

    A blanket that lies over another heats that one's junction too; together they would judge each other.

    Args:
        plant: the stack; every zone is tried on a copy of it.
        gains: per zone, keys as core.gains.GAIN_NAMES.
        target_c: wanted temperature, C.
        window_ms: relay window, a multiple of 100.
        hold_s: how long to go on after the zone arrived.
        limit_s: give up after so long; a zone that never arrived then has settle_s = limit_s.
        seed: of the reading noise.
    """
    noise = np.random.default_rng(seed)
    figures = []
    for zone in range(len(plant.zones)):
        one = copy.deepcopy(plant)
        loop = ZoneLoop(dict(gains[zone]), window_ms)
        loop.ambient_c = one.cold_junction_c(zone)
        loop.aim(target_c)
        # Wide open branch: a trial judges each zone by itself.
        windows = Windows([1.0], 1.0, window_ms, GRAIN_MS)
        true_c: list[float] = []
        arrive_s = end_s = limit_s
        while len(true_c) * window_ms / 1000.0 < min(end_s, limit_s):
            _one_window(one, zone, loop, windows, noise)
            true_c.append(one.thermocouple_c(zone))
            if arrive_s == limit_s and true_c[-1] >= target_c - SETTLE_BAND_K:
                arrive_s = len(true_c) * window_ms / 1000.0
                end_s = arrive_s + hold_s
        figures.append(_figures(np.array(true_c), target_c, arrive_s, window_ms, loop))
    return figures


def _one_window(
    plant: Plant, zone: int, loop: ZoneLoop, windows: Windows, noise: np.random.Generator
) -> None:
    """Plan from the readings so far, then switch and read through one window."""
    windows.plan([loop.window()])
    offset_ms = 0
    next_sample_ms = SAMPLE_MS
    while offset_ms < windows.window_ms:
        states = [other == zone and windows.on(0, offset_ms) for other in range(len(plant.zones))]
        edge_ms = min(windows.next_edge(offset_ms), next_sample_ms)
        plant.advance((edge_ms - offset_ms) / 1000.0, states)
        offset_ms = edge_ms
        if offset_ms == next_sample_ms:
            next_sample_ms += SAMPLE_MS
            reading_c = plant.thermocouple_c(zone) + NOISE_K * noise.standard_normal()
            loop.add(round(reading_c / STEP_K) * STEP_K)


def _figures(
    true_c: np.ndarray, target_c: float, arrive_s: float, window_ms: int, loop: ZoneLoop
) -> StepFigures:
    error_k = true_c - target_c
    outside = np.flatnonzero(np.abs(error_k) > SETTLE_BAND_K)
    settle_s = float(outside[-1] + 1) * window_ms / 1000.0 if len(outside) else 0.0
    tail = error_k[-max(1, len(error_k) // 6) :]
    return StepFigures(
        overshoot_k=float(max(error_k.max(), 0.0)),
        settle_s=settle_s,
        hold_rms_k=float(np.sqrt(np.mean(tail**2))),
        arrive_s=arrive_s,
        slope_k_per_s=loop.best_slope_k_per_s,
        lag_s=loop.lag_s,
    )
