"""Commands at the form: upload, start, watch, next, pause, stop. None of them can begin heating."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ribwright_board.core.profile import MAX_STAGES

from .cli_common import (
    FILE,
    connected,
    json_option,
    port_option,
    port_words,
    rig_option,
    say,
    say_json,
    unit_option,
)
from .cli_side import side_options

if TYPE_CHECKING:
    from .link import Board, Link

CAUTIONS = (
    "Before you press the button at the rig:",
    "  - Stay with it until it is cold. Slats above 65 C burn at once; wear gloves to press.",
    "  - The earth wires of slats and form are on, the blankets lie flat, each thermocouple is in its place.",
    "  - Nothing that burns lies near, and the emergency stop is in reach.",
    "  - The strip lies as it must: show face, top edge and waist mark where you want them.",
)
TAKING_UP = (
    "This takes up a bend that was interrupted, so that the wood is not cooked twice: the strip is the same, "
    "and lies on the form as far as the stages left out had brought it."
)


@click.command()
@click.argument("profile", type=FILE)
@port_option
@rig_option
@json_option
def upload(profile: Path, port: str | None, rig_path: Path | None, as_json: bool) -> None:
    """Put PROFILE on the board, in place of the one it holds.

    It is checked here and once more, whole, on the board; a profile that fails changes nothing.
    """
    from .boards import require_same_version
    from .cli_progress import Progress
    from .link import put_profile
    from .profiles import check_for_board, load_profile
    from .rigs import load_rig

    # Mistakes in the files are told before any port is touched.
    checked = load_profile(profile, load_rig(rig_path).rig if rig_path else None)
    with connected(port, rig_path, checked.mapping["piece"]) as (link, board):
        require_same_version(board)
        check_for_board(checked, board.zones)
        with Progress("sending the profile", quiet=as_json) as shown:
            answer = put_profile(link, checked.data, shown)
    if as_json:
        say_json({"profile": answer["name"], "hash": answer["hash"], **_of(board)})
    else:
        say(f"The board holds {answer['name']} ({answer['hash']}) now: {board.title()}")
        say(f"Next: ribwright start {profile}{port_words(port)}")


def _of(board: Board) -> dict[str, Any]:
    """What every answer in JSON says about the board."""
    return {"board": board.board_id, "rig": board.rig, "simulated": board.simulated}


@click.command()
@click.argument("profile", type=FILE, required=False)
@port_option
@rig_option
@unit_option
@json_option
@side_options
@click.option("--yes", is_flag=True, help="Do not ask; the cautions are still shown.")
@click.option(
    "--from-stage",
    "first",
    type=click.IntRange(1, MAX_STAGES),
    metavar="N",
    help="Begin with this stage of PROFILE: to take up a bend that was interrupted.",
)
def start(
    profile: Path | None,
    port: str | None,
    rig_path: Path | None,
    unit: str | None,
    as_json: bool,
    yes: bool,
    first: int | None,
    **side: Any,  # noqa: ANN401 - options of cli_side, by name
) -> None:
    """Make a run of PROFILE ready. Heat waits for the start button AT THE RIG.

    The board must hold PROFILE as it is in the file. Left out, the one that was laid out last is taken.
    No command and no message can begin heating: you have to be there.

    With --side the strip is drawn as it must lie, seen from where you stand, and you are asked whether it
    does; where there is no terminal, it says that nobody was asked.
    """
    from .acts import later_stage, make_ready
    from .boards import require_same_version
    from .errors import UsageError
    from .monthly import due
    from .profiles import describe, load_profile
    from .side.starting import agreed, laying_of
    from .view import interrupted_line

    tell = partial(click.echo, err=as_json)
    checked = load_profile(profile) if profile else None
    if first is not None and checked is None:
        raise UsageError("--from-stage says nothing without the file", "name PROFILE as well", code="stage")
    begins = later_stage(checked.mapping["stages"], first) if checked and first else ""
    with connected(port, rig_path) as (link, board):
        require_same_version(board)
        reminders = [] if board.simulated else due(board.board_id)
        chosen = {"name": checked.name, "hash": checked.hash} if checked else _laid_out(link)
        laying = laying_of(checked, side, board, rig_path, may_ask=not yes)
        # With --json it goes to standard error: cautions come before heat, whoever asked.
        tell(f"{chosen['name']} ({chosen['hash']}) on {board.title()}")
        if cut_off := interrupted_line(link.ask("status")):
            tell(cut_off)
        for number, line in enumerate(describe(checked.mapping, unit)[1:] if checked else (), start=1):
            tell(f"  {line}" if first is None or number >= first else f"  left out: {line}")
        if begins:
            tell(begins)
            tell(TAKING_UP)
        for line in CAUTIONS:
            tell(line)
        for one in reminders:
            tell(str(one["sentence"]))
        if checked and checked.side is not None and laying is None:
            tell("Which side this is was not said: with --side bass or treble it is drawn and kept.")
        if not agreed(laying, yes=yes, as_json=as_json):
            tell("Nothing was changed.")
            if as_json:
                say_json({"run": None, "profile": chosen, "agreed": False, **_of(board)})
            # Ended from the keyboard: whoever goes on after a start has to know that there was none.
            click.get_current_context().exit(130)
        run = make_ready(link, chosen["hash"], first)
    if laying is not None:
        laying.keep(board, run, chosen)
    if as_json:
        told = {"run": run, "profile": chosen, "from_stage": first or 1, "due": reminders, **_of(board)}
        say_json(told if laying is None else told | {"side": laying.as_json()})
        return
    look_on = f"ribwright watch{port_words(port)}"
    say(f"Run {run} is ready. Now press the start button AT THE RIG; look on with: {look_on}")


def _laid_out(link: Link) -> dict[str, str]:
    """Name and hash of the profile the board had laid out last."""
    from .errors import RefusedByBoardError

    profile = link.ask("status").get("profile")
    if not profile:
        raise RefusedByBoardError(
            "the board has had no profile laid out since it was switched on",
            "say which: ribwright start PROFILE",
            code="no_profile",
        )
    return {"name": str(profile["name"]), "hash": str(profile["hash"])}


@click.command(name="next")
@port_option
@json_option
def next_(port: str | None, as_json: bool) -> None:
    """Go on: the cue is done, or the hold has done its work. The same as next at the rig."""
    from .errors import RefusedByBoardError
    from .view import mode_words

    with connected(port) as (link, board):
        status = link.ask("status")
        if status.get("waiting") != "next":
            hints = {
                "start": "press the start button AT THE RIG",
                "presence": "press any button AT THE RIG: it asks whether you are there",
            }
            hint = hints.get(str(status.get("waiting")), "see: ribwright watch")
            seen = f"nothing waits for next, the rig is {mode_words(status.get('mode'))}"
            raise RefusedByBoardError(seen, hint, code="not_waiting")
        answer = link.ask("next")
    _done("The cue is done" if status.get("cue") else "The hold is done", answer, board, as_json=as_json)


@click.command()
@port_option
@json_option
def pause(port: str | None, as_json: bool) -> None:
    """Relays off for now. The run goes on only after a press of the start button at the rig."""
    _simple("pause", "The relays are off; press the start button at the rig to go on", port, as_json=as_json)


@click.command()
@port_option
@json_option
def stop(port: str | None, as_json: bool) -> None:
    """Relays off, and the run is over. Leave the wood clamped while it cools.

    In a hurry use the stop button or the emergency stop at the rig: they are nearer.
    """
    _simple(
        "stop",
        "The relays are off and no run is on; leave the wood clamped until it is cold",
        port,
        as_json=as_json,
    )


def _simple(verb: str, done: str, port: str | None, *, as_json: bool) -> None:
    """Ask one thing that takes no values. Asking for less heat needs no version check.

    Raises as connected() and Link.ask(), and RefusedByBoardError for a board that has not done it.
    """
    from .errors import RefusedByBoardError
    from .view import ON

    with connected(port) as (link, board):
        answer = link.ask(verb)
    mode = answer.get("mode")
    if mode in ON and (verb, mode) != ("pause", "paused"):
        raise RefusedByBoardError(
            f"{verb} was asked, the board still says {mode}", "press stop AT THE RIG", code="not_done"
        )
    _done(done, answer, board, as_json=as_json)


def _done(done: str, answer: Mapping[str, Any], board: Board, *, as_json: bool) -> None:
    """Say what was done, and how the rig stands now."""
    from .view import mode_words

    mode = str(answer.get("mode", ""))
    if as_json:
        say_json({"mode": mode, **_of(board)})
    else:
        mark = " (SIMULATED)" if board.simulated else ""
        say(f"{done}. The rig is {mode_words(mode)}{mark}.")


@click.command()
@port_option
@unit_option
@json_option
@click.option("--plain", is_flag=True, help="One line for every change, as where no terminal is.")
def watch(port: str | None, unit: str | None, as_json: bool, plain: bool) -> None:
    """Show zones, stage, cues and shutdowns until the run ends. Closing it changes nothing at the rig."""
    from .watch import watch_run

    style = "json" if as_json else "plain" if plain or not sys.stdout.isatty() else "screen"
    with connected(port) as (link, board):
        watch_run(link, board, unit or board.unit, style, port_words(port))
