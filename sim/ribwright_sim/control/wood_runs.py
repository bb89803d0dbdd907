"""What the wood is at while its thermocouple is heated: the estimate against the truth, and two ways up.

The plain way holds the thermocouple at one temperature. The other lets it stand above that as long as the
estimated hottest face of the wood stays under a limit. Both are the firmware's own code: ZoneLoop heats,
WoodEstimate tells.

p, s, w: a stack, its state and its work, as in stack.py.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.gains import gains_for
from ribwright_board.core.midwood import WoodEstimate
from ribwright_board.core.units import FIRMWARE_CEILING_C, TARGET_MARGIN_K
from ribwright_board.core.wood_figures import LEAD_S
from ribwright_board.core.zone import ZoneLoop

from . import drawn, trial
from .jit import jit
from .stack import (
    BEAD,
    BLANKET,
    FORM,
    READINGS_A_S,
    STATES,
    STEPS_A_READING,
    WATER,
    WOOD,
    WOOD_CELLS,
    WORK,
    begin,
    middle_c,
    refresh,
    step,
    wood_k_w_m_k,
)
from .trial import QUANTUM_C

F64 = NDArray[np.float64]

# Bending heat and the limit of colour of the comparison.
WOOD_C, FACE_C = 130.0, 160.0
LONGEST_S = 3000
# No target may be higher.
HIGHEST_C = FIRMWARE_CEILING_C - TARGET_MARGIN_K


class Slab(NamedTuple):
    """What an estimate goes by: way to the wood [m2 K/W], far face's loss [W/(m2 K)], escape, lead [s]."""

    resistance_m2_k_w: float
    loss_w_m2_k: float
    escape_s: float
    lead_s: float = LEAD_S


@dataclass(frozen=True, slots=True)
class Warming:
    """One run, a row a second.

    reading_c: (n,) mean reading. bead_c, mid_c, face_c: (n,) true thermocouple, middle and hottest face.
    told_c: (n,) the estimate of the middle.
    """

    reading_c: F64
    bead_c: F64
    mid_c: F64
    face_c: F64
    told_c: F64

    def hot_s(self) -> float:
        """When the true middle is at bending heat; infinite for never."""
        there = np.flatnonzero(self.mid_c >= WOOD_C)
        return float(there[0] + 1) if there.size else float("inf")

    def hottest_face_c(self, *, minute_after: bool) -> float:
        """Until the middle is at bending heat; with minute_after to the end of the run, a minute later."""
        until = len(self.face_c) if minute_after else min(self.hot_s(), len(self.face_c))
        return float(self.face_c[: int(until)].max())


@jit
def hottest_face_c(p: F64, s: F64, w: F64) -> float:
    """Of the wood's two faces, from the heat that crosses them; the work must be refreshed."""
    half = 0.5 * p[0] / WOOD_CELLS
    near, far = s[BLANKET - 1], s[WOOD]
    near_w_m2 = w[FORM + WOOD_CELLS] * (s[BLANKET] - near)
    far_w_m2 = w[FORM] * (s[0] - far)
    near_c = near + near_w_m2 * half / (p[3] * wood_k_w_m_k(p[1], s[WATER + WOOD_CELLS - 1], near))
    far_c = far + far_w_m2 * half / (p[3] * wood_k_w_m_k(p[1], s[WATER], far))
    return max(near_c, far_c)


def estimate_for(plant: F64, slab: Slab) -> WoodEstimate:
    """The board's estimate, told what the maker knows of the wood.

    Args:
        plant: one row of drawn.NAMES.
        slab: of the rig.
    """
    at = drawn.AT
    return WoodEstimate(
        1000.0 * float(plant[at["wood_m"]]),
        float(plant[at["density_kg_m3"]]),
        float(plant[at["moisture_percent"]]),
        float(plant[at["ambient_c"]]),
        slab.resistance_m2_k_w,
        slab.loss_w_m2_k,
        slab.escape_s,
        lead_s=slab.lead_s,
        slat_mm=1000.0 * float(plant[at["slat_m"]]),
    )


Aim = Callable[[WoodEstimate], float]


def hold_at(target_c: float, _wood: WoodEstimate) -> float:
    """The plain way: one temperature, whatever the wood is at."""
    return target_c


def let_face(face_c: float, _wood: WoodEstimate) -> float:
    """The way that heeds the wood: as hot as the estimated face may become, no hotter than any target."""
    beside_c = _wood.beside_c(face_c)
    return HIGHEST_C if beside_c is None else min(beside_c, HIGHEST_C)


def warm(plant: F64, place: int, seed: int, slab: Slab, aim: Aim, seconds: int, until_c: float) -> Warming:
    """Heat one stack from cold, with one-second windows.

    Args:
        plant: one row of drawn.NAMES.
        place: in the ensemble of `seed`, for the noise.
        seed: of the ensemble.
        slab: what the estimate goes by.
        aim: target of the thermocouple, second by second.
        seconds: at most.
        until_c: stop when the true middle has been there for a minute.
    """
    noise = trial.noise_k(seed, place, seconds)
    state, work = np.zeros(STATES), np.zeros(WORK)
    begin(plant, state)
    loop, wood = ZoneLoop(gains_for(1000), 1000), estimate_for(plant, slab)
    room_c = float(plant[drawn.AT["ambient_c"]])
    loop.ambient_c = room_c
    bead_c, readings_c = np.zeros(seconds * READINGS_A_S), np.full(READINGS_A_S, room_c)
    readings_c[:] = np.round((room_c + noise[: -READINGS_A_S - 1 : -1]) / QUANTUM_C) * QUANTUM_C
    rows: list[tuple[float, float, float, float, float]] = []
    since = 0
    for k in range(seconds):
        mean_c = float(readings_c.mean())
        wood.second(mean_c)
        loop.aim(aim(wood))
        for reading_c in readings_c.tolist():
            loop.add(reading_c)
        duty = loop.window()
        told_c = wood.mid_c
        here = middle_c(state)
        rows.append(
            (mean_c, state[BEAD], here, hottest_face_c(plant, state, work) if k else room_c, told_c or room_c)
        )
        since = since + 1 if here >= until_c else 0
        if since > 60:
            break
        trial.window(plant, state, work, duty, noise, k * READINGS_A_S, bead_c, readings_c)
    return Warming(*np.array(rows).T)


@jit
def soonest_s(p: F64, face_c: float, wood_c: float, longest_s: int) -> float:
    """When the middle is at `wood_c` if one who sees the true face keeps it just under its limit; infinite
    for never.
    """
    s, w = np.zeros(STATES), np.zeros(WORK)
    begin(p, s)
    on = 1.0
    for k in range(longest_s * READINGS_A_S):
        refresh(p, s, w)
        for _ in range(STEPS_A_READING):
            step(p, s, w, on)
        refresh(p, s, w)
        on = 1.0 if hottest_face_c(p, s, w) < face_c and s[BEAD] < HIGHEST_C else 0.0
        if middle_c(s) >= wood_c:
            return (k + 1) / READINGS_A_S
    return np.inf


class Task(NamedTuple):
    """One run of warm()."""

    plant: F64
    place: int
    seed: int
    slab: Slab
    aim: Aim
    seconds: int
    until_c: float


def _several(tasks: Sequence[Task]) -> list[Warming]:
    return [warm(*task) for task in tasks]


def warm_all(tasks: Sequence[Task], pool: Executor | None) -> list[Warming]:
    """Every run of the tasks, in order; by a pool from core_run.crew(), or here where it is None."""
    parts = [tasks[i : i + 5] for i in range(0, len(tasks), 5)]
    done = map(_several, parts) if pool is None else pool.map(_several, parts)
    return [one for several in done for one in several]


def ramp_error_k(run: Warming, bound_s: float) -> float:
    """RMS error of the estimated middle until the thermocouple has arrived [K].

    Args:
        run: one run.
        bound_s: when it arrives.
    """
    ramp = slice(1, max(2, round(bound_s)))
    return float(np.sqrt(np.mean((run.told_c[ramp] - run.mid_c[ramp]) ** 2)))


def plain(target_c: float) -> Aim:
    """The plain way at one temperature."""
    return partial(hold_at, target_c)


def heeding(face_c: float) -> Aim:
    """The way that keeps the estimated face at a limit."""
    return partial(let_face, face_c)
