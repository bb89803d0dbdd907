"""The whole command: rig file, record, rig or virtual rig, the steps, the sheet."""

import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from rich.console import Console

from ribwright_host.cli_common import connected
from ribwright_host.errors import UsageError
from ribwright_host.link import Board, Link, hello
from ribwright_host.rigs import RigFile, load_rig
from ribwright_host.transport import open_port

from . import offsets, sheet, steps_panel
from .hands import Hands, VirtualHands
from .ladder import climb, first_step, opened, take_board
from .person import AtTerminal, read_answers
from .record import save
from .screen import NoScreen, TerminalScreen, overview
from .step import NAMES, Work
from .trial import PIECE

VIRTUAL = "virtual"
Connect = Callable[[ExitStack], tuple[Link, Board, Hands]]


def _connect(port: str | None, rig: RigFile) -> Connect:
    """How the board is reached: a port, or a virtual rig of one's own whose panel has hands."""

    def real(stack: ExitStack) -> tuple[Link, Board, Hands]:
        link, board = stack.enter_context(connected(port))
        return link, board, Hands()

    def virtual(stack: ExitStack) -> tuple[Link, Board, Hands]:
        from ribwright_host.virtual import running  # noqa: PLC0415 - numpy loads only for a virtual rig

        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="ribwright-")))
        process = stack.enter_context(running(rig.mapping, PIECE, folder))
        link = Link(open_port(process.url))
        stack.callback(link.close)
        return link, hello(link), VirtualHands(process.command)

    return virtual if port == VIRTUAL else real


def run(
    rig_path: Path,
    *,
    port: str | None,
    begin: str | None,
    out: Path | None,
    only_list: bool,
    keep_offsets: bool = False,
    answers: Path | None,
    quiet: bool,
    connect: Connect | None = None,
) -> dict[str, Any]:
    """Prove a rig, or list how it stands; the record as a mapping.

    rig_path, port, begin, out, only_list, keep_offsets, answers: as the command's options. quiet: show
    nothing. connect: in place of the port. Raises the command's errors.
    """
    rig = load_rig(rig_path)
    folder = out or rig_path.parent / "prove"
    # Behind a socket may be either; the board says.
    told = port is None or not port.startswith("socket://")
    reads = only_list or keep_offsets
    record = opened(folder, rig.hash, rig.name, simulated=port == VIRTUAL if told and not reads else None)
    if steps_panel.changed(record, rig.mapping):
        record.steps.pop(steps_panel.STEP)
    console = Console()
    if keep_offsets:
        found = zip(rig.zone_names, offsets.keep(rig, record), strict=True)
        if not quiet:
            said = ", ".join(f"{name} {offset_k:+.2f} K" for name, offset_k in found)
            console.print(f"{rig_path} holds them now: {said}. A board flashed with it takes them off.")
    if reads:
        if only_list and not quiet:
            console.print(overview(record))
        return record.as_json()
    if quiet and answers is None:
        raise UsageError("with --json nobody can be asked", "name a file with --answers")
    if answers is not None and told and port != VIRTUAL:
        raise _nobody_looks()
    person = AtTerminal() if answers is None else read_answers(answers)
    screen: TerminalScreen | NoScreen = NoScreen() if quiet else TerminalScreen(console, asks=answers is None)
    at = first_step(record, begin)
    if at is None:
        path = sheet.write(record, folder)
        screen.say(f"All {len(NAMES)} steps were passed; the sheet: {path}. Do one again with --from STEP.")
        return record.as_json()
    with ExitStack() as stack:
        way = connect or _connect(port, rig)

        def reach() -> tuple[Link, Board, Hands]:
            link, board, hands = way(stack)
            if answers is not None and not board.simulated:
                raise _nobody_looks()
            take_board(record, board, at)
            return link, board, hands

        work = Work(rig, person, screen.say, reach)
        try:
            climb(work, record, folder, screen, at)
        finally:
            save(record, folder)
            path = sheet.write(record, folder)
            screen.say(f"The sheet so far: {path}")
    return record.as_json()


def _nobody_looks() -> UsageError:
    """Why a file cannot say what is seen at a real rig."""
    return UsageError(
        "a file of answers is for a virtual rig, at a real one somebody has to look",
        "leave --answers out and answer beside the rig",
        code="nobody_looks",
    )
