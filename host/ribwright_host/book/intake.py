"""Fetched runs taken into the book: each belongs to one side; taking it in again does no harm."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ribwright_host.errors import FileError
from ribwright_host.logbook import read_run
from ribwright_host.runlog import RunLog
from ribwright_host.side.kept import book_facts, laid_words

from .heat import CURVE_STEP_S, ENDINGS, Sums, curve, pack, run_sums, side_sums
from .models import (
    SUMS,
    WHICH,
    Curve,
    Defect,
    Measurement,
    Photo,
    Piece,
    Run,
    RunZone,
    Side,
    Thickness,
    open_book,
)

WHOLE = "all along"
# Boards count runs to five digits.
MOST_NUMBER = 99999
# Facts of a blank that the run's own profile states.
FROM_PROFILE = ("species", "length_mm", "width_mm", "tightest_radius_mm", "wetted", "moisture_percent")


@dataclass(frozen=True)
class Given:
    """What the maker says beside the run.

    piece, which: the side it belongs to. piece_facts, side_facts: by column. thickness_mm: by place. move: a
    run that stands at another side may be moved here.
    """

    piece: str
    which: str
    piece_facts: Mapping[str, Any] = field(default_factory=dict)
    side_facts: Mapping[str, Any] = field(default_factory=dict)
    thickness_mm: Mapping[str, float] = field(default_factory=dict)
    move: bool = False


@dataclass(frozen=True)
class Taken:
    """What became of one file. outcome: "taken in", "already in", "brought up to date" or "moved"."""

    path: Path
    run_id: int
    outcome: str
    piece: str
    which: str
    simulated: bool


def run_key(run: RunLog) -> str:
    """What tells a run from any other: 24 digits of the hash of its header, which names board, number, time.

    run: as read. The same from the board's log and from its CSV.
    """
    text = json.dumps(run.header, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def read_for_book(path: Path) -> RunLog:
    """A run that may stand in a book.

    path: its CSV or the board's log. Raises FileError as read_run(), unknown_board, nothing_recorded.
    """
    run = read_run(path)
    if not isinstance(run.header.get("board"), str):
        raise FileError(
            f"{path} does not say which board it comes from, so it cannot be told from a simulated run",
            "fetch the run again",
            code="unknown_board",
        )
    if not run.rows:
        raise FileError(
            f"{path} holds no second of a run", "nothing is lost: leave it out", code="nothing_recorded"
        )
    return run


def laid_as(paths: Sequence[Path], piece: str | None, which: str | None) -> tuple[str | None, str | None]:
    """Piece and side of runs as they were laid out, where they agree and nothing else was said.

    paths: CSV files or the board's logs. piece, which: as given, None where not. A file that is no run tells
    nothing here; taking it in says what is wrong with it.
    """
    told: list[tuple[object, object]] = []
    for path in paths if piece is None or which is None else ():
        try:
            laid = read_run(path).laid
        except FileError:
            laid = {}
        told.append((laid.get("piece"), laid.get("hand")))
    if len(set(told)) != 1:
        return piece, which
    name, hand = told[0]
    return piece or (name if isinstance(name, str) else None), which or (hand if hand in WHICH else None)


def take_in(path: Path, given: Given) -> Taken:
    """Take one run into the open book, all of it or nothing.

    path: its CSV or the board's log. given: what the maker says.
    Raises FileError: as read_for_book(), other_hand, mixed_piece, other_side, fewer_facts.
    """
    run = read_for_book(path)
    hand = run.laid.get("hand")
    if hand is not None and hand != given.which and not given.move:
        raise FileError(
            f"{path} was laid out as the {hand} side, it is to be taken in as {given.which}",
            f"say --side {hand}, or --move where the start was told wrongly",
            code="other_hand",
        )
    with open_book.atomic("IMMEDIATE"):
        piece = _piece(run, given, path)
        side = _side(run, piece, given)
        known = Run.get_or_none(Run.key == run_key(run))
        if known is None:
            row, outcome = _write(run, path, side), "taken in"
        else:
            row, outcome = known, _again(run, path, known, side, move=given.move)
        resum(side)
    return Taken(path, int(row.id), outcome, piece.name, side.which, run.simulated)


def _piece(run: RunLog, given: Given, path: Path) -> Piece:
    piece = Piece.get_or_none(Piece.name == given.piece)
    if piece is None:
        unix = run.started_unix or run.fetched_unix
        day = datetime.fromtimestamp(unix or path.stat().st_mtime, UTC).date()
        piece = Piece.create(name=given.piece, simulated=run.simulated, made_on=day.isoformat())
    if piece.simulated != run.simulated:
        kinds = ("a real run", "a simulated run")
        raise FileError(
            f"{path} is {kinds[run.simulated]}, {given.piece} holds {kinds[piece.simulated]} already; "
            "the two are kept apart",
            "give it a piece of its own with --piece",
            code="mixed_piece",
        )
    _set(piece, given.piece_facts)
    return piece


def _side(run: RunLog, piece: Piece, given: Given) -> Side:
    """The side, made when it is new with what the profile says of the blank."""
    stated = run.header.get("profile")
    listed = stated.get("piece") if isinstance(stated, dict) and run.stages() else None
    listed = listed if isinstance(listed, dict) else {}
    side, new = Side.get_or_create(piece=piece, which=given.which)
    if new:
        _set(side, {name: listed[name] for name in FROM_PROFILE if listed.get(name) is not None})
        if run.laid.get("hand") == given.which:
            _set(side, book_facts(run.laid))
        if not given.thickness_mm and isinstance(listed.get("thickness_mm"), int | float):
            plies = listed.get("plies", 1)
            Thickness.create(side=side, place=WHOLE, thickness_mm=float(listed["thickness_mm"]) * plies)
    _set(side, given.side_facts)
    if given.thickness_mm:
        Thickness.delete().where(Thickness.side == side).execute()
        for place, thickness_mm in given.thickness_mm.items():
            Thickness.create(side=side, place=place, thickness_mm=thickness_mm)
    return side


def _set(row: Piece | Side, facts: Mapping[str, Any]) -> None:
    """Write facts that are known; an empty text is not known."""
    known = {name: value for name, value in facts.items() if value is not None and value != ""}
    for name, value in known.items():
        setattr(row, name, float(value) if name.endswith(("_mm", "_percent", "_g")) else value)
    if known:
        row.save()


def _again(run: RunLog, path: Path, known: Run, side: Side, *, move: bool) -> str:
    """A run that the book holds already: moved if that was asked for, written anew if the file tells more."""
    outcome = "already in"
    if known.side.id != side.id:
        if not move:
            there = known.side
            raise FileError(
                f"{path} stands in the book already, at {there.piece.name}, {there.which}",
                "say --move to put it here instead",
                code="other_side",
            )
        left, known.side, outcome = known.side, side, "moved"
        known.save()
        resum(left)
        _forget_if_empty(left)
    energy_is_new = known.energy_kwh is None and bool(run.power_w)
    longer_s = _seconds(run) - float(known.seconds)
    if longer_s > 0 or (longer_s == 0 and energy_is_new):
        RunZone.delete().where(RunZone.run == known).execute()
        for name, value in _columns(run, path).items():
            setattr(known, name, value)
        known.save()
        _write_zones(run, known)
        outcome = "brought up to date"
    return outcome


def _forget_if_empty(side: Side) -> None:
    """Take a side out that holds nothing but facts of its blank, and its piece if that was its last."""
    below = (Run, Measurement, Defect, Photo)
    if any(model.select().where(model.side == side).exists() for model in below):
        return
    piece = side.piece
    side.delete_instance()
    if not Side.select().where(Side.piece == piece).exists():
        piece.delete_instance()


def _seconds(run: RunLog) -> float:
    return run.rows[-1].at_ms / 1000


def _columns(run: RunLog, path: Path) -> dict[str, Any]:
    """What a run's row holds, but for key and side."""
    number = run.header.get("run")
    ending = next((event.name for event in reversed(run.events) if event.name in ENDINGS), None)
    files = {
        f"{name}_path": str(path.with_suffix(suffix).resolve())
        for name, suffix in (("csv", ".csv"), ("json", ".json"), ("log", ".rlg"))
        if path.with_suffix(suffix).is_file()
    }
    return {
        "board": run.word("board"),
        "number": number if isinstance(number, int) and 0 <= number <= MOST_NUMBER else None,
        "simulated": run.simulated,
        "started_unix": run.started_unix,
        "fetched_unix": run.fetched_unix,
        "profile": run.profile_name,
        "profile_hash": run.word("profile_hash"),
        "rig": run.word("rig"),
        "firmware": run.word("fw"),
        "ending": ending,
        "sha256": hashlib.sha256(path.read_bytes()).hexdigest(),
        "laid": laid_words(run.laid) or None,
        "seconds": _seconds(run),
        **files,
        **run_sums(run)[0].as_fields(),
    }


def _write(run: RunLog, path: Path, side: Side) -> Run:
    row = Run.create(key=run_key(run), side=side, **_columns(run, path))
    _write_zones(run, row)
    return row


def _write_zones(run: RunLog, row: Run) -> None:
    for zone, sums in enumerate(run_sums(run)[1]):
        kept = RunZone.create(run=row, zone=run.zones[zone], **sums.as_fields())
        Curve.create(run_zone=kept, step_s=CURVE_STEP_S, packed=pack(curve(run, zone)))


def resum(side: Side) -> None:
    """Sum the runs of a side anew.

    side: a row of the open book, saved.
    """
    rows = Run.select().where(Run.side == side).order_by(Run.started_unix, Run.number, Run.id)
    runs = [Sums(*(getattr(row, name) for name in SUMS)) for row in rows]
    fields = side_sums(runs).as_fields() | {"runs_count": len(runs)}
    Side.update(fields).where(Side.id == side.id).execute()
