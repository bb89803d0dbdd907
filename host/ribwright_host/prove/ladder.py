"""The steps in their order: which may be done, done one by one, each kept before the next begins."""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from ribwright_host import monthly
from ribwright_host.errors import FileError, NotProvedError, UsageError
from ribwright_host.link import Board

from . import steps_cold, steps_panel, steps_sensors, steps_switching
from .record import FAILED, PASSED, Record, Result, load, save
from .step import LADDER, NAMES, StepFailedError, Words, Work

DO: dict[str, Callable[[Work], None]] = {
    "papers": steps_cold.papers,
    "cold": steps_cold.cold,
    "board": steps_cold.board,
    "sensors": steps_sensors.sensors,
    "panel": steps_panel.panel,
    "hands": steps_sensors.hands,
    "boiling": steps_sensors.boil,
    "pins": steps_switching.pins,
    "lamp": steps_switching.lamp,
    "emergency": steps_switching.emergency,
    "cutoff": steps_switching.cutoff,
    "stack": steps_switching.stack,
}
# Steps in which something is switched; a rig that only watches has none of it.
SWITCHING = ("pins", "lamp", "emergency", "cutoff", "stack")
# It counts as the month's test.
EMERGENCY = "emergency"
# From here on a board takes part.
BOARD_AT = NAMES.index("board")


class Screen(Protocol):
    """Where the ladder shows itself."""

    def begin(self, words: Words, record: Record) -> None:
        """A step begins; words: its own. record: so far."""

    def ended(self, words: Words, result: Result) -> None:
        """It ended; words: its own. result: how."""

    def again(self, words: Words) -> bool:
        """Whether a step that was not passed is done again now; words: its own."""

    def go_on(self, words: Words) -> bool:
        """Whether to go on now with the next step; words: of that one."""


def now_text() -> str:
    """The moment, UTC, ISO 8601 to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def opened(folder: Path, rig_hash: str, rig_name: str, *, simulated: bool | None) -> Record:
    """The record of a rig in a folder, a new one where there is none.

    folder: for the files. rig_hash, rig_name: of the rig file. simulated: whether the rig is, None
    where only the board will tell. Raises FileError for another rig's record, and where real and simulated
    would be mixed.
    """
    record = load(folder)
    if record is None:
        return Record(rig_hash, rig_name, bool(simulated))
    hint = "name another folder with --out"
    if record.rig != rig_hash:
        seen = f"{folder} holds the steps of rig {record.rig} ({record.rig_name}), this is rig {rig_hash}"
        raise FileError(seen, f"a changed rig file is proved anew: {hint}", code="other_record")
    if simulated is not None and record.simulated != simulated:
        kinds = ("a real rig", "a simulated rig")
        seen = f"{folder} holds the steps of {kinds[record.simulated]}, this is {kinds[simulated]}"
        raise FileError(seen, hint, code="other_record")
    return record


def first_step(record: Record, wanted: str | None) -> int | None:
    """Position of the step to begin with, None when all are passed and none is wanted.

    record: so far. wanted: a name or None. Raises UsageError where an earlier step is not passed.
    """
    open_steps = [at for at, name in enumerate(NAMES) if not record.passed(name)]
    if wanted is None:
        return open_steps[0] if open_steps else None
    if wanted not in NAMES:
        raise UsageError(f"no step is called {wanted}", f"name one of {', '.join(NAMES)}")
    at = NAMES.index(wanted)
    if open_steps and open_steps[0] < at:
        name = NAMES[open_steps[0]]
        how = "was not passed" if name in record.steps else "has not been done"
        seen = f"step {wanted} comes after step {name}, which {how}"
        raise UsageError(seen, f"begin with --from {name}", code="too_early")
    return at


def take_board(record: Record, board: Board, at: int) -> None:
    """Note which board answers; what another one has shown does not count for it.

    record: so far. board: greeted. at: position of the step it is needed for.
    Raises FileError when steps before it were done by another board.
    """
    if record.board and record.board != board.board_id:
        if at > BOARD_AT:
            seen = f"the steps so far were done by board {record.board}, here answers {board.board_id}"
            raise FileError(seen, "begin again with --from board", code="other_board")
        for name in NAMES[BOARD_AT:]:
            record.steps.pop(name, None)
    record.simulated = record.simulated or board.simulated
    record.board, record.firmware, record.port = board.board_id, board.firmware, board.port


def climb(work: Work, record: Record, folder: Path, screen: Screen, begin: int) -> None:
    """Do the steps from a position on, until one is not passed, somebody stops, or all are.

    work: with rig and person. record: kept after every step. folder: for its file. screen: shows it.
    begin: position. Raises NotProvedError for a step that was not passed.
    """
    at = begin
    while at < len(LADDER):
        words = LADDER[at]
        screen.begin(words, record)
        result = one_step(work, words)
        record.steps[words.name] = result
        if result.result == FAILED:
            # What was shown after it stood on this.
            for name in NAMES[at + 1 :]:
                record.steps.pop(name, None)
        save(record, folder)
        if words.name == EMERGENCY and result.result == PASSED and record.board and not record.simulated:
            monthly.note(record.board, EMERGENCY)
        screen.ended(words, result)
        if result.result == FAILED:
            if screen.again(words):
                continue
            raise NotProvedError(
                f"step {words.name} was not passed: {result.code}: {result.words}",
                words.fails,
                code="not_passed",
                where={"step": words.name, "why": result.code},
            )
        at += 1
        if at < len(LADDER) and not screen.go_on(LADDER[at]):
            return


def one_step(work: Work, words: Words) -> Result:
    """Do one step; how it ended.

    work: as climb(). words: of the step. Raises what greeting and talking raise.
    """
    work.figures, work.offsets_k, work.fixed_point = [], [], ""
    if words.name in SWITCHING and not work.heated:
        work.note("this rig only watches", "nothing to switch")
        return Result(PASSED, now_text(), work.figures)
    try:
        DO[words.name](work)
    except StepFailedError as failure:
        return Result(FAILED, now_text(), work.figures, failure.code, failure.seen)
    return Result(PASSED, now_text(), work.figures, "", "", work.offsets_k, work.fixed_point)
