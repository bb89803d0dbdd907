"""Which boards may be flashed: interpreter, version, chip."""

from collections.abc import Mapping
from typing import Any

from .bytecode import FORMAT
from .errors import FileError, VersionMismatchError
from .prompt import Facts

# The oldest MicroPython that is supported. Reason: no older one has run this firmware; its tests run on 1.28.
# Bytecode would ask for 1.23 in any case.
OLDEST = (1, 28)
DOWNLOADS = "install MicroPython %s or later on it (micropython.org/download), then run this again"
# Chip behind each `board` of a rig file, as MicroPython's own builds name it behind "with".
CHIPS = {"pico": "RP2040", "pico2": "RP2350", "esp32": "ESP32"}


def oldest_text() -> str:
    """The oldest MicroPython that is supported, as people write it."""
    return ".".join(str(part) for part in OLDEST)


def check_board(facts: Facts, rig: Mapping[str, Any], port: str) -> None:
    """Refuse a board that this firmware or this rig is not for.

    facts: of the board. rig: checked values of the rig file. port: where it is. Raises VersionMismatchError
    with code python, FileError with code wrong_board.
    """
    hint = DOWNLOADS % oldest_text()
    version = ".".join(str(part) for part in facts.version)
    where = {"port": port, "python": f"{facts.python} {version}", "machine": facts.machine}
    if facts.python != "micropython":
        raise VersionMismatchError(
            f"the board on {port} runs {facts.python} {version}, Ribwright runs on MicroPython; "
            "nothing was changed",
            hint,
            code="python",
            where=where,
        )
    if facts.version[:2] < OLDEST:
        raise VersionMismatchError(
            f"the board on {port} carries MicroPython {version}, the oldest supported is {oldest_text()}; "
            "nothing was changed",
            hint,
            code="python",
            where=where,
        )
    chip, wanted = facts.machine.rpartition(" with ")[2], CHIPS[str(rig["board"])]
    if chip != wanted:
        raise FileError(
            f"the rig file is for board {rig['board']} ({wanted}), "
            f"on {port} is {facts.machine or 'an unknown one'}; nothing was changed",
            "name the right --port, or set board and pins in the rig file",
            code="wrong_board",
            where=where,
        )


def takes_bytecode(facts: Facts) -> bool:
    """Whether the board runs the bytecode that is made here; else it gets sources.

    facts: of the board.
    """
    return facts.mpy == FORMAT
