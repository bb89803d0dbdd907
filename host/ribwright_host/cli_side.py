"""Options that say which side a strip is and how it lies."""

import click

from .cli_book_options import SIDES
from .cli_common import FILE, F

OPTIONS = (
    click.option(
        "--side", "hand", type=SIDES, help="Which side it is: drawn as it must lie, kept with the run."
    ),
    click.option("--piece", metavar="NAME", help="The instrument, as the notebook calls it."),
    click.option(
        "--neck-end", type=click.Choice(["left", "right"]), help="Where the form's neck end points."
    ),
    click.option("--show-face", metavar="MARK", help="Your mark on the face that shows."),
    click.option("--top-edge", metavar="MARK", help="Your mark on the edge at the soundboard."),
    click.option("--waist-mark", metavar="LENGTH", help="The waist, from the neck end: 255, 255mm or 10in."),
    click.option("--drawing", type=FILE, metavar="FILE", help="Draw it as SVG as well."),
)


def side_options(function: F) -> F:
    """Add --side and what goes with it.

    function: the command that gets them, before click makes a command of it; it is given back.
    """
    for option in reversed(OPTIONS):
        function = option(function)
    return function
