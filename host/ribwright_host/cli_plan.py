"""The command that plans a bend from a piece of wood."""

from pathlib import Path
from typing import Any

import click

from .cli_book_options import book_option, lengths_option
from .cli_common import FILE, json_option

LENGTH = "LENGTH"


@click.command()
@click.argument("piece", type=FILE, required=False)
@click.option("--like", metavar="JOB", help="Begin from a common job; --like list names them.")
@click.option("--species", metavar="WOOD", help="Which wood.")
@click.option("--cut", metavar="WORD", help="How it is sawn: quartersawn, flatsawn, rift.")
@click.option("--figure", metavar="WORD", help="plain, or what it shows: ribbon, curly, quilted.")
@click.option("--oiliness", metavar="WORD", help="dry or oily.")
@click.option("--thickness", metavar=LENGTH, help="Of one ply: 1.7, 1.7mm or 0.067in.")
@click.option("--bend-thickness", metavar=LENGTH, help="At the tightest place, where it differs.")
@click.option("--width", metavar=LENGTH, help="At the widest.")
@click.option("--length", metavar=LENGTH, help="Of the strip [default: the outline's].")
@click.option("--plies", type=click.IntRange(1, 6), metavar="N", help="Plies that slip on each other.")
@click.option("--wetted", type=click.Choice(["dry", "misted", "wiped", "soaked"]), help="How it is wetted.")
@click.option(
    "--moisture",
    "moisture_percent",
    type=click.FloatRange(2, 40),
    metavar="%",
    help="Its water, where it was weighed.",
)
@click.option("--radius", metavar=LENGTH, help="Tightest inside radius of the form.")
@click.option("--outline", type=FILE, metavar="FILE", help="The form's outline, SVG or DXF, in its place.")
@click.option(
    "--outline-unit",
    type=click.Choice(["mm", "cm", "in", "px", "pt", "pc"]),
    help="Unit of the drawing, where it states none or a wrong one.",
)
@click.option(
    "--shape",
    type=click.Choice(["waist", "waistless", "cutaway", "place"]),
    help="Of the side; place: one alone.",
)
@click.option(
    "--colour",
    type=click.Choice(["none", "faint", "visible"]),
    help="Darkest colour allowed; visible sands out [default: faint for pale or figured wood, else visible].",
)
@click.option("--hand", type=click.Choice(["bass", "treble"]), help="Which side strip one becomes.")
@click.option("--show-face", metavar="MARK", help="Your mark on the face that is outside on the instrument.")
@click.option("--top-edge", metavar="MARK", help="Your mark on the edge at the soundboard.")
@click.option(
    "--neck-end",
    type=click.Choice(["left", "right"]),
    help="Where the form's neck end points, from where you stand.",
)
@click.option("--form", type=click.Choice(["inside", "outside"]), help="Where the form lies at the bend.")
@click.option("--waist-mark", metavar=LENGTH, help="Of the waist, from the neck end.")
@click.option("--neck-width", metavar=LENGTH, help="Of the strip at its neck end.")
@click.option("--tail-width", metavar=LENGTH, help="Of the strip at its tail end.")
@click.option("--set-at", "set_", metavar="TEMPERATURE", help="Of the set: 127C or 260F.")
@click.option("--name", metavar="NAME", help="Of the profile.")
@click.option(
    "--rig",
    "rig_path",
    type=FILE,
    metavar="FILE",
    help="Rig file [default: rig.toml beside OUT, else the example].",
)
@click.option(
    "-o",
    "--out",
    type=FILE,
    default=Path("profile.toml"),
    show_default=True,
    metavar="FILE",
    help="The profile to write.",
)
@click.option("--unit", type=click.Choice(["C", "F"]), help="Of the profile [default: the rig's].")
@click.option("--yes", is_flag=True, help="Take every suggestion without asking.")
@click.option("--replace", is_flag=True, help="Write over a profile that is there.")
@lengths_option
@book_option
@json_option
def plan(
    piece: Path | None,
    rig_path: Path | None,
    out: Path,
    unit: str | None,
    lengths: str,
    book_file: Path | None,
    *,
    yes: bool,
    replace: bool,
    as_json: bool,
    set_: str | None,
    **options: Any,  # noqa: ANN401 - the keys of a piece file
) -> None:
    """Plan a bend: a profile for a piece of wood on a rig, with its reasons.

    PIECE is a file with the keys of a profile's [piece], and of its [side] for how the strips of a pair lie;
    options go before it, and in a terminal what is
    still missing is asked. Targets and times are searched for on drawn rigs, so that the wood is soft while
    it is bent and stays as pale as asked on all of them. Nothing is heated. A plan is graded: ordinary,
    careful, or beyond our evidence. It is refused only where a heat limit stands against it, with what would
    fit.
    """
    from .plan.command import run

    run(
        piece,
        {**options, "set": set_},
        rig_path=rig_path,
        out=out,
        book=book_file,
        unit=unit,
        lengths=lengths,
        yes=yes,
        replace=replace,
        as_json=as_json,
    )
