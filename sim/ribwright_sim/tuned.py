"""Tuning of one rig from its file to verified gains: search, textbook rules, the firmware's own code.

A zone is searched by itself. What is returned was verified; what could not be raises.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.gains import gains_for
from ribwright_board.core.rig import highest_target
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.rig_values import Rig

from .campaign.spread import Executor, here
from .compared import Compared, compare
from .margins import Answer, answer
from .step_trial import StepFigures
from .tuning import Effort, Found, RigBench, effort_for, search
from .verifying import Core, taught, verify

F64 = NDArray[np.float64]

SEED = 20240601
TARGET_C = 150.0
# A window without a mechanical relay; longer ones are compared with it.
SHORT_MS = 1000
# What a rig is tuned with: the example side, wood being the smaller part of the load.
PIECE: Mapping[str, object] = {
    "kind": "side",
    "species": "sapele",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "wetted": "misted",
}
Tell = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Tuned:
    """One zone.

    name, gains: as the rig file has them. duty: what holds the target on the nominal rig. found: of the
    search. compared: ours first, then the textbook rules. core: how far the firmware's own code agrees.
    short: the best with a window of a second, on the same rigs; None where the window is no longer than that.
    times_s: (n,). temperatures_c: (n, rigs) of the warm-ups with these gains, at windows' ends.
    """

    name: str
    gains: dict[str, float]
    duty: float
    found: Found
    compared: list[Compared]
    core: Core
    short: Found | None
    times_s: F64
    temperatures_c: F64


@dataclass(frozen=True, slots=True)
class TunedRig:
    """All zones, and what the figures belong to. trials: simulated warm-ups."""

    zones: list[Tuned]
    target_c: float
    window_ms: int
    rigs: int
    seed: int
    trials: int


def fixed_gains(gains: Mapping[str, float], seen: StepFigures, window_ms: int) -> dict[str, float]:
    """The gains with kp, ki and kd as the zone scales itself; unchanged where it learned nothing.

    Args:
        gains: keys as core.gains.GAIN_NAMES.
        seen: what the zone's own loop learned.
        window_ms: relay window.
    """
    if not seen.slope_k_per_s > 0.0:
        return dict(gains)
    lag_s = seen.lag_s + window_ms / 2000.0
    kp = gains["c_gain"] / (seen.slope_k_per_s * lag_s)
    fixed = {"kp": kp, "ki": kp / (gains["c_integral"] * lag_s), "kd": kp * gains["c_derivative"] * lag_s}
    return {**gains, **{name: float(f"{value:.4g}") for name, value in fixed.items()}}


def target_for(rig: Rig) -> float:
    """The temperature a rig is tuned at: 150 C, or as high as all its ceilings let a profile ask [C]."""
    return min([TARGET_C, *(highest_target(rig, zone, "C") for zone in range(len(rig.zones)))])


class _Job:
    """One rig on its way; counts what is done."""

    def __init__(
        self,
        rig: Mapping[str, object],
        piece: Mapping[str, object],
        effort: Effort,
        *,
        seed: int,
        use_numba: bool | None,
        tell: Tell | None,
    ) -> None:
        self.rig, self.piece, self.effort, self.seed = rig, piece, effort, seed
        checked = parse_rig(rig)
        self.window_ms, self.target_c = checked.window_ms, target_for(checked)
        self.window_s = self.window_ms / 1000.0
        self.names, self.use_numba = checked.zone_names(), use_numba
        self.bench = self.bench_for(self.window_s)
        self.short = self.bench_for(SHORT_MS / 1000.0) if self.window_ms > SHORT_MS else None
        self._tell, self._done = tell, 0
        each = 3 + effort.rounds * (1 if self.short is None else 2)
        self._total = len(self.names) * each

    def bench_for(self, window_s: float) -> RigBench:
        """Nominal and drawn rigs with relay windows so long."""
        return RigBench(
            self.rig,
            self.piece,
            window_s,
            self.target_c,
            rigs=self.effort.rigs,
            seed=self.seed,
            use_numba=self.use_numba,
        )

    def step(self, words: str) -> None:
        """One more step is done; words: of what."""
        self._done += 1
        if self._tell is not None:
            self._tell(self._done, self._total, words)

    @property
    def trials(self) -> int:
        """Warm-ups that were simulated here."""
        return self.bench.trials + (self.short.trials if self.short is not None else 0)

    def finish(self, zone: int) -> None:
        """A whole zone was done elsewhere."""
        self._done += self._total // len(self.names) - 2
        self.step(f"{self.names[zone]}: found and verified")

    def look(self, zone: int) -> Answer:
        """The zone at its target; raises TooWeakError."""
        seen = answer(self.bench.stacks[0], zone, self.target_c, self.window_s)
        self.step(f"{self.names[zone]}: power and answer")
        return seen

    def search(self, bench: RigBench, zone: int, window_ms: int, reached_s: float) -> Found:
        """Gains for one window."""
        return search(
            bench,
            zone,
            gains_for(window_ms),
            reached_s=reached_s,
            effort=self.effort,
            seed=self.seed,
            progress=lambda: self.step(f"{self.names[zone]}: search, {window_ms / 1000.0:g} s window"),
        )

    def zone(self, zone: int, seen: Answer) -> Tuned:
        """All that is wanted of one zone."""
        found = self.search(self.bench, zone, self.window_ms, seen.reached_s)
        nominal = self.bench.stacks[0]
        learned = taught(nominal, zone, found.gains, self.target_c, self.window_ms)
        gains = fixed_gains(found.gains, learned, self.window_ms)
        compared = compare(self.bench, zone, gains, seen, self.window_s)
        self.step(f"{self.names[zone]}: textbook rules")
        core = verify(self.bench, self.rig, self.piece, zone, gains, self.window_ms, self.seed)
        self.step(f"{self.names[zone]}: verified")
        short = None
        if self.short is not None:
            short = self.search(self.short, zone, SHORT_MS, seen.reached_s)
        trace_c = self.bench.run(zone, [gains], trace=True).trace_c[:, zone]
        times_s: F64 = self.window_s * np.arange(len(trace_c), dtype=np.float64)
        name = self.names[zone]
        return Tuned(name, gains, seen.duty, found, compared, core, short, times_s, trace_c)


def _zone_task(task: tuple[Any, ...]) -> tuple[int, Tuned, int]:
    """One zone in whatever process: its place, what was found, and how many warm-ups that took."""
    rig, piece, effort, seed, use_numba, zone = task
    job = _Job(rig, piece, effort, seed=seed, use_numba=use_numba, tell=None)
    # Looked at once more: what an answer holds of its model goes to no other process.
    return zone, job.zone(zone, job.look(zone)), job.trials


def tune_rig(
    rig: Mapping[str, object],
    piece: Mapping[str, object] = PIECE,
    *,
    seed: int = SEED,
    effort: Effort | None = None,
    use_numba: bool | None = None,
    tell: Tell | None = None,
    workers: int = 1,
    executor: Executor = here,
) -> TunedRig:
    """Gains for a rig, verified. What is found depends neither on workers nor on the executor.

    Args:
        rig: mapping of a checked rig file; its [fit] is used.
        piece: a profile's [piece].
        seed: of drawn rigs, clouds and noise.
        effort: how much is tried; absent, what fits a person's time.
        use_numba: absent, whether it is installed.
        tell: called with (steps done, steps in all, what was done).
        workers: zones at once, where the executor knows of more than one process.
        executor: what spreads the zones, as of campaign/spread.py.

    Raises TooWeakError before any search, DisagreeError when the firmware's own code does otherwise,
    StackError for a stack that cannot be.
    """
    tried = effort or effort_for(use_numba=use_numba)
    job = _Job(rig, piece, tried, seed=seed, use_numba=use_numba, tell=tell)
    seen = [job.look(zone) for zone in range(len(job.names))]
    if executor is here:
        zones = [job.zone(zone, one) for zone, one in enumerate(seen)]
        return TunedRig(zones, job.target_c, job.window_ms, job.effort.rigs, seed, job.trials)
    tasks = [(dict(rig), dict(piece), tried, seed, use_numba, zone) for zone in range(len(seen))]
    found: dict[int, Tuned] = {}
    trials = job.trials
    for zone, tuned, took in executor(_zone_task, tasks, workers):
        found[zone], trials = tuned, trials + took
        job.finish(zone)
    zones = [found[zone] for zone in range(len(tasks))]
    return TunedRig(zones, job.target_c, job.window_ms, job.effort.rigs, seed, trials)


def timed(rig: Mapping[str, object], *, use_numba: bool | None = None) -> float:
    """Wall seconds of one tuning, search, rules and verification included.

    Args:
        rig: mapping of a checked rig file.
        use_numba: absent, whether it is installed.

    Raises as tune_rig().
    """
    begun = time.perf_counter()
    tune_rig(rig, use_numba=use_numba)
    return time.perf_counter() - begun
