"""What a board finds after a cut, held against what its store had promised."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import Any

from .story import State, Story, resets_counted

# What counts as lost: nothing mounts or boots, nothing more can be stored, a record or a profile is not what
# it has to be.
LOSSES = ("unreadable", "unusable", "record", "profile")
# What misleads: the mark, a number that was used, a pin or a counter is wrong.
MISLED = ("mark", "number", "pin", "counter")
# Untidy, but nothing is lost: files half written lie about; a profile made room before the new one came; a
# page that was not erased was to be programmed.
UNTIDY = ("left", "early", "refused")
KINDS = LOSSES + MISLED + UNTIDY


def is_torn(seen: dict[str, Any]) -> bool:
    """Whether an operation was left in the middle, of the store or of the recovery after it.

    seen: a line of shim/cut_play.py.
    """
    return seen["cut"][1] != "clean" or bool(seen["then"] and seen["then"][1] != "clean")


def _profiles(before: State, after: State, found: dict[str, str]) -> Iterator[str]:
    old, new = before.profiles, after.profiles
    for key in {*old, *new, *found}:
        if found.get(key) not in (old.get(key), new.get(key)):
            yield "profile"
    arriving = [key for key in new if new[key] != old.get(key)]
    if any(key not in found for key in set(old) - set(new)) and any(found.get(k) != new[k] for k in arriving):
        yield "early"


def _whole(before: bytes | None, after: bytes | None, found: list[Any] | None) -> bool:
    """Whether a run is one that may be: what was promised, and in order, and nothing else."""
    if found is None:
        return before is None or after is None
    promised = after if after is not None else before
    stated, length, sha = int(found[0]), int(found[1]), str(found[2])
    if promised is None or stated != length:
        return False
    least = len(before or b"") if after is not None else len(promised)
    return least <= length <= len(promised) and hashlib.sha256(promised[:length]).hexdigest() == sha


def _runs(before: State, after: State, found: dict[int, list[Any]]) -> Iterator[str]:
    for number in {*before.runs, *after.runs, *found}:
        if not _whole(before.runs.get(number), after.runs.get(number), found.get(number)):
            yield "record"
        elif number in found and bool(found[number][3]) not in (number in before.pins, number in after.pins):
            yield "pin"


def judge(story: Story, seen: dict[str, Any]) -> set[str]:
    """Kinds of what is wrong after a cut, of KINDS; empty when every promise was kept.

    story: of the scene. seen: a line of shim/cut_play.py.
    """
    if "unmounted" in seen or "unbooted" in seen:
        return {"unreadable"}
    at, how = seen["cut"]
    before, after, _name = story.around(at, torn=how != "clean")
    runs = {int(number): run for number, run in seen["runs"].items()}
    wrong = {*_profiles(before, after, seen["profiles"]), *_runs(before, after, runs)}
    # A recovery that was cut may have counted its reset already.
    boots = (1, 2) if seen["then"] else (1,)
    allowed = {resets_counted(state.mark, n) for state in (before, after) for n in boots}
    if tuple(seen["mark"]) not in allowed:
        wrong.add("mark")
    if seen["next"] <= max([before.used, *runs]):
        wrong.add("number")
    if "counted" in seen and seen["counted"] not in (before.counted, after.counted):
        wrong.add("counter")
    if seen["new"]:
        wrong.add("left")
    if "unusable" in seen:
        wrong.add("unusable")
    if seen["refused"]:
        wrong.add("refused")
    return wrong
