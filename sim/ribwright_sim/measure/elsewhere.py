"""What a package of the host measures of itself, in a process of its own: this room may not load it."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable


def figures_of(
    module: str, *options: str, said: str, say: Callable[[str], None]
) -> tuple[dict[str, object], str]:
    """The figures that a module prints as JSON, or none and why.

    Args:
        module: as `python -m` takes it.
        options: of its command.
        said: what is measured, for people.
        say: takes a line of progress.
    """
    say(said)
    command = (sys.executable, "-m", module, *options)
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        why = (done.stderr.strip().splitlines() or ["it said nothing"])[-1]
        say(why)
        return {}, why
    figures: dict[str, object] = json.loads(done.stdout)
    return figures, ""
