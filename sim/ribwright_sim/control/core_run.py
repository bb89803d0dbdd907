"""The firmware's own control on one stack: every duty comes from ribwright_board.core.zone.ZoneLoop."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.zone import ZoneLoop

from . import drawn, trial
from .contest import WORKERS, Field
from .stack import MET, READINGS_A_S, STATES, WORK, begin
from .trial import QUANTUM_C, SET_DROP_K, Figures

F64 = NDArray[np.float64]

PLANTS_A_TASK = 5
Loop = Callable[[dict[str, float], int], ZoneLoop]


@dataclass(frozen=True, slots=True)
class Job:
    """A run: the stack, its place in the ensemble of `seed`, its bound, what is wanted and how.

    gains: as core.gains.GAIN_NAMES. loop: what makes the law, the firmware's class or one like it.
    """

    plant: F64
    place: int
    seed: int
    target_c: float
    bound_s: float
    gains: dict[str, float]
    window_s: float
    signal: bool
    noise_k: float
    loop: Loop


def run_job(job: Job) -> tuple[F64, F64, Figures]:
    """True temperatures (readings,), relay operations (windows,), figures of one run.

    Args:
        job: what to run.
    """
    when = trial.times(job.bound_s, job.window_s)
    noise = trial.noise_k(job.seed, job.place, when.end_s, job.noise_k)
    windows, per_window = round(when.end_s / job.window_s), round(job.window_s * READINGS_A_S)
    bead_c, on, readings_c = np.zeros(windows * per_window), np.zeros(windows), np.zeros(per_window)
    state, work = np.zeros(STATES), np.zeros(WORK)
    begin(job.plant, state)
    room_c = float(job.plant[drawn.AT["ambient_c"]])
    loop = job.loop(job.gains, round(1000 * job.window_s))
    loop.ambient_c = room_c
    readings_c[:] = np.round((room_c + noise[: -per_window - 1 : -1]) / QUANTUM_C) * QUANTUM_C
    for k in range(windows):
        now_s = k * job.window_s
        target_c = job.target_c if now_s < when.set_s else job.target_c - SET_DROP_K
        if target_c != loop.target_c:
            loop.aim(target_c)
        if now_s == when.met_s:
            state[MET] = now_s
            if job.signal:
                loop.meet_form()
        for reading_c in readings_c.tolist():
            loop.add(reading_c)
        duty = loop.window()
        on[k] = trial.window(job.plant, state, work, duty, noise, k * per_window, bead_c, readings_c)
    figures = trial.figures(bead_c, on, job.target_c, job.bound_s, when, job.window_s)
    return bead_c, on, figures


def _several(jobs: Sequence[Job]) -> list[Figures]:
    return [run_job(job)[2] for job in jobs]


def crew(workers: int = WORKERS) -> ProcessPoolExecutor:
    """Processes to share runs; each compiles the stack once, so keep them for all that is to be run.

    Args:
        workers: how many.
    """
    return ProcessPoolExecutor(workers, mp_context=get_context("spawn"))


def compete_core(
    among: Field,
    gains: dict[str, float],
    *,
    window_s: float = 1.0,
    signal: bool = False,
    noise_k: float = trial.NOISE_K,
    loop: Loop = ZoneLoop,
    pool: ProcessPoolExecutor | None = None,
) -> list[Figures]:
    """Run the firmware's law on every stack.

    Args:
        among: the stacks.
        gains: as core.gains.GAIN_NAMES.
        window_s: relay and control window.
        signal: the maker says when the form is met.
        noise_k: standard deviation of a reading.
        loop: what makes the law.
        pool: from crew(); absent, the runs are made here.
    """
    jobs = [
        Job(p, int(place), among.seed, among.target_c, float(b), gains, window_s, signal, noise_k, loop)
        for p, place, b in zip(among.plants, among.places, among.bound_s, strict=True)
    ]
    tasks = [jobs[i : i + PLANTS_A_TASK] for i in range(0, len(jobs), PLANTS_A_TASK)]
    done = map(_several, tasks) if pool is None else pool.map(_several, tasks)
    return [one for several in done for one in several]
