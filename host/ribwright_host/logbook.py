"""Run file on the computer: a CSV for any spreadsheet, with a JSON beside it."""

import csv
import json
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ribwright_board.core.errors import fault_name
from ribwright_board.core.event_words import MEANINGS
from ribwright_board.core.events import EVENTS

from .errors import FileError
from .reading import why_wrong
from .runlog import (
    GAP_MS,
    NO_WALL_TIME,
    ROW_MS,
    RunLog,
    Span,
    StageInfo,
    clock_text,
    read_log,
    wall_time,
)
from .runrows import LogEvent, LogRow, LogTrail, ZoneRow
from .side.kept import of_run

__all__ = [
    "GAP_MS",
    "NO_WALL_TIME",
    "ROW_MS",
    "LogEvent",
    "LogRow",
    "LogTrail",
    "RunLog",
    "Span",
    "StageInfo",
    "ZoneRow",
    "clock_text",
    "read_csv",
    "read_log",
    "read_run",
    "side_path",
    "started_text",
    "write_csv",
]

SCHEMA = 2
# The first schema had no estimate of the wood.
READABLE = (1, 2)
WALL_TIME = "UTC, as the computer told the board"
FIXED_COLUMNS = ("time_s", "stage", "stage_kind", "mode", "flags", "late_ms")
ZONE_COLUMNS = ("target_c", "measured_c", "duty", "relay_on_ms")
# A column whose name says what it is: reckoned by the board, never measured.
ESTIMATE = "estimate_mid_wood_c"
ESTIMATE_NOTE = "the middle of the wood as the board reckons it, give or take the zone's band; not measured"
# A row a second fills a board's flash in some hours; more than two days are no run, and take minutes to draw.
MOST_ROWS = 200_000
AGAIN = "fetch the run again"
FAULT_EVENTS = ("trip", "refused", "zone_off", "suspect", "suspect_over")


def _column_words(zones: tuple[str, ...]) -> list[str]:
    """Zone names fit for a spreadsheet's header: no formula, no comma, none twice."""
    words: list[str] = []
    for name in zones:
        word = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") or "zone"
        word = word if word[0].isalpha() else f"zone_{word}"
        while word in words:
            word += "_2"
        words.append(word)
    return words


def side_path(path: Path) -> Path:
    """Name the JSON file that belongs to a CSV run file.

    path: the CSV file.
    """
    return path.with_suffix(".json")


def started_text(unix: object) -> str | None:
    """Wall time as ISO 8601 in UTC, None for what cannot be the wall time of a bend.

    unix: s since 1970, as found in a header.

    >>> started_text(1_767_225_600)
    '2026-01-01T00:00:00+00:00'
    """
    known = wall_time(unix)
    return None if known is None else datetime.fromtimestamp(known, UTC).isoformat()


def _event_mapping(event: LogEvent, zones: tuple[str, ...]) -> dict[str, object]:
    meaning = MEANINGS.get(event.name, "an event of another firmware")
    words: dict[str, object] = {"code": EVENTS.get(event.name, 0), "meaning": meaning}
    if event.name in FAULT_EVENTS:
        words["fault"] = fault_name(event.a)
    if 0 <= event.zone < len(zones):
        words["zone_name"] = zones[event.zone]
    return asdict(event) | words


def write_csv(run: RunLog, path: Path) -> None:
    """Write a run as a CSV with one row a second and a JSON side file.

    run: as read_log() or read_csv() gives it. path: the CSV file to write; its folder must exist.
    Energy stands in the CSV only for zones whose power is known, summed from the relay's time; the estimate
    of the wood's middle only for zones that have one in any row.
    """
    stages, words = run.stages(), _column_words(run.zones)
    powers = [run.power_w.get(name) for name in run.zones]
    estimated = [any(row.zones[i].mid_wood_c is not None for row in run.rows) for i in range(len(run.zones))]
    columns = list(FIXED_COLUMNS)
    for word, power, known in zip(words, powers, estimated, strict=True):
        columns += [f"{word}_{column}" for column in ZONE_COLUMNS]
        columns += [f"{word}_{ESTIMATE}"] if known else []
        columns += [] if power is None else [f"{word}_energy_wh"]
    on_ms = [0] * len(run.zones)
    with path.open("w", newline="", encoding="utf-8") as file:
        sheet = csv.writer(file)
        sheet.writerow(columns)
        for row in run.rows:
            kind = stages[row.stage].kind if row.stage < len(stages) else ""
            cells = [f"{row.at_ms / 1000:.3f}", row.stage + 1, kind, row.mode, row.flags, row.late_ms]
            for i, zone in enumerate(row.zones):
                on_ms[i] += zone.relay_on_ms
                cells += [_cell(zone.target_c), _cell(zone.measured_c), f"{zone.duty:.3f}", zone.relay_on_ms]
                cells += [_cell(zone.mid_wood_c)] if estimated[i] else []
                power = powers[i]
                # One watt for one millisecond is 1/3600000 Wh.
                cells += [] if power is None else [f"{on_ms[i] * power / 3.6e6:.3f}"]
            sheet.writerow(cells)
    started = started_text(run.started_unix)
    side = {
        "schema": SCHEMA,
        "simulated": run.simulated,
        "board": run.word("board"),
        "rig_hash": run.word("rig"),
        "firmware": run.word("fw"),
        "run": run.header.get("run"),
        "started": started,
        "started_note": WALL_TIME if started else NO_WALL_TIME,
        "fetched": started_text(run.fetched_unix),
        "fetched_unix": run.fetched_unix,
        "side": run.laid or None,
        "zones": list(run.zones),
        "zone_power_w": run.power_w,
        "estimate_mid_wood_c": ESTIMATE_NOTE,
        "estimate_band_k": run.wood_bands_k,
        "events": [_event_mapping(event, run.zones) for event in run.events],
        "readings_before_trip": [asdict(trail) for trail in run.trails],
        "problems": run.problems,
        "header": run.header,
    }
    side_path(path).write_text(json.dumps(side, indent=1) + "\n", encoding="utf-8")


def _cell(value_c: float | None) -> str:
    return "" if value_c is None else f"{value_c:.1f}"


def _number(cell: str) -> float | None:
    if not cell:
        return None
    value = float(cell)
    if not math.isfinite(value):
        text = f"{cell!r} is not a finite number"
        raise ValueError(text)
    return value


def read_csv(path: Path) -> RunLog:
    """Read a run back from its CSV and the JSON beside it.

    path: the CSV file.
    Raises FileError with code no_file, no_side_file or not_a_run_file.
    """
    side_file = side_path(path)
    for file, code in ((path, "no_file"), (side_file, "no_side_file")):
        if not file.is_file():
            hint = "put it back or fetch the run again"
            raise FileError(f"{file} is missing; a run is a CSV and a JSON side by side", hint, code=code)
    line = 1
    try:
        side = json.loads(side_file.read_text(encoding="utf-8"))
        if side["schema"] not in READABLE:
            seen = f"{side_file} has schema {side['schema']}, this version reads 1 and 2"
            raise FileError(seen, "use the version that wrote it", code="not_a_run_file")
        zones = tuple(str(name) for name in side["zones"])
        events = [
            LogEvent(*(item[key] for key in ("at_ms", "stage", "name", "zone", "a", "b", "text")))
            for item in side["events"]
        ]
        run = RunLog(dict(side["header"]), zones, [], events, problems=list(side["problems"]))
        run.trails = [_trail_from(item) for item in side.get("readings_before_trip", [])]
        run.power_w = {str(name): float(power) for name, power in side["zone_power_w"].items()}
        run.fetched_unix = side["fetched_unix"]
        run.laid = dict(side.get("side") or {})
        with path.open(newline="", encoding="utf-8-sig") as sheet:
            table = csv.DictReader(sheet)
            _columns_there(table.fieldnames, zones)
            for line, cells in _numbered(table):  # noqa: B007 - the error below names it
                run.rows.append(_row_from(cells, _column_words(zones)))
    except OSError as error:
        hint = "look at the file's permissions"
        raise FileError(f"{path} cannot be read: {error.strerror}", hint, code="no_file") from error
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, csv.Error) as error:
        seen = f"{path} line {line}, read with {side_file.name}, is not a run file: {why_wrong(error)}"
        log = path.with_suffix(".rlg")
        hint = f"fetch the run again, or read the board's own log: {log}" if log.is_file() else AGAIN
        raise FileError(seen, hint, code="not_a_run_file") from error
    return run


def _numbered(table: Iterable[dict[str, str]]) -> Iterator[tuple[int, dict[str, str]]]:
    """Rows with the line they stand in. Raises ValueError past MOST_ROWS."""
    for line, cells in enumerate(table, start=2):
        if line > MOST_ROWS + 1:
            text = f"it goes on past {MOST_ROWS} rows, more than any board keeps of a run"
            raise ValueError(text)
        yield line, cells


def _columns_there(found: Sequence[str] | None, zones: tuple[str, ...]) -> None:
    """Raise ValueError where the first line of a CSV is not that of a run."""
    names = list(found or ())
    if not names:
        text = "it is empty"
        raise ValueError(text)
    if len(names) == 1 and ";" in names[0]:
        text = "its columns are parted by semicolons, as some spreadsheets save them, and not by commas"
        raise ValueError(text)
    wanted = [*FIXED_COLUMNS, *(f"{word}_{name}" for word in _column_words(zones) for name in ZONE_COLUMNS)]
    if missing := [name for name in wanted if name not in names]:
        text = f"of its columns {', '.join(missing[:3])}{' and more' if missing[3:] else ''} is missing"
        raise ValueError(text)


def read_run(path: Path) -> RunLog:
    """Read a run from its CSV, or from the board's own log when it ends in .rlg.

    path: the file. Raises FileError with code file_name, no_file, no_side_file or not_a_run_file.
    """
    if path.suffix.lower() not in (".csv", ".rlg"):
        seen = f"{path} is neither .csv nor .rlg"
        raise FileError(seen, "name a file that `ribwright fetch` wrote", code="file_name")
    if path.suffix != ".rlg":
        return read_csv(path)
    try:
        run = read_log(path.read_bytes())
    except OSError as error:
        hint = "put it back or fetch the run again"
        raise FileError(f"{path} cannot be read: {error.strerror}", hint, code="no_file") from error
    run.laid = of_run(run)
    return run


def _trail_from(item: dict[str, Any]) -> LogTrail:
    readings = tuple(one if isinstance(one, str) else float(one) for one in item["readings"])
    return LogTrail(int(item["at_ms"]), int(item["zone"]), int(item["step_ms"]), readings)


def _row_from(cells: dict[str, str], words: list[str]) -> LogRow:
    zones = tuple(
        ZoneRow(
            _number(cells[f"{word}_target_c"]),
            _number(cells[f"{word}_measured_c"]),
            float(cells[f"{word}_duty"]),
            int(cells[f"{word}_relay_on_ms"]),
            _number(cells.get(f"{word}_{ESTIMATE}", "")),
        )
        for word in words
    )
    at_ms, stage = round(float(cells["time_s"]) * 1000), int(cells["stage"]) - 1
    return LogRow(at_ms, stage, cells["mode"], int(cells["flags"]), int(cells["late_ms"]), zones)
