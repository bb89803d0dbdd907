"""Control gains of one rig: found and verified on the simulator, told, drawn, written into the rig file.

What is told and drawn comes from the same plain values that --json gives.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click
import numpy as np
import tomlkit

from ribwright_board import __version__
from ribwright_sim.margins import TooWeakError
from ribwright_sim.materials import StackError
from ribwright_sim.tuned import SEED, Tuned, TunedRig, tune_rig
from ribwright_sim.verifying import DisagreeError

from .errors import FileError
from .rigs import RigFile, get_document, load_rig, put_document
from .tune_words import lines, one_line, table
from .writing import must_take_files, unwritable

Values = dict[str, Any]
Tell = Callable[[int, int, str], None]

# A zone that holds the target with more than this of its power has little left for wood and form.
MUCH_DUTY = 0.9
PICTURE = "_tuning.png"
ELSEWHERE = "copy the rig file to a folder of yours"


def tune(rig: RigFile, tell: Tell | None = None) -> Values:
    """Search gains for a rig and have the firmware's own code confirm them; everything found as plain values.

    rig: a checked rig. tell: called with (steps done, steps in all, what was done).
    Raises FileError: code watches for a rig without relays, too_weak before any search for a zone that cannot
    hold the target, disagrees when the firmware's own code does otherwise than the search, and for a rig that
    cannot be simulated.
    """
    where = {"file": str(rig.path)}
    if rig.rig.watches:
        seen = f"{rig.path}: this rig only watches, so there is no control to tune"
        raise FileError(seen, "give its zones relays first", code="watches", where=where)
    try:
        found = tune_rig(rig.mapping, seed=SEED, tell=tell)
    except TooWeakError as error:
        needs = f"it needs about {error.duty:.2f} of its power to hold {error.target_c:.0f} C"
        seen = f"{rig.path}: zone {error.zone} comes to {error.highest_c:.0f} C at full power; {needs}"
        hint = "use a stronger or a smaller blanket; check power_w, length_mm, width_mm, and a lower ceiling"
        raise FileError(seen, hint, code="too_weak", where={**where, "zone": error.zone}) from error
    except DisagreeError as error:
        hint = "nothing was written; check the rig's powers, sizes and [fit]"
        raise FileError(f"{rig.path}: {error.seen}", hint, code="disagrees", where=where) from error
    except StackError as error:
        suffix = f" {error.unit}" if error.unit else ""
        seen = f"{rig.path}: {error.where} is {error.seen}, {error.limit}{suffix}"
        raise FileError(seen, error.advice, code=error.code, where=where) from error
    return figures_of(rig, found)


def figures_of(rig: RigFile, found: TunedRig) -> Values:
    """Everything tuning found as plain values.

    rig: the rig. found: as tuned.tune_rig().
    """
    zones = [_zone(zone) for zone in found.zones]
    return {
        "schema": 1,
        "ribwright": __version__,
        "simulated": True,
        "rig": rig.name,
        "rig_hash": rig.hash,
        "seed": found.seed,
        "rigs": found.rigs,
        "target_c": found.target_c,
        "window_ms": found.window_ms,
        "trials": found.trials,
        "zones": zones,
    }


def _plain(value: float, digits: int = 4) -> float | None:
    return None if math.isnan(value) or math.isinf(value) else round(value, digits)


def _zone(zone: Tuned) -> Values:
    seen = zone.found.warmups
    names = ("solver", "loop", "noisy", "controller")
    core = {
        name: dict(zip(("overshoot_k", "ripple_k"), getattr(zone.core, name), strict=True)) for name in names
    }
    compared = [
        {name: _plain(value) if isinstance(value, float) else value for name, value in asdict(one).items()}
        for one in zone.compared
    ]
    nominal = {"overshoot_k": _plain(float(seen.overshoot_k[0])), "ripple_k": _plain(float(seen.ripple_k[0]))}
    short = None
    if zone.short is not None:
        best = zone.short.warmups
        short = {
            "overshoot_k": _plain(float(best.overshoot_k[0])),
            "ripple_k": _plain(float(best.ripple_k[0])),
        }
    band = np.stack([zone.temperatures_c.min(axis=1), zone.temperatures_c.max(axis=1)]).round(2)
    return {
        "name": zone.name,
        "gains": zone.gains,
        "duty": round(zone.duty, 3),
        "much_duty": zone.duty > MUCH_DUTY,
        "never_reached": int(np.isnan(seen.arrive_s).sum()),
        "cost": round(zone.found.cost, 3),
        "cost_before": round(zone.found.cost_before, 3),
        "nominal": nominal,
        "with_1_s_window": short,
        "firmware": core,
        "compared": compared,
        "series": {
            "time_s": zone.times_s.tolist(),
            "low_c": band[0].tolist(),
            "high_c": band[1].tolist(),
            "nominal_c": zone.temperatures_c[:, 0].round(2).tolist(),
        },
    }


def write_gains(rig: RigFile, figures: Values) -> None:
    """Put the gains into a rig file, keeping everything else of it as it stands.

    rig: the file. figures: as figures_of().
    """
    document = get_document(rig.path)
    window_s = figures["window_ms"] / 1000.0
    note = (
        f"ribwright {__version__}, seed {figures['seed']}, {figures['rigs']} rigs, "
        f"{figures['target_c']:.0f} C, {window_s:g} s window"
    )
    for zone, found in zip(document["zones"], figures["zones"], strict=True):
        gains = tomlkit.table()
        for name, value in found["gains"].items():
            gains[name] = value
        gains["for_rig"] = rig.hash
        gains["tuned_by"] = note
        gains.add(tomlkit.nl())
        zone["gains"] = gains
    put_document(rig.path, document)


def tune_file(path: Path, tell: Tell | None = None) -> Values:
    """Tune a rig file, write gains into it and a picture beside it; gives the figures and the files' names.

    path: the rig file. tell: as tune(). Raises as tune(), and FileError when the folder cannot be written to.
    """
    figures = gains_file(path, tell)
    with _written(path):
        draw(figures)
    return figures


def gains_file(path: Path, tell: Tell | None = None) -> Values:
    """The same without the picture, whose name is among the files all the same; draw() makes it.

    path, tell: as tune_file(). Raises as tune_file().
    """
    rig = load_rig(path, foreign_gains=True)
    must_take_files(path.parent, ELSEWHERE)
    figures = tune(rig, tell)
    with _written(path):
        write_gains(rig, figures)
    picture = path.with_name(path.stem + PICTURE)
    return {**figures, "files": [str(path), str(picture)], "unit": str(rig.mapping["unit"])}


def draw(figures: Values) -> None:
    """Draw the picture of a tuning.

    figures: as gains_file(). Raises OSError when its folder cannot be written to.
    """
    from . import tune_draw

    tune_draw.save(figures, Path(figures["files"][1]), str(figures["unit"]))


@contextmanager
def _written(path: Path) -> Iterator[None]:
    """Raise FileError where a file beside `path` cannot be written."""
    try:
        yield
    except OSError as error:
        raise unwritable(path.parent, error, ELSEWHERE) from error


def words(path: Path, figures: Values) -> str:
    """What was found, in one line.

    path: the rig file. figures: as tune_file().
    """
    return f"{path}: {one_line(figures)}"


def run(path: Path, *, as_json: bool = False) -> None:
    """The command: tune a rig file with a progress bar, and say what came of it.

    path: the rig file. as_json: answer for programs. Raises as tune_file().
    """
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(), TextColumn("{task.description}"))
    console = Console(stderr=True)
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("power and answer", total=None)
        figures = tune_file(
            path, lambda done, total, what: bar.update(task, completed=done, total=total, description=what)
        )
    if as_json:
        zones = [{key: value for key, value in zone.items() if key != "series"} for zone in figures["zones"]]
        click.echo(json.dumps({**figures, "zones": zones}, sort_keys=True))
        return
    said = lines(figures)
    click.echo(said[0])
    out = Console(width=None if console.is_terminal else 100, highlight=False)
    for zone in figures["zones"]:
        out.print(table(zone, figures["unit"]))
    for line in said[1:]:
        click.echo(line)
    for one in figures["files"]:
        click.echo(f"wrote {one}")
