"""Which side each laid-out run was, how it was to lie and what was answered: kept on the computer, by board
and run, until the run is read back and the figures go into its files.

The board knows nothing of it: no key of a profile that heats nothing has to pass through its memory.
"""

import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ribwright_host import user_file
from ribwright_host.runlog import RunLog

from .facts import HANDS

FILE_NAME = "sides.json"
# A shop bends some hundred sides a year; the oldest notes are of runs read back long ago.
MOST = 2000
# A run that is laid out waits for its press, at most a day; clocks of two machines are minutes apart.
WAITS_S, CLOCKS_APART_S = 86400, 900
YES, NOT_ASKED = "yes", "not asked"


def default_file() -> Path:
    """Where the notes are kept: in the user's data folder."""
    return user_file.in_data_folder(FILE_NAME)


def _read(path: Path) -> list[dict[str, Any]]:
    """The notes, the oldest first; none of a file that is none."""
    values = user_file.read(path)
    listed: list[Any] = values if isinstance(values, list) else []
    return [one for one in listed if isinstance(one, dict) and one.get("hand") in HANDS]


def keep(note: Mapping[str, Any], path: Path | None = None) -> Path:
    """Keep one note; the file. Raises FileError when it cannot be written.

    note: board, run, profile, profile_hash, hand, piece, answer, rig and side, the [side] as stated. path:
    the file, None for the user's own.
    """
    path = path or default_file()
    notes = _read(path)
    understood = bool(notes)
    notes.append({"unix": int(time.time()), **note})
    user_file.replace(path, notes[-MOST:], understood=understood)
    return path


def of_run(run: RunLog, path: Path | None = None) -> dict[str, Any]:
    """What was kept of a run that is read back; empty where nothing was.

    run: with its header. path: the file, None for the user's own. A board whose flash was made new counts
    from 1 again, so profile and time have to fit as well, and the last note counts.
    """
    wanted = {
        "board": run.word("board"),
        "run": run.header.get("run"),
        "profile_hash": run.word("profile_hash"),
    }
    found = [
        one
        for one in _read(path or default_file())
        if all(one.get(key) == value for key, value in wanted.items()) and _in_time(one, run.started_unix)
    ]
    if not found:
        return {}
    kept = ("hand", "piece", "answer", "side")
    return {key: found[-1][key] for key in kept if found[-1].get(key) is not None}


def _in_time(note: Mapping[str, Any], started_unix: int | None) -> bool:
    """Whether a run that began then may be the one that was laid out; without a time of either it may."""
    laid_unix = note.get("unix")
    if started_unix is None or not isinstance(laid_unix, int):
        return True
    return -CLOCKS_APART_S <= started_unix - laid_unix <= WAITS_S


def last_of(piece: str | None, profile: str, path: Path | None = None) -> dict[str, Any] | None:
    """The last note of the same piece, or, of runs whose piece has no name, of the same profile.

    piece: its name, or None. profile: name of the profile. path: the file, None for the user's own.
    """
    notes = _read(path or default_file())
    same = [
        one
        for one in notes
        if one.get("piece") == piece and (piece is not None or one.get("profile") == profile)
    ]
    return same[-1] if same else None


def laid_words(laid: Mapping[str, Any]) -> str:
    """Which side a run was, in a few words; "" where it is not known.

    laid: as of_run() gives it, from whatever file.

    >>> laid_words({"hand": "bass", "piece": "baritone 3", "answer": "yes"})
    'bass side of baritone 3, confirmed as drawn before the start'
    """
    if laid.get("hand") not in HANDS:
        return ""
    of = f" of {laid['piece']}" if laid.get("piece") else ""
    asked = (
        "confirmed as drawn before the start" if laid.get("answer") == YES else "nobody was asked how it lay"
    )
    return f"{laid['hand']} side{of}, {asked}"


def book_facts(laid: Mapping[str, Any]) -> dict[str, str]:
    """The marks of a run's side as columns of the notebook, in words; those not stated are left out.

    laid: as of_run() gives it, from whatever file.
    """
    stated = laid.get("side")
    if laid.get("hand") not in HANDS or not isinstance(stated, Mapping):
        return {}
    own = stated.get(str(laid["hand"]))
    told = {**stated, **(own if isinstance(own, Mapping) else {})}
    found = {key: str(told[key]) for key in ("show_face", "top_edge") if told.get(key)}
    if told.get("neck_end"):
        found["neck_end"] = f"form's neck end to the {told['neck_end']}"
    if isinstance(told.get("waist_mark_mm"), int | float):
        found["waist_mark"] = f"{told['waist_mark_mm']:g} mm from the neck end"
    widths = [told.get(key) for key in ("neck_width_mm", "tail_width_mm")]
    if all(isinstance(value, int | float) for value in widths):
        found["taper"] = f"{widths[0]:g} mm at the neck end, {widths[1]:g} mm at the tail end"
    return found
