"""The command line: arguments in, exit codes out. Nothing heavy is imported before a command needs it."""

import importlib
import json
import os
import sys
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any, NamedTuple, NoReturn

import click

from ribwright_board import __version__

from .errors import EXIT_CODES, HostError, PortBusyError

JSON_WANTED = "ribwright_host.json"


class Entry(NamedTuple):
    """Where a command lives, and its line in the help; the module is imported only when it runs."""

    section: str
    module: str
    attribute: str
    summary: str


SET_UP, BEFORE, FORM, AFTER = "Set up", "Before the bend", "At the form", "After the bend"

# In the order of the work; the help lists them so.
COMMANDS: dict[str, Entry] = {
    "demo": Entry(SET_UP, "cli_setup", "demo", "See a pair made on the virtual rig; no hardware needed."),
    "new": Entry(SET_UP, "cli_setup", "new", "Write a first rig file and a first profile, by asking."),
    "wiring": Entry(SET_UP, "cli_wiring", "wiring", "Draw a rig's wiring, with its pins and a parts list."),
    "flash": Entry(SET_UP, "cli_setup", "flash", "Put the firmware and a rig onto a board."),
    "prove": Entry(SET_UP, "cli_prove", "prove", "Show step by step that a wired rig works; a sheet."),
    "tested": Entry(SET_UP, "cli_monthly", "tested", "Note the monthly tests: emergency stop, RCD or GFCI."),
    "tune": Entry(SET_UP, "cli_setup", "tune", "Find this rig's control gains on the simulator."),
    "fit": Entry(SET_UP, "cli_setup", "fit", "Learn this rig's parameters from recorded warm-ups."),
    "plan": Entry(BEFORE, "cli_plan", "plan", "From a piece of wood to a profile, with its reasons."),
    "check": Entry(
        BEFORE, "cli_setup", "check", "Read rig and profile files, and say what is wrong or what they do."
    ),
    "rehearse": Entry(
        BEFORE, "cli_before", "rehearse", "Run a profile on the simulator, and draw what the wood will see."
    ),
    "schema": Entry(BEFORE, "cli_schema", "schema", "The JSON Schema of rig or profile files, for editors."),
    "upload": Entry(BEFORE, "cli_form", "upload", "Put a profile on the board."),
    "start": Entry(FORM, "cli_form", "start", "Make the run ready; heat waits for the button at the rig."),
    "again": Entry(FORM, "cli_again", "again", "Repeat side one as it was actually bent, for side two."),
    "watch": Entry(FORM, "cli_form", "watch", "Show zones, stage and cues while it runs."),
    "page": Entry(
        FORM, "cli_page", "page", "Show the run on a tablet or phone at the bench; stop from there."
    ),
    "next": Entry(FORM, "cli_form", "next_", "Go on: the cue is done, or the hold has done its work."),
    "nudge": Entry(FORM, "cli_acts", "nudge", "Move the target of the hold or set by some degrees."),
    "extend": Entry(FORM, "cli_acts", "extend", "Let the hold or set last some minutes longer."),
    "back-off": Entry(FORM, "cli_acts", "back_off", "Leave a ramp or hold for the set, or for cooling."),
    "mark": Entry(FORM, "cli_acts", "mark", "Note what the wood did: gave way, stiff, cracked, steam."),
    "pause": Entry(FORM, "cli_form", "pause", "Relays off, the run waits for the button at the rig."),
    "stop": Entry(FORM, "cli_form", "stop", "Relays off, the run is over."),
    "runs": Entry(AFTER, "cli_after", "runs", "List the runs that the board remembers."),
    "fetch": Entry(AFTER, "cli_after", "fetch", "Read a run back, into files that any spreadsheet opens."),
    "report": Entry(AFTER, "cli_after", "report", "Draw a run that was read back."),
    "ageing": Entry(AFTER, "cli_ageing", "ageing", "See in many runs whether the rig has changed."),
    "book": Entry(AFTER, "cli_book", "book", "Keep the notebook: pieces, pairs, what to change next time."),
}


class Ribwright(click.Group):
    """A group that loads its commands late, lists them as the work goes, and ends with our exit codes.

    ctx: click's context of this command line. cmd_name: as typed. args: words that are left, a command's name
    first. formatter: click's writer of the help.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command, its module imported now; None for a name that is none.

        Raises TypeError when the table names something that is no command.
        """
        entry = COMMANDS.get(cmd_name)
        if entry is None:
            return None
        command = getattr(importlib.import_module(f"ribwright_host.{entry.module}"), entry.attribute)
        if not isinstance(command, click.Command):
            raise TypeError(cmd_name)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is named; for a name that is nearly known, which it may be.

        Raises click.UsageError for a name that is none.
        """
        if args and args[0] not in COMMANDS:
            near = get_close_matches(args[0], COMMANDS, n=1)
            hint = f"; did you mean {near[0]}?" if near else ""
            ctx.fail(f"No such command '{args[0]}'{hint}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The commands under the part of the work they belong to."""
        for section in (SET_UP, BEFORE, FORM, AFTER):
            rows = [(name, entry.summary) for name, entry in COMMANDS.items() if entry.section == section]
            with formatter.section(section):
                formatter.write_dl(rows)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The table of exit codes."""
        with formatter.section("Exit codes"):
            formatter.write_dl([(str(code), meaning) for code, meaning in EXIT_CODES])

    def invoke(self, ctx: click.Context) -> object:
        """Run the command; one of our errors ends it with one line and its exit code."""
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            # The reader of our output went away (a pager was closed): nothing is left to say, and nobody to
            # hear it. Click would end with 1, which is none of our codes.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            ctx.exit(0)
        except HostError as raised:
            error = _named(raised) if isinstance(raised, PortBusyError) else raised
            click.echo(error.line(), err=True)
            if ctx.meta.get(JSON_WANTED):
                click.echo(json.dumps(error.as_json()))
            ctx.exit(error.exit_code)

    def main(  # type: ignore[override] # click types two ways to call it, ours has one
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        **extra: Any,  # noqa: ANN401 - click's signature
    ) -> NoReturn:
        """Run the command line; a wrong one is one line as well, instead of click's three.

        args: its words without the program's, None for the process's own. prog_name: shown as the program's,
        None for its own. Never returns: it ends the process with an exit code.
        """
        extra["standalone_mode"] = False
        try:
            code = super().main(args, prog_name, **extra)
        except click.exceptions.NoArgsIsHelpError as error:
            # Whoever names no command is shown them, as they are and not in one line.
            error.show()
            sys.exit(2)
        except click.ClickException as error:
            path = (
                error.ctx.command_path if isinstance(error, click.UsageError) and error.ctx else "ribwright"
            )
            click.echo(f"usage: {_plain(error)}; see: {path} --help", err=True)
            sys.exit(2)
        except (click.Abort, KeyboardInterrupt) as error:
            if isinstance(error.__context__, EOFError):
                click.echo(UNANSWERED, err=True)
                sys.exit(2)
            click.echo("ended from the keyboard; the rig, if it runs, goes on by itself", err=True)
            sys.exit(130)
        sys.exit(code if isinstance(code, int) else 0)


# Of one who asks where nobody can answer.
UNANSWERED = (
    "\nunanswered: the input ended before the question was answered; run it in a terminal, or answer by "
    "options, of which --help tells (often --yes)"
)


# What click calls a number, and what anybody does.
KINDS_OF_NUMBER = (
    ("a valid integer range", "a whole number"),
    ("a valid integer", "a whole number"),
    ("a valid float range", "a number"),
    ("a valid float", "a number"),
)


def plain_number(text: str) -> str:
    """A click message with our words for a number.

    text: of the message.

    >>> plain_number("'x' is not a valid integer range")
    "'x' is not a whole number"
    """
    for theirs, ours in KINDS_OF_NUMBER:
        text = text.replace(theirs, ours)
    return text


def _named(error: PortBusyError) -> PortBusyError:
    """The same, with the page that owns the port where it is one."""
    from .page.holder import named

    return named(error)


def _plain(error: click.ClickException) -> str:
    """A click message on one line, without its full stop."""
    return plain_number(" ".join(error.format_message().split()).rstrip("."))


@click.group(
    cls=Ribwright, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110}
)
@click.version_option(__version__, prog_name="ribwright", message="%(prog)s %(version)s")
def cli() -> None:
    """Bend instrument sides with electric heating blankets.

    The board at the rig does the bending and looks after its own safety. These commands describe the rig, say
    what is to be bent, and look on. They can ask for less heat or none, and move the target or the time of a
    hold within narrow bounds; heat begins only with a press of the start button AT THE RIG, with you beside
    it.

    Stay with a heated rig. Ribwright is the last protection of nothing: fuses, an earthed form, an RCD or
    GFCI and a separate cut-off on each blanket are.
    """
