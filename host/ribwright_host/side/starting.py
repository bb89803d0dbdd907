"""Which strip a start is of: drawn as it must lie, asked about, and kept with the run that is laid out."""

import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click

from ribwright_host.book.quantities import length_mm
from ribwright_host.errors import FileError, UsageError
from ribwright_host.link import Board
from ribwright_host.profiles import ProfileFile
from ribwright_host.rigs import load_rig

from . import kept
from .facts import POINTS, Values, other, problems_of, side_of
from .lay import Lay, lay_of, words
from .picture import drawn_for, show

QUESTION = "Does the strip lie so, and is all of this so?"
LENGTH_KEYS = {"waist_mark": ("waist_mark_mm", "the waist mark")}


def somebody() -> bool:
    """Whether somebody sits at a terminal and can be asked."""
    return sys.stdin.isatty()


@dataclass
class Laying:
    """One strip that is about to be laid out.

    lay: how it must lie. stated: its [side], with what options changed. piece: of the notebook, or None.
    warnings: what speaks against it. answer: of whoever was asked.
    """

    lay: Lay
    stated: Values
    piece: str | None
    warnings: list[str] = field(default_factory=list)
    answer: str = kept.NOT_ASKED

    @property
    def hand(self) -> str:
        """Which side it is."""
        return self.lay.side.hand

    def lines(self) -> list[str]:
        """Words and warnings."""
        return [*words(self.lay), *self.lay.notes, *(f"MIND: {text}" for text in self.warnings)]

    def show(self, *, as_json: bool) -> None:
        """Draw it; for programs to standard error, where a person may still read it.

        as_json: whether a program reads standard output, as --json.
        """
        if not as_json:
            show(self.lay, self.lines())
            return
        for line in (*drawn_for(self.lay, sys.stderr.encoding), *self.lines()):
            click.echo(line, err=True)

    def confirmed(self, *, yes: bool, as_json: bool) -> bool:
        """Whether to go on: asked in a terminal, said that nobody was asked where there is none.

        yes: whether to ask nobody, as --yes. as_json: as show().
        """
        self.show(as_json=as_json)
        if yes or not somebody():
            why = "--yes" if yes else "there is no terminal"
            click.echo(f"Nobody was asked whether the strip lies so ({why}).", err=as_json)
            return True
        if not click.confirm(QUESTION, err=as_json):
            return False
        self.answer = kept.YES
        return True

    def keep(self, board: Board, run: int, chosen: Mapping[str, str], path: Path | None = None) -> None:
        """Keep it for the run's files. The run is laid out by now, so a note that cannot be kept is said
        only.

        board, run: which it is. chosen: name and hash of the profile. path: of the notes, None for the
        user's.
        """
        note = {
            "board": board.board_id,
            "rig": board.rig,
            "run": run,
            "profile": chosen["name"],
            "profile_hash": chosen["hash"],
            "hand": self.hand,
            "piece": self.piece,
            "answer": self.answer,
            "side": self.stated,
        }
        try:
            kept.keep(note, path)
        except FileError as error:
            click.echo(f"Which side this is was not kept: {error.line()}", err=True)

    def as_json(self) -> Values:
        """The same for a program."""
        return {
            "hand": self.hand,
            "piece": self.piece,
            "answer": self.answer,
            "top_edge": self.lay.top_edge,
            "face": self.lay.face,
            "neck_end": self.lay.neck,
            "warnings": self.warnings,
            "notes": list(self.lay.notes),
        }


def agreed(laying: Laying | None, *, yes: bool, as_json: bool) -> bool:
    """Whether the run may be laid out: a strip whose side is known is drawn first, and one question serves
    both.

    laying: None where no side was named. yes: as --yes. as_json: answers go to a program.
    """
    if laying is not None:
        return laying.confirmed(yes=yes, as_json=as_json)
    return yes or click.confirm("Is all of this so?", err=as_json)


def laying_of(
    checked: ProfileFile | None,
    options: Mapping[str, Any],
    board: Board,
    rig_path: Path | None,
    *,
    may_ask: bool,
) -> Laying | None:
    """The strip that a start is of; None where no side was named.

    checked: the profile. options: of cli_side.side_options. board: that it is for. rig_path: as --rig.
    may_ask: somebody sits at the keyboard. Raises UsageError and FileError.
    """
    hand = options.get("hand")
    if hand is None:
        given = [name for name in options if name != "hand" and options[name] is not None]
        if given:
            raise UsageError(
                f"--{given[0].replace('_', '-')} is given without --side", "say --side bass or treble"
            )
        return None
    if checked is None:
        raise UsageError(
            "--side needs the profile's file: the board keeps no marks",
            f"name it: ribwright start PROFILE --side {hand}",
        )
    stated = _stated(checked, hand, options, may_ask=may_ask)
    zones = _zones(checked.path, rig_path, board)
    lay = lay_of(side_of(stated, hand), checked.mapping["piece"], zones)
    piece = (options.get("piece") or "").strip() or None
    found = Laying(lay, stated, piece, _warnings(hand, piece, checked.name, simulated=board.simulated))
    if options.get("drawing"):
        from .sheet import save

        save(lay, options["drawing"], simulated=board.simulated)
    return found


def _stated(checked: ProfileFile, hand: str, options: Mapping[str, Any], *, may_ask: bool) -> Values:
    """The [side] that counts: the file's, and in its place what options say of this hand."""
    stated: Values = dict(checked.side or {})
    own: Values = dict(stated.get(hand, {}))
    for key in ("show_face", "top_edge"):
        if options.get(key):
            own[key] = options[key]
    for key, (column, what) in LENGTH_KEYS.items():
        if options.get(key):
            own[column] = length_mm(options[key], what, 1, 1500)
    if own:
        stated[hand] = own
    if options.get("neck_end"):
        stated["neck_end"] = options["neck_end"]
    if not stated.get("neck_end") and may_ask and somebody():
        stated["neck_end"] = click.prompt(
            "Where the neck end of the form points, from where you stand", type=click.Choice(POINTS), err=True
        )
    if not stated.get("neck_end"):
        raise UsageError(
            f"{checked.path} does not say where the neck end of the form points, left or right from where "
            "you stand",
            "state neck_end under [side], or say --neck-end",
            code="no_neck_end",
        )
    problems = problems_of(stated, checked.mapping, None)
    if problems:
        text, _, hint = problems[0].text.partition("; ")
        raise UsageError(f"{problems[0].place()} {text}", hint, code=problems[0].code)
    return stated


def _zones(profile: Path, rig_path: Path | None, board: Board) -> list[Values] | None:
    """The blankets of the board's rig, where its file is at hand: --rig, or rig.toml beside the profile."""
    path = rig_path or profile.with_name("rig.toml")
    if not path.is_file():
        return None
    try:
        rig = load_rig(path)
    except FileError:
        # One that was named has been read already; one that merely lies there may be anything.
        return None
    return list(rig.mapping["zones"]) if rig.hash == board.rig else None


def _warnings(hand: str, piece: str | None, profile: str, *, simulated: bool) -> list[str]:
    """What speaks for this strip being the other one of its pair."""
    of = f"of {piece}" if piece else f"by the profile {profile}"
    told = []
    last = kept.last_of(piece, profile)
    if last is not None and last.get("hand") == hand:
        when = last.get("unix")
        day = datetime.fromtimestamp(when, UTC).date().isoformat() if isinstance(when, int) else "before"
        told.append(
            f"the strip {of} laid out last was a {hand} side too (run {last.get('run')}, {day}). If that one "
            f"was bent, this one has to be the {other(hand)} side."
        )
    elif piece and (runs := _in_book(piece, hand, simulated=simulated)):
        counted = "1 run" if runs == 1 else f"{runs} runs"
        told.append(
            f"the notebook has the {hand} side of {piece} already ({counted}) and no {other(hand)} side. If "
            f"that one was bent, this one has to be the {other(hand)} side."
        )
    return told


def _in_book(piece: str, hand: str, *, simulated: bool) -> int:
    """Runs of this side in the notebook, where the other side has none."""
    from ribwright_host.book.store import book_path

    path = book_path()
    if not path.is_file():
        return 0
    from ribwright_host.book.models import Piece, Side
    from ribwright_host.book.store import opened

    try:
        with opened(path):
            found = Piece.get_or_none((Piece.name == piece) & (Piece.simulated == simulated))
            sides = [] if found is None else list(Side.select().where(Side.piece == found))
            runs = {side.which: int(side.runs_count) for side in sides}
    except FileError:
        # A notebook that cannot be read is no reason to lay nothing out.
        return 0
    return 0 if runs.get(other(hand)) else runs.get(hand, 0)
