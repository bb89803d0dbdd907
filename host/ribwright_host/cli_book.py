"""The notebook's commands that keep it: add, list, show, measure."""

import sys
from datetime import date
from pathlib import Path
from typing import Any

import click

from .cli_book_judge import compare, export, import_, learn
from .cli_book_options import SIDES, book_option, kind_option, lengths_option
from .cli_common import FILE, json_option, say, say_json, unit_option
from .errors import UsageError


class InOrder(click.Group):
    """A group that lists its commands as the work goes."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order in which they were added; ctx: click's context, passed over."""
        return list(self.commands)


@click.group(cls=InOrder)
def book() -> None:
    """Keep a notebook: what was bent, how, what came of it, and what to change next time.

    A PIECE is one instrument's pair of sides, bass and treble. Lengths are taken in mm, weights in g,
    temperatures in C, unless you write the unit: 0.067in, 1.85oz, 260F. Simulated runs stand apart, say so in
    every list, and teach nothing.
    """


@book.command(short_help="Take fetched runs in.")
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
@click.option("--form-at", metavar="TEMPERATURE", help="Of the form as the bend began: 24C or 75F.")
@click.option("--slat-at", metavar="TEMPERATURE", help="Of the slat then.")
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

    All of them belong to one side; one that was laid out with its side and piece knows both. What the run's
    profile says of the wood is taken over; options correct it.
    A run that is in already is not taken in twice; adding it again with other options corrects what they say.
    """
    from .book.facts import given_from
    from .book.intake import laid_as, take_in
    from .book.store import book_path, opened

    piece, which = _asked(*laid_as(files, piece, which), as_json=as_json)
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
    say(f'Next, once it has rested: ribwright book measure "{piece}" {which}')


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


@book.command(name="list", short_help="List pieces, sides and runs.")
@click.option("--month", metavar="YYYY-MM", help="Only pieces of this month.")
@click.option("--runs", "with_runs", is_flag=True, help="List the runs of each side too.")
@click.option("-o", "--out", type=FILE, metavar="FILE", help="Write the list as a page (HTML) as well.")
@kind_option
@unit_option
@lengths_option
@book_option
@json_option
def list_(
    month: str | None,
    with_runs: bool,
    out: Path | None,
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
        if out is not None:
            from .book.pages import list_page
            from .book.pairs import all_verdicts

            title = f"Sides of {month}" if month else "All sides"
            list_page(found, all_verdicts(unit or "C"), out, title, unit or "C", lengths)
    if as_json:
        told = {"sides": [side.as_json() for side in found]}
        say_json(told | ({"runs": run_rows} if with_runs else {}))
    elif not found:
        say("Nothing like that stands in the notebook yet.")
    else:
        for line in list_lines(found, run_rows, unit or "C", lengths):
            say(line)
    if out is not None and not as_json:
        say(f"wrote {out}")


def _month(text: str) -> str:
    """A month as ISO 8601 writes it."""
    try:
        return date.fromisoformat(f"{text}-01").isoformat()[:7]
    except ValueError:
        raise UsageError(f"{text!r} is no month", "write year and month, as 2026-11", code="month") from None


@book.command(short_help="Show all of one piece.")
@click.argument("piece")
@unit_option
@lengths_option
@book_option
@json_option
def show(piece: str, unit: str | None, lengths: str, book_file: Path | None, as_json: bool) -> None:
    """Show all that the notebook holds of PIECE."""
    from .book.finding import piece_named
    from .book.pairs import whole_piece
    from .book.store import book_path, opened
    from .book.telling import piece_lines
    from .book.transfer import as_tree

    with opened(book_path(book_file)):
        found = whole_piece(piece_named(piece))
    if as_json:
        say_json(as_tree(found))
        return
    for line in piece_lines(found, unit or "C", lengths):
        say(line)


@book.command(short_help="Note spring-back, defects, pictures.")
@click.argument("piece")
@click.argument("which", metavar="SIDE", type=SIDES)
@click.option("--upper", metavar="GAP", help="Gap to the mould at the upper bout; above 0 it has opened.")
@click.option("--waist", metavar="GAP", help="The same at the waist.")
@click.option("--lower", metavar="GAP", help="The same at the lower bout.")
@click.option("--twist", type=click.FloatRange(-45, 45), metavar="DEGREES", help="Twist end to end.")
@click.option("--cup", metavar="LENGTH", help="Hollow across the side.")
@click.option("--on-form", type=click.FloatRange(0, 10000), metavar="HOURS", help="How long it lay clamped.")
@click.option("--since", type=click.FloatRange(0, 100000), metavar="HOURS", help="How long since release.")
@click.option(
    "--defect",
    "defects",
    metavar="KIND[@PLACE][:0-3]",
    multiple=True,
    help="cracked, scorched, stiff or 'gave way'; 0 looked for, not there, 1 slight, 2 shows, 3 lost.",
)
@click.option("--photo", "photos", type=FILE, metavar="FILE", multiple=True, help="A picture of the side.")
@click.option("--copy", is_flag=True, help="Copy pictures beside the notebook.")
@click.option("--remark", metavar="TEXT", help="What you saw.")
@click.option("--date", "noted", metavar="YYYY-MM-DD", help="Day of it [default: today].")
@book_option
@json_option
def measure(
    piece: str,
    which: str,
    defects: tuple[str, ...],
    photos: tuple[Path, ...],
    copy: bool,
    remark: str | None,
    noted: str | None,
    book_file: Path | None,
    as_json: bool,
    **facts: Any,  # noqa: ANN401 - the measured options, by name
) -> None:
    """Note what came of SIDE of PIECE after rest: gaps, twist, cup, defects, pictures, remarks.

    Earlier notes stay; the last measurement counts.
    """
    from .book.facts import day
    from .book.finding import piece_named, side_of
    from .book.results import add_photo, defect_from, measured_from, note
    from .book.store import book_path, opened

    noted = day(noted) if noted else None
    measured = measured_from(facts)
    wrong = [defect_from(text) for text in defects]
    if not (measured or wrong or photos or remark):
        raise UsageError("nothing is noted", "give at least one, such as --waist 0.8 or --remark")
    path = book_path(book_file)
    with opened(path):
        side = side_of(piece_named(piece), which)
        for photo in photos:
            add_photo(side, photo, path if copy else None)
        note(side, measured, wrong, remark, noted)
        name = side.piece.name
    if as_json:
        say_json({"piece": name, "side": which, "measured": measured, "defects": wrong})
    else:
        say(f"noted, {name}, {which}")


for command in (compare, learn, export, import_):
    book.add_command(command)
