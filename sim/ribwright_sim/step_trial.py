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

    overshoot_k: highest above the target. arrive_s: first time within 2 K; not a number for never. settle_s:
    end of the last window outside 2 K, its mean as well as its end. ripple_k: RMS deviation since arrival.
    slope_k_per_s, lag_s: what the loop learned.
    """

    overshoot_k: float
    arrive_s: float
    settle_s: float
    ripple_k: float
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
    noise_k: float = NOISE_K,
    step_k: float = STEP_K,
    only: int | None = None,
) -> list[StepFigures]:
    """Heat each zone by itself, from where the plant stands, to one target and hold it there.

    A blanket that lies over another heats that one's junction too; together they would judge each other.

    Args:
        plant: the stack; every zone is tried on a copy of it.
        gains: per zone, keys as core.gains.GAIN_NAMES.
        target_c: wanted temperature, C.
        window_ms: relay window, a multiple of 100.
        hold_s: how long to go on after the zone arrived.
        limit_s: give up after so long.
        seed: of the reading noise.
        noise_k: of one reading.
        step_k: of the converter, 0 for none.
        only: this zone alone; absent, each in turn.
    """
    noise = np.random.default_rng(seed)
    figures = []
    for zone in range(len(plant.zones)) if only is None else (only,):
        one = copy.deepcopy(plant)
        loop = ZoneLoop(dict(gains[zone]), window_ms)
        loop.ambient_c = one.cold_junction_c(zone)
        loop.aim(target_c)
        # Wide open branch: a trial judges each zone by itself.
        windows = Windows([1.0], 1.0, window_ms, GRAIN_MS)
        true_c: list[float] = []
        per_window = window_ms // SAMPLE_MS
        end_s = limit_s
        while len(true_c) * SAMPLE_MS / 1000.0 < min(end_s, limit_s):
            true_c += _one_window(one, zone, loop, windows, noise, noise_k, step_k)
            if end_s == limit_s and max(true_c[-per_window:]) >= target_c - SETTLE_BAND_K:
                end_s = len(true_c) * SAMPLE_MS / 1000.0 + hold_s
        figures.append(_figures(np.array(true_c), target_c, per_window, loop))
    return figures


def _one_window(
    plant: Plant,
    zone: int,
    loop: ZoneLoop,
    windows: Windows,
    noise: np.random.Generator,
    noise_k: float,
    step_k: float,
) -> list[float]:
    """Plan from the readings so far, then switch and read through one window; the true temperatures read."""
    windows.plan([loop.window()])
    offset_ms = 0
    next_sample_ms = SAMPLE_MS
    true_c: list[float] = []
    while offset_ms < windows.window_ms:
        states = [other == zone and windows.on(0, offset_ms) for other in range(len(plant.zones))]
        edge_ms = min(windows.next_edge(offset_ms), next_sample_ms)
        plant.advance((edge_ms - offset_ms) / 1000.0, states)
        offset_ms = edge_ms
        if offset_ms == next_sample_ms:
            next_sample_ms += SAMPLE_MS
            true_c.append(plant.thermocouple_c(zone))
            reading_c = true_c[-1] + noise_k * noise.standard_normal()
            loop.add(round(reading_c / step_k) * step_k if step_k else reading_c)
    return true_c


def _figures(true_c: np.ndarray, target_c: float, per_window: int, loop: ZoneLoop) -> StepFigures:
    error_k, each_s = true_c - target_c, SAMPLE_MS / 1000.0
    near = np.flatnonzero(error_k >= -SETTLE_BAND_K)
    held_k = error_k[near[0] :] if len(near) else np.array([np.nan])
    rows = error_k.reshape(-1, per_window)
    away_k = np.minimum(abs(rows.mean(axis=1)), abs(rows[:, -1]))
    outside = np.flatnonzero(away_k > SETTLE_BAND_K)
    return StepFigures(
        overshoot_k=float(max(error_k.max(), 0.0)),
        arrive_s=float(near[0] + 1) * each_s if len(near) else float("nan"),
        settle_s=float(outside[-1] + 1) * per_window * each_s if len(outside) else 0.0,
        ripple_k=float(np.sqrt(np.mean(held_k**2))),
        slope_k_per_s=loop.best_slope_k_per_s,
        lag_s=loop.lag_s,
    )
