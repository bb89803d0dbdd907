"""Commands after the bend: runs, fetch, report."""

from pathlib import Path

import click

from .cli_book_options import book_option, lengths_option
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
    from .cli_fetching import counted_lines, keep_counted, summaries
    from .link import list_runs

    with connected(port) as (link, board):
        for number, pinned in ((pin, True), (unpin, False)):
            if number is not None:
                link.ask("pin", {"run": number, "pinned": pinned})
        listed, free = list_runs(link)
        found = summaries(link, listed)
        counted = link.ask("counters")["counters"]
    keep_counted(board, counted)
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
@click.option(
    "-o", "--out", type=FILE, metavar="FILE", help="File to write [default: run-NUMBER-BOARD.csv here]."
)
@click.option(
    "--rig", "rig_path", type=FILE, metavar="FILE", help="Rig file, to work out the heat of each zone."
)
@port_option
@json_option
def fetch(run: int, out: Path | None, rig_path: Path | None, port: str | None, as_json: bool) -> None:
    """Read RUN back: a CSV with units for any spreadsheet, a JSON beside it, and the board's own log.

    A broken reading is taken up again where it stopped.
    """
    from .cli_fetching import fetch_run, keep_counted

    with connected(port, rig_path) as (link, board):
        written = fetch_run(link, board, run, out, rig_path, quiet=as_json)
        counted = None if board.simulated else link.ask("counters")["counters"]
    keep_counted(board, counted)
    if as_json:
        say_json({"run": run, "files": [str(path) for path in written], "simulated": board.simulated})
        return
    for path in written:
        say(f"wrote {path}")
    say(f"Next: ribwright report {written[0]}")


@click.command()
@click.argument("files", metavar="FILE...", type=FILE, nargs=-1)
@click.option("--month", metavar="YYYY-MM", help="Write this month's page instead, from the notebook.")
@click.option(
    "-o",
    "--out",
    type=FILE,
    metavar="DIR",
    help="Folder for the pages [default: beside FILE, or month-YYYY-MM].",
)
@unit_option
@lengths_option
@book_option
@json_option
def report(
    files: tuple[Path, ...],
    month: str | None,
    out: Path | None,
    unit: str | None,
    lengths: str,
    book_file: Path | None,
    as_json: bool,
) -> None:
    """Draw the run in FILE: a page with temperature, target and heat of each zone, and what happened.

    With --month: a page or two on what was bent, what it took, what went wrong and what is due, from the
    notebook and from run FILES that do not stand in it. Simulated runs stand apart, in no sum.
    """
    if month is not None:
        from .month_report import run as write_month

        page, told = write_month(
            month, files, out=out, book_file=book_file, unit=unit or "C", lengths=lengths
        )
        if as_json:
            say_json(told)
        else:
            say(f"wrote {page}")
        return
    if len(files) != 1:
        from .errors import UsageError

        hint = "name one file that ribwright fetch wrote, or a month with --month"
        raise UsageError(f"{len(files)} files are named, a report is of one run", hint, code="one_file")
    from .cli_fetching import write_report

    page = write_report(files[0], out, unit)
    if as_json:
        say_json({"report": str(page)})
    else:
        say(f"wrote {page}")
