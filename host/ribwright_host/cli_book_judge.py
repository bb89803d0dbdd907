"""The notebook's commands that judge it, and that take it out and in: compare, learn, export, import."""

from pathlib import Path
from typing import Any

import click

from .cli_book_options import book_option, lengths_option
from .cli_common import FILE, json_option, say, say_json, unit_option
from .errors import FileError


@click.command(short_help="Hold the two sides of a piece against each other.")
@click.argument("piece")
@click.option("-o", "--out", type=FILE, metavar="DIR", help="Write the pair as a page with a drawing there.")
@unit_option
@lengths_option
@book_option
@json_option
def compare(
    piece: str, out: Path | None, unit: str | None, lengths: str, book_file: Path | None, as_json: bool
) -> None:
    """Compare the two sides of PIECE: what differs, by how much, and what to expect of it."""
    from .book.compare import verdict
    from .book.finding import piece_named
    from .book.pairs import whole_piece
    from .book.store import book_path, opened
    from .book.telling import pair_lines, sprung_words

    unit = unit or "C"
    with opened(book_path(book_file)):
        found = whole_piece(piece_named(piece))
    figures = found.figures()
    page = None
    if out is not None:
        from .book.pages import pair_page

        page = pair_page(found, out, unit, lengths)
    if as_json:
        told: dict[str, Any] = {
            "verdict": verdict(figures, unit, lengths),
            "sprung": sprung_words(found, lengths),
        }
        told |= {"piece": found.facts["name"], "page": None if page is None else str(page)}
        say_json(told | {"figures": [one.as_json() for one in figures], "simulated": found.simulated})
        return
    for line in pair_lines(found, figures, unit, lengths):
        say(line)
    if page is not None:
        say(f"wrote {page}")


@click.command(short_help="Ask what to change next time.")
@click.option("--species", metavar="WOOD", help="Learn from this wood, or from all [default: the newest].")
@click.option(
    "--aim", metavar="GAP", default="0", show_default=True, help="Mean gap to the mould that you want."
)
@unit_option
@lengths_option
@book_option
@json_option
def learn(
    species: str | None, aim: str, unit: str | None, lengths: str, book_file: Path | None, as_json: bool
) -> None:
    """Learn from your own measured sides what bears on spring-back, and what to set the next pair at.

    Only real sides that were measured after rest count. With too few it says so. What it suggests is a set
    temperature, like the newest side in all else; it never goes far from what was tried.
    """
    from .book import learn_words
    from .book.cases import collect, woods
    from .book.quantities import length_mm
    from .book.store import book_path, opened
    from .book.suggest import suggest, try_to_learn

    aim_mm = length_mm(aim, "the wanted gap", -30, 30)
    with opened(book_path(book_file)):
        found = collect(species)
        known = woods()
    if species and not found.cases:
        there = ", ".join(f"{name} ({sides})" for name, sides in known.items()) or "none yet"
        raise FileError(
            f"no real side of {species!r} is measured; measured are: {there}",
            "name one of these with --species, or say all",
            code="no_wood",
        )
    learned, why_not = try_to_learn(found.cases)
    suggestion = suggest(learned, found.cases, aim_mm, why_not)
    if as_json:
        say_json(learn_words.as_json(found, learned, suggestion))
        return
    for line in learn_words.learned_lines(found, learned, suggestion, unit or "C", lengths):
        say(line)


@click.command(short_help="Write the whole notebook into a folder.")
@click.argument("folder", type=FILE)
@book_option
@json_option
def export(folder: Path, book_file: Path | None, as_json: bool) -> None:
    """Write the whole notebook into FOLDER: book.json, which comes back exactly, and CSV for a spreadsheet.

    Pictures and run files stay where they are; their paths are written.
    """
    from .book import transfer
    from .book.store import book_path, opened

    with opened(book_path(book_file)):
        files = transfer.export(folder)
    if as_json:
        say_json({"files": [str(file) for file in files]})
        return
    for file in files:
        say(f"wrote {file}")


@click.command(name="import", short_help="Take an export in.")
@click.argument("folder", type=FILE)
@book_option
@json_option
def import_(folder: Path, book_file: Path | None, as_json: bool) -> None:
    """Take the export in FOLDER into the notebook, all of it or nothing.

    Pieces that stand there exactly so are passed over; one that differs is refused.
    """
    from .book.listing import counted
    from .book.store import book_path, opened
    from .book.transfer import bring_in

    path = book_path(book_file)
    with opened(path, make=True):
        counts = bring_in(folder)
    if as_json:
        say_json({"book": str(path), **counts})
    else:
        say(f"{path}: {counted(counts['new'], 'piece')} taken in, {counts['known']} there already")
