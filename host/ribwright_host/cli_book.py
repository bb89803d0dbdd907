"""The notebook's commands."""

import sys
from datetime import date
from pathlib import Path
from typing import Any

import click

from .cli_common import FILE, F, json_option, say, say_json, unit_option
from .errors import UsageError

SIDES = click.Choice(["bass", "treble"])


def book_option(function: F) -> F:
    """Add --book."""
    return click.option(
        "--book",
        "book_file",
        type=FILE,
        metavar="FILE",
        help="The notebook [default: in your data folder, or RIBWRIGHT_BOOK].",
    )(function)


def lengths_option(function: F) -> F:
    """Add --lengths."""
    return click.option(
        "--lengths",
        type=click.Choice(["mm", "in"]),
        default="mm",
        show_default=True,
        help="Show lengths in this unit.",
    )(function)


def kind_option(function: F) -> F:
    """Add --simulated and --real."""
    return click.option(
        "--simulated/--real", "simulated", default=None, help="Only simulated runs, or only real ones."
    )(function)


@click.group()
def book() -> None:
    """Keep a notebook: what was bent, how, what came of it, and what to change next time.

    A PIECE is one instrument's pair of sides, bass and treble. Lengths are taken in mm, weights in g,
    temperatures in C, unless you write the unit: 0.067in, 1.85oz, 260F. Simulated runs stand apart, say so in
    every list, and teach nothing.
    """


@book.command()
@click.argument("files", metavar="RUN...", type=FILE, nargs=-1, required=True)
@click.option("--piece", metavar="NAME", help="The instrument these belong to; new ones are begun.")
@click.option("--side", "which", type=SIDES, help="Which side.")
@click.option("--instrument", metavar="TEXT", help="What it is, such as: baritone ukulele.")
@click.option("--date", "made_on", metavar="YYYY-MM-DD", help="Day of the piece [default: of its first run].")
@click.option("--remark", metavar="TEXT", help="Anything about the side.")
@click.option("--species", metavar="TEXT", help="The wood [default: as the run's profile says].")
@click.option(
    "--thickness",
    metavar="T[@PLACE]",
    multiple=True,
    help="Thickness, once or for each place: 1.7, 1.65@waist, 0.067in@'lower bout'.",
)
@click.option("--radius", metavar="LENGTH", help="Tightest inside radius.")
@click.option("--before", metavar="WEIGHT", help="Weight of the blank before wetting.")
@click.option("--after", metavar="WEIGHT", help="Its weight after wetting.")
@click.option(
    "--wetted", metavar="TEXT", help="How it was wetted: dry, misted, wiped, soaked, or your words."
)
@click.option("--moisture", type=click.FloatRange(0, 200), metavar="PERCENT", help="Moisture as it was bent.")
@click.option("--show-face", metavar="TEXT", help="Which face shows, as you marked it.")
@click.option("--top-edge", metavar="TEXT", help="Which edge is the top.")
@click.option("--neck-end", metavar="TEXT", help="Which end is the neck's.")
@click.option("--waist-mark", metavar="TEXT", help="Where the waist was marked.")
@click.option("--taper", metavar="TEXT", help="Widths or taper of the side.")
@click.option("--move", is_flag=True, help="Move a run that stands at another side.")
@book_option
@json_option
def add(
    files: tuple[Path, ...],
    piece: str | None,
    which: str | None,
    thickness: tuple[str, ...],
    move: bool,
    book_file: Path | None,
    as_json: bool,
    **facts: Any,  # noqa: ANN401 - the rest of the options, by name
) -> None:
    """Take fetched RUNs into the notebook, each file the CSV or the board's own log.

    All of them belong to one side. What the run's profile says of the wood is taken over; options correct it.
    A run that is in already is not taken in twice.
    """
    from .book.facts import given_from
    from .book.intake import take_in
    from .book.store import book_path, opened

    piece, which = _asked(piece, which, as_json=as_json)
    given = given_from(piece, which, thickness, facts, move=move)
    path = book_path(book_file)
    with opened(path, make=True):
        taken = [take_in(file, given) for file in files]
    if as_json:
        told = [{"file": str(one.path), "outcome": one.outcome, "simulated": one.simulated} for one in taken]
        say_json({"book": str(path), "piece": piece, "side": which, "runs": told})
        return
    for one in taken:
        mark = " (SIMULATED)" if one.simulated else ""
        say(f"{one.path}: {one.outcome}, {one.piece}, {one.which}{mark}")
    say(f"Next, once it has rested: ribwright book measure {piece!r} {which}")


def _asked(piece: str | None, which: str | None, *, as_json: bool) -> tuple[str, str]:
    """Piece and side, asked for where somebody sits at the keyboard."""
    if (piece is None or which is None) and (as_json or not sys.stdin.isatty()):
        missing = "--piece" if piece is None else "--side"
        raise UsageError(f"{missing} is not given, and nobody can be asked", f"say {missing}")
    piece = piece or click.prompt("Which instrument (its name in the notebook)", type=str)
    which = which or click.prompt("Which side", type=SIDES)
    if not piece.strip():
        raise UsageError("the piece has an empty name", "give it one with --piece")
    return piece.strip(), which


@book.command(name="list")
@click.option("--month", metavar="YYYY-MM", help="Only pieces of this month.")
@click.option("--runs", "with_runs", is_flag=True, help="List the runs of each side too.")
@kind_option
@unit_option
@lengths_option
@book_option
@json_option
def list_(
    month: str | None,
    with_runs: bool,
    simulated: bool | None,
    unit: str | None,
    lengths: str,
    book_file: Path | None,
    as_json: bool,
) -> None:
    """List pieces with their sides, the newest first."""
    from .book.listing import list_lines, runs, sides
    from .book.store import book_path, opened

    month = month and _month(month)
    with opened(book_path(book_file)):
        found = sides(month, simulated=simulated)
        run_rows = runs(month, simulated=simulated) if with_runs else []
    if as_json:
        told = {"sides": [side.as_json() for side in found]}
        say_json(told | ({"runs": run_rows} if with_runs else {}))
    elif not found:
        say("Nothing like that stands in the notebook yet.")
    else:
        for line in list_lines(found, run_rows, unit or "C", lengths):
            say(line)


def _month(text: str) -> str:
    """A month as ISO 8601 writes it."""
    try:
        return date.fromisoformat(f"{text}-01").isoformat()[:7]
    except ValueError:
        raise UsageError(f"{text!r} is not a month", "write it like 2026-11") from None
