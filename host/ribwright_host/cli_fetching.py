"""Runs on the board: what each one was, and reading one back."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from ribwright_board.core import record
from ribwright_board.core.errors import CoreError
from ribwright_board.core.wire import PIECE_BYTES

from .cli_progress import Progress
from .counted import note
from .errors import FileError, RefusedByBoardError
from .link import Board, Link, StoredRun, get_run, list_runs
from .logbook import RunLog, read_log, read_run, started_text, write_csv
from .report import build
from .side.kept import of_run
from .writing import unwritable


@dataclass(frozen=True)
class RunSummary:
    """One run as the board remembers it.

    number: its number. size_bytes: of its log. header: as the run began, empty when it is damaged. pinned:
    it never makes room for others.
    """

    number: int
    size_bytes: int
    header: dict[str, Any]
    pinned: bool = False

    @property
    def seconds(self) -> int:
        """How many seconds the log covers at most: one row a second, and few events."""
        zones = len(self.header.get("zones", ())) or 1
        return self.size_bytes // record.record_size(zones)

    def as_json(self) -> dict[str, Any]:
        """The run for a program."""
        profile = self.header.get("profile") or {}
        return {
            "run": self.number,
            "bytes": self.size_bytes,
            "pinned": self.pinned,
            "profile": profile.get("name"),
            "profile_hash": self.header.get("profile_hash"),
            "unix": self.header.get("unix"),
        }

    def line(self) -> str:
        """The run in one line."""
        pin = "pinned" if self.pinned else "      "
        if not self.header:
            return (
                f"{self.number:5d}  {self.size_bytes:8d} bytes  {pin}  its head is damaged; fetch reads what "
                "is left"
            )
        name = (self.header.get("profile") or {}).get("name", "unnamed")
        started = started_text(self.header.get("unix")) or "started at an unknown time"
        return f"{self.number:5d}  about {max(1, self.seconds // 60):3d} min  {pin}  {started}  {name}"


def summaries(link: Link, listed: Sequence[StoredRun]) -> list[RunSummary]:
    """Runs on the board with the heads of their logs.

    link: to a board. listed: of list_runs(). Raises as Link.ask().
    """
    found = []
    for stored in listed:
        number = stored.number
        # Only as many pieces as the head takes: its length stands in the first six bytes.
        data = get_run(link, number, limit=PIECE_BYTES)
        if record.layout_of(data) and len(data) >= 6:
            data = get_run(link, number, data, limit=10 + int.from_bytes(data[4:6], "little"))
        try:
            header = record.read_header(data)[0]
        except CoreError:
            header = {}
        found.append(RunSummary(number, stored.size_bytes, header, stored.pinned))
    return found


def counted_lines(free: int, zones: Sequence[str], counted: Mapping[str, Any]) -> list[str]:
    """What the board has room for, and what it has counted in its life.

    free: bytes. zones: their names. counted: as the board tells it, which may be anything.
    """
    hours = free / record.record_size(len(zones)) / 3600
    lines = [f"{free // 1024} KB are free, room for about {hours:.0f} h."]
    runs, trips = counted.get("runs"), counted.get("trips")
    on_s, switches = counted.get("on_s"), counted.get("switches")
    if not isinstance(runs, int) or not isinstance(on_s, list) or not isinstance(switches, list):
        return lines
    lines.append(f"Counted since its flash was new: {runs} run{'' if runs == 1 else 's'}, {trips} shut down.")
    for zone, seconds, times in zip(zones, on_s, switches, strict=False):
        if isinstance(seconds, int) and isinstance(times, int):
            lines.append(f"  {zone}: its relay came on {times} times and was on for {seconds / 3600:.1f} h.")
    return lines


def keep_counted(board: Board, counted: object) -> None:
    """Note what a real board has counted, for the month's report; one that cannot be kept is told, no more.

    board: greeted. counted: as it told.
    """
    if board.simulated or not isinstance(counted, dict):
        return
    try:
        note(board.board_id, counted)
    except FileError as error:
        click.echo(f"What the board has counted is not kept: {error}", err=True)


def fetch_run(
    link: Link, board: Board, run: int, out: Path | None, rig_path: Path | None, *, quiet: bool
) -> list[Path]:
    """Read a run back and write it as CSV, JSON and the board's own log; the files, the CSV first.

    link, board: a greeted board. run: its number. out: the CSV, None for a name of run and board here.
    rig_path: rig file for the powers, or None. quiet: show no progress. Raises FileError, RefusedByBoardError
    and as Link.ask().
    """
    target = out or Path(f"run-{run:05d}-{board.board_id[-6:]}.csv")
    if target.suffix.lower() != ".csv":
        raise FileError(
            f"{target} does not end in .csv", "give the file a name that ends in .csv", code="file_name"
        )
    known = [stored.number for stored in list_runs(link)[0]]
    if run not in known:
        listed = f"it has {known[0]} to {known[-1]}" if known else "it has none"
        raise RefusedByBoardError(
            f"the board has no run {run}, {listed}", "see: ribwright runs", code="no_run"
        )
    log, part = target.with_suffix(".rlg"), target.with_suffix(".rlg.part")
    data = _read_on(link, run, part, quiet=quiet)
    run_log = read_log(data, _powers(rig_path), int(time.time()))
    run_log.laid = of_run(run_log)
    try:
        part.write_bytes(data)
        part.replace(log)
        write_csv(run_log, target)
    except OSError as error:
        raise unwritable(target, error, "choose another with -o") from None
    return [target, target.with_suffix(".json"), log]


def _powers(rig_path: Path | None) -> dict[str, float] | None:
    """Rated power of each zone in W, when a rig file is at hand."""
    if rig_path is None:
        return None
    from .rigs import load_rig

    return {str(zone["name"]): float(zone["power_w"]) for zone in load_rig(rig_path).mapping["zones"]}


def _read_on(link: Link, run: int, part: Path, *, quiet: bool) -> bytes:
    """The whole log; a broken reading is kept beside and taken up again, if it is of the same run."""
    first = get_run(link, run, limit=PIECE_BYTES)
    have = first
    try:
        kept = part.read_bytes()
    except OSError:
        kept = b""
    # A log is only ever appended to, so an equal beginning (board, time and run are in it) is the same run.
    if len(kept) > len(first) and kept.startswith(first):
        have = kept
    got = bytearray(have)
    try:
        with Progress("reading the run", quiet=quiet) as shown, part.open("wb") as keep:
            keep.write(have)
            while True:
                before = len(got)
                # A few kilobytes at a time, so that a broken link loses no more than these.
                got = bytearray(get_run(link, run, bytes(got), shown, limit=len(got) + 16 * PIECE_BYTES))
                keep.write(got[before:])
                if len(got) - before < 16 * PIECE_BYTES:
                    return bytes(got)
    except OSError as error:
        raise unwritable(part, error, "choose another with -o") from None


def _unit_of(run: RunLog) -> str:
    """The unit of the profile that ran, "C" where the log does not say."""
    profile = run.header.get("profile")
    return "F" if isinstance(profile, dict) and profile.get("unit") == "F" else "C"


def write_report(file: Path, out: Path | None, unit: str | None) -> Path:
    """Draw a run that was read back; the page.

    file: its CSV or the board's log. out: folder, None for one beside the file. unit: to show, None for the
    profile's own. Raises FileError.
    """
    if not file.is_file():
        raise FileError(
            f"{file} is not a file", "read a run back first: ribwright fetch RUN", code="missing_file"
        )
    if file.suffix.lower() not in (".csv", ".rlg"):
        raise FileError(
            f"{file} is neither .csv nor .rlg", "name a file that `ribwright fetch` wrote", code="file_name"
        )
    folder = out or file.with_name(file.stem + "-report")
    try:
        run = read_run(file)
        return build(run, folder, unit or _unit_of(run))
    except OSError as error:
        raise unwritable(folder, error, "choose another with -o") from None
