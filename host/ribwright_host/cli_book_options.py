"""Options that the notebook's commands share.

function: the command that gets the option, before click makes a command of it; it is given back.
"""

import click

from .cli_common import FILE, F

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
