"""Control gains of one rig, found on the simulator and verified by the firmware's own controller.

A coordinate search over the four coefficients of the self-scaling law, on the rig as its file says
and on a few rigs drawn around it; the answer is then run through the whole controller and refused
when the two disagree. The fixed gains, used until a ramp has taught slope and lag, follow from what
the nominal rig taught.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
import tomlkit

from ribwright_board import __version__
from ribwright_board.core.gains import DEFAULT_GAINS
from ribwright_sim.plant import Plant
from ribwright_sim.scenario import run_core
from ribwright_sim.step_trial import StepFigures, step_trial

from .errors import FileError
from .rigs import load_rig, rig_hash

SEED = 20240601
DRAWN_PLANTS = 3
TARGET_C = 150.0
# Tried one after another around the best so far.
STEPS = {
    "c_gain": (0.7, 0.85, 1.2),
    "c_integral": (0.75, 1.3),
    "c_derivative": (0.7, 1.3),
    "kappa": (0.85, 1.15),
}
# Search and controller read the same plant in different ways (window plan, converter, noise).
AGREE_K = 0.5
# What a rig file without a piece is tuned with: the example side, wood being the smaller part of the load.
PIECE = {
    "kind": "side",
    "species": "sapele",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "wetted": "misted",
}


@dataclass(frozen=True, slots=True)
class Tuned:
    """What was found.

    gains: mapping as core.gains.GAIN_NAMES. nominal: per zone, on the rig as its file says.
    core_overshoot_k: worst zone, by the whole controller. trials: simulated warm-ups. cost, cost_before: of
    the search.
    """

    gains: dict[str, float]
    nominal: list[StepFigures]
    core_overshoot_k: float
    trials: int
    cost: float
    cost_before: float


def cost_of(figures: list[StepFigures]) -> float:
    """Worst zone's cost: kelvin of overshoot, twice the ripple, 0.02 K for each second of settling.

    figures: of one trial, per zone.
    """
    return max(
        zone.overshoot_k + 2.0 * zone.ripple_k + 0.02 * max(zone.settle_s - zone.arrive_s, 0.0)
        for zone in figures
    )


def tune(rig: Mapping[str, Any], progress: Callable[[int, int], None] | None = None) -> Tuned:
    """Search gains for a rig.

    rig: mapping of a checked rig file. progress: called with (trials done, trials in all).
    Raises FileError with code disagrees when the controller does not confirm the search.
    """
    zones = len(rig["zones"])
    window_ms = rig.get("control", {}).get("window_ms", 1000)
    seeds = [0, *(SEED + i for i in range(DRAWN_PLANTS))]
    total = len(seeds) * (1 + sum(len(factors) for factors in STEPS.values()))
    done = 0

    def trial(gains: Mapping[str, float]) -> tuple[float, list[StepFigures]]:
        nonlocal done
        costs: list[float] = []
        nominal: list[StepFigures] = []
        for seed in seeds:
            plant = Plant.from_rig(rig, PIECE, seed=seed)
            found = step_trial(plant, [gains] * zones, TARGET_C, window_ms=window_ms, seed=SEED + seed)
            nominal = nominal or found
            costs.append(cost_of(found))
            done += 1
            if progress:
                progress(done, total)
        return sum(costs) / len(costs) + max(costs), nominal

    best = dict(DEFAULT_GAINS)
    best_cost, nominal = trial(best)
    cost_before = best_cost
    for name, factors in STEPS.items():
        centre = best[name]
        for factor in factors:
            candidate = best | {name: round(centre * factor, 4)}
            cost, figures = trial(candidate)
            if cost < best_cost:
                best, best_cost, nominal = candidate, cost, figures
    best |= _fixed_gains(best, nominal, window_ms)
    core_k = _core_overshoot_k(rig, best)
    search_k = max(zone.overshoot_k for zone in nominal)
    if abs(core_k - search_k) > AGREE_K:
        raise FileError(
            f"controller overshoots {core_k:.2f} K, search saw {search_k:.2f} K, limit {AGREE_K} K apart",
            "the gains were not written; check the rig's powers and sizes",
            code="disagrees",
        )
    return Tuned(best, nominal, core_k, total, best_cost, cost_before)


def _fixed_gains(gains: Mapping[str, float], nominal: list[StepFigures], window_ms: int) -> dict[str, float]:
    """Gains without self-scaling, from what the slowest zone of the nominal rig taught."""
    taught = [zone for zone in nominal if zone.slope_k_per_s > 0.0]
    if not taught:
        return {}
    slope = max(zone.slope_k_per_s for zone in taught)
    lag_s = max(zone.lag_s for zone in taught) + window_ms / 2000.0
    kp = gains["c_gain"] / (slope * lag_s)
    return {
        "kp": round(kp, 4),
        "ki": round(kp / (gains["c_integral"] * lag_s), 5),
        "kd": round(kp * gains["c_derivative"] * lag_s, 4),
    }


def _core_overshoot_k(rig: Mapping[str, Any], gains: Mapping[str, float]) -> float:
    """Worst zone's overshoot when the whole controller runs the same step."""
    names = [zone["name"] for zone in rig["zones"]]
    given = dict(gains) | {"for_rig": rig_hash(rig), "tuned_by": "under test"}
    tried = {**rig, "zones": [{**zone, "gains": given} for zone in rig["zones"]]}
    worst = 0.0
    for position, name in enumerate(names):
        heat = {"zones": [name], "target": TARGET_C, "minutes": 2}
        profile = {
            "schema": 1,
            "name": "step",
            "unit": "C",
            "piece": PIECE,
            "stages": [heat | {"kind": "hold", "band": 5, "longest_min": 40}, {"kind": "cool", "below": 90}],
        }
        trace = run_core(tried, profile, Plant.from_rig(rig, PIECE), seed=SEED)
        if trace.names()[-1] != "done":
            raise FileError(
                f"zone {name} never held {TARGET_C:.0f} C on the simulator ({trace.names()[-1]})",
                "check power_w, length_mm and width_mm of that zone",
                code="no_arrival",
            )
        worst = max(worst, max(row[position] for row in trace.true_c) - TARGET_C)
    return worst


def write_gains(path: Path, tuned: Tuned, rig: Mapping[str, Any]) -> None:
    """Put the gains into a rig file, keeping everything else of it as it stands.

    path: the rig file. tuned: what was found. rig: its mapping, for the hash the gains are tied to.
    """
    document = tomlkit.parse(path.read_text(encoding="utf-8"))
    note = f"ribwright {__version__}, seed {SEED}, {DRAWN_PLANTS + 1} simulated rigs, {TARGET_C:.0f} C"
    for zone in document["zones"]:
        table = tomlkit.table()
        for name, value in tuned.gains.items():
            table[name] = value
        table["for_rig"] = rig_hash(rig)
        table["tuned_by"] = note
        zone["gains"] = table
    new = path.with_name(path.name + ".new")
    new.write_text(tomlkit.dumps(document), encoding="utf-8")
    new.replace(path)


def tune_file(path: Path, progress: Callable[[int, int], None] | None = None) -> Tuned:
    """Tune a rig file and write the gains into it.

    path: the rig file. progress: as tune(). Raises as tune().
    """
    rig = load_rig(path).mapping
    tuned = tune(rig, progress)
    write_gains(path, tuned, rig)
    return tuned


def words(path: Path, tuned: Tuned) -> str:
    """What was found, in one line.

    path: the rig file. tuned: what was found.
    """
    worst = max(tuned.nominal, key=lambda zone: zone.overshoot_k)
    return (
        f"{path}: gains written after {tuned.trials} simulated warm-ups to {TARGET_C:.0f} C: overshoot "
        f"{worst.overshoot_k:.2f} K, settled after {worst.settle_s:.0f} s, ripple {worst.ripple_k:.2f} K "
        f"(SIMULATED; the board's controller agrees: {tuned.core_overshoot_k:.2f} K)"
    )


def run(path: Path, *, as_json: bool = False) -> Tuned:
    """The command: tune a rig file with a progress bar, and say what came of it.

    path: the rig file. as_json: answer for programs.
    """
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("simulated warm-ups", total=None)
        tuned = tune_file(path, lambda done, total: bar.update(task, completed=done, total=total))
    if as_json:
        worst_k = max(zone.overshoot_k for zone in tuned.nominal)
        answer = {"gains": tuned.gains, "trials": tuned.trials, "overshoot_k": worst_k, "simulated": True}
        click.echo(json.dumps(answer | {"core_overshoot_k": tuned.core_overshoot_k}, sort_keys=True))
    else:
        click.echo(words(path, tuned))
    return tuned
