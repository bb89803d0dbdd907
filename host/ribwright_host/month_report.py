"""`ribwright report --month`: a month of the shop on a page or two to print, from notebook and run files."""

from collections.abc import Mapping, Sequence
from contextlib import ExitStack
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

from ribwright_board import __version__

from . import counted, monthly
from .ageing import ageing
from .book import listing, month_draw, telling
from .book.month import (
    BY_PIECE,
    BY_READING,
    Month,
    MonthRun,
    Sums,
    book_runs,
    collect,
    days_of,
    file_run,
    sums,
)
from .book.pages import write_page
from .book.pairs import all_verdicts
from .book.quantities import NONE, show_c, show_mm, show_s
from .book.store import book_path, opened
from .errors import FileError
from .inline import inline_svg, page_templates
from .logbook import read_run
from .writing import unwritable

# Slow changes show over a dozen runs; more than this only take time to read.
MOST_AGEING_RUNS = 60
EARLIEST = date(2000, 1, 1)
PLACED = {BY_PIECE: "by the day of its piece", BY_READING: "by the day it was read back"}


def hours(seconds: float) -> str:
    """A time as hours and minutes.

    seconds: of 0 or more.

    >>> hours(5460), hours(0)
    ('1 h 31 min', '0 min')
    """
    minutes = round(seconds / 60)
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def _lacking(unknown: int, runs: int, what: str) -> str:
    """What a sum leaves out, "" where nothing."""
    if not unknown:
        return ""
    return f"{'every run' if unknown == runs else f'{unknown} of {runs} runs'} without {what}"


def sum_rows(found: Sums) -> list[tuple[str, str, str]]:
    """A line for each sum: what, how much, and what is missing in it.

    found: of real or of simulated runs.
    """
    energy = f"{found.energy_kwh:.2f} kWh" if found.energy_unknown < found.runs or not found.runs else NONE
    heat = hours(found.heat_s) if found.heat_unknown < found.runs or not found.runs else NONE
    powers = "known heat: fetch with --rig, which states the powers; what only watches has none"
    return [
        ("Sides bent, by the notebook", str(found.sides), ""),
        ("Runs", str(found.runs), ""),
        ("Under way", hours(found.seconds), ""),
        ("Of it at bending heat", heat, _lacking(found.heat_unknown, found.runs, "a reading")),
        (
            "Energy, by relay time and rated power, as at rated mains",
            energy,
            _lacking(found.energy_unknown, found.runs, powers),
        ),
    ]


def trouble(runs: Sequence[MonthRun]) -> list[tuple[date, str, str, str]]:
    """Shutdowns and refused starts: day, what, which run, why.

    runs: of the month.
    """
    names = {"trip": "shut down", "refused": "start refused"}
    unknown = "not known here: its run file is not where it was"
    return [
        (run.day, names[run.ending], run.name, run.cause or unknown)
        for run in runs
        if run.ending is not None and run.ending in names
    ]


def _tests(boards: Sequence[str], now: date) -> list[tuple[str, str, str, bool]]:
    """For each board and test: board, name, when it was passed last, whether it is due."""
    found = []
    for board in boards:
        due = {str(one["test"]) for one in monthly.due(board, now=now)}
        for test in monthly.TESTS:
            last = monthly.last_day(board, test.word)
            found.append((board, test.name, "never noted" if last is None else str(last), test.word in due))
    return found


def _ageing_files(month: Month, files: Sequence[Path], *, book: bool) -> list[Path]:
    """Readable files of the real runs up to the month's end, of rigs and profiles that ran in it; files named
    count whatever their month.
    """
    kinds = {(run.board, run.rig, run.profile_hash) for run in month.runs}
    named = [file_run(path) for path in files]
    known = {run.key: run for run in named if run.day <= month.last}
    if book:
        known |= {run.key: run for run in book_runs(EARLIEST, month.last, causes=False)}
    chosen = [
        run
        for run in known.values()
        if not run.simulated and run.file is not None and (run.board, run.rig, run.profile_hash) in kinds
    ]
    chosen.sort(key=lambda run: run.day)
    paths = []
    for run in chosen[-MOST_AGEING_RUNS:]:
        try:
            if run.file is not None and read_run(run.file).rows:
                paths.append(run.file)
        except FileError:
            continue
    return paths


def _ageing(paths: Sequence[Path]) -> list[Mapping[str, Any]]:
    if not paths:
        return []
    try:
        return list(ageing(paths)["groups"])
    except FileError:
        return []


def _switching(month: Month, boards: Sequence[str]) -> list[Mapping[str, Any]]:
    """What each board counted around the month, by zone; `apart` is None where nothing tells."""
    found: list[Mapping[str, Any]] = []
    for board in boards:
        file = next((run.file for run in month.runs if run.board == board and run.file), None)
        zones: Sequence[str] = ()
        if file is not None:
            try:
                zones = read_run(file).zones
            except FileError:
                zones = ()
        apart = counted.between(board, month.first, month.last)
        rows = []
        for at in range(len(apart.switches) if apart else 0):
            name = zones[at] if apart and at < len(zones) == len(apart.switches) else f"zone {at + 1}"
            rows.append((name, apart.switches[at] if apart else 0, hours(apart.on_s[at] if apart else 0)))
        found.append({"board": board, "apart": apart, "zones": rows})
    return found


def _alt(month: Month) -> str:
    measured = len([side for side in month.sprung if side.now])
    return (
        f"Minutes under way on each day of {month.title}, and spring-back against set temperature of "
        f"{measured} sides of the month and {len(month.sprung) - measured} earlier ones. The tables give the "
        "same in figures."
    )


def run(
    month_text: str,
    files: Sequence[Path],
    *,
    out: Path | None,
    book_file: Path | None,
    unit: str,
    lengths: str,
) -> tuple[Path, dict[str, Any]]:
    """Write a month's page with its picture; the page, and what it tells as a mapping.

    month_text: as 2026-11. files: run files beside the notebook. out: folder, None for month-2026-11 here.
    book_file: the notebook, None for the user's own. unit, lengths: to show. Raises UsageError, FileError.
    """
    days = days_of(month_text)
    folder = out or Path(f"month-{month_text}")
    path = book_path(book_file)
    # Whoever names a notebook, or nothing else, is told when there is none.
    book = path.is_file() or book_file is not None or not files
    with ExitStack() as stack:
        if book:
            stack.enter_context(opened(path))
        month = collect(days, files, book=book)
        verdicts = all_verdicts(unit) if book else {}
        bent = set(month.pieces)
        lines = [line for line in listing.sides(simulated=False) if line.piece in bent] if book else []
        ageing_files = _ageing_files(month, files, book=book)
    return _write(month, folder, verdicts, lines, _ageing(ageing_files), unit, lengths)


def _write(
    month: Month,
    folder: Path,
    verdicts: Mapping[str, str],
    lines: Sequence[listing.SideLine],
    groups: Sequence[Mapping[str, Any]],
    unit: str,
    lengths: str,
) -> tuple[Path, dict[str, Any]]:
    boards = sorted({run.board for run in month.runs})
    switching, tests = _switching(month, boards), _tests(boards, monthly.today())
    pieces: dict[str, list[listing.SideLine]] = {name: [] for name in month.pieces}
    for line in lines:
        pieces[line.piece].append(line)
    real, simulated = sums(month.runs), sums(month.simulated)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        svg = month_draw.save(month, folder, unit, lengths)[1].read_text(encoding="utf-8")
    except OSError as error:
        raise unwritable(folder, error, "choose another folder with -o") from error
    path = folder / "month.html"
    text = (
        page_templates()
        .get_template("month.html.j2")
        .render(
            month=month,
            sums=sum_rows(real),
            simulated=sum_rows(simulated) if month.simulated else [],
            simulated_trouble=trouble(month.simulated),
            placed=[(run.name, PLACED[run.placed]) for run in month.runs if run.placed in PLACED],
            pieces=pieces,
            verdicts=verdicts,
            loose=[run for run in month.runs if run.piece is None],
            trouble=trouble(month.runs),
            switching=switching,
            tests=tests,
            groups=groups,
            picture=inline_svg(svg, _alt(month)),
            today=monthly.today(),
            due_days=monthly.DUE_DAYS,
            version=__version__,
            temperature=lambda value: show_c(value, unit),
            minutes=show_s,
            gap=lambda value: show_mm(value, lengths, signed=True),
            defect=telling.defect_words,
        )
    )
    write_page(path, text)
    told = {
        "schema": 1,
        "month": month.first.isoformat()[:7],
        "page": str(path),
        "real": asdict(real),
        "simulated": asdict(simulated),
        "pieces": {name: verdicts.get(name) for name in month.pieces},
        "trouble": [[str(day), *rest] for day, *rest in trouble(month.runs)],
        "spring_back": [asdict(side) for side in month.sprung],
        "defects": [[piece, which, telling.defect_words(row)] for piece, which, row in month.defects],
        "tests": [list(one) for one in tests],
        "switchings": [
            {"board": one["board"], "zones": [list(row[:2]) for row in one["zones"]]} for one in switching
        ],
        "ageing": [list(group["trends"]) for group in groups],
    }
    return path, told
