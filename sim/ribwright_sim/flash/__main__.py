"""`python -m ribwright_sim.flash [FOLDER]`: measure and write flash.json and flash_notes.json.

Exit code 1 when a cut of power or a full flash lost something, 2 when there is no MicroPython for it.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from ribwright_sim.interpreter import RigError
from ribwright_sim.measure.timing import machine

from .report import broken, measured


def say(line: str) -> None:
    """One line of progress."""
    sys.stderr.write(line + "\n")


def main(folder: Path) -> int:
    """Measure, write, show; the exit code. folder: where the two files go, made where it is not there."""
    try:
        figures, notes = measured(say)
    except RigError as error:
        say(str(error))
        return 2
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in (("flash.json", figures | {"machine": machine()}), ("flash_notes.json", notes)):
        (folder / name).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
    for key, value in figures.items():
        sys.stdout.write(f"  {key:26s}  {value}\n")
    wrong = broken(figures)
    say(f"written: {folder / 'flash.json'}, flash_notes.json beside it")
    say(f"not held: {', '.join(wrong) or 'none'}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1] if len(sys.argv) > 1 else "build")))
