"""Scenes: what is done to a store while the power may go at any operation of its flash.

An act is its name and its arguments, as shim/cut_acts.py plays them. Records and headers are the firmware's
own.
"""

from __future__ import annotations

import base64
import hashlib
import json
import random
from dataclasses import dataclass

from ribwright_board.core import record

Act = tuple[str, tuple[object, ...]]

ZONES = 2
ROWS_PER_FLUSH = 30
PROFILES = 30
# A key is the beginning of its body's hash, as core/service.py gives it.
KEY_LETTERS = 12


@dataclass(frozen=True)
class Scene:
    """Acts on a chip of so many blocks."""

    name: str
    blocks: int
    acts: tuple[Act, ...]


def rows(count: int, first: int = 0) -> bytes:
    """So many records of two zones, one a second.

    count: how many. first: number of the first one, which is its second as well.
    """
    buffer = bytearray(record.record_size(ZONES))
    found = bytearray()
    for seq in range(first, first + count):
        zones = [[1500, 20 + 3 * seq % 1480, seq * 7 % 1000, seq * 7 % 1000, 200 + seq] for _ in range(ZONES)]
        record.pack_row(buffer, 0, seq, 1000 * seq, 3, 0, 0, zones)
        found += buffer
    return bytes(found)


def header(run: int, profile_bytes: int = 700) -> bytes:
    """The head of a run's log.

    run: its number. profile_bytes: what the profile in it takes.
    """
    values = {"run": run, "zones": ["waist", "full"], "profile": {"name": "x" * profile_bytes}}
    return record.header_bytes(values)


def profile(number: int) -> tuple[str, str]:
    """Key and text of one of many profiles of different lengths.

    number: any.
    """
    draw = random.Random(f"profile {number}")  # noqa: S311 - a drawn text, no secret
    cues = ["".join(draw.choices("abcdefgh ", k=40)) for _ in range(draw.choice((2, 5, 9, 40)))]
    text = json.dumps({"name": f"sapele side {number}", "cues": cues})
    return hashlib.sha256(text.encode()).hexdigest()[:KEY_LETTERS], text


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()


def _boot() -> Act:
    return ("boot", ())


def _run(number: int, flushes: int) -> list[Act]:
    """A run from its number to its end, as app.py writes it.

    number: what it is expected to be, for its header. flushes: so many of 30 s, and a shorter last one.
    """
    acts: list[Act] = [("next", ()), ("open", (_text(header(number)),)), ("mark", (0,))]
    pieces = [rows(ROWS_PER_FLUSH, ROWS_PER_FLUSH * flush) for flush in range(flushes)]
    pieces.append(rows(7, ROWS_PER_FLUSH * flushes))
    return [*acts, *[("append", (_text(piece),)) for piece in pieces], ("close", ()), ("unmark", ())]


def uploads() -> Scene:
    """More profiles than a board keeps, some of them again, one over a damaged file of the same name."""
    acts = [_boot()]
    acts += [("put", profile(number)) for number in range(PROFILES)]
    key, text = profile(PROFILES)
    # What a worn cell can do to a stored profile; the upload that follows replaces it.
    acts += [("put", (key, "?" + text[1:])), ("put", (key, text)), ("put", (key, text))]
    acts += [_boot(), ("put", profile(3)), ("count", (1,)), ("put", profile(PROFILES + 1)), ("count", (2,))]
    return Scene("uploads", 64, tuple(acts))


def logging() -> Scene:
    """Runs one after the other on a small flash; one is cut off, old ones make room, one is pinned."""
    acts = [_boot(), *_run(1, 6), *_run(2, 9), ("pin", (2, 1))]
    cut_off = _run(3, 5)
    acts += [*cut_off[: 3 + 4], _boot(), ("unmark", ())]
    acts += [("room", (30_000,)), *_run(4, 8), ("count", (1,)), ("pin", (4, 1)), ("pin", (2, 0))]
    acts += [("room", (40_000,)), ("pin", (4, 0)), *_run(5, 4), ("room", (90_000,)), _boot(), *_run(6, 3)]
    return Scene("logging", 32, tuple(acts))


def marks() -> Scene:
    """One reset after the other in one run, and the run's end."""
    opened: list[Act] = [("next", ()), ("open", (_text(header(1)),)), ("mark", (0,))]
    acts = [_boot(), *opened, *[_boot()] * 14, ("unmark", ()), _boot()]
    acts += [("next", ()), ("open", (_text(header(2)),)), ("mark", (0,)), ("mark", (1,)), *[_boot()] * 3]
    return Scene("marks", 24, tuple(acts))


def scenes() -> list[Scene]:
    """Every scene."""
    return [uploads(), logging(), marks()]
