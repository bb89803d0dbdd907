"""What has to be tried at a rig every month, when that was done last for each board, and whether it is due.

No computer can try these: somebody presses, looks and listens, and says so.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from . import user_file

# Makers of residual-current devices print "test monthly" beside the button (from memory); the same for the
# emergency stop is common practice, no source.
DUE_DAYS = 31
FILE_NAME = "tested.json"


@dataclass(frozen=True)
class Test:
    """One thing to try: its word, its name, what to do, and what must happen."""

    word: str
    name: str
    act: str
    answer: str


TESTS = (
    Test(
        "emergency",
        "emergency stop",
        "while a run heats, press the emergency stop",
        "the contactor dropped out at once, and the board shut down",
    ),
    Test(
        "rcd",
        "test button of the RCD or GFCI",
        "press the test button of the residual-current device (RCD, GFCI)",
        "everything behind it went dead",
    ),
)


def today() -> date:
    """The day, UTC."""
    return datetime.now(UTC).date()


def default_file() -> Path:
    """Where the days are kept: in the user's data folder."""
    return user_file.in_data_folder(FILE_NAME)


def _read(path: Path) -> dict[str, dict[str, str]]:
    """Days by board and test; nothing of a file that is none: then everything is due."""
    values = user_file.read(path)
    if not isinstance(values, dict):
        return {}
    return {
        board: {word: str(day) for word, day in days.items()}
        for board, days in values.items()
        if isinstance(days, dict)
    }


def last_day(board: str, word: str, path: Path | None = None) -> date | None:
    """When a test was passed last at a board; None where nobody knows.

    board: its id. word: of the test. path: the file, None for the user's own.
    """
    try:
        return date.fromisoformat(_read(path or default_file()).get(board, {}).get(word, ""))
    except ValueError:
        return None


def note(board: str, word: str, day: date | None = None, path: Path | None = None) -> Path:
    """Keep that a test was passed; the file. Raises FileError when it cannot be written.

    board: its id. word: of the test. day: None for today. path: the file, None for the user's own.
    """
    path = path or default_file()
    values = _read(path)
    understood = bool(values)
    values.setdefault(board, {})[word] = (day or today()).isoformat()
    user_file.replace(path, values, understood=understood)
    return path


def due(board: str, *, now: date | None = None, path: Path | None = None) -> list[Mapping[str, Any]]:
    """Tests that are due at a board: each with its word, its name, the days since, and a sentence.

    board: its id. now: None for today. path: the file, None for the user's own. A day still to come is none.
    """
    found: list[Mapping[str, Any]] = []
    for test in TESTS:
        last = last_day(board, test.word, path)
        days = None if last is None else ((now or today()) - last).days
        if days is not None and 0 <= days <= DUE_DAYS:
            continue
        when = "no test is noted" if days is None else f"last tested {last}, {days} days ago"
        if days is not None and days < 0:
            when = f"noted for {last}, which is still to come"
        found.append(
            {
                "test": test.word,
                "days": days,
                "sentence": f"Due, {test.name}: {when}. Try it, then: ribwright tested {test.word}",
            }
        )
    return found
