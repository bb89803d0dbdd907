"""One law on every stack of an ensemble, and what that was worth."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from . import bounds, drawn, trial
from .stack import READINGS_A_S, hold_duty
from .trial import Figures

F64 = NDArray[np.float64]
Result = TypeVar("Result")

WORKERS = max(1, os.cpu_count() or 1)
# Limits of a run that passes on all counts at once.
JOINT_OVERSHOOT_K, JOINT_SETTLE, JOINT_RMS_K, JOINT_RECOVER_S = 1.0, 1.03, 0.25, 30.0


@dataclass(frozen=True, slots=True)
class Field:
    """The stacks of one seed that can hold one target.

    seed: of the draws. target_c: at the thermocouple. places: (n,) of each stack in the draw. plants: (n,
    len(drawn.NAMES)). bound_s: (n,). best_dip_k, best_recover_s: (n,) of the clairvoyant as the form is met.
    """

    seed: int
    target_c: float
    places: NDArray[np.int64]
    plants: F64
    bound_s: F64
    best_dip_k: F64
    best_recover_s: F64


def each_of(work: Callable[[int], Result], count: int) -> list[Result]:
    """The work for 0 to count-1, in threads; what is compiled runs side by side.

    Args:
        work: takes a number, gives a result.
        count: how many.

    Gives the results in the order of the numbers.
    """
    with ThreadPoolExecutor(WORKERS) as pool:
        return list(pool.map(work, range(count)))


def _clairvoyant(plant: F64, target_c: float, bound_s: float) -> Figures:
    when = trial.times(bound_s, 1.0)
    bead_c = np.full(int(when.set_s * READINGS_A_S), target_c)
    bounds.clairvoyant(plant, target_c, when.met_s, when.set_s, bead_c)
    # It never sees the set: that stretch is given as held.
    whole = np.concatenate([bead_c, np.full(READINGS_A_S, target_c)])
    return trial.figures(whole, np.zeros(int(when.set_s)), target_c, bound_s, when, 1.0)


def field(seed: int, count: int, target_c: float) -> Field:
    """Draw an ensemble, keep what can hold the target, and find what nobody can beat.

    Args:
        seed: of the draws.
        count: stacks to draw.
        target_c: at the thermocouple.
    """
    plants = drawn.draw(seed, count)
    holds = np.array([hold_duty(p, target_c) <= drawn.HOLD_DUTY for p in plants])
    bound = np.array([bounds.bound_s(p, target_c) for p in plants])
    places = np.flatnonzero(holds & np.isfinite(bound))
    best = each_of(lambda i: _clairvoyant(plants[places[i]], target_c, bound[places[i]]), len(places))
    return Field(
        seed,
        target_c,
        places,
        plants[places],
        bound[places],
        np.array([one.dip_k for one in best]),
        np.array([one.recover_s for one in best]),
    )


def compete(
    among: Field,
    kind: int,
    parameters: Sequence[F64],
    *,
    window_s: float = 1.0,
    signal: bool = False,
    noise_k: float = trial.NOISE_K,
) -> list[Figures]:
    """Run a compiled law on every stack.

    Args:
        among: the stacks.
        kind: of laws.py.
        parameters: one row a stack, in the order of laws.py.
        window_s: relay and control window.
        signal: the maker says when the form is met.
        noise_k: standard deviation of a reading.
    """

    def one(i: int) -> Figures:
        when = trial.times(float(among.bound_s[i]), window_s)
        windows = round(when.end_s / window_s)
        readings = int(when.end_s * READINGS_A_S)
        bead_c, wood_c, on = np.zeros(readings), np.zeros(readings), np.zeros(windows)
        noise = trial.noise_k(among.seed, int(among.places[i]), when.end_s, noise_k)
        plan = np.array([among.target_c, when.met_s, when.set_s, when.end_s, float(signal)])
        trial.run(among.plants[i], kind, parameters[i], noise, plan, window_s, bead_c, wood_c, on)
        return trial.figures(bead_c, on, among.target_c, float(among.bound_s[i]), when, window_s)

    return each_of(one, len(among.places))


def worth(among: Field, runs: Sequence[Figures]) -> dict[str, float]:
    """Percentiles over the stacks, by name of figure and percentile.

    Args:
        among: the stacks.
        runs: one a stack.
    """
    columns = {name: np.array([getattr(one, name) for one in runs]) for name in Figures.__slots__}
    settle = columns["settle_s"] / among.bound_s
    dip = columns["dip_k"] - among.best_dip_k
    recover = columns["recover_s"] - among.best_recover_s
    joint = (
        (columns["overshoot_k"] <= JOINT_OVERSHOOT_K)
        & (settle <= JOINT_SETTLE)
        & (columns["hold_rms_k"] <= JOINT_RMS_K)
        & (recover <= JOINT_RECOVER_S)
    )
    found: dict[str, float] = {}
    for name, values in (
        ("overshoot_k", columns["overshoot_k"]),
        ("settle_over_bound", settle),
        ("hold_rms_k", columns["hold_rms_k"]),
        ("excess_dip_k", dip),
        ("excess_recover_s", recover),
        ("after_contact_k", columns["after_contact_k"]),
        ("undershoot_k", columns["undershoot_k"]),
    ):
        for percent in (50, 95, 100):
            found[f"{name}_{'max' if percent == 100 else f'p{percent}'}"] = float(
                np.percentile(values, percent)
            )
    found["relay_cycles_per_min"] = float(np.mean(columns["relay_cycles_per_min"]))
    found["joint_pass"] = float(np.mean(joint))
    return found
