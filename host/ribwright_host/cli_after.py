"""Commands after the bend: runs, fetch, report."""

from pathlib import Path

import click

from .cli_common import FILE, connected, json_option, port_option, say, say_json, unit_option

RUN = click.IntRange(1, 99999)


@click.command()
@click.option("--pin", "pin", type=RUN, metavar="RUN", help="Keep RUN on the board, however full it gets.")
@click.option("--unpin", "unpin", type=RUN, metavar="RUN", help="Let RUN make room for new ones again.")
@port_option
@json_option
def runs(pin: int | None, unpin: int | None, port: str | None, as_json: bool) -> None:
    """List the runs that the board remembers, the oldest first, and what it has counted.

    Goes on beside a run. When the board is full the oldest runs give their room to the next one, but for
    those that are pinned.
    """
    from .cli_fetching import counted_lines, summaries
    from .link import list_runs

    with connected(port) as (link, board):
        for number, pinned in ((pin, True), (unpin, False)):
            if number is not None:
                link.ask("pin", {"run": number, "pinned": pinned})
        listed, free = list_runs(link)
        found = summaries(link, listed)
        counted = link.ask("counters")["counters"]
    if as_json:
        told = {
            "board": board.board_id,
            "simulated": board.simulated,
            "free_bytes": free,
            "counters": counted,
        }
        say_json(told | {"runs": [run.as_json() for run in found]})
        return
    say(board.title())
    if not found:
        say("It remembers no run yet.")
    for run in found:
        say(run.line())
    for line in counted_lines(free, board.zones, counted):
        say(line)


@click.command()
@click.argument("run", type=RUN)
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
