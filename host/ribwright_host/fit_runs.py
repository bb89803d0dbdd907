"""Recorded runs as a fit may use them: the part before the strip meets the form, or why there is none."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

from ribwright_board.core.units import c_from

from .errors import FileError
from .logbook import GAP_MS, ROW_MS, LogRow, RunLog, clock_text, read_run, started_text
from .rigs import RigFile

# A warm-up shorter or weaker than this tells next to nothing but its own slope: proposals.
LEAST_RISE_K, LEAST_S = 40.0, 120
# A rig that is still warm holds heat in places nobody knows.
WARMEST_START_C, START_SPREAD_K = 40.0, 8.0
# Time grows with the log, what is learnt hardly: the rest of a longer one is left out.
MOST_S = 1800
MOST_MISSING = 0.02
LEAST_WOOD_READINGS = 10
FIRST_ROWS = 3


@dataclass(frozen=True)
class Recorded:
    """One run's part that a fit may use.

    path: its file. run: the whole of it. rows: those used, time counted from the start of heat [s].
    measured_c: per row and zone, not a number for none. on_s: per row and zone, since the row before.
    """

    path: Path
    run: RunLog
    row_s: list[float]
    measured_c: list[list[float]]
    on_s: list[list[float]]

    @property
    def piece(self) -> Mapping[str, Any]:
        """The profile's [piece]."""
        piece: Mapping[str, Any] = self.run.header["profile"]["piece"]  # type: ignore[index] # checked when read
        return piece

    @property
    def title(self) -> str:
        """Which run it is, in a few words."""
        when = started_text(self.run.started_unix) or "date not known"
        return f"run {self.run.word('run')} of board {self.run.word('board')}, {when}"[:80]


@dataclass(frozen=True)
class WoodFile:
    """Readings of a second thermocouple: seconds since the start of heat, C."""

    path: Path
    time_s: list[float]
    wood_c: list[float]


def _refuse(path: Path, seen: str, hint: str, code: str) -> FileError:
    return FileError(f"{path}: {seen}", hint, code=code, where={"file": str(path)})


def load_runs(paths: Sequence[Path], rig: RigFile) -> list[Recorded]:
    """Every run, checked to be of use and of this rig.

    paths: CSV run files or boards' logs. rig: the rig they should be of.
    Raises FileError with code twice, mixed_runs, other_rig, no_profile, no_warmup, log_gaps, warm_start or
    short_ramp, or as logbook.read_run().
    """
    for number, path in enumerate(paths):
        if path in paths[:number]:
            raise _refuse(path, "is named twice", "name each run once", "twice")
    found = [_usable(path, read_run(path), rig) for path in paths]
    kinds = {one.run.simulated for one in found}
    if len(kinds) > 1:
        first = next(one for one in found if one.run.simulated)
        hint = "leave the simulated run out, or fit simulated runs alone"
        raise _refuse(first.path, "is SIMULATED, others are of a real rig", hint, "mixed_runs")
    return found


def _usable(path: Path, run: RunLog, rig: RigFile) -> Recorded:
    if run.word("rig") != rig.hash:
        seen = f"is a run of rig {run.word('rig')}, {rig.path} is rig {rig.hash}"
        raise _refuse(path, seen, "name the rig file it was run with: --rig FILE", "other_rig")
    if not run.stages():
        hint = "fetch the run again; a fit must know the wood"
        raise _refuse(path, "does not hold the profile it was run with", hint, "no_profile")
    rows = warm_up(run)
    if not rows:
        hint = "name a run that heated, before its first cue"
        raise _refuse(path, "holds no second of heating before the strip meets the form", hint, "no_warmup")
    _check_whole(path, run, rows)
    start_ms = rows[0].at_ms - ROW_MS
    recorded = Recorded(
        path,
        run,
        [(row.at_ms - start_ms) / 1000.0 for row in rows],
        [[math.nan if zone.measured_c is None else zone.measured_c for zone in row.zones] for row in rows],
        [[zone.relay_on_ms / 1000.0 for zone in row.zones] for row in rows],
    )
    _check_worth(recorded)
    return recorded


def warm_up(run: RunLog) -> list[LogRow]:
    """Rows from the start of heat to the first cue, pause or end, and to MOST_S at most.

    run: the run. At a cue the strip meets the form, whose touch no log shows.
    """
    stages = run.stages()
    rows: list[LogRow] = []
    for row in run.rows:
        if row.mode != "running":
            if rows:
                break
            continue
        if row.stage < len(stages) and stages[row.stage].cues:
            break
        rows.append(row)
    return [row for row in rows if row.at_ms - rows[0].at_ms < MOST_S * 1000]


def _check_whole(path: Path, run: RunLog, rows: list[LogRow]) -> None:
    """Raises FileError log_gaps where heat or readings are not known."""
    hint = "fetch the run again, or name one without holes: heat that is not recorded cannot be replayed"
    for before, after in pairwise(rows):
        step_ms = after.at_ms - before.at_ms
        if not 0 < step_ms <= GAP_MS:
            place = clock_text(before.at_ms)
            seen = f"has a gap of {step_ms / 1000:.1f} s after {place}, allowed are {GAP_MS / 1000:.1f} s"
            raise _refuse(path, seen, hint, "log_gaps")
    for zone, name in enumerate(run.zones):
        missing = sum(row.zones[zone].measured_c is None for row in rows) / len(rows)
        if missing > MOST_MISSING:
            seen = (
                f"zone {name} has no reading in {missing:.0%} of its seconds, allowed are {MOST_MISSING:.0%}"
            )
            raise _refuse(path, seen, hint, "log_gaps")


def _check_worth(one: Recorded) -> None:
    """Raises FileError warm_start or short_ramp."""
    columns = [[row[zone] for row in one.measured_c] for zone in range(len(one.run.zones))]
    known = [[value for value in column if not math.isnan(value)] for column in columns]
    starts = [sum(values[:FIRST_ROWS]) / FIRST_ROWS for values in known]
    if max(starts) > WARMEST_START_C or max(starts) - min(starts) > START_SPREAD_K:
        seen = (
            f"begins at {min(starts):.0f} to {max(starts):.0f} C, a cold start is no warmer than "
            f"{WARMEST_START_C:.0f} C and alike within {START_SPREAD_K:.0f} K"
        )
        raise _refuse(one.path, seen, "name a run that began cold", "warm_start")
    rise_k = max(max(values) - start for values, start in zip(known, starts, strict=True))
    if rise_k < LEAST_RISE_K or one.row_s[-1] < LEAST_S:
        seen = (
            f"rises by {rise_k:.0f} K in {one.row_s[-1]:.0f} s before the strip meets the form, "
            f"a fit needs {LEAST_RISE_K:.0f} K and {LEAST_S} s"
        )
        hint = "name a longer warm-up, or make a calibration run: ribwright fit --guide"
        raise _refuse(one.path, seen, hint, "short_ramp")


def load_wood(path: Path, last_s: float) -> WoodFile:
    """Readings of a second thermocouple from a CSV with the columns time_s and wood_c, or wood_f.

    path: the file. last_s: end of the log it belongs to [s]; later readings are left out.
    Raises FileError with code no_file or wood_file.
    """
    try:
        with path.open(newline="", encoding="utf-8-sig") as sheet:
            reader = csv.DictReader(sheet)
            columns = [str(name).strip() for name in reader.fieldnames or ()]
            lines = [{str(key).strip(): cell for key, cell in line.items()} for line in reader]
    except OSError as error:
        raise _refuse(path, f"cannot be read: {error.strerror}", "check the name", "no_file") from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise _refuse(path, f"is not a CSV ({error})", "save it as CSV, UTF-8", "wood_file") from error
    unit = next((word for word in ("C", "F") if f"wood_{word.lower()}" in columns), None)
    if "time_s" not in columns or unit is None:
        hint = "write time_s,wood_c (or wood_f) in its first line"
        raise _refuse(path, f"has the columns {', '.join(columns) or 'none'}", hint, "wood_file")
    times: list[float] = []
    temps: list[float] = []
    for number, line in enumerate(lines, start=2):
        try:
            at_s, wood_c = float(line["time_s"]), c_from(float(line[f"wood_{unit.lower()}"]), unit)
        except (TypeError, ValueError):
            at_s = wood_c = math.nan
        if not (math.isfinite(at_s) and -50.0 < wood_c < 400.0) or (times and at_s <= times[-1]):
            seen = f"line {number} is no later time with a temperature of -50 to 400 C"
            raise _refuse(path, seen, "correct that line", "wood_file")
        times.append(at_s)
        temps.append(wood_c)
    kept = [place for place, at_s in enumerate(times) if 0.0 <= at_s <= last_s]
    if len(kept) < LEAST_WOOD_READINGS:
        seen = f"has {len(kept)} readings in the log's {last_s:.0f} s, a fit needs {LEAST_WOOD_READINGS}"
        raise _refuse(path, seen, "count time_s from the start of heat, and read more often", "wood_file")
    return WoodFile(path, [times[place] for place in kept], [temps[place] for place in kept])
