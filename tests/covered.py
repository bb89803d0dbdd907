"""How much of each room the tests reach: lines and branches, from what coverage has written.

Run by `make coverage`; ends with 1 where a room is below its least share. Files that only the board's
interpreter runs are not counted: tests reach them in that interpreter, where nothing counts lines.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

# Percent of lines, and of branches where heat is decided on.
LEAST = {"core": 98.0, "guard": 98.0, "host": 90.0, "sim": 90.0}
LEAST_BRANCHES = {"core": 98.0, "guard": 98.0}
# What decides on heat, within the core: limits, doubts and proofs.
GUARD = (
    "adrift answer attend doubt expect guard judge jury levels modes proving senses sensing trip twice "
    "unasked weakly"
).split()


def room_of(path: str) -> tuple[str, ...]:
    """The rooms a file counts for; none for one that does not count."""
    place = path.replace("\\", "/")
    if "ribwright_board/core/" in place:
        return ("core", "guard") if Path(place).stem in GUARD else ("core",)
    for room, package in (("host", "ribwright_host/"), ("sim", "ribwright_sim/")):
        if package in place:
            return (room,)
    return ()


def shares(found: Mapping[str, Any]) -> dict[str, dict[str, float]]:
    """Percent of lines and of branches of each room.

    Args:
        found: coverage's own report as JSON.

    Raises:
        ValueError: a room has no file in it.
    """
    sums = {room: [0, 0, 0, 0] for room in LEAST}
    keys = ("covered_lines", "num_statements", "covered_branches", "num_branches")
    for path, report in found["files"].items():
        for room in room_of(path):
            for at, key in enumerate(keys):
                sums[room][at] += report["summary"][key]
    empty = [room for room, counted in sums.items() if not counted[1]]
    if empty:
        raise ValueError(f"no file of {', '.join(empty)} was counted; run the whole of `make coverage`")
    return {
        room: {
            "lines_percent": round(100.0 * lines / of_lines, 2),
            "branches_percent": round(100.0 * branches / max(1, of_branches), 2),
        }
        for room, (lines, of_lines, branches, of_branches) in sums.items()
    }


def below(figures: Mapping[str, Mapping[str, float]]) -> list[str]:
    """What is under its least share, in words."""
    found = []
    for name, least in (("lines", LEAST), ("branches", LEAST_BRANCHES)):
        for room, wanted in least.items():
            percent = figures[room][f"{name}_percent"]
            if percent < wanted:
                found.append(f"{room}: {name} {percent:g} %, at least {wanted:g} % are wanted")
    return found


def least_reached(found: Mapping[str, Any], count: int = 12) -> list[tuple[float, int, str]]:
    """The files with the most lines that nothing reached: percent, lines missed, path."""
    rows = [
        (round(report["summary"]["percent_covered"], 1), report["summary"]["missing_lines"], path)
        for path, report in found["files"].items()
        if room_of(path)
    ]
    return sorted(rows, key=lambda row: -row[1])[:count]


def main(arguments: list[str]) -> int:
    """Print and keep the shares; arguments: coverage's JSON, and where figures are kept."""
    found = json.loads(Path(arguments[0]).read_text("utf-8"))
    figures = shares(found)
    out = Path(arguments[1])
    out.write_text(json.dumps(figures, indent=2) + "\n", "utf-8")
    for room, both in figures.items():
        print(f"{room:6} lines {both['lines_percent']:6.2f} %   branches {both['branches_percent']:6.2f} %")
    print("most lines missed:")
    for percent, missed, path in least_reached(found):
        print(f"  {missed:4} {percent:5.1f} %  {path}")
    wrong = below(figures)
    print(f"written: {out}")
    print("below their least: " + ("; ".join(wrong) or "none"))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
