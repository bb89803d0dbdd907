"""What a board says, taken with care: letters, words, numbers within bounds, and its no as an error."""

import json
from collections.abc import Mapping
from typing import Any

from ribwright_board.core import wire

from .errors import HostError, RefusedByBoardError, VersionMismatchError

# A word that stands for a refusal; anything longer is none.
CODE_LETTERS = 32
# What to do with a board that is older than the computer.
UPDATE_BOARD = "update the board: ribwright flash with its rig file"


def check_letters(line: bytes, data: Mapping[str, Any]) -> None:
    """Raise UnicodeError for half a letter in the values: no screen and no file takes it.

    line: as it came. data: the values it carries.
    """
    if b"\\u" in line:
        json.dumps(data, ensure_ascii=False).encode()


def plain(value: object) -> str:
    """A text of the board without what would move a terminal's cursor.

    value: anything a line can carry.
    """
    return "".join(letter if letter.isprintable() else " " for letter in str(value))


def refusal(verb: str, data: Mapping[str, Any]) -> HostError:
    """The board's no, as an error.

    verb: what was asked. data: values of the answer.
    """
    code = data.get("code")
    if not isinstance(code, str) or not code.isidentifier() or len(code) > CODE_LETTERS:
        code = "refused"
    text = plain(data.get("text", f"the board refused {verb}")).removeprefix(f"{code}: ")
    seen, _, hint = text.partition("; ")
    if code == "protocol":
        return VersionMismatchError(
            f"{seen}, nothing was changed", hint or "install the same version on both sides"
        )
    return RefusedByBoardError(
        seen, hint or "see what it is doing: ribwright watch", code=code, where={"ask": verb}
    )


def whole(value: object, least: int, most: int, what: str) -> int:
    """A whole number of an answer within its bounds.

    value: as the answer gives it. least, most: its bounds. what: its name for people.
    Raises RefusedByBoardError with code bad_answer for anything else.
    """
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise RefusedByBoardError(
            f"the board gives {plain(value)[:40]} as {what}, which is none from {least} to {most}",
            "ask again; if it comes again, install the same version on both sides",
            code="bad_answer",
        )
    return value


def protocol_error(seen: object) -> VersionMismatchError:
    """The error for a board that speaks another version of the link; seen: the version it names."""
    newer = isinstance(seen, int) and seen > wire.PROTOCOL
    hint = "update this computer: pip install --upgrade ribwright" if newer else UPDATE_BOARD
    theirs = plain(seen)[:40]
    return VersionMismatchError(
        f"the board speaks link version {theirs}, this computer {wire.PROTOCOL}; nothing was changed", hint
    )
