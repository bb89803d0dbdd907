"""`python -m ribwright_sim.campaign FOLDER`: play the campaign, write campaign.json and campaign_notes.json.

`python -m ribwright_sim.campaign replay CASE` plays one case again and shows it second by second.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from ribwright_sim.measure.timing import machine

from .goals import judged
from .parts import play
from .replay import replay
from .spread import ExecutorError, cores, executor
from .work import FULL, NORMAL, QUICK, Size, tasks

SEED = 4


def say(text: str) -> None:
    """One line of results; text: without its line feed."""
    sys.stdout.write(text + "\n")


class Progress:
    """One line on standard error: what is done of all, and how long the rest will take."""

    def __init__(self, total: int) -> None:
        """total: pieces of work."""
        self._total = total
        self._done = 0
        self._begun = time.monotonic()
        self._live = sys.stderr.isatty()

    def step(self, name: str) -> None:
        """One more piece is done; name: of its part."""
        self._done += 1
        spent_s = time.monotonic() - self._begun
        left_s = spent_s / self._done * (self._total - self._done)
        tenth = max(1, self._total // 10)
        if self._live or self._done % tenth == 0:
            end = "\r" if self._live and self._done < self._total else "\n"
            sys.stderr.write(
                f"campaign, {name}: {self._done} of {self._total}, {spent_s:.0f} s, {left_s:.0f} s to go{end}"
            )
            sys.stderr.flush()


def table(figures: dict[str, object]) -> list[str]:
    """The figures as lines for people."""
    width = max(len(name) for name in figures)
    return [f"  {name:{width}s}  {value}" for name, value in figures.items() if not isinstance(value, dict)]


def build(folder: Path, size: Size, seed: int, workers: int, how: str) -> int:
    """Play, write, show; 0 when every figure is what it has to be, 1 when not.

    folder: where the files go, made where it is missing. size: how much is played. seed: of everything that
    is drawn. workers: processes, 1 for this one alone. how: name of the executor, as of spread.executor.

    Raises ExecutorError for an executor that cannot be had.
    """
    begun = time.monotonic()
    played = play(size, seed, workers, executor(how), Progress(len(tasks(size, seed)) + 2).step)
    figures = played.figures() | {"seed": seed, "machine": machine() | {"workers": workers, "executor": how}}
    figures["seconds"] = round(time.monotonic() - begun, 1)
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in (("campaign.json", figures), ("campaign_notes.json", played.notes())):
        (folder / name).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
    for line in table(figures):
        say(line)
    say(f"written: {folder / 'campaign.json'}, campaign_notes.json beside it")
    broken = [name for name, goal in judged(figures).items() if not goal["held"]]
    say(f"goals not held: {', '.join(broken) or 'none'}")
    return 1 if broken else 0


def _build(words: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="campaign", description="play the fault campaign")
    parser.add_argument("folder", nargs="?", default="build", type=Path)
    parser.add_argument("--quick", action="store_true", help="a sample of every fault, about a minute")
    parser.add_argument("--full", action="store_true", help="a thousand whole healthy runs")
    parser.add_argument("--workers", type=int, default=cores())
    parser.add_argument("--executor", default="processes", help="processes, joblib, dask or MODULE:CALLABLE")
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args(words)
    size = QUICK if asked.quick else FULL if asked.full else NORMAL
    try:
        return build(asked.folder, size, asked.seed, asked.workers, asked.executor)
    except ExecutorError as error:
        sys.stderr.write(f"{error}\n")
        return 2


def _replay(words: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="campaign replay", description="play one case again")
    parser.add_argument("case", help="e.g. A1/hold/z0/loaded/0.9/12, or a healthy run like whole/1/bare/3")
    parser.add_argument("--every", type=float, default=1.0, help="seconds between two lines")
    asked = parser.parse_args(words)
    try:
        return replay(asked.case, say, asked.every)
    except ValueError as error:
        sys.stderr.write(f"{error}\n")
        return 2


def main(words: Sequence[str]) -> int:
    """Do what the command line says; words: those after the program's name.

    Gives the exit status: 0, 1 where a figure or a case is not as it has to be, 2 for an executor or a case
    that there is not, 3 where a case's warm run never came to its phase.
    """
    return _replay(words[1:]) if words[:1] == ["replay"] else _build(words)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
