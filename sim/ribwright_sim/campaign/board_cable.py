"""A serial cable that never leaves the process: a campaign asks the board and reads what it answers."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Callable, Mapping
from typing import Any

from ribwright_board.core import wire
from ribwright_sim.interpreter import RigError
from ribwright_sim.lockstep import DRAINING

PIECE_BYTES = 240
# How the board says what its own clock shows at a moment of the simulation's.
CLOCK = (
    "import board_clock\n"
    "shown = (board_clock.Board.now_us, loop.board.clock.now_ms())\n"
    "board_clock.link_put(('clock %d %d\\n' % shown).encode())"
)


class AskRefusedError(RigError):
    """The board refused an ask.

    verb: what was asked. data: values of the answer. code: the stable short word among them.
    """

    def __init__(self, verb: str, data: Mapping[str, Any]) -> None:
        super().__init__(f"board: refused {verb}: {data}")
        self.code = str(data["code"])


class ShortCable:
    """In place of serial_link.SerialLink: what is put in is what the board gets next; all it says is kept.

    `said` are the bytes the board wrote since they were last taken by whoever reads.
    """

    def __init__(self) -> None:
        self.port = 0
        self.host_reads = True
        self.bytes_in = self.bytes_out = self.refused = 0
        self.last_seen_s = float("inf")
        self.connected = True
        self.room = DRAINING
        self.said = bytearray()
        self._incoming = bytearray()

    @property
    def waiting(self) -> int:
        """Return how many bytes the board has not been given yet."""
        return len(self._incoming)

    def put(self, data: bytes) -> None:
        """Give bytes to the board; data: after all that waits."""
        self.bytes_in += len(data)
        self._incoming += data

    def poll(self, *, now: bool = False) -> None:
        """Nothing comes from elsewhere, and so it is all the same whether it is looked for `now`."""

    def wait(self, timeout_s: float) -> bool:
        """Nothing comes from elsewhere, so no wait is long."""
        return bool(self._incoming) and timeout_s > 0.0

    def take(self, elapsed_us: int, room: int) -> bytes:
        """Return what is there, at most `room` bytes; this cable is as fast as the board reads, in no time it
        brings nothing.
        """
        if elapsed_us <= 0:
            return b""
        data = bytes(self._incoming[:room])
        del self._incoming[:room]
        return data

    def send(self, data: bytes) -> None:
        """Keep what the board writes; data: the next bytes, whole lines or not."""
        self.bytes_out += len(data)
        self.said += data

    def close(self) -> None:
        """Nothing is open."""


class Talk:
    """Asks put into a cable, and the answers found in what the board writes.

    verb: one word of the link. data: its values, as wire.encode takes them. seq: number of an ask, from 1.
    """

    def __init__(self, cable: ShortCable) -> None:
        self.cable = cable
        self._unread = b""
        self._seq = 0
        self._answers: dict[int, wire.Message] = {}

    def ask(self, verb: str, data: Mapping[str, Any]) -> int:
        """Put an ask; return the number its answer will carry."""
        self._seq += 1
        self.cable.put(wire.encode("ask", self._seq, verb, dict(data)))
        return self._seq

    def answer(self, seq: int) -> wire.Message | None:
        """Return the answer of that number once, None while it has not come."""
        return self._answers.pop(seq, None)

    def read(self) -> list[tuple[int, int]]:
        """Take what has been written; return what CLOCK said: us of the simulation's board, ms of its own."""
        clocks: list[tuple[int, int]] = []
        if not self.cable.said:
            return clocks
        *lines, self._unread = (self._unread + bytes(self.cable.said)).split(b"\n")
        self.cable.said.clear()
        for line in lines:
            if line.startswith(b"ans "):
                answer = wire.decode(line)
                self._answers[answer.seq] = answer
            elif line.startswith(b"clock "):
                _, board_us, clock_ms = line.split()
                clocks.append((int(board_us), int(clock_ms)))
        return clocks


def upload(ask: Callable[[str, Mapping[str, Any]], dict[str, Any]], profile: Mapping[str, Any]) -> str:
    """Put a profile on the board by its asks; return the name it is kept under.

    ask: takes verb and values, gives those of the answer, as BoardRig.ask. profile: as its file gives it.
    """
    body = json.dumps(profile).encode()
    ask("put_open", {"kind": "profile", "size": len(body), "sha": hashlib.sha256(body).hexdigest()})
    for at in range(0, len(body), PIECE_BYTES):
        piece = base64.b64encode(body[at : at + PIECE_BYTES]).decode()
        ask("put_piece", {"at": at, "data": piece})
    return str(ask("put_close", {})["hash"])
