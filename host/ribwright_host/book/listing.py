"""What the book holds, listed. Rows come as tuples by joins, without an object each: they may be many."""

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from peewee import JOIN, fn

from .models import SUMS, Defect, Measurement, Piece, Run, Side, open_book
from .quantities import show_c, show_mm, show_s

SIMULATED = "SIMULATED"


def counted(number: int, word: str) -> str:
    """A number with its word.

    number: how many. word: for one.

    >>> counted(1, "run"), counted(2, "run")
    ('1 run', '2 runs')
    """
    return f"{number} {word}{'' if number == 1 else 's'}"


@dataclass(frozen=True)
class SideLine:
    """One side in a list. gaps_mm: upper bout, waist, lower bout, measured last. defects: badness above 0."""

    piece: str
    instrument: str | None
    made_on: str | None
    simulated: bool
    which: str
    runs: int
    heat_s: float | None
    peak_c: float | None
    energy_kwh: float | None
    set_c: float | None
    set_s: float | None
    start_c: float | None
    gaps_mm: tuple[float | None, float | None, float | None]
    defects: int

    def as_json(self) -> dict[str, Any]:
        """The line for a program."""
        return asdict(self)

    def line(self, unit: str = "C", lengths: str = "mm") -> str:
        """The line for people.

        unit: "C" or "F". lengths: "mm" or "in".
        """
        places = zip(("upper", "waist", "lower"), self.gaps_mm, strict=True)
        known = [f"{place} {show_mm(gap, lengths, signed=True)}" for place, gap in places if gap is not None]
        sprung = ", ".join(known) or "not measured"
        wrong = f", {counted(self.defects, 'defect')}" if self.defects else ""
        return (
            f"{self.which:6s} {counted(self.runs, 'run')}, {show_s(self.heat_s)} at bending heat, "
            f"peak {show_c(self.peak_c, unit)}, set {show_s(self.set_s)} at {show_c(self.set_c, unit)}; "
            f"spring-back {sprung}{wrong}"
        )


def _chosen(query: Any, month: str | None, *, simulated: bool | None) -> Any:  # noqa: ANN401 - a peewee query
    if month is not None:
        query = query.where(Piece.made_on.startswith(month))
    return query if simulated is None else query.where(Piece.simulated == simulated)


def _fetched(query: Any) -> list[Any]:  # noqa: ANN401 - a peewee query
    """Rows as SQLite gives them: the library's wrapping of each costs more than reading it."""
    return list(open_book.execute(query).fetchall())


def sides(month: str | None = None, *, simulated: bool | None = None) -> list[SideLine]:
    """All sides, the newest piece first, bass before treble.

    month: "2026-11", or None. simulated: only such or only others, None for both.
    """
    last = (
        Measurement.select(Measurement.side, fn.MAX(Measurement.id).alias("last"))
        .group_by(Measurement.side)
        .alias("last_one")
    )
    wrong = (
        Defect.select(Defect.side, fn.COUNT(Defect.id).alias("many"))
        .where(Defect.badness > 0)
        .group_by(Defect.side)
        .alias("wrong")
    )
    sums = [getattr(Side, name) for name in SUMS]
    gaps = [Measurement.gap_upper_mm, Measurement.gap_waist_mm, Measurement.gap_lower_mm]
    about = [Piece.name, Piece.instrument, Piece.made_on, Piece.simulated]
    query = (
        Side.select(*about, Side.which, Side.runs_count, *sums, *gaps, wrong.c.many)
        .join(Piece)
        .join(last, JOIN.LEFT_OUTER, on=(last.c.side_id == Side.id))
        .join(Measurement, JOIN.LEFT_OUTER, on=(Measurement.id == last.c.last))
        .join(wrong, JOIN.LEFT_OUTER, on=(wrong.c.side_id == Side.id))
        .order_by(Piece.made_on.desc(), Piece.id.desc(), Side.which)
    )
    rows = _fetched(_chosen(query, month, simulated=simulated))
    return [
        SideLine(*[*row[:3], bool(row[3]), *row[4:12], (row[12], row[13], row[14]), row[15] or 0])
        for row in rows
    ]


RUN_COLUMNS = (
    "piece which made_on simulated key board number started_unix profile ending seconds heat_s peak_c "
    "energy_kwh set_c set_s start_c csv_path"
).split()


def runs(month: str | None = None, *, simulated: bool | None = None) -> list[dict[str, Any]]:
    """All runs, the newest piece first, by the names of RUN_COLUMNS.

    month, simulated: as sides().
    """
    sums = [getattr(Run, name) for name in SUMS]
    query = (
        Run.select(
            Piece.name,
            Side.which,
            Piece.made_on,
            Run.simulated,
            Run.key,
            Run.board,
            Run.number,
            Run.started_unix,
            Run.profile,
            Run.ending,
            Run.seconds,
            *sums,
            Run.csv_path,
        )
        .join(Side)
        .join(Piece)
        .order_by(Piece.made_on.desc(), Piece.id.desc(), Side.which, Run.id)
    )
    rows = _fetched(_chosen(query, month, simulated=simulated))
    found = [dict(zip(RUN_COLUMNS, row, strict=True)) for row in rows]
    for run in found:
        run["simulated"] = bool(run["simulated"])
    return found


def run_line(run: dict[str, Any], unit: str = "C") -> str:
    """A run for people.

    run: of runs(). unit: "C" or "F".
    """
    number = "run ?" if run["number"] is None else f"run {run['number']}"
    return (
        f"{number} of board {run['board'][-6:]}, {show_s(run['seconds'])} long, "
        f"{run['ending'] or 'cut off'}, {show_s(run['heat_s'])} at bending heat, "
        f"peak {show_c(run['peak_c'], unit)}; {run['profile']}"
    )


def list_lines(
    found: list[SideLine], run_rows: list[dict[str, Any]], unit: str = "C", lengths: str = "mm"
) -> Iterator[str]:
    """The list for people: a line for each piece, its sides below, their runs below these where given.

    found: of sides(). run_rows: of runs(), or empty. unit, lengths: as SideLine.line().
    """
    by_side: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for run in run_rows:
        by_side.setdefault((run["piece"], run["which"]), []).append(run)
    last = None
    for side in found:
        if side.piece != last:
            last = side.piece
            mark = f"  {SIMULATED}" if side.simulated else ""
            about = f", {side.instrument}" if side.instrument else ""
            yield f"{side.made_on or 'no date'}  {side.piece}{about}{mark}"
        yield f"    {side.line(unit, lengths)}"
        for run in by_side.get((side.piece, side.which), ()):
            yield f"           {run_line(run, unit)}"
