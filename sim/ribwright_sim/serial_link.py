"""The serial cable of the virtual board: one computer at a time on a TCP port of this machine."""

from __future__ import annotations

import contextlib
import select
import socket
import time
from typing import Protocol

from .lockstep import DRAINING

PACKET_BYTES = 64  # the port's buffer is emptied in whole packets (from memory of TinyUSB)
FIFO_BYTES = 256  # what a Pico's USB keeps for a computer that holds the port open and does not read
INCOMING_LIMIT = 65536
BYTES_PER_S = 64_000  # full-speed USB serial as a MicroPython program sees it (estimate)
LEAST_BYTES = 256
PATIENCE_S = 0.5
POLL_EVERY_S = 0.002


class Cable(Protocol):
    """What the rig needs of the board's serial cable; SerialLink is the real one."""

    port: int
    host_reads: bool
    bytes_in: int
    bytes_out: int
    refused: int
    last_seen_s: float

    @property
    def connected(self) -> bool:
        """Whether a computer holds the port open."""

    @property
    def waiting(self) -> int:
        """How many received bytes the board has not been given yet."""

    @property
    def room(self) -> int:
        """How many bytes the board may write before it stalls."""

    def poll(self, *, now: bool = False) -> None:
        """Take what came in; now: look at once, even if that was done a moment ago."""

    def wait(self, timeout_s: float) -> bool:
        """Wait in real time for bytes; return whether any came."""

    def take(self, elapsed_us: int, room: int) -> bytes:
        """Return what the cable brings in elapsed_us, at most `room` bytes."""

    def send(self, data: bytes) -> None:
        """Carry bytes to the computer; data: what the board has written."""

    def close(self) -> None:
        """End the connection."""


class SerialLink:
    """Listens on 127.0.0.1 and carries bytes both ways; with no computer there, what the board says is lost.

    port: 0 takes a free one. A second computer is turned away by closing its connection. Raises OSError when
    the port is taken.
    """

    def __init__(self, port: int = 0) -> None:
        self._listener = socket.create_server(("127.0.0.1", port))
        self._listener.setblocking(False)  # noqa: FBT003 - the library's signature
        self.port: int = self._listener.getsockname()[1]
        self._client: socket.socket | None = None
        self._incoming = bytearray()
        self._outgoing = bytearray()
        self._stalled = False
        self._polled_s = 0.0
        self.host_reads = (
            True  # False: the computer holds the port open and reads nothing, as a frozen one does
        )
        self.bytes_in = self.bytes_out = self.refused = 0
        self.last_seen_s = time.monotonic()

    @property
    def connected(self) -> bool:
        """Return whether a computer holds the port open."""
        return self._client is not None

    @property
    def waiting(self) -> int:
        """Return how many received bytes the board has not been given yet."""
        return len(self._incoming)

    @property
    def room(self) -> int:
        """Return how many bytes the board may write before it stalls."""
        if self._client is None or (self.host_reads and not self._stalled):
            return DRAINING
        return max(0, FIFO_BYTES - len(self._outgoing)) // PACKET_BYTES * PACKET_BYTES

    def poll(self, *, now: bool = False) -> None:
        """Take what came in; cheap when called often, as the sockets are looked at every 2 ms only.

        now: look at them at once all the same.
        """
        at_s = time.monotonic()
        if not now and at_s - self._polled_s < POLL_EVERY_S:
            return
        self._polled_s = at_s
        if self._client is not None:
            self.last_seen_s = at_s
            self._receive(self._client)
        with contextlib.suppress(BlockingIOError):
            newcomer, _address = self._listener.accept()
            if self._client is not None:
                self.refused += 1
                newcomer.close()
            else:
                newcomer.setblocking(False)  # noqa: FBT003 - the library's signature
                newcomer.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                self._client = newcomer
                self._receive(newcomer)
        if self._outgoing:
            self._push()

    def wait(self, timeout_s: float) -> bool:
        """Wait in real time for a computer or its bytes; return whether any came."""
        sockets = [self._listener] if self._client is None else [self._listener, self._client]
        ready = bool(select.select(sockets, [], [], timeout_s)[0])
        self.poll(now=True)
        return ready

    def take(self, elapsed_us: int, room: int) -> bytes:
        """Return what the cable brings in elapsed_us, no more than the board has room for."""
        if not self._incoming:
            return b""
        count = min(room, max(LEAST_BYTES, elapsed_us * BYTES_PER_S // 1_000_000))
        data = bytes(self._incoming[:count])
        del self._incoming[:count]
        return data

    def send(self, data: bytes) -> None:
        """Carry bytes to the computer; data: what the board has written, lost where no computer is there.

        The board's time may run far faster than the computer's, so a computer that is only slow is waited
        for, up to half a second of real time; one that reads nothing for that long counts as stalled until it
        reads again.
        """
        self.bytes_out += len(data)
        if self._client is None:
            return
        self._outgoing += data
        self._push()
        if len(self._outgoing) <= FIFO_BYTES or self._stalled or not self.host_reads:
            return
        end_s = time.monotonic() + PATIENCE_S
        while self._client is not None and len(self._outgoing) > FIFO_BYTES:
            if not select.select([], [self._client], [], max(0.0, end_s - time.monotonic()))[1]:
                self._stalled = True
                return
            self._push()

    def close(self) -> None:
        """Close the port and the connection."""
        self._drop()
        self._listener.close()

    def _receive(self, client: socket.socket) -> None:
        if len(self._incoming) >= INCOMING_LIMIT:
            return
        try:
            data = client.recv(INCOMING_LIMIT)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        if data:
            self.bytes_in += len(data)
            self._incoming += data
        else:
            self._drop()

    def _push(self) -> None:
        if self._client is None or not self.host_reads:
            return
        try:
            sent = self._client.send(self._outgoing)
        except BlockingIOError:
            return
        except OSError:
            self._drop()
            return
        del self._outgoing[:sent]
        if not self._outgoing:
            self._stalled = False

    def _drop(self) -> None:
        if self._client is not None:
            self._client.close()
        self._client = None
        self._outgoing.clear()
        self._stalled = False
