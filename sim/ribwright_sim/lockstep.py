"""Runs the board's interpreter as a child process and speaks its binary lock-step protocol over two pipes.

The layouts are those of shim/board_clock.py, which runs at the other end; tests/seam compares the two.
"""

from __future__ import annotations

import contextlib
import json
import struct
import subprocess
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, cast

from .awake import reader
from .costs import OPERATIONS
from .interpreter import SHIM, Interpreter, beside_shim, command

MAGIC = 0xF5
SLEEP, MIDWAY, HELLO, RESET, ENDED = b"SMHXE"
WIRES = ord("W")
HEAD = struct.Struct("<BBHIIHHH")
EDGE = struct.Struct("<IBB")
REPLY = struct.Struct("<BBHQQHH")
COUNTS = struct.Struct(f"<{len(OPERATIONS)}I")
NEVER = 0xFFFFFFFF
LINK_RING = 512
DRAINING = 0xFFFF
IDLE = b"\xff\xff\xff\xff"  # the data line is pulled up
NO_PULL = (1 << 48) - 1  # every input high, by its pull-up


@dataclass(slots=True)
class Frame:
    """What the board hands over: kind, time passed, pin edges as (us since the last frame, pin, level), link
    bytes.

    busy_us is the time from the waking to this sleep; in an ending frame, the time left to the watchdog
    (NEVER: none). waiting is how many received bytes the board has not taken yet.
    """

    kind: int
    elapsed_us: int
    busy_us: int
    waiting: int
    counts: bytes
    edges: tuple[tuple[int, int, int], ...]
    data: bytes


@dataclass(frozen=True)
class BoardSettings:
    """What the child needs to know: flash, costs in us by OPERATIONS, pins, first moment, why it starts.

    chips: the converter behind each select, none where all are MAX31855. panel: it has parts beside its
    buttons. display: it "answers" at its bus, is "absent", or "holds" it. reach: the shim keeps hold of the
    firmware's loop, so that an order can name its parts. collect_every: of the collections of memory, really
    made. lying: bytes of the heap that what is not collected may take.
    """

    flash: Path
    costs: tuple[int, ...]
    alive_pin: int
    select_pins: tuple[int, ...]
    chips: tuple[str, ...] = ()
    start_us: int = 0
    watchdog_cause: bool = False
    reach: bool = False
    panel: bool = False
    display: str = "absent"
    collect_every: int = 1
    lying: int = 0

    def as_line(self) -> bytes:
        """Return the first line of the prelude's standard input."""
        text = json.dumps(
            {
                "flash": str(self.flash.resolve()),
                "costs": self.costs,
                "alive": self.alive_pin,
                "selects": self.select_pins,
                "chips": self.chips,
                "start_us": self.start_us,
                "cause": int(self.watchdog_cause),
                "reach": int(self.reach),
                "panel": int(self.panel),
                "display": self.display,
                "collect_every": self.collect_every,
                "lying": self.lying,
            }
        )
        return text.encode() + b"\n"


class BoardProcess:
    """One life of the board, from a reset to the next.

    kind: what runs the firmware. settings: what the child needs to know. heap: what the firmware has of it;
    what stands in for a board's built-in modules lies beside it.

    A frame that takes longer than hang_s of real time (at most twice that) gets the child killed: then
    next_frame returns None, as when the child died by itself. Text that the interpreter printed by itself is
    kept in `noise`. awake: somebody waits for the rig, so frames are waited for as Awake does.
    """

    def __init__(
        self,
        kind: Interpreter,
        settings: BoardSettings,
        heap: str = "190wk",
        hang_s: float = 20.0,
        *,
        awake: bool = False,
    ) -> None:
        """Start the interpreter with the shim's prelude."""
        mixed = bool(set(settings.chips) - {"MAX31855"})
        self._process = subprocess.Popen(
            command(
                kind, "prelude.py", beside_shim(heap, mixed=mixed, panel=settings.panel, lying=settings.lying)
            ),
            cwd=SHIM,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            bufsize=0,
            # An interrupt from the terminal is for the rig, which ends the board in order.
            start_new_session=True,
        )
        self._to_child = cast("IO[bytes]", self._process.stdin)
        self._from_child = reader(cast("IO[bytes]", self._process.stdout), awake=awake)
        with contextlib.suppress(OSError):
            # A child that died at once shows at the first frame, with what it printed.
            self._to_child.write(settings.as_line())
        self.board_us = settings.start_us
        self.noise = bytearray()
        self.hung = False
        self._buffer = b""
        self._frames = 0
        self._awaiting = False
        self._ended = threading.Event()
        threading.Thread(target=self._watch, args=(hang_s,), daemon=True).start()

    @property
    def pid(self) -> int:
        """Return the child's process id."""
        return self._process.pid

    def next_frame(self) -> Frame | None:
        """Wait for the next frame; None when the child is gone. Raises nothing."""
        self._awaiting = True
        buffer = self._buffer
        need = HEAD.size
        while True:
            if buffer and buffer[0] != MAGIC:
                at = buffer.find(MAGIC)
                self.noise += buffer if at < 0 else buffer[:at]
                buffer = b"" if at < 0 else buffer[at:]
            if len(buffer) >= need:
                _magic, kind, size, elapsed_us, busy_us, waiting, edges, count = HEAD.unpack_from(buffer)
                need = HEAD.size + size
                if len(buffer) >= need:
                    break
            more = self._from_child.read(65536)
            if not more:
                self.noise += buffer
                self._buffer = b""
                return None
            buffer = buffer + more if buffer else more
        self._awaiting = False
        self._frames += 1
        self._buffer = buffer[need:]
        at = HEAD.size + COUNTS.size
        return Frame(
            kind,
            elapsed_us,
            busy_us,
            waiting,
            buffer[HEAD.size : at],
            tuple(EDGE.iter_unpack(buffer[at : at + EDGE.size * edges])) if edges else (),
            buffer[need - count : need],
        )

    def reply(
        self,
        elapsed_us: int,
        words: Sequence[bytes],
        inputs: int = NO_PULL,
        data: bytes = b"",
        room: int = DRAINING,
        order: str = "",
        idle: bytes = IDLE,
        naps: int = 0,
    ) -> None:
        """Answer a frame: the board's clock advances by elapsed_us.

        words: the chips' bytes, in order of the zones. inputs: the pins' levels, pin 0 in the lowest bit.
        data: received over the link; the ring of LINK_RING bytes must have room for it. room: bytes the board
        may write before it stalls, DRAINING where nothing holds it up. order: Python that the shim executes
        when the board wakes next, for injected faults. idle: what the data line shows while no chip is
        selected. naps: short sleeps that need no exchange, 0 to 255.

        A child that has died meanwhile is noticed by the next next_frame.
        """
        self.board_us += elapsed_us
        code = order.encode()
        head = REPLY.pack(MAGIC, naps, len(data), self.board_us, inputs, room, len(code))
        answer = head + b"".join(words) + idle + data + code
        try:
            self._to_child.write(answer)
        except OSError:
            return

    def kill(self) -> None:
        """End the child at once, as a power cut does; no code of it runs any more."""
        self._ended.set()
        self._process.kill()
        self._process.wait()
        self._to_child.close()
        self._from_child.close()

    def _watch(self, hang_s: float) -> None:
        seen = -1
        while not self._ended.wait(hang_s):
            # Only a wait for one and the same frame over a whole period counts: the simulation may be the
            # slow one.
            if self._awaiting and seen == self._frames:
                self.hung = True
                self._process.kill()
                return
            seen = self._frames if self._awaiting else -1
