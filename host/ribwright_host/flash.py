"""`ribwright flash`: firmware and rig onto a board, and what to do where that stops half way."""

import sys
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import click

from ribwright_board import __version__

from .boards import the_port
from .cli_common import say, say_json
from .cli_progress import Progress
from .errors import HostError, LinkLostError, NoBoardError, UsageError, VersionMismatchError
from .flash_checks import check_board, takes_bytecode
from .flash_plan import Plan, carry_out, make_plan, to_hash
from .link import Board, Link, hello
from .payload import MANIFEST, board_files
from .prompt import AGAIN, BY_HAND, Prompt
from .rigs import RigFile, load_rig
from .transport import open_port

HELLO_S = 0.6
# From the answer to the reset it announces; then a board's own USB port is gone for some seconds.
RESET_S = 1.0
LEAVE_S = 15.0
START_S = 30.0
# For a board that was at its prompt a moment ago.
AGAIN_S = 2.0
OURS = "lib/ribwright_board/"
CAUTION = (
    "Switch the rig's mains off before you flash: a board that restarts holds every output off, but firmware "
    "is no protection."
)


def run(rig_path: Path, *, port: str | None, dry_run: bool, yes: bool, as_json: bool) -> None:
    """Put the firmware and a rig onto a board.

    rig_path: the rig file. port: as --port. dry_run: only say what would change. yes: replace another
    program without asking. as_json: answer for programs. Raises HostError.
    """
    rig = load_rig(rig_path)
    if port == "virtual":
        raise UsageError(
            "the virtual rig is never flashed: it gets the present firmware whenever it starts",
            "name a real --port",
        )
    begun_s = time.monotonic()
    name = port or the_port()
    tell = (lambda _text: None) if as_json else say
    tell(CAUTION)
    before = ask_for_prompt(name)
    if before is not None:
        tell(f"The board on {name} holds {before.title()}; it goes to its prompt, every output off.")
        if before.rig != rig.hash:
            tell(f"It is to hold {rig.name}, rig {rig.hash}.")
    prompt = Prompt(name, LEAVE_S if before else LEAVE_S / 3)
    try:
        plan, python = _look(prompt, rig)
        if not (dry_run or before or yes or plan.nothing):
            _may_replace(prompt, name)
        if not dry_run:
            with Progress("writing", quiet=as_json or plan.nothing) as bar:
                carry_out(prompt, plan, bar)
        prompt.restart()
    except BaseException as error:
        _let_go(prompt, error)
        raise
    if not dry_run:
        confirm(name, rig)
    told = {"port": name, "firmware": __version__, "rig": rig.hash, "python": python, "dry_run": dry_run}
    told |= {"written": plan.changed, "removed": plan.stale, "bytes": plan.bytes_to_write}
    if plan.nothing:
        told["bytes"] = 0
    told["seconds"] = round(time.monotonic() - begun_s, 1)
    if as_json:
        say_json(told)
        return
    for line in _words(plan, told, ran=before is not None):
        say(line)


def ask_for_prompt(port: str) -> Board | None:
    """Let running firmware go to its prompt; None where none answers.

    port: where the board is. Raises RefusedByBoardError while the rig may heat or waits for a press, or when
    the firmware does not know how; PortBusyError and NoBoardError for the port itself.
    """
    link = Link(open_port(port))
    try:
        try:
            board = hello(link, try_s=HELLO_S, tries=3)
        except NoBoardError:
            return None
        except VersionMismatchError:
            # It speaks another link; the ask that matters here has the same shape in all.
            board = Board(port, "of another version", "unknown", "", "", "a rig", [], "C")
        if board.simulated:
            raise UsageError(
                f"on {port} is a virtual rig, which gets the present firmware whenever it starts",
                "name a real --port",
            )
        with suppress(LinkLostError):
            # The answer may be lost in the reset that it announces.
            link.ask("to_prompt")
        time.sleep(RESET_S)
        return board
    finally:
        link.close()


def _look(prompt: Prompt, rig: RigFile) -> tuple[Plan, str]:
    """What has to change on a board that may be flashed, and its interpreter."""
    facts = prompt.facts()
    check_board(facts, rig.mapping, prompt.port)
    wanted = board_files(rig.mapping, source=not takes_bytecode(facts))
    there = prompt.files()
    plan = make_plan(wanted, there, prompt.hashes(to_hash(wanted, there)), facts.free_bytes)
    return plan, "MicroPython " + ".".join(str(part) for part in facts.version)


def _may_replace(prompt: Prompt, port: str) -> None:
    """Ask before another program is replaced; a blank board, or a half-flashed one, is nobody's."""
    there = prompt.files()
    theirs = [path for path in there if path in ("boot.py", "main.py") or path.startswith("lib/")]
    if not theirs or any(path.startswith(OURS) for path in there):
        return
    seen = f"the board on {port} carries another program ({', '.join(theirs[:4])}), which would be replaced"
    if not sys.stdin.isatty():
        raise UsageError(seen, "save what you need of it, then add --yes")
    click.confirm(f"{seen[0].upper()}{seen[1:]}. Go on?", abort=True)


def _let_go(prompt: Prompt, error: BaseException) -> None:
    """After a failure: firmware that is still whole goes on; any other board stays at its prompt, off."""
    if isinstance(error, KeyboardInterrupt):
        click.echo(f"broken off; {AGAIN}; {BY_HAND}", err=True)
    # Begun anew, since this may have come in the middle of an act.
    prompt.close()
    if isinstance(error, LinkLostError):
        # Whoever does not answer cannot be asked to go on.
        return
    with suppress(HostError):
        again = Prompt(prompt.port, AGAIN_S)
        if MANIFEST in again.files():
            again.restart()
        again.close()


def confirm(port: str, rig: RigFile) -> Board:
    """Wait until the board says over the link that it runs this firmware for this rig.

    port: where it is. rig: the rig file. Raises LinkLostError with code not_confirmed.
    """
    deadline = time.monotonic() + START_S
    seen = "it did not answer"
    while time.monotonic() < deadline:
        try:
            link = Link(open_port(port))
        except HostError as error:
            seen = error.seen
            time.sleep(0.3)
            continue
        try:
            board = hello(link, try_s=HELLO_S, tries=2)
            if (board.firmware, board.rig) == (__version__, rig.hash):
                return board
            seen = f"it says firmware {board.firmware}, rig {board.rig}"
        except HostError as error:
            seen = error.seen
        finally:
            link.close()
    raise LinkLostError(
        f"the files are on the board, and it does not run them {START_S:.0f} s after its restart: {seen}",
        f"{AGAIN}; {BY_HAND}",
        code="not_confirmed",
        where={"port": port},
    )


def _words(plan: Plan, told: dict[str, Any], *, ran: bool) -> list[str]:
    """What was done, or would be, for people; ran: the board had firmware that answered."""
    if told["dry_run"]:
        lines = [f"  write {path}, {len(plan.wanted[path])} bytes" for path in plan.changed]
        lines += [f"  remove {path}" for path in plan.stale]
        sums = f"{len(plan.changed)} files, {told['bytes'] / 1024:.0f} KB, {len(plan.stale)} to remove"
        head = "Nothing would change." if plan.nothing else f"This would change ({sums}):"
        return [head, *lines, "Nothing was written" + ("; the board runs again." if ran else ".")]
    done = "nothing had to change" if plan.nothing else f"{len(plan.changed)} files written"
    if plan.stale:
        done += f", {len(plan.stale)} removed"
    runs = f"firmware {told['firmware']} for rig {told['rig']} on {told['python']}"
    return [f"The board on {told['port']} runs {runs}: {done}, {told['seconds']} s."]
