"""Runs a script of the shim in the board's own interpreter, with the modules a board carries beside it."""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ribwright_sim.campaign.board_runs import board_payload
from ribwright_sim.campaign.rigs import draw_setting, rig_mapping
from ribwright_sim.interpreter import SHIM, Interpreter, RigError, choose, command

HEAP = "32M"
TIMEOUT_S = 600
SEED = 11


def payload(kind: Interpreter = "micropython") -> dict[str, bytes]:
    """Path on the board and content of every file it carries, for a drawn rig of two zones.

    kind: whose files; for CPython they are sources.
    """
    return board_payload(rig_mapping(draw_setting(SEED, 1.0, bare=False)), kind)


def ask(script: str, question: Mapping[str, object], heap: str = HEAP) -> list[Any]:
    """What a script of the shim says to a question, one value of JSON per line.

    script: its name. question: its first line of input, but for lib, rig and files: the folder of the
    board's modules, the rig's file, and the folder of all files. heap: of the interpreter. Raises RigError
    when the interpreter is missing or the script fails.
    """
    launch = command(choose("micropython"), script, heap=heap)
    files = payload()
    with tempfile.TemporaryDirectory(prefix="ribwright_flash_") as folder:
        for path, body in files.items():
            place = Path(folder) / path
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_bytes(body)
        known = {"lib": f"{folder}/lib", "files": folder, "rig": files["rig.json"].decode()}
        done = subprocess.run(
            launch,
            cwd=SHIM,
            input=json.dumps({**known, **question}).encode() + b"\n",
            capture_output=True,
            timeout=TIMEOUT_S,
            check=False,
        )
    lines = done.stdout.decode("utf-8", "replace").splitlines()
    if done.returncode != 0:
        said = " / ".join(line[:300] for line in lines[-8:])
        raise RigError(f"{script}: ended with {done.returncode}: {said}; see what it says last")
    return [json.loads(line) for line in lines]
