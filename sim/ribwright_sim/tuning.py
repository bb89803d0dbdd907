"""The search for a rig's gains: many candidates on many drawn rigs at once, by the batch solver.

A cloud of candidates around the best so far, narrowed round by round; every candidate meets the same rigs
with the same noise. The firmware's own controller has the last word, in ribwright_host.tune.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .compiled import HAVE_NUMBA
from .layout import Stack, stack_for
from .solver import Runs, Scheme, Solver

F64 = NDArray[np.float64]

SCALED = ("c_gain", "c_integral", "c_derivative", "kappa")
# Limits of the search; outside them the law makes no sense.
LOW = {"c_gain": 0.1, "c_integral": 1.5, "c_derivative": 0.05, "kappa": 0.3}
HIGH = {"c_gain": 4.0, "c_integral": 40.0, "c_derivative": 1.2, "kappa": 4.0}
# Spread of the first cloud, as a share; each round it is this much narrower.
SPREAD, NARROWER = 0.25, 0.7
# The best of a round, as a share of it, make the next centre.
ELITE = 0.25
# Noise of the mean of a window's readings: four a second of 0.3 K each.
READING_NOISE_K, READINGS_A_S = 0.3, 4.0
HOLD_S, LONGEST_S = 240, 2400


@dataclass(frozen=True, slots=True)
class Effort:
    """How much is tried: rigs, candidates a round, rounds."""

    rigs: int
    candidates: int
    rounds: int


# Without the compiler a run takes about ten times as long.
COMPILED, PLAIN = Effort(16, 20, 9), Effort(6, 8, 4)


def effort_for(*, use_numba: bool | None = None) -> Effort:
    """What fits the time a person waits; use_numba: absent, whether it is installed."""
    return COMPILED if (HAVE_NUMBA if use_numba is None else use_numba) else PLAIN


@dataclass(frozen=True, slots=True)
class Warmups:
    """One zone heated to the target and held, on every rig; arrays are (rigs,).

    overshoot_k: over the target. arrive_s: first within 2 K, not a number for never. settle_s: last outside.
    ripple_k: RMS deviation since arrival.
    """

    overshoot_k: F64
    arrive_s: F64
    settle_s: F64
    ripple_k: F64

    def cost(self, first_s: F64) -> float:
        """Kelvin of overshoot, three times the ripple, 20 K for settling twice as late as first arrival.

        The mean over the rigs, the 95th percentile and a fifth of the worst.

        Args:
            first_s: (rigs,) when the target can be reached at all.
        """
        late = np.where(np.isfinite(self.arrive_s), np.maximum(self.settle_s / first_s - 1.0, 0.0), 10.0)
        each = self.overshoot_k + 3.0 * self.ripple_k + 20.0 * late
        return float(each.mean() + np.percentile(each, 95.0) + 0.2 * each.max())


class RigBench:
    """The rig as its file says, and as it may be, ready to try gains on."""

    def __init__(
        self,
        rig: Mapping[str, object],
        piece: Mapping[str, object],
        window_s: float,
        target_c: float,
        *,
        rigs: int,
        seed: int,
        use_numba: bool | None = None,
    ) -> None:
        """Args:
            rig: mapping of a rig file.
            piece: a profile's [piece].
            window_s: relay window.
            target_c: to be reached and held.
            rigs: the nominal one and as many drawn ones as make this number.
            seed: of the first drawn one.
            use_numba: absent, whether it is installed.

        Raises StackError for a stack that cannot be.
        """
        seeds = [0, *(seed + i for i in range(1, rigs))]
        self.stacks: list[Stack] = [stack_for(rig, piece, seed=one) for one in seeds]
        self.zones = len(self.stacks[0].zones)
        self.target_c, self._window_s = target_c, window_s
        self.noise_k = READING_NOISE_K / math.sqrt(READINGS_A_S * window_s)
        # Steps of a second, or a little less where a window is no whole number of seconds.
        self._step_s = window_s / max(1, math.ceil(window_s - 1e-9))
        scheme = Scheme(step_s=self._step_s)
        self._solver = Solver(self.stacks, scheme=scheme, window_s=window_s, use_numba=use_numba)
        self._windows = [0] * self.zones
        self.trials = 0

    def last(self, zone: int, length_s: float) -> None:
        """Let runs of a zone last so long."""
        self._windows[zone] = math.ceil(min(length_s, LONGEST_S) / self._window_s)

    def length_s(self, zone: int) -> float:
        """How long runs of a zone last."""
        return self._windows[zone] * self._window_s

    def begin(self, zone: int, gains: Mapping[str, float], reached_s: float) -> Warmups:
        """Find out how long runs of a zone must be; what the gains were worth in runs so long.

        Args:
            zone: its place.
            gains: keys as core.gains.GAIN_NAMES.
            reached_s: when the nominal rig is at the target, at full power.
        """
        for length_s in (2.0 * reached_s + HOLD_S, LONGEST_S):
            self.last(zone, length_s)
            found = self.warmups(zone, [gains])[0]
            if np.isfinite(found.arrive_s).all():
                break
        slowest_s = float(np.nanmax(found.arrive_s)) if np.isfinite(found.arrive_s).any() else LONGEST_S
        self.last(zone, max(1.4 * slowest_s, 2.0 * self._window_s) + HOLD_S)
        return self.warmups(zone, [gains])[0]

    def run(
        self,
        zone: int,
        sets: Sequence[Mapping[str, float]],
        *,
        trace: bool = False,
        noise: bool = True,
        rigs: Sequence[int] | None = None,
    ) -> Runs:
        """Heat one zone by itself, on every rig with every set of gains; lanes set by set.

        Args:
            zone: its place.
            sets: keys as core.gains.GAIN_NAMES, and `fixed` for gains that do not scale themselves.
            trace: keep every window's temperatures.
            noise: of the readings.
            rigs: which ones; absent, all.
        """
        targets_c = np.full((self._windows[zone], self.zones), np.nan)
        targets_c[:, zone] = self.target_c
        chosen = list(range(len(self.stacks))) if rigs is None else list(rigs)
        noise_k = self.noise_k if noise else 0.0
        given = [[{**one, "noise_k": noise_k}] * self.zones for one in sets for _ in chosen]
        self.trials += len(given)
        return self._solver.run(given, targets_c, lanes=chosen * len(sets), trace=trace, threads=2)

    def warmups(
        self,
        zone: int,
        sets: Sequence[Mapping[str, float]],
        *,
        noise: bool = True,
        rigs: Sequence[int] | None = None,
    ) -> list[Warmups]:
        """What each set was worth on one zone; zone, sets, noise and rigs as run()."""
        runs = self.run(zone, sets, noise=noise, rigs=rigs)
        held_s = self.length_s(zone) - runs.arrive_s[zone]
        steps = np.where(np.isfinite(held_s), np.maximum(held_s / self._step_s + 1.0, 1.0), 1.0)
        ripple_k = np.sqrt(runs.square_sum_k2[zone] / steps)
        parts = (runs.overshoot_k[zone], runs.arrive_s[zone], runs.outside_s[zone], ripple_k)
        rows = [part.reshape(len(sets), -1) for part in parts]
        return [Warmups(*(row[i] for row in rows)) for i in range(len(sets))]


@dataclass(frozen=True, slots=True)
class Found:
    """The best set of one zone, its cost and that of the set it began with, and its warm-ups."""

    gains: dict[str, float]
    cost: float
    cost_before: float
    warmups: Warmups


def search(
    bench: RigBench,
    zone: int,
    start: Mapping[str, float],
    *,
    reached_s: float,
    effort: Effort,
    seed: int,
    progress: Callable[[], None] | None = None,
) -> Found:
    """Find gains for one zone.

    Args:
        bench: rigs to try them on.
        zone: its place.
        start: keys as core.gains.GAIN_NAMES; the search begins there and never ends worse.
        reached_s: when the nominal rig is at the target, at full power.
        effort: how much is tried.
        seed: of the clouds.
        progress: called once a round.
    """
    rng = np.random.default_rng([seed, zone])
    best, found = dict(start), bench.begin(zone, start, reached_s)
    first_s = found.arrive_s
    cost = cost_before = found.cost(first_s)
    centre = np.log([start[name] for name in SCALED])
    spread = np.full(len(SCALED), SPREAD)
    low, high = (np.log([limits[name] for name in SCALED]) for limits in (LOW, HIGH))
    for _ in range(effort.rounds):
        cloud = np.clip(centre + spread * rng.standard_normal((effort.candidates, len(SCALED))), low, high)
        sets = [{**start, **dict(zip(SCALED, np.exp(row).tolist(), strict=True))} for row in cloud]
        seen = bench.warmups(zone, sets)
        costs = np.array([one.cost(first_s) for one in seen])
        order = np.argsort(costs)
        if costs[order[0]] < cost:
            cost, best, found = float(costs[order[0]]), sets[int(order[0])], seen[int(order[0])]
        elite = cloud[order[: max(2, round(ELITE * effort.candidates))]]
        centre, spread = elite.mean(axis=0), NARROWER * spread
        if progress is not None:
            progress()
    rounded = {name: float(f"{value:.4g}") for name, value in best.items()}
    return Found(rounded, cost, cost_before, found)
