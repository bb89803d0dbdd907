"""A month of the shop: what was bent, what it took, what went wrong, from the open book and from run files.

A run belongs to the month in which it began, by UTC; one that began without a clock to that of its piece, or
in which it was read back. What a file would have told that is no longer there is said to be missing. Real and
simulated runs are kept in two lists, and nothing is summed over both.
"""

import calendar
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from ribwright_host.errors import FileError, UsageError
from ribwright_host.logbook import read_run

from .causes import cause_in, known_cause
from .heat import ENDINGS, run_sums
from .intake import run_key
from .models import Defect, Measurement, Piece, Run, Side
from .pairs import mean_gap

MONTH = re.compile(r"(20\d\d)-(0[1-9]|1[0-2])")
CLOCK, BY_PIECE, BY_READING = "clock", "piece", "reading"


@dataclass(frozen=True)
class MonthRun:
    """One run. piece, which: its side, None for a file that stands in no book. placed: how its day is known:
    CLOCK, BY_PIECE, BY_READING. cause: why it was shut down or refused, in words; None where nothing tells.
    """

    key: str
    day: date
    placed: str
    simulated: bool
    board: str
    number: int | None
    profile: str
    profile_hash: str
    rig: str
    ending: str | None
    seconds: float
    heat_s: float | None
    energy_kwh: float | None
    piece: str | None = None
    which: str | None = None
    file: Path | None = None
    cause: str | None = None

    @property
    def name(self) -> str:
        """Side, or number and board, for people."""
        if self.piece is not None:
            return f"{self.piece}, {self.which}"
        number = "run ?" if self.number is None else f"run {self.number}"
        return f"{number} of board {self.board[-6:]}"


@dataclass(frozen=True)
class Sprung:
    """A measured real side. set_c: mean reading of its set. gap_mm: mean gap. now: bent in this month."""

    piece: str
    which: str
    set_c: float
    gap_mm: float
    now: bool


@dataclass(frozen=True)
class Sums:
    """Sums over runs. *_unknown: runs among them that do not tell, which the sums leave out."""

    runs: int
    sides: int
    seconds: float
    heat_s: float
    heat_unknown: int
    energy_kwh: float
    energy_unknown: int


@dataclass
class Month:
    """A month. first, last: its days. runs, simulated: in the order they began. pieces: real ones that were
    bent in it. sprung: every measured real side of the book so far. unmeasured: real sides of the month
    without a gap or a set. defects: by side, of the month's real sides.
    """

    first: date
    last: date
    runs: list[MonthRun] = field(default_factory=list)
    simulated: list[MonthRun] = field(default_factory=list)
    pieces: list[str] = field(default_factory=list)
    sprung: list[Sprung] = field(default_factory=list)
    unmeasured: list[str] = field(default_factory=list)
    defects: list[tuple[str, str, dict[str, Any]]] = field(default_factory=list)

    @property
    def title(self) -> str:
        """Its name, for people."""
        return f"{calendar.month_name[self.first.month]} {self.first.year}"


def days_of(month: str) -> tuple[date, date]:
    """First and last day of a month.

    month: as "2026-11". Raises UsageError.

    >>> [day.isoformat() for day in days_of("2028-02")]
    ['2028-02-01', '2028-02-29']
    """
    found = MONTH.fullmatch(month)
    if found is None:
        raise UsageError(f"{month!r} is no month", "write year and month, as 2026-11", code="month")
    year, number = int(found[1]), int(found[2])
    return date(year, number, 1), date(year, number, calendar.monthrange(year, number)[1])


def sums(runs: Sequence[MonthRun]) -> Sums:
    """Sums over runs; runs: all real, or all simulated."""
    heats = [run.heat_s for run in runs if run.heat_s is not None]
    energies = [run.energy_kwh for run in runs if run.energy_kwh is not None]
    return Sums(
        runs=len(runs),
        sides=len({(run.piece, run.which) for run in runs if run.piece is not None}),
        seconds=sum(run.seconds for run in runs),
        heat_s=sum(heats),
        heat_unknown=len(runs) - len(heats),
        energy_kwh=sum(energies),
        energy_unknown=len(runs) - len(energies),
    )


def _file_of(paths: Iterable[str | None]) -> Path | None:
    return next((Path(path) for path in paths if path and Path(path).is_file()), None)


def _unix_day(unix: int | None) -> date | None:
    return None if unix is None else datetime.fromtimestamp(unix, UTC).date()


def _iso_day(text: str | None) -> date | None:
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return None


def _placed(started: int | None, fetched: int | None, made_on: str | None = None) -> tuple[date, str] | None:
    """A run's day and how it is known; None where nothing tells it."""
    days = ((_unix_day(started), CLOCK), (_iso_day(made_on), BY_PIECE), (_unix_day(fetched), BY_READING))
    return next(((day, how) for day, how in days if day is not None), None)


def book_runs(first: date, last: date, *, causes: bool = True) -> list[MonthRun]:
    """Runs of the open book that belong to some days.

    first, last: both in. causes: read the files of those that were shut down or refused.
    """
    found = []
    # A join, so that ten thousand runs are not as many questions.
    for run in Run.select(Run, Side, Piece).join(Side).join(Piece).order_by(Run.id):
        side, piece = run.side, run.side.piece
        at = _placed(run.started_unix, run.fetched_unix, piece.made_on)
        if at is None or not first <= at[0] <= last:
            continue
        file = _file_of((run.csv_path, run.log_path))
        found.append(
            MonthRun(
                key=run.key,
                day=at[0],
                placed=at[1],
                simulated=bool(run.simulated),
                board=run.board,
                number=run.number,
                profile=run.profile,
                profile_hash=run.profile_hash,
                rig=run.rig,
                ending=run.ending,
                seconds=run.seconds,
                heat_s=run.heat_s,
                energy_kwh=run.energy_kwh,
                piece=piece.name,
                which=side.which,
                file=file,
                cause=known_cause(run.ending, file) if causes else None,
            )
        )
    return found


def file_run(path: Path) -> MonthRun:
    """A run file that may stand in no book.

    path: of it. Raises FileError as read_run(), and no_day where nothing says when it was.
    """
    run = read_run(path)
    at = _placed(run.started_unix, run.fetched_unix)
    if at is None:
        seen = f"{path} does not say when it was: the board had no clock, and it was not read back"
        raise FileError(seen, "leave it out, or take it into the notebook", code="no_day")
    number = run.header.get("run")
    whole = run_sums(run)[0]
    return MonthRun(
        key=run_key(run),
        day=at[0],
        placed=at[1],
        simulated=run.simulated,
        board=run.word("board"),
        number=number if isinstance(number, int) else None,
        profile=run.profile_name,
        profile_hash=run.word("profile_hash"),
        rig=run.word("rig"),
        ending=next((event.name for event in reversed(run.events) if event.name in ENDINGS), None),
        seconds=run.rows[-1].at_ms / 1000 if run.rows else 0.0,
        heat_s=whole.heat_s,
        energy_kwh=whole.energy_kwh,
        file=path,
        cause=cause_in(run),
    )


def _sides(month: Month) -> None:
    """What came of the sides: measured ones, those that are not, defects."""
    bent = {(run.piece, run.which) for run in month.runs if run.piece is not None}
    last: dict[int, float] = {}
    measured: Any = Measurement.select().order_by(Measurement.id).dicts()
    for row in measured:
        gap = mean_gap(row)
        if gap is not None:
            last[row["side"]] = gap
    rows: Any = (
        Side.select(Side.id, Side.which, Side.set_c, Piece.name, Piece.made_on)
        .join(Piece)
        .where(Piece.simulated == False)  # noqa: E712 - a query
        .order_by(Piece.made_on, Piece.id, Side.which)
        .tuples()
    )
    for side_id, which, set_c, piece, made_on in rows:
        now = (piece, which) in bent
        made = _iso_day(made_on)
        if side_id in last and set_c is not None:
            if now or made is None or made <= month.last:
                month.sprung.append(Sprung(piece, which, set_c, last[side_id], now))
        elif now:
            month.unmeasured.append(f"{piece}, {which}")
        if now:
            wrong: Any = (
                Defect.select().where((Defect.side == side_id) & (Defect.badness > 0)).order_by(Defect.id)
            )
            month.defects += [(piece, which, row) for row in wrong.dicts()]


def collect(days: tuple[date, date], files: Sequence[Path], *, book: bool) -> Month:
    """The month, from the open book and from run files beside it.

    days: first and last. files: run files; one that stands in the book counts once, one of another month is
    left out. book: whether a book is open. Raises FileError as file_run().
    """
    month = Month(*days)
    found = book_runs(*days) if book else []
    known = {run.key for run in found}
    for path in files:
        run = file_run(path)
        if days[0] <= run.day <= days[1] and run.key not in known:
            known.add(run.key)
            found.append(run)
    found.sort(key=lambda run: (run.day, run.board, run.number or 0))
    month.runs = [run for run in found if not run.simulated]
    month.simulated = [run for run in found if run.simulated]
    month.pieces = list(dict.fromkeys(run.piece for run in month.runs if run.piece is not None))
    if book:
        _sides(month)
    return month
