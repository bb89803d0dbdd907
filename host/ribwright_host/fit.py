"""Rig parameters from recorded runs: read, fitted on the simulator, told, drawn, and written when asked.

What is told and drawn comes from the same plain values that --json gives.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click
import numpy as np

from ribwright_board import __version__
from ribwright_sim.fit_estimates import Fit
from ribwright_sim.fit_estimates import fit as fit_logs
from ribwright_sim.materials import StackError
from ribwright_sim.slab_calibration import SlabCalibration, calibrate
from ribwright_sim.warmup import Warmup, WoodReadings

from .errors import FileError, UsageError
from .fit_runs import Recorded, WoodFile, load_runs, load_wood
from .rigs import BESIDE, RigFile, load_rig
from .writing import must_take_files, unwritable

Values = dict[str, Any]

NAME = "fit"
ELSEWHERE = "name another folder with --out"
# Points of a series in the file and the picture.
STEP = 2


def find_rig(run: Path, rig_path: Path | None) -> RigFile:
    """The rig named, or rig.toml beside the run; one with the fit of another rig may be fitted anew.

    run: the first run's file. rig_path: as --rig. Raises FileError for no rig, or one with a mistake.
    """
    path = rig_path or run.parent / BESIDE
    if rig_path is None and not path.is_file():
        raise FileError(f"{path} does not exist", "name the rig's file: --rig FILE", code="missing_file")
    return load_rig(path, foreign_fit=True)


def warmups(
    recorded: Sequence[Recorded], rig: RigFile, wood: WoodFile | None, wood_zone: int
) -> list[Warmup]:
    """The runs as the simulator takes them.

    recorded: of load_runs(). rig: theirs. wood: second thermocouple of the first run, or None. wood_zone:
    position of the zone it lies under.
    """
    found = []
    for number, one in enumerate(recorded):
        beside = None
        if number == 0 and wood is not None:
            beside = WoodReadings(np.array(wood.time_s), np.array(wood.wood_c), wood_zone)
        found.append(
            Warmup(
                one.title,
                one.piece,
                np.array(one.row_s),
                np.array(one.measured_c),
                np.array(one.on_s),
                rig.rig.window_ms / 1000.0,
                beside,
            )
        )
    return found


def fitted(
    rig: RigFile, recorded: Sequence[Recorded], logs: Sequence[Warmup], progress: Callable[[int], None] | None
) -> tuple[Fit, Values]:
    """The fit, and everything of it as values JSON can hold; temperatures in C, see the names.

    rig: the rig. recorded, logs: its runs. progress: called with the batches of simulated warm-ups so far.
    Raises FileError when rig or wood cannot be simulated.
    """
    try:
        found = fit_logs(rig.mapping, logs, progress=progress)
    except StackError as error:
        suffix = f" {error.unit}" if error.unit else ""
        seen = f"{rig.path}: {error.where} is {error.seen}, {error.limit}{suffix}"
        raise FileError(seen, error.advice, code=error.code, where={"file": str(rig.path)}) from error
    figures = figures_of(found, rig, recorded, logs)
    slab = calibrated(rig, logs[0], found) if logs[0].wood is not None else None
    figures["estimate"] = None if slab is None else _estimate(rig, logs[0], slab, _late_s(found))
    figures["series"][0]["estimate_c"] = None if slab is None else _courses(slab)
    return found, figures


def calibrated(rig: RigFile, log: Warmup, found: Fit) -> SlabCalibration | None:
    """The board's estimate of the wood beside the second thermocouple; None for wood that it cannot weigh.

    rig: the rig. log: with the second thermocouple. found: its fit, for the room and the clock.
    Raises FileError for fewer readings than it needs.
    """
    try:
        return calibrate(rig.rig, log, room_c=_room_c(found, 0, log), late_s=_late_s(found))
    except ValueError as error:
        raise FileError(f"{log.name}: {error}", "read the meter more often", code="wood_file") from error


def _late_s(found: Fit) -> float:
    """How late the clock of the second thermocouple began [s]."""
    return next((one.value for one in found.estimates if one.name == "clock" and one.run == 0), 0.0)


def _estimate(rig: RigFile, log: Warmup, slab: SlabCalibration, late_s: float) -> Values:
    """The calibration as plain values."""
    return {
        "late_s": round(late_s, 2),
        "zone": rig.zone_names[slab.zone],
        "figures": [asdict(one) for one in slab.figures],
        "residual_k": round(slab.residual_k, 3),
        "before_k": round(slab.before_k, 3),
        "readings": slab.readings,
        "off_k": round(slab.off_k, 2),
        "band_k": slab.band_k,
        "useful": slab.useful,
        "species": log.piece["species"],
        "thickness_mm": round(float(str(log.piece["thickness_mm"])) * int(str(log.piece.get("plies", 1))), 3),
        "wetted": log.piece["wetted"],
    }


def _courses(slab: SlabCalibration) -> Values:
    """The estimate over the log, thinned: with the figures the board goes by now, and with those found."""
    return {
        "time_s": _plain(slab.time_s),
        "before_c": _plain(slab.before_c),
        "after_c": _plain(slab.after_c),
    }


def figures_of(found: Fit, rig: RigFile, recorded: Sequence[Recorded], logs: Sequence[Warmup]) -> Values:
    """Everything a fit of the simulator found as plain values.

    found: the fit. rig: the rig. recorded, logs: its runs.
    """
    names = rig.zone_names
    return {
        "schema": 1,
        "ribwright": __version__,
        "simulated": recorded[0].run.simulated,
        "rig": rig.name,
        "rig_hash": rig.hash,
        "fit_residual_k": round(found.fit_residual_k, 4),
        "noise_k": round(found.fit_noise_k, 4),
        "evaluations": found.evaluations,
        "runs": [
            {
                "file": str(one.path),
                "title": one.title,
                "profile": one.run.profile_name,
                "seconds": one.row_s[-1],
                "room_c": _room_c(found, number, log),
                "residual_k": dict(zip(names, found.residual_k[number].round(4).tolist(), strict=True)),
                "noise_k": dict(zip(names, found.noise_k[number].round(4).tolist(), strict=True)),
                "wood_residual_k": found.wood_residual_k[number],
                "wood_zone": None if log.wood is None else names[log.wood.zone],
                "middle_zone": names[log.middle_zone],
                "middle_of_wood": asdict(found.bands[number]),
            }
            for number, (one, log) in enumerate(zip(recorded, logs, strict=True))
        ],
        "parameters": [
            asdict(one) | {"zone": names[one.zone] if one.zone >= 0 else None} for one in found.estimates
        ],
        "series": [_series(found, number, names, log) for number, log in enumerate(logs)],
    }


def _room_c(found: Fit, run: int, log: Warmup) -> float:
    above = next(one.value for one in found.estimates if one.name == "room" and one.run == run)
    return round(log.start_c + above, 2)


def _series(found: Fit, run: int, names: list[str], log: Warmup) -> Values:
    """Readings, model and middle of the wood of one log, thinned; None where there is no reading."""
    seen = found.seen[run]
    return {
        "time_s": _plain(seen.end_s),
        "measured_c": {name: _plain(seen.measured_c[:, zone]) for zone, name in enumerate(names)},
        "model_c": {name: _plain(seen.model_c[:, zone]) for zone, name in enumerate(names)},
        "middle_c": _plain(seen.middle_c),
        "wood_time_s": [] if log.wood is None else log.wood.time_s.tolist(),
        "wood_c": seen.wood_c.tolist(),
        "wood_model_c": seen.wood_model_c.round(2).tolist(),
    }


def _plain(column: np.ndarray[Any, Any]) -> list[float | None]:
    return [None if np.isnan(value) else round(float(value), 2) for value in column[::STEP]]


def write_files(figures: Values, out: Path, unit: str) -> list[Path]:
    """Write picture and figures; gives the paths.

    figures: as figures_of(). out: folder, made when missing. unit: of the picture, "C" or "F".
    Raises FileError when the folder cannot be written to.
    """
    from . import fit_draw

    try:
        out.mkdir(parents=True, exist_ok=True)
        data = out / f"{NAME}.json"
        data.write_text(json.dumps(figures, sort_keys=True) + "\n", encoding="utf-8")
        return [*fit_draw.save(figures, out, unit, NAME), data]
    except OSError as error:
        raise unwritable(out, error, ELSEWHERE) from error


def run(
    runs: Sequence[Path],
    rig_path: Path | None,
    *,
    wood_path: Path | None,
    wood_zone: str | None,
    write: bool,
    out: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """The command: fit with a progress display, write the files, say what was found.

    runs: run files. rig_path: as --rig. wood_path: readings of a second thermocouple of the first run, or
    None. wood_zone: name of the zone it lies under, None for the one heated most. write: put the values into
    the rig file. out: folder, or None for one beside the first run. unit: to show, None for the rig's own.
    as_json: answer for programs. Raises FileError and UsageError.
    """
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    from .fit_words import summary

    rig = find_rig(runs[0], rig_path)
    recorded = load_runs(runs, rig)
    if write and recorded[0].run.simulated:
        hint = "leave --write out; a rig learns from runs of a real rig only"
        raise FileError(f"{runs[0]} is SIMULATED", hint, code="simulated", where={"file": str(runs[0])})
    wood = None if wood_path is None else load_wood(wood_path, recorded[0].row_s[-1])
    logs = warmups(recorded, rig, wood, _zone(rig, wood_zone, recorded[0]))
    folder = out if out is not None else runs[0].parent / NAME
    must_take_files(folder, ELSEWHERE)
    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    console = Console(stderr=True)
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("replaying the heat", total=None)
        found, figures = fitted(
            rig, recorded, logs, lambda done: bar.update(task, description=f"replay {done} of about 10")
        )
    shown = unit or rig.mapping["unit"]
    written = write_files(figures, folder, shown)
    if write:
        from .fit_file import write_fit

        titles = [one.title for one in recorded]
        write_fit(rig, found.values, found.sigmas, found.fit_residual_k, titles, figures["estimate"])
        written.append(rig.path)
    if as_json:
        short = {key: value for key, value in figures.items() if key != "series"}
        answer = short | {"files": [str(one) for one in written], "written": write}
        click.echo(json.dumps(answer, sort_keys=True))
        return
    for line in summary(figures, shown, written=write, rig=str(rig.path)):
        click.echo(line)
    for one in written:
        click.echo(f"wrote {one}")


def _zone(rig: RigFile, name: str | None, first: Recorded) -> int:
    """Position of the zone with the second thermocouple."""
    if name is None:
        heat = [sum(row[zone] for row in first.on_s) for zone in range(len(rig.zone_names))]
        return heat.index(max(heat))
    if name not in rig.zone_names:
        raise UsageError(f"no zone is called {name}", f"the rig has: {', '.join(rig.zone_names)}")
    return rig.zone_names.index(name)
