"""Bytes that a coverage-guided fuzzer makes, as a stretch of talk with one end of the link.

The first byte chooses mode or call, see PLACES. The rest are lines. To a board or a computer:

    =ask 5 hello {"v": 1}     sent with its right checksum; `#` stands for the number that is waited for
    @{"schema": 1, ...}       sent to a board as a whole profile, then laid out
    .                         a tick of the board
    anything else             sent as it is

To the reader of logs (`R`): the first line becomes the header, the rest records, each with its checksum;
behind `R!` everything is the log as it stands.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
import pickle
import struct
import zlib
from random import Random

from ribwright_board.core import record, wire
from ribwright_board.core.controller import Controller
from ribwright_sim.modes_check.rigs import Files
from ribwright_sim.modes_check.world import World

from . import host_side, logs
from .board_side import Desk
from .board_state import fingerprint, take_up, warm_all
from .frames import seal
from .host_peer import Clock
from .oracle import LINE_BYTES
from .tally import Tally

PLACES = {
    b"i": "idle",
    b"r": "ready",
    b"v": "proving",
    b"u": "running",
    b"p": "paused",
    b"t": "tripped",
    b"a": "ask",
    b"l": "listen",
    b"h": "hello",
    b"L": "list_runs",
    b"P": "put_profile",
    b"G": "get_run",
    b"R": "log",
}
LINES_MOST = 60
RECORD_BYTES = record.record_size(2) - 4


class EscapedError(Exception):
    """Something came out, changed or grew that may not; the text lists it."""


class _Around(pickle.Pickler):
    """A service without its controller and files."""

    def persistent_id(self, obj: object) -> str | None:
        """A word in place of what stays where it is."""
        return "controller" if isinstance(obj, Controller) else "store" if isinstance(obj, Files) else None


class _Back(pickle.Unpickler):
    def __init__(self, data: bytes, world: World) -> None:
        super().__init__(io.BytesIO(data))
        self._world = world

    def persistent_load(self, pid: str) -> object:
        """The board's own controller and files."""
        return self._world.controller if pid == "controller" else self._world.files


class Boards:
    """Boards in every mode, each as good as new when it is handed out.

    mode: one of modes.MODES.
    """

    def __init__(self) -> None:
        self._frozen = warm_all()
        self._known: dict[str, tuple[World, bytes, tuple[object, ...]]] = {}

    def fresh(self, mode: str) -> World:
        """A board in a mode; only one that was changed is thawed again, since that takes long."""
        if mode in self._known:
            world, service, seen = self._known[mode]
            world.service = _Back(service, world).load()
            if fingerprint(world) == seen:
                return world
        world = take_up(self._frozen[mode])
        file = io.BytesIO()
        _Around(file, pickle.HIGHEST_PROTOCOL).dump(world.service)
        self._known[mode] = (world, file.getvalue(), fingerprint(world))
        return world

    def spoil(self, mode: str) -> None:
        """Forget a board that has ticked."""
        self._known.pop(mode, None)


class Script:
    """The transport of a link: one line a read, silence behind the last.

    lines: as the text on top says.
    """

    name = "memory"

    def __init__(self, lines: list[bytes]) -> None:
        self._lines = lines[::-1]
        self._number = b"0"

    def read(self) -> bytes:
        """The next line, its number put in."""
        line = self._lines.pop() if self._lines else b""
        return seal(line[1:].replace(b"#", self._number, 1)) if line[:1] == b"=" else line + b"\n"

    def write(self, data: bytes) -> None:
        """An ask, whose number the next answers may carry.

        data: its line, as the link has made it.
        """
        self._number = data.split(b" ", 2)[1]

    def close(self) -> None:
        """Nothing is held."""


def transfer(body: bytes) -> list[bytes]:
    """The lines that bring a profile and lay it out.

    body: the profile's bytes, good or not.
    """
    sha = hashlib.sha256(body).hexdigest()
    asks: list[tuple[str, dict[str, object]]] = [
        ("put_open", {"kind": "profile", "size": len(body), "sha": sha})
    ]
    for at in range(0, len(body), wire.PIECE_BYTES):
        piece = base64.b64encode(body[at : at + wire.PIECE_BYTES]).decode()
        asks.append(("put_piece", {"at": at, "data": piece}))
    asks += [("put_close", {}), ("ready", {"profile": sha[:12]})]
    return [
        seal(b"ask %d %s %s" % (place, verb.encode(), json.dumps(values).encode()))
        for place, (verb, values) in enumerate(asks)
    ]


def log_of(rest: bytes) -> bytes:
    """The log that an input describes, or is.

    rest: the input behind its first byte, as the text on top says.
    """
    if rest[:1] == b"!":
        return rest[1:]
    body, _, records = rest.partition(b"\n")
    log = bytearray(logs.head(body[:65535]))
    for at in range(0, len(records) - RECORD_BYTES + 1, RECORD_BYTES):
        one = records[at : at + RECORD_BYTES]
        log += one + struct.pack("<I", zlib.crc32(one))
    return bytes(log)


class Target:
    """Both ends of the link under one input after another.

    side: the computer's, None for host_side.host(). boards: where boards are had, None for new ones.
    """

    def __init__(self, side: host_side.Host | None = None, boards: Boards | None = None) -> None:
        self.side = side or host_side.host()
        self.boards = boards or Boards()

    def tally(self, data: bytes) -> Tally:
        """What one input did.

        data: as the text on top says; a first byte that is none of PLACES chooses one by its number.
        """
        names = list(PLACES.values())
        place = PLACES.get(data[:1]) or names[(data[0] if data else 0) % len(names)]
        tally, rest = Tally(), data[1:]
        if place == "log":
            host_side.read(self.side, log_of(rest), tally)
        elif place in host_side.CALLS:
            link = self.side.link.Link(Script(rest.split(b"\n")[:LINES_MOST]), clock=Clock(), first_seq=5)
            host_side.call(self.side, place, link, Random(3), tally, lambda: rest)  # noqa: S311 - always the same
        else:
            self._board(place, rest.split(b"\n")[:LINES_MOST], tally)
        return tally

    def run(self, data: bytes) -> None:
        """One input; raises EscapedError with what was found.

        data: as tally().
        """
        tally = self.tally(data)
        if tally.wrong:
            raise EscapedError("\n".join(tally.findings.values()))

    def _board(self, mode: str, lines: list[bytes], tally: Tally) -> None:
        desk = Desk(self.boards.fresh(mode), tally)
        for line in lines:
            if line == b".":
                self.boards.spoil(mode)
                desk.tick()
            elif line[:1] == b"@":
                for ask in transfer(line[1 : 16 * LINE_BYTES]):
                    desk.feed([ask])
            else:
                desk.feed([seal(line[1:]) if line[:1] == b"=" else line + b"\n"])
        desk.weigh()
