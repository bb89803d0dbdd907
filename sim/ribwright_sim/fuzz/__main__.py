"""`python -m ribwright_sim.fuzz FOLDER`: fuzz both ends of the link, write fuzz.json and fuzz_notes.json."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from ribwright_sim.campaign.spread import cores

from .run import FRAMES, SEED, measure, tasks

# What must be 0.
WRONG = ("fuzz_exceptions", "fuzz_state_changes", "fuzz_bounds_broken")


class Progress:
    """One line on standard error, ten times in all."""

    def __init__(self, total: int) -> None:
        """total: pieces of work."""
        self._total, self._done = total, 0

    def step(self, side: str) -> None:
        """One more piece is done; side: whose."""
        self._done += 1
        if self._done % max(1, self._total // 10) == 0 or self._done == self._total:
            sys.stderr.write(f"fuzz, {side}: {self._done} of {self._total}\n")


def main(words: Sequence[str]) -> int:
    """Play, write, show; 1 when anything escaped or changed.

    words: of the command line, without the program's.
    """
    parser = argparse.ArgumentParser(
        prog="fuzz", description="frames of every kind into both ends of the link"
    )
    parser.add_argument("folder", nargs="?", default="build", type=Path)
    parser.add_argument("--frames", type=int, default=FRAMES, help="for each side")
    parser.add_argument("--workers", type=int, default=cores())
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args(words)
    step = Progress(len(tasks(asked.frames, asked.seed))).step
    figures, notes = measure(asked.frames, asked.workers, asked.seed, step)
    asked.folder.mkdir(parents=True, exist_ok=True)
    for name, content in (("fuzz.json", figures), ("fuzz_notes.json", notes)):
        (asked.folder / name).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
    for name, value in figures.items():
        sys.stdout.write(f"  {name:28s}  {value}\n")
    sys.stdout.write(f"written: {asked.folder / 'fuzz.json'}, fuzz_notes.json beside it\n")
    return 1 if any(figures[name] for name in WRONG) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
