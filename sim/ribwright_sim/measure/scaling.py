"""How time grows with what a user makes larger: plants, cells, run length, zones, workers, logs, notebooks.

Sizes and medians go into bench.json as `scaling`, by name; the host adds what it alone knows and draws them.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import cast

from ribwright_sim import reference as ref
from ribwright_sim.campaign.spread import ExecutorError, executor
from ribwright_sim.control.tune_report import RIG as TUNED_RIG
from ribwright_sim.plant import Plant
from ribwright_sim.tuned import tune_rig

from . import ours
from .timing import exponent, medians_s

SEED = 20260
LANES = 256
PLANTS, GRID_TIMES, RUN_S, ZONES = (64, 256, 1024), (1, 2, 4), (600, 1200, 2400), (1, 2, 3)
ROUNDS = 3
# In proportion, with room for what a larger piece loses in caches.
MOST_EXPONENT = 1.2
# How the same work is spread: name in the figures, executor, workers. The last is an engine somebody else
# keeps, on two workers of this machine: what runs there runs on more of them.
SPREADS = (("1 here", "here", 1), ("2 processes", "processes", 2), ("2 by Dask", "dask", 2))
HOST = "ribwright_host.scaling"
Sweep = dict[str, object]


def sweep(unit: str, sizes: list[int], seconds: list[float]) -> Sweep:
    """Sizes, medians and the slope between their logarithms.

    Args:
        unit: of the sizes.
        sizes: what was made larger.
        seconds: one for each.
    """
    rounded = [float(f"{value:.4g}") for value in seconds]
    return {"unit": unit, "sizes": sizes, "seconds": rounded, "exponent": round(exponent(sizes, seconds), 3)}


def rig_of(zones: int) -> dict[str, object]:
    """The example rig with so many zones: the third is a short blanket like the first one.

    Args:
        zones: 1 to 3.
    """
    waist, full = cast("list[dict[str, object]]", ours.RIG["zones"])
    return {**ours.RIG, "zones": [full, waist, {**waist, "name": "second waist"}][:zones]}


def _plant_second(zones: int, seconds: int = 120) -> None:
    """So many seconds of the scalar plant, as the virtual rig steps it."""
    plant = Plant.from_rig(rig_of(zones), ours.PIECE, seed=SEED)
    for _ in range(10 * seconds):
        plant.advance(0.1, (1.0,) * zones)


def solver_sweeps() -> dict[str, Sweep]:
    """CPU seconds of the batch over plants, cells and run length, of the scalar plant over zones."""
    coarse, even = ref.COARSE_CELLS, ref.EVEN_48_CELLS
    work: dict[str, Callable[[], object]] = {}
    for count in PLANTS:
        one = ours.solver(ours.plants(count, coarse, SEED), use_numba=True)
        work[f"plants {count}"] = partial(ours.run, one, count)
    for times in GRID_TIMES:
        one = ours.solver(ours.plants(LANES, tuple(times * c for c in even), SEED), use_numba=True)
        work[f"cells {times}"] = partial(ours.run, one, LANES)
    one = ours.solver(ours.plants(LANES, coarse, SEED), use_numba=True)
    work |= {f"run {length}": partial(ours.run, one, LANES, windows=length) for length in RUN_S}
    work |= {f"zones {zones}": partial(_plant_second, zones) for zones in ZONES}
    found = medians_s(work, ROUNDS)
    cells = [times * sum(even) for times in GRID_TIMES]
    return {
        "plants": sweep("plants", list(PLANTS), [found[f"plants {n}"] for n in PLANTS]),
        "cells": sweep("cells", cells, [found[f"cells {n}"] for n in GRID_TIMES]),
        "run length": sweep("s simulated", list(RUN_S), [found[f"run {n}"] for n in RUN_S]),
        "zones": sweep("zones", list(ZONES), [found[f"zones {n}"] for n in ZONES]),
    }


def _campaign_s(name: str, workers: int) -> float:
    """Wall seconds of the campaign's sample, whatever it finds; raises ExecutorError where it did not run."""
    with TemporaryDirectory(prefix="ribwright_scaling_") as room:
        asked = ("--quick", "--workers", str(workers), "--executor", name)
        begun = time.monotonic()
        done = subprocess.run(
            (sys.executable, "-m", "ribwright_sim.campaign", room, *asked),
            capture_output=True,
            text=True,
            check=False,
        )
        if not (Path(room) / "campaign.json").is_file():
            raise ExecutorError((done.stderr.strip().splitlines() or ["the campaign said nothing"])[-1])
        return time.monotonic() - begun


def _tuner_s(name: str, workers: int) -> float:
    """Wall seconds of a tuning; raises ExecutorError."""
    spread, begun = executor(name), time.monotonic()
    tune_rig(TUNED_RIG, workers=workers, executor=spread)
    return time.monotonic() - begun


def spreads(say: Callable[[str], None]) -> tuple[dict[str, dict[str, float]], dict[str, str]]:
    """Wall seconds of campaign and tuner by how they are spread, and why one is missing.

    Args:
        say: takes a line of progress.
    """
    found: dict[str, dict[str, float]] = {"campaign": {}, "tuner": {}}
    missing: dict[str, str] = {}
    for label, name, workers in SPREADS:
        for what, work in (("tuner", _tuner_s), ("campaign", _campaign_s)):
            say(f"scaling: {what}, {label}")
            try:
                found[what][label] = round(work(name, workers), 2)
            except ExecutorError as error:
                missing[f"scaling, {what}, {label}"] = str(error)
    return found, missing


def measured(say: Callable[[str], None], folder: Path) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes; scaling.svg and scaling.png go into the folder.

    Args:
        say: takes a line of progress.
        folder: of bench.json.
    """
    say("scaling: solver and plant")
    sweeps = solver_sweeps()
    by_workers, missing = spreads(say)
    say("scaling: logs and notebooks, and the picture")
    folder.mkdir(parents=True, exist_ok=True)
    told = json.dumps({"sweeps": sweeps, "spreads": by_workers})
    done = subprocess.run(
        (sys.executable, "-m", HOST, str(folder)), input=told, capture_output=True, text=True, check=True
    )
    sweeps |= json.loads(done.stdout)
    notes: dict[str, object] = {
        "scaling": f"CPU seconds, medians of {ROUNDS} rounds in which each size runs once; spreads: wall "
        "seconds once; drawn in scaling.svg and scaling.png"
    }
    return {"scaling": sweeps, "scaling_spreads": by_workers}, notes | missing


def broken(figures: Mapping[str, object]) -> list[str]:
    """Names of sweeps that grow faster than they may: more than in proportion, but for a fifth.

    Args:
        figures: of measured().
    """
    sweeps = cast("Mapping[str, Sweep]", figures["scaling"])
    return [f"scaling {name}" for name, one in sweeps.items() if float(str(one["exponent"])) > MOST_EXPONENT]
