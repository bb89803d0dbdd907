"""Commands before the bend: rehearse."""

from pathlib import Path

import click

from .cli_common import FILE, json_option, unit_option


@click.command()
@click.argument("profile", type=FILE)
@click.option(
    "--rig",
    "rig_path",
    type=FILE,
    metavar="FILE",
    help="Rig file [default: rig.toml beside PROFILE, else the example rig].",
)
@click.option(
    "--plants",
    type=click.IntRange(0, 500),
    default=12,
    show_default=True,
    metavar="N",
    help="Rigs to draw around the one in the file.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 2**31 - 1),
    default=20240601,
    show_default=True,
    metavar="N",
    help="Of the draws; the same seed gives the same figures.",
)
@click.option(
    "--out", type=FILE, metavar="DIR", help="Folder for the files [default: rehearsal beside PROFILE]."
)
@unit_option
@json_option
def rehearse(
    profile: Path,
    rig_path: Path | None,
    plants: int,
    seed: int,
    out: Path | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """Run PROFILE on the simulator, and draw what the wood will see.

    Temperature, softness, water and colour of the wood, each as a band over several simulated rigs, and
    whether the wood bears the tightest bend. Nothing is heated.
    """
    from . import rehearse as rehearsal

    rehearsal.run(profile, rig_path, plants=plants, seed=seed, out=out, unit=unit, as_json=as_json)
