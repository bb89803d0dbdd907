"""`python -m ribwright_sim.longrun FOLDER`: heat for 72 hours, write longrun.json and longrun_notes.json.

The exit code is 1 when a goal is not held.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from ribwright_sim.campaign.spread import processes
from ribwright_sim.measure.timing import machine

from .figures import broken, figures, notes
from .play import play_task, say

HOURS = 72.0
SEED = 7


def build(folder: Path, hours: float, seed: int, boards: int) -> int:
    """Play, write, show; 0 when every goal is held, 1 when not.

    folder: for the two files, made when absent. hours: of heat, all boards together. seed: of the first
    board, one more for each other. boards: how many, each in its process.
    """
    tasks = [(hours / boards, seed + place) for place in range(boards)]
    played = sorted(processes(play_task, tasks, boards), key=lambda long: long.seed)
    found = figures(played) | {"machine": machine()}
    missed = broken(found)
    folder.mkdir(parents=True, exist_ok=True)
    contents = {"longrun.json": found | {"not_held": missed}, "longrun_notes.json": notes(played)}
    for name, content in contents.items():
        (folder / name).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
    for name, value in found.items():
        say(f"{name:28}{value}")
    for long in played:
        if long.lost:
            say(f"ended early: {long.lost}")
    say(f"written: {folder / 'longrun.json'}, longrun_notes.json beside it")
    say(f"goals not held: {', '.join(missed) or 'none'}")
    return 1 if missed else 0


def main(words: Sequence[str]) -> int:
    """Do what the command line says; the exit code.

    words: of the command line, without the program's.
    """
    parser = argparse.ArgumentParser(prog="longrun", description="hours of heat on a virtual board")
    parser.add_argument("folder", nargs="?", default="build", type=Path)
    parser.add_argument("--hours", type=float, default=HOURS, help="of heat, all boards together")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--boards", type=int, default=1, help="boards of their own, each in its process")
    asked = parser.parse_args(words)
    return build(asked.folder, asked.hours, asked.seed, asked.boards)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
