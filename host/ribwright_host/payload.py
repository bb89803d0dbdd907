"""The files a board carries for one rig: listed from the installed packages, compiled, and hashed."""

import hashlib
import json
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from ribwright_board import __version__
from ribwright_board.core import wire

from .bytecode import compiled, compiler
from .profiles import canonical_json
from .rigs import rig_hash

MANIFEST = "manifest.json"
# The PID library's two files; its type stub is of no use on a board.
# The bus whose pins board_pins allows.
SPI_BUS = {"pico": 0, "pico2": 0, "esp32": 2}
PID_FILES = ("__init__.py", "pid.py")
# What a display needs of others; no other rig has room for it to spare.
CARRIED = "lib/ribwright_board/carried/"
# What only the push switch of a knob needs.
PUSHED = ("lib/ribwright_board/core/knob_list.py", "lib/ribwright_board/drivers/push.py")


def board_files(rig: Mapping[str, Any], *, source: bool = False) -> dict[str, bytes]:
    """Path on the board, relative to the root of its flash, and content of every file, the manifest last.

    rig: checked values of a rig file. source: modules as sources, for an interpreter that takes no bytecode
    of ours; so they are as well where their compiler is missing. Raises FileError as bytecode.compiled().
    """
    package = files("ribwright_board")
    modules = dict(sorted(_walk(package, "lib/ribwright_board")))
    if "display" not in rig.get("panel", {}):
        modules = {name: data for name, data in modules.items() if not name.startswith(CARRIED)}
    if "knob_push" not in rig.get("panel", {}):
        modules = {name: data for name, data in modules.items() if name not in PUSHED}
    pid = files("simple_pid")
    for name in PID_FILES:
        modules[f"lib/simple_pid/{name}"] = (pid / name).read_bytes()
    # These stay sources, to be read and mended on the board; the others need the pins.
    found = {"pins.py": pins_module(rig)}
    for name in ("boot.py", "stay.py", "main.py"):
        found[name] = (package / "root" / name).read_bytes()
    found["rig.json"] = rig_json(rig)
    found.update(modules if source or compiler() is None else compiled(modules))
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
    lines.append(f"BUS = {SPI_BUS[rig['board']]}")
    lines += [f"{key.upper()} = {int(rig['pins'][key])}" for key in ("sck", "mosi", "miso")]
    lines += [f"{key.upper()} = {int(rig['pins'][key])}" for key in ("alive", "start", "next", "stop")]
    feedback = rig["pins"].get("feedback")
    lines.append(f"FEEDBACK = {None if feedback is None else int(feedback)}")
    panel = rig.get("panel")
    parts = {key: value if isinstance(value, str) else int(value) for key, value in (panel or {}).items()}
    lines.append(f"PANEL = {parts or None}")
    for name, key in (("RELAYS", "relay_pin"), ("SELECTS", "select_pin")):
        numbers = "".join(f"{int(zone[key])}, " for zone in rig["zones"] if key in zone)
        lines.append(f"{name} = ({numbers.rstrip()})")
    for name, key in (("CHIPS", "chip"), ("TYPES", "thermocouple")):
        words = ", ".join(f'"{zone[key]}"' for zone in rig["zones"])
        lines.append(f"{name} = ({words},)")
    # The mains the MAX31856 filters out.
    lines.append(f"HERTZ = {int(rig['mains']['hertz'])}")
    return ("\n".join(lines) + "\n").encode()


def manifest(found: Mapping[str, bytes], rig: str) -> bytes:
    """What is on the board, with sizes and SHA-256; sent last, so a half-sent board has none.

    found: path and content of every other file. rig: hash of the rig. One file a line: the board reads it so,
    which takes little memory.
    """
    lines = [
        json.dumps({"path": path, "size": len(data), "sha256": hashlib.sha256(data).hexdigest()})
        for path, data in found.items()
    ]
    head = json.dumps({"firmware": __version__, "rig": rig})[:-1]
    return (head + ', "files": [\n' + ",\n".join(lines) + "\n]}\n").encode()
