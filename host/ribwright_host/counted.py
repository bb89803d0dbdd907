"""What boards have counted, kept day by day: a board counts for its life, a month is two readings apart.

`ribwright runs` and `ribwright fetch` note it, as they talk with the board anyway. Nothing is noted of a
simulated rig.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from . import user_file
from .monthly import today

FILE_NAME = "counted.json"
NUMBERS, LISTS = ("runs", "trips"), ("on_s", "switches")


@dataclass(frozen=True)
class Apart:
    """What a board counted between two readings. first, last: days of these. runs, trips: how many. on_s,
    switches: per zone, seconds on and times the relay came on.
    """

    first: date
    last: date
    runs: int
    trips: int
    on_s: list[int]
    switches: list[int]


def default_file() -> Path:
    """Where it is kept: in the user's data folder."""
    return user_file.in_data_folder(FILE_NAME)


def _whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _sound(counted: object) -> bool:
    """Whether it is what a board counts, whole."""
    if not isinstance(counted, dict) or not all(_whole(counted.get(key)) for key in NUMBERS):
        return False
    lists = [counted.get(key) for key in LISTS]
    if not all(isinstance(one, list) and all(_whole(each) for each in one) for one in lists):
        return False
    return len(counted["on_s"]) == len(counted["switches"])


def _read(path: Path) -> dict[str, dict[str, Any]]:
    """Readings by board and day; nothing of a file that is none."""
    values = user_file.read(path)
    if not isinstance(values, dict):
        return {}
    return {board: days for board, days in values.items() if isinstance(days, dict)}


def note(board: str, counted: Mapping[str, Any], day: date | None = None, path: Path | None = None) -> bool:
    """Keep what a board has counted by a day; says whether it could be used. Raises FileError when the file
    cannot be written.

    board: its id. counted: as the board tells it, which may be anything. day: None for today. path: the
    file, None for the user's own.
    """
    if not _sound(dict(counted)):
        return False
    path = path or default_file()
    values = _read(path)
    kept = {key: counted[key] for key in (*NUMBERS, *LISTS)}
    understood = bool(values)
    values.setdefault(board, {})[(day or today()).isoformat()] = kept
    user_file.replace(path, values, understood=understood)
    return True


def between(board: str, first: date, last: date, path: Path | None = None) -> Apart | None:
    """What a board counted in some days: the last reading before them, else the first among them, and the
    last one among them. None without two readings, and where it has begun to count anew.

    board: its id. first, last: days, both in. path: the file, None for the user's own.
    """
    found: list[tuple[date, dict[str, Any]]] = []
    for text, counted in _read(path or default_file()).get(board, {}).items():
        try:
            day = date.fromisoformat(text)
        except ValueError:
            continue
        if day <= last and _sound(counted):
            found.append((day, counted))
    found.sort(key=lambda one: one[0])
    before = [one for one in found if one[0] < first]
    among = [one for one in found if one[0] >= first]
    if not among or not (before or len(among) > 1):
        return None
    begin, end = (before[-1] if before else among[0]), among[-1]
    if len(begin[1]["on_s"]) != len(end[1]["on_s"]):
        return None
    numbers = [end[1][key] - begin[1][key] for key in NUMBERS]
    lists = [[b - a for a, b in zip(begin[1][key], end[1][key], strict=True)] for key in LISTS]
    if min([*numbers, *lists[0], *lists[1]]) < 0:
        return None
    return Apart(begin[0], end[0], numbers[0], numbers[1], lists[0], lists[1])
