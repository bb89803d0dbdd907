"""The command that proves a rig step by step."""

from pathlib import Path

import click

from .cli_common import FILE, json_option, port_option, say_json


@click.command()
@click.argument("rig", type=FILE)
@port_option
@click.option("--from", "begin", metavar="STEP", help="Begin with this step [default: the first one open].")
@click.option("--out", type=FILE, metavar="DIR", help="Folder for the files [default: prove beside RIG].")
@click.option("--list", "only_list", is_flag=True, help="Only list the steps, and how each stands.")
@click.option(
    "--keep-offsets", is_flag=True, help="Only write what boiling water showed of each zone into RIG."
)
@click.option(
    "--answers",
    type=FILE,
    metavar="FILE",
    help="TOML file with what a person sees, for a virtual rig; nobody is asked.",
)
@json_option
def prove(
    rig: Path,
    port: str | None,
    begin: str | None,
    out: Path | None,
    only_list: bool,
    keep_offsets: bool,
    answers: Path | None,
    as_json: bool,
) -> None:
    """Show step by step that the wired RIG does its work, and write a dated sheet of it.

    Each step says what it shows, what may be connected and what must answer. The board's own figures judge
    what they can; what only a person sees is asked. Heat comes only from the board's own start checks, after
    a press of start AT THE RIG; this command arms nothing. Results are kept, so that it goes on another day;
    a step is offered once those before it are passed.

    The profile on the board is replaced by a short trial; upload yours again afterwards.
    """
    from .prove.command import run

    told = run(
        rig,
        port=port,
        begin=begin,
        out=out,
        only_list=only_list,
        keep_offsets=keep_offsets,
        answers=answers,
        quiet=as_json,
    )
    if as_json:
        say_json(told)
