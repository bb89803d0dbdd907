"""Commands after the bend: runs, fetch, report."""

from pathlib import Path

import click

from .cli_common import FILE, connected, json_option, port_option, say, say_json, unit_option


@click.command()
@port_option
@json_option
def runs(port: str | None, as_json: bool) -> None:
    """List the runs that the board remembers, the oldest first."""
    from .cli_fetching import summaries

    with connected(port) as (link, board):
        found = summaries(link)
    if as_json:
        say_json(
            {"board": board.board_id, "simulated": board.simulated, "runs": [run.as_json() for run in found]}
        )
        return
    say(board.title())
    if not found:
        say("It remembers no run yet.")
    for run in found:
        say(run.line())


@click.command()
@click.argument("run", type=click.IntRange(0, 99999))
@click.option("-o", "--out", type=FILE, help="File to write [default: run-NUMBER-BOARD.csv here].")
@click.option(
    "--rig", "rig_path", type=FILE, metavar="FILE", help="Rig file, to work out the heat of each zone."
)
@port_option
@json_option
def fetch(run: int, out: Path | None, rig_path: Path | None, port: str | None, as_json: bool) -> None:
    """Read RUN back: a CSV with units for any spreadsheet, a JSON beside it, and the board's own log.

    A broken reading is taken up again where it stopped.
    """
    from .cli_fetching import fetch_run

    with connected(port, rig_path) as (link, board):
        written = fetch_run(link, board, run, out, rig_path, quiet=as_json)
    if as_json:
        say_json({"run": run, "files": [str(path) for path in written], "simulated": board.simulated})
        return
    for path in written:
        say(f"wrote {path}")
    say(f"Next: ribwright report {written[0]}")


@click.command()
@click.argument("file", type=FILE)
@click.option("-o", "--out", type=FILE, help="Folder for the pages [default: beside FILE].")
@unit_option
@json_option
def report(file: Path, out: Path | None, unit: str | None, as_json: bool) -> None:
    """Draw the run in FILE: a page with temperature, target and heat of each zone, and what happened."""
    from .cli_fetching import write_report

    page = write_report(file, out, unit)
    if as_json:
        say_json({"report": str(page)})
    else:
        say(f"wrote {page}")
