"""`python -m ribwright_sim.modes_check`: walk the modes and print what was found as JSON."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

from .diagram import write, written
from .walk import explore


def main(arguments: list[str] | None = None) -> int:
    """Walk, print; 1 when a rule was broken or something was left unvisited.

    arguments: those after the program's name; None, the command line's own.
    """
    parser = argparse.ArgumentParser(prog="python -m ribwright_sim.modes_check", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="one rig, fewer moves")
    parser.add_argument("--enough", type=int, default=10_000, metavar="N", help="stop after N broken rules")
    parser.add_argument("--write", action="store_true", help="write the mode diagram and do nothing else")
    parser.add_argument("--written", action="store_true", help="only say whether the diagram is up to date")
    parser.add_argument("document", nargs="?", type=Path, default=Path("DEVELOPERS.md"), help="where to")
    chosen = parser.parse_args(arguments)
    if chosen.write:
        write(chosen.document)
        return 0
    if chosen.written:
        text = chosen.document.read_text(encoding="utf-8")
        if written(text) != text:
            seen = f"the mode diagram in {chosen.document} is out of date"
            sys.stderr.write(f"{seen}; write it again: python -m ribwright_sim.modes_check --write\n")
            return 1
        return 0
    result = explore(quick=chosen.quick, enough=chosen.enough)
    sys.stdout.write(json.dumps(result.figures(), indent=2) + "\n")
    return 0 if result.whole and not result.broken else 1


if __name__ == "__main__":
    sys.exit(main())
