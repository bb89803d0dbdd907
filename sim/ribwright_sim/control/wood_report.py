"""How well the board tells the wood, calibrated or not, and what heating for the wood gains.

The stacks are those of the contest. What an estimate goes by where nobody has calibrated it was found on the
seed that everything is tuned on; one calibration is one run with a second thermocouple in another piece.

among: the stacks that are run. pool: processes from core_run.crew().
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribwright_sim.slab_fit import fit_slab

from . import drawn
from .bounds import bound_s
from .drawn import AT
from .wood_runs import (
    FACE_C,
    LONGEST_S,
    WOOD_C,
    Aim,
    Slab,
    Task,
    Warming,
    estimate_for,
    heeding,
    plain,
    ramp_error_k,
    soonest_s,
    warm_all,
)

F64 = NDArray[np.float64]

TUNED_ON, UNSEEN = 20240601, 20240602
# Best for 27 of the first 80 stacks of the seed that is tuned on; these stacks are not the rigs that the
# board's own nominal figures stand for, whose slats, blankets and water are modelled otherwise.
NOMINAL = Slab(2.93e-3, 6.6, 18.7)
RAMP_C = 150.0
# The second thermocouple.
WOOD_NOISE_K = 0.3
CALIBRATION_S = 400
NEVER_C = 999.0
# The limit of colour is kept on this share of the stacks.
KEPT_PERCENT = 95.0
BISECTIONS = 6
CALIBRATED = 40


class Stacks(NamedTuple):
    """Some stacks of a seed, what each estimate goes by, and when a ramp arrives."""

    seed: int
    plants: F64
    slabs: list[Slab]
    bound_s: F64


def stacks(seed: int, count: int) -> Stacks:
    """The first stacks of a seed, count of them, none of them calibrated."""
    plants = drawn.draw(seed, count)
    return Stacks(seed, plants, [NOMINAL] * count, np.array([bound_s(p, RAMP_C) for p in plants]))


def _tasks(among: Stacks, aim: Aim, seconds: Sequence[int], until_c: float) -> list[Task]:
    return [
        Task(p, i, among.seed, among.slabs[i], aim, seconds[i], until_c) for i, p in enumerate(among.plants)
    ]


def errors_k(among: Stacks, pool: Executor | None) -> F64:
    """RMS error of the estimated middle in the ramp to RAMP_C, a number a stack [K]; pool None: run here."""
    seconds = [round(float(b)) + 2 for b in among.bound_s]
    runs = warm_all(_tasks(among, plain(RAMP_C), seconds, NEVER_C), pool)
    return np.array([ramp_error_k(run, float(b)) for run, b in zip(runs, among.bound_s, strict=True)])


def other_piece(plant: F64, seed: int, place: int) -> F64:
    """The same rig with another piece of wood in it.

    Args:
        plant: one row of drawn.NAMES.
        seed: of its ensemble.
        place: of the stack in it; the two draw the piece.
    """
    rng = np.random.default_rng([seed, place, 5])
    other = plant.copy()
    other[AT["wood_m"]] = rng.uniform(1.5e-3, 3.2e-3)
    other[AT["density_kg_m3"]] = rng.uniform(450.0, 900.0)
    other[AT["moisture_percent"]] = rng.uniform(6.0, 30.0)
    other[AT["wood_k_factor"]] = rng.uniform(0.85, 1.15)
    return other


class _Calibration(NamedTuple):
    plant: F64
    run: Warming
    seed: int
    place: int


def _calibrate(job: _Calibration) -> Slab:
    rng = np.random.default_rng([job.seed, job.place, 6])
    read_c = job.run.mid_c + WOOD_NOISE_K * rng.standard_normal(len(job.run.mid_c))

    def estimate(*slab: float) -> F64:
        wood, told = estimate_for(job.plant, Slab(*slab)), []
        for reading_c in job.run.reading_c.tolist():
            wood.second(reading_c)
            told.append(wood.mid_c)
        return np.array(told, dtype=np.float64)

    return Slab(*fit_slab(estimate, read_c, NOMINAL).values)


def calibrated(among: Stacks, pool: Executor) -> Stacks:
    """The same stacks after one run each with a second thermocouple in another piece."""
    others = [other_piece(plant, among.seed, i) for i, plant in enumerate(among.plants)]
    there = among._replace(plants=np.array(others))
    seconds = [CALIBRATION_S] * len(others)
    runs = warm_all(_tasks(there, plain(RAMP_C), seconds, NEVER_C), pool)
    pairs = enumerate(zip(others, runs, strict=True))
    jobs = [_Calibration(plant, run, among.seed, place) for place, (plant, run) in pairs]
    return among._replace(slabs=list(pool.map(_calibrate, jobs)))


class Contest(NamedTuple):
    """Stacks to tune on and to judge on, and what counts as keeping the limit of colour.

    minute_after: the limit of colour is kept for the minute after bending heat as well.
    """

    trained: Stacks
    judged: Stacks
    minute_after: bool

    def outcome(self, among: Stacks, aim: Aim, pool: Executor) -> tuple[float, float]:
        """Median time to bending heat [s], and the hottest face KEPT_PERCENT of the stacks stay under [C].

        aim: target of the thermocouple, second by second.
        """
        seconds = [LONGEST_S] * len(among.plants)
        runs = warm_all(_tasks(among, aim, seconds, WOOD_C), pool)
        faces_c = [run.hottest_face_c(minute_after=self.minute_after) for run in runs]
        return float(np.median([run.hot_s() for run in runs])), float(np.percentile(faces_c, KEPT_PERCENT))

    def judge(self, name: str, way: Callable[[float], Aim], pool: Executor) -> dict[str, float]:
        """Tune a way to the limit on some stacks, judge it on others; figures by name.

        name: first part of theirs. way: the aim for a number that is tuned [C], plain() or heeding().
        """
        low_c, high_c = FACE_C - 16.0, FACE_C + 16.0
        for _ in range(BISECTIONS):
            middle_c = 0.5 * (low_c + high_c)
            kept = self.outcome(self.trained, way(middle_c), pool)[1] <= FACE_C
            low_c, high_c = (middle_c, high_c) if kept else (low_c, middle_c)
        hot_s, face_c = self.outcome(self.judged, way(low_c), pool)
        return {f"{name}_at_c": low_c, f"{name}_hot_s": hot_s, f"{name}_face_c_p95": face_c}


def wood_figures(count: int, pool: Executor) -> dict[str, float]:
    """The part of control.json that speaks of the wood.

    Args:
        count: stacks of the unseen seed.
        pool: from core_run.crew().
    """
    some = min(CALIBRATED, count)
    error_k = errors_k(stacks(UNSEEN, count), pool)
    few, trained = stacks(UNSEEN, some), stacks(TUNED_ON, some)
    after, after_trained = calibrated(few, pool), calibrated(trained, pool)
    after_k = errors_k(after, pool)
    figures = {
        "midwood_error_k_p50": float(np.percentile(error_k, 50)),
        "midwood_error_k_p95": float(np.percentile(error_k, 95)),
        "midwood_error_k_p50_calibrated": float(np.percentile(after_k, 50)),
        "midwood_error_k_p95_calibrated": float(np.percentile(after_k, 95)),
    }
    best_s = float(np.median([soonest_s(plant, FACE_C, WOOD_C, LONGEST_S) for plant in few.plants]))
    figures["soonest_hot_s"] = best_s
    for minute_after, end in ((False, ""), (True, "_minute_after")):
        known = Contest(after_trained, after, minute_after)
        told = known.judge("heeding", heeding, pool)
        plainly = known.judge("plain", plain, pool)
        blind = Contest(trained, few, minute_after).judge("heeding_uncalibrated", heeding, pool)
        figures |= {f"{name}{end}": value for name, value in {**told, **plainly, **blind}.items()}
        figures[f"midwood_time_gain{end}"] = plainly["plain_hot_s"] / told["heeding_hot_s"]
        uncalibrated = plainly["plain_hot_s"] / blind["heeding_uncalibrated_hot_s"]
        figures[f"midwood_time_gain_uncalibrated{end}"] = uncalibrated
        figures[f"midwood_time_gain_bound{end}"] = plainly["plain_hot_s"] / best_s
    return figures
