"""The files a board carries for one rig: listed from the installed packages, and hashed."""

import hashlib
import json
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from ribwright_board import __version__
from ribwright_board.core import wire

from .profiles import canonical_json
from .rigs import rig_hash

MANIFEST = "manifest.json"
# The PID library's two files; its type stub is of no use on a board.
PID_FILES = ("__init__.py", "pid.py")


def board_files(rig: Mapping[str, Any]) -> dict[str, bytes]:
    """Path on the board, relative to the root of its flash, and content of every file, the manifest last.

    rig: checked values of a rig file.
    """
    found: dict[str, bytes] = {}
    package = files("ribwright_board")
    for name in ("boot.py", "main.py"):
        found[name] = (package / "root" / name).read_bytes()
    found["pins.py"] = pins_module(rig)
    found["rig.json"] = rig_json(rig)
    found.update(sorted(_walk(package, "lib/ribwright_board")))
    pid = files("simple_pid")
    for name in PID_FILES:
        found[f"lib/simple_pid/{name}"] = (pid / name).read_bytes()
    found[MANIFEST] = manifest(found, rig_hash(rig))
    return found


def rig_json(rig: Mapping[str, Any]) -> bytes:
    """The rig as the board keeps it: its hash, its values and, last, a checksum of all before it.

    rig: checked values of a rig file.
    """
    body = canonical_json({"hash": rig_hash(rig), "rig": rig})[:-1]
    return body + b',"sum":"' + wire.checksum(body) + b'"}'


def _walk(folder: Traversable, prefix: str) -> list[tuple[str, bytes]]:
    """Every source file below a package folder, except what is not for the library folder."""
    found: list[tuple[str, bytes]] = []
    for entry in folder.iterdir():
        path = f"{prefix}/{entry.name}"
        if entry.is_dir():
            if entry.name not in ("__pycache__", "root"):
                found += _walk(entry, path)
        elif entry.name.endswith(".py"):
            found.append((path, entry.read_bytes()))
    return found


def pins_module(rig: Mapping[str, Any]) -> bytes:
    """The generated pins.py: the first thing boot.py reads, so it is constants and nothing else.

    rig: checked values of a rig file.
    """
    lines = ['"""Pins of this rig, written from its rig file."""', "", f'BOARD = "{rig["board"]}"']
    lines += [f"{key.upper()} = {int(rig['pins'][key])}" for key in ("sck", "mosi", "miso")]
    lines += [f"{key.upper()} = {int(rig['pins'][key])}" for key in ("alive", "start", "next", "stop")]
    feedback = rig["pins"].get("feedback")
    lines.append(f"FEEDBACK = {None if feedback is None else int(feedback)}")
    for name, key in (("RELAYS", "relay_pin"), ("SELECTS", "select_pin")):
        numbers = ", ".join(str(int(zone[key])) for zone in rig["zones"])
        lines.append(f"{name} = ({numbers},)")
    return ("\n".join(lines) + "\n").encode()


def manifest(found: Mapping[str, bytes], rig: str) -> bytes:
    """What is on the board, with sizes and SHA-256; sent last, so a half-sent board has none.

    found: path and content of every other file. rig: hash of the rig.
    """
    entries = [
        {"path": path, "size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
        for path, data in found.items()
    ]
    body = {"firmware": __version__, "rig": rig, "files": entries}
    return (json.dumps(body, indent=1) + "\n").encode()
