"""The command page: the run on a tablet or phone at the bench."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import click

from .cli_book_options import SIDES, book_option
from .cli_common import FILE, connected, port_option, say, unit_option
from .errors import UsageError


@click.command()
@click.argument("profile", type=FILE, required=False)
@port_option
@click.option(
    "--listen",
    metavar="ADDRESS[:PORT]",
    default="127.0.0.1:8130",
    show_default=True,
    help="Where browsers reach the page. Anything but loopback asks each of them for a pairing code.",
)
@click.option("--rig", "rig_path", type=FILE, metavar="FILE", help="Rig file, to place its blankets.")
@click.option(
    "--rehearsal", type=FILE, metavar="FILE", help="The rehearsal.json of PROFILE, as a band behind the run."
)
@click.option("--last", type=FILE, metavar="FILE", help="An earlier run read back, as a line to compare.")
@click.option("--piece", metavar="NAME", help="The instrument in the notebook, for remarks and photos.")
@click.option("--side", "which", type=SIDES, help="Which side of it.")
@book_option
@unit_option
def page(
    profile: Path | None,
    port: str | None,
    listen: str,
    rig_path: Path | None,
    rehearsal: Path | None,
    last: Path | None,
    piece: str | None,
    which: str | None,
    book_file: Path | None,
    unit: str | None,
) -> None:
    """Show the run on a page for a tablet or phone at the bench: how hot the wood is, how long, what next.

    It can ask for a stop, for less heat, for going on, and within the board's narrow bounds for more time or
    another target. It can never begin heating: that is a press AT THE RIG. With PROFILE the page knows the
    stages before the run begins; else it reads them from the run's log.
    """
    from .book.store import book_path
    from .page.command import Wanted, serve
    from .page.notes import Notebook

    if (piece is None) != (which is None):
        raise UsageError("--piece and --side belong together", "give both, or neither")
    if piece is not None and not piece.strip():
        raise UsageError(
            "--piece is empty", "name the instrument as the notebook calls it, or leave both out"
        )
    notebook = Notebook(book_path(book_file), piece.strip(), which) if piece and which else None
    wanted = Wanted(listen, profile, rig_path, rehearsal, last, notebook, unit)
    serve(partial(connected, port), wanted, say)
