"""A profile rehearsed on the simulator: figures as plain values, a summary in plain words, the files.

The picture is drawn from the same values, in `rehearse_figures`.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click
import numpy as np

from ribwright_board import __version__
from ribwright_sim.colour import SHADES, VISIBLE_ABOVE_C
from ribwright_sim.materials import StackError
from ribwright_sim.rehearsal import BRIDGES, Rehearsal, rehearse
from ribwright_sim.softening import softness
from ribwright_sim.stage_figures import Bend, StageFigures
from ribwright_sim.strain import LIMITS, RADIUS_RULE

from .errors import FileError, TrippedError
from .profiles import ProfileFile, load_profile
from .rigs import BESIDE, RigFile, load_rig
from .writing import must_take_files, unwritable

Values = dict[str, Any]

# Seconds between the points of a series in the file.
STEP_S = 5
NAME = "rehearsal"
ELSEWHERE = "name another folder with --out"


def find_rig(profile: Path, rig_path: Path | None) -> tuple[RigFile, str]:
    """The rig to rehearse on, and how it was chosen in words, "" when it was named.

    profile: the profile's file. rig_path: as --rig. Raises FileError for a rig with a mistake.
    """
    if rig_path is not None:
        return load_rig(rig_path), ""
    beside = profile.parent / BESIDE
    if beside.is_file():
        return load_rig(beside), f"{beside}, which lies beside the profile"
    from .virtual import example_rig

    return example_rig(), "the example rig, yours goes with --rig FILE"


def figures_of(found: Rehearsal, profile: ProfileFile, rig: RigFile) -> Values:
    """Everything a rehearsal found as values JSON can hold; temperatures in C, see the names.

    found: the rehearsal. profile, rig: what was rehearsed on what.
    """
    stretch = None
    if found.stretch is not None:
        stretch = asdict(found.stretch) | {
            "column": found.columns[found.stretch.column],
            "rule_thicknesses": list(RADIUS_RULE),
        }
    return {
        "schema": 1,
        "simulated": True,
        "ribwright": __version__,
        "profile": profile.name,
        "profile_hash": profile.hash,
        "rig": rig.name,
        "rig_hash": rig.hash,
        "plants": found.plants,
        "seed": found.seed,
        "band": "5, 50 and 95 % of the rigs lie below low, mid and high",
        "columns": list(found.columns),
        "zones": list(found.zones),
        "over": {
            name: [found.zones[zone] for zone in over]
            for name, over in zip(found.columns, found.over, strict=True)
        },
        "ending": found.ending,
        "trip": found.trip,
        "trips": [asdict(trips) for trips in found.trips],
        "unfinished": found.unfinished,
        "stages": [_stage(stage, found.columns, profile) for stage in found.stages],
        "bends": [_bend(bend, found.columns) for bend in found.bends],
        "stretch": stretch,
        "colours": {
            name: {
                "minutes_at_177_c": asdict(colour.minutes),
                "hottest_c": asdict(colour.hottest_c),
                "words": [shade.word for shade in colour.shades],
            }
            for name, colour in zip(found.columns, found.colours, strict=True)
        },
        "shades": [asdict(shade) for shade in SHADES],
        "visible_above_c": VISIBLE_ABOVE_C,
        "strain_limits": [asdict(limit) for limit in LIMITS],
        "unverified": [asdict(bridge) for bridge in BRIDGES],
        "series": _series(found),
    }


def _stage(stage: StageFigures, columns: tuple[str, ...], profile: ProfileFile) -> Values:
    values = asdict(stage)
    per_column = ("soft_s", "peak_c", "margin_k", "moisture_percent", "colour_min")
    return {key: value for key, value in values.items() if key not in per_column} | {
        "zones": list(profile.mapping["stages"][stage.number - 1].get("zones", ())),
        "columns": {
            name: {key: values[key][place] for key in per_column} for place, name in enumerate(columns)
        },
    }


def _bend(bend: Bend, columns: tuple[str, ...]) -> Values:
    pressed = bend.press_margin_k
    return asdict(bend) | {
        "columns": [columns[place] for place in bend.columns],
        "word": softness(pressed.low, pressed.high) if pressed else None,
    }


def _series(found: Rehearsal) -> Values:
    """Every series thinned to a point each STEP_S; None where there is no value."""
    rows = slice(0, None, STEP_S)

    def plain(column: np.ndarray[Any, Any]) -> list[float | None]:
        return [None if np.isnan(value) else round(float(value), 3) for value in column[rows]]

    return {
        "time_s": plain(found.time_s),
        "targets_c": {name: plain(found.targets_c[:, at]) for at, name in enumerate(found.zones)},
        "thermocouples_c": {name: plain(found.junctions_c[:, at]) for at, name in enumerate(found.zones)},
        "columns": {
            column: {
                name: {end: plain(getattr(bands, end)[:, at]) for end in ("low", "mid", "high")}
                for name, bands in found.series.items()
            }
            for at, column in enumerate(found.columns)
        },
    }


def rehearsed(
    profile: ProfileFile,
    rig: RigFile,
    plants: int,
    seed: int,
    progress: Callable[[int, int], None] | None = None,
) -> Values:
    """Figures of a profile on a rig and on rigs drawn around it.

    profile, rig: checked files. plants: how many to draw. seed: of the draws. progress: called with (rigs
    done, rigs in all). Raises FileError when the stack or the wood cannot be simulated.
    """
    workers = min(2, os.cpu_count() or 1)
    try:
        found = rehearse(
            rig.mapping, profile.mapping, plants=plants, seed=seed, workers=workers, progress=progress
        )
    except StackError as error:
        path = profile.path if error.where.startswith("piece") else rig.path
        suffix = f" {error.unit}" if error.unit else ""
        seen = f"{path}: {error.where} is {error.seen}, {error.limit}{suffix}"
        raise FileError(seen, error.advice, code=error.code, where={"file": str(path)}) from error
    return figures_of(found, profile, rig)


def write_files(figures: Mapping[str, Any], out: Path, unit: str) -> list[Path]:
    """Write picture and figures; gives the paths of PNG, SVG and JSON.

    figures: as figures_of(). out: folder, made when missing. unit: of the picture, "C" or "F".
    Raises FileError when the folder cannot be written to.
    """
    from . import rehearse_figures

    try:
        out.mkdir(parents=True, exist_ok=True)
        data = out / f"{NAME}.json"
        data.write_text(json.dumps(figures, sort_keys=True) + "\n", encoding="utf-8")
        png, svg = rehearse_figures.save(figures, out, unit, NAME)
    except OSError as error:
        raise unwritable(out, error, ELSEWHERE) from error
    return [png, svg, data]


def run(
    path: Path,
    rig_path: Path | None,
    *,
    plants: int,
    seed: int,
    out: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """The command: rehearse with a progress bar, write the files, say what was found.

    path: the profile. rig_path: the rig or None. plants, seed: of the draws. out: folder, or None for
    one beside the profile. unit: to show, None for the profile's own. as_json: answer for programs.
    Raises FileError, and TrippedError when the rig as its file says does not come to the end.
    """
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    from .rehearse_words import summary

    rig, chosen = find_rig(path, rig_path)
    profile = load_profile(path, rig.rig)
    shown = unit or profile.unit
    folder = out if out is not None else path.parent / NAME
    must_take_files(folder, ELSEWHERE)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    console = Console(stderr=True)
    # Redirected, even a bar that is wiped away leaves an empty line beside the error.
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("simulated rigs", total=plants + 1)
        figures = rehearsed(
            profile, rig, plants, seed, lambda done, total: bar.update(task, completed=done, total=total)
        )
    written = write_files(figures, folder, shown)
    if as_json:
        short = {key: value for key, value in figures.items() if key != "series"}
        click.echo(json.dumps(short | {"files": [str(one) for one in written]}, sort_keys=True))
    else:
        for line in summary(figures, shown, chosen):
            click.echo(line)
        for one in written:
            click.echo(f"wrote {one}")
    if figures["ending"] != "done":
        raise TrippedError(
            f"the rehearsal on the rig as its file says ended by {found_cause(figures)}",
            "give the stage named last in the summary more time, a lower target or a stronger blanket",
        )


def found_cause(figures: Mapping[str, Any]) -> str:
    """Why the nominal rig did not come to the end, in a word.

    figures: as figures_of().
    """
    return str(figures["trip"] or figures["ending"])
