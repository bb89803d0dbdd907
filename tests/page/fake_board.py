"""A board that knows whatever a test has it know: told rows and events at a test's word, over a socket."""

from __future__ import annotations

import contextlib
import socket
import threading
from typing import Any, Self

from ribwright_board import __version__
from ribwright_board.core import wire

BOARD_ID = "e6614103e7452d2f"
ZONES = ["waist", "full"]


def row(ms: int = 61_000, **changes: Any) -> dict[str, Any]:
    """A second of a hold whose waist is in work."""
    return {
        "ms": ms,
        "mode": "running",
        "run": 4,
        "stage": 3,
        "stages": 8,
        "stage_kind": "hold",
        "zones": [[1550, 1502, 420, 1], [None, 212, 0, 0]],
        "mids": [[1182, 80], [220, 80]],
        "waiting": "next",
        "cue": "waist to 6 mm",
        "late_ms": 3,
        "heap": 90000,
        "crc_errors": 0,
    } | changes


class FakeBoard:
    """One board.

    knows: answers by ask. told: what was asked, in order. deaf: asks it takes and does not answer. after: how
    it stands once it has answered an ask.
    """

    def __init__(self, knows: dict[str, dict[str, Any]] | None = None, board: str = BOARD_ID) -> None:
        self.row = row()
        self.profile: dict[str, Any] | None = None
        self.board = board
        self.knows = {"stop": {"mode": "idle"}, "next": {"mode": "running"}, "pause": {"mode": "paused"}}
        self.knows |= knows or {}
        self.asked: list[tuple[str, dict[str, Any]]] = []
        self.deaf: set[str] = set()
        self.after: dict[str, dict[str, Any]] = {}
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._client: socket.socket | None = None
        self._lock = threading.Lock()
        self._ended = False
        self._seq = 0
        self.url = f"socket://127.0.0.1:{self._listener.getsockname()[1]}"
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def verbs(self) -> list[str]:
        """What was asked, but for what every computer asks by itself."""
        return [verb for verb, _ in self.asked if verb not in ("hello", "status", "trip", "get")]

    def tell(self, verb: str, data: dict[str, Any]) -> None:
        """Say something unasked."""
        if verb == "row":
            self.row = data
        self._seq += 1
        with self._lock, contextlib.suppress(OSError):
            if self._client is not None:
                self._client.sendall(wire.encode("tell", self._seq, verb, data))

    def close(self) -> None:
        """End it."""
        self._ended = True
        for one in (self._client, self._listener):
            if one is not None:
                with contextlib.suppress(OSError):
                    one.shutdown(socket.SHUT_RDWR)
                one.close()
        self._thread.join(5)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _serve(self) -> None:
        while not self._ended:
            try:
                self._client, _ = self._listener.accept()
            except OSError:
                return
            reader = wire.LineReader()
            with contextlib.suppress(OSError):
                while data := self._client.recv(4096):
                    for line in reader.feed(data):
                        self._answer(wire.decode(line))
            with self._lock:
                self._client.close()

    def _answer(self, message: wire.Message) -> None:
        verb = message.verb
        self.asked.append((verb, message.data))
        if verb in self.deaf:
            return
        word, answer = "ok", self.knows.get(verb)
        if verb == "hello":
            answer = {"v": wire.PROTOCOL, "zones": ZONES, "unit": "C", "board": self.board, "fw": __version__}
            answer |= {"python": "MicroPython 1.28.0", "rig": "ab41", "rig_name": "a fake rig"}
        elif verb == "status":
            answer = self.row | {"profile": self.profile, "trip": None, "refused": None, "interrupted": None}
        elif answer is None:
            text = f"this board does not know {verb}; update the older side"
            word, answer = "no", {"code": "no_such_ask", "text": text}
        elif "code" in answer:
            word = "no"
        self.row = self.after.get(verb, self.row)
        with self._lock:
            self._client.sendall(wire.encode("ans", message.seq, word, answer))
