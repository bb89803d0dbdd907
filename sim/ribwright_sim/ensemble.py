"""One profile on many drawn rigs: what is uncertain about shop and wood becomes a band.

Each drawn rig has its own blankets, joints, wood, mains, water and place within the unverified bridges.
Every one of them is run by the firmware's own controller.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import NDArray

from .colour import ACTIVATION_HIGH_J_MOL, ACTIVATION_J_MOL, ACTIVATION_LOW_J_MOL
from .materials import StackError
from .plant import Plant
from .scenario import Trace, run_core
from .softening import SPREAD_K
from .stack_file import moisture_of
from .truth import Sample
from .wood import MOISTURE_LIMIT_PERCENT

F64 = NDArray[np.float64]

MOST_PLANTS = 500
# The service voltage of public supplies lies mostly within this share (from memory, unverified).
MAINS_SHARE = 0.05
# Assumption, common practice, no source: how far the water differs from what the profile says, stated or
# only called "misted" and the like, in points of moisture.
STATED_POINTS, GUESSED_POINTS = 1.0, 3.0
DRIEST_PERCENT = 2.0
REDRAWS = 50
# Wet hardwood softens at about 60 C (Hamdan et al. 2000): cooler than that, nothing judged here can change.
COLD_C = 60.0
# Rows between two looks at the wood in the stages where it changes slowly; looking costs as much as a second.
SLOW_KINDS, SLOW_ROWS = ("set", "cool"), 5


@dataclass(frozen=True, slots=True)
class Draw:
    """One rig of the ensemble.

    seed: of the plant, 0 for nominal values. mains: volts over rated. moisture_percent: of the wood at the
    start. shift_k: place within the spread of softening. activation_j_mol: of colour.
    """

    seed: int
    mains: float
    moisture_percent: float
    shift_k: float
    activation_j_mol: float


@dataclass(frozen=True, slots=True)
class Track:
    """What one rig's run did to the wood, a row a second, every SLOW_ROWS seconds in slow stages.

    time_s: (n,) since heat was allowed. stage: (n,) counted from 0. mid_c, hot_c, moisture_percent:
    (n, columns). trace: the run as its controller saw it. cooled: it was followed until the wood was cold.
    """

    draw: Draw
    time_s: F64
    stage: NDArray[np.int64]
    mid_c: F64
    hot_c: F64
    moisture_percent: F64
    trace: Trace
    cooled: bool

    @property
    def ending(self) -> str:
        """How the run ended: "done", "trip", "refused", or "unfinished" when it never did."""
        if self.cooled:
            return "done"
        last = self.trace.names()[-1:]
        return last[0] if last and last[0] in ("done", "trip", "refused") else "unfinished"


@dataclass(frozen=True, slots=True)
class Job:
    """A draw together with what it is run on: rig file, profile, names of the columns."""

    rig: Mapping[str, object]
    profile: Mapping[str, object]
    columns: tuple[str, ...]
    draw: Draw


def draws(piece: Mapping[str, object], plants: int, seed: int) -> list[Draw]:
    """The nominal rig and `plants` drawn ones.

    The bridges are drawn in equal slices of their range, so that even a dozen rigs reach its ends.

    Args:
        piece: a profile's [piece].
        plants: how many to draw, 0 to MOST_PLANTS.
        seed: of the draws.

    Raises StackError for a number of plants or moisture out of range.
    """
    if not 0 <= plants <= MOST_PLANTS:
        limit = f"allowed 0 to {MOST_PLANTS}"
        raise StackError("range", "plants", plants, limit, "rigs", "a dozen show the band well")
    rng = np.random.default_rng(seed)
    moisture = moisture_of(piece)
    points = GUESSED_POINTS if piece.get("moisture_percent") is None else STATED_POINTS

    def slices(low: float, high: float) -> F64:
        places = (rng.permutation(plants) + rng.random(plants)) / max(plants, 1)
        return low + (high - low) * places

    mains = slices(1.0 - MAINS_SHARE, 1.0 + MAINS_SHARE)
    water = np.clip(moisture + slices(-points, points), DRIEST_PERCENT, MOISTURE_LIMIT_PERCENT)
    shift = slices(-SPREAD_K, SPREAD_K)
    activation = slices(ACTIVATION_LOW_J_MOL, ACTIVATION_HIGH_J_MOL)
    seeds = rng.integers(1, 2**31, plants)
    drawn = zip(seeds, mains, water, shift, activation, strict=True)
    return [
        Draw(0, 1.0, moisture, 0.0, ACTIVATION_J_MOL),
        *(Draw(int(s), float(m), float(w), float(k), float(e)) for s, m, w, k, e in drawn),
    ]


def _plant(job: Job) -> Plant:
    """The drawn rig.  One whose side is cut into other columns cannot be compared, and is drawn anew."""
    piece = job.profile["piece"]
    if not isinstance(piece, Mapping):
        raise StackError("missing", "piece", "absent", "a table is needed", "", "add [piece]")
    wetted = {**piece, "moisture_percent": job.draw.moisture_percent}
    for more in range(REDRAWS):
        seed = job.draw.seed + more if job.draw.seed else 0
        plant = Plant.from_rig(job.rig, wetted, seed=seed, mains=job.draw.mains)
        if plant.columns == job.columns:
            return plant
    raise StackError(
        "range", "rig.zones", len(job.columns), "no drawn rig has as many", "columns", "check the lengths"
    )


def run_one(job: Job) -> Track:
    """Run one rig of the ensemble through the whole profile.

    Args:
        job: what to run on what.

    Raises CheckError for a rig or profile with a mistake, StackError for a stack with one.
    """
    plant = _plant(job)
    samples: list[Sample] = []
    time_s: list[float] = []
    stage: list[int] = []
    kinds = [one["kind"] for one in cast("Sequence[Mapping[str, object]]", job.profile["stages"])]

    def look(trace: Trace, seen: Plant) -> bool:
        now = trace.stage[-1]
        if kinds[now] in SLOW_KINDS and stage[-1:] == [now] and len(trace.stage) % SLOW_ROWS:
            return True
        samples.append(seen.sample())
        time_s.append(trace.time_s[-1])
        stage.append(now)
        return kinds[now] != "cool" or max(samples[-1].wood_hot_c) >= COLD_C

    trace = run_core(job.rig, job.profile, plant, seed=job.draw.seed, each_second=look)

    def field(name: str) -> F64:
        rows = [getattr(sample, name) for sample in samples]
        return np.array(rows, dtype=np.float64).reshape(len(rows), len(job.columns))

    return Track(
        draw=job.draw,
        time_s=np.array(time_s, dtype=np.float64),
        stage=np.array(stage, dtype=np.int64),
        mid_c=field("wood_mid_c"),
        hot_c=field("wood_hot_c"),
        moisture_percent=field("moisture_percent"),
        trace=trace,
        cooled=bool(stage) and kinds[stage[-1]] == "cool" and max(samples[-1].wood_hot_c) < COLD_C,
    )


def run_all(
    jobs: list[Job], *, workers: int = 2, progress: Callable[[int, int], None] | None = None
) -> list[Track]:
    """Run every rig, in the order given.

    Args:
        jobs: what to run.
        workers: processes to share the work, 1 for none but this one.
        progress: called with (rigs done, rigs in all).

    Raises as run_one().
    """
    tracks: dict[int, Track] = {}
    for place, track in _finished(jobs, min(workers, len(jobs))):
        tracks[place] = track
        if progress is not None:
            progress(len(tracks), len(jobs))
    return [tracks[place] for place in range(len(jobs))]


def _finished(jobs: list[Job], workers: int) -> Iterator[tuple[int, Track]]:
    """Tracks with their place, as they come."""
    left = set(range(len(jobs)))
    if workers > 1:
        # A fresh interpreter, not a copy of this one: a copied process inherits locks held by other threads.
        fresh = multiprocessing.get_context("spawn")
        pool = ProcessPoolExecutor(workers, mp_context=fresh)
        try:
            futures = {pool.submit(run_one, jobs[place]): place for place in sorted(left)}
            for future in as_completed(futures):
                track = future.result()
                left.remove(futures[future])
                yield futures[future], track
        except (BrokenProcessPool, OSError):
            # Some systems forbid helper processes, or end them; the work is the same without.
            pass
        finally:
            pool.shutdown(cancel_futures=True)
    for place in sorted(left):
        yield place, run_one(jobs[place])
