"""Serial link over the board's USB: never blocks the heating loop.

Ctrl-C (0x03) is data here. Writing waits for no host: bytes go out in units of the USB packet, each only when
there is room, and line feeds fill the last one up, which readers pass over. As every write is a whole unit,
the port's buffer holds whole units too, and room for one byte is room for one unit (from memory of TinyUSB's
buffers: a full-speed bulk packet of 64 bytes, a buffer of four). While the port takes none, the oldest
unsent lines give way and are counted. A write that stalls all the same is the last one for a while.
"""

import select
import sys
import time

import micropython

UNIT = 64
FILLING = b"\n" * UNIT
MAX_QUEUE_BYTES = 4096
READ_AT_ONCE = 512
WRITE_AT_ONCE = 16 * UNIT
# A host that holds the port open and reads nothing can hold a write up for more than a second.
STALL_MS = 100
QUIET_MS = 10000


class Link:
    """Bytes in, lines out.

    dropped: lines that gave way. stalls: writes that were held up.
    """

    def __init__(self) -> None:
        micropython.kbd_intr(-1)
        self._in = sys.stdin.buffer
        self._out = sys.stdout.buffer
        self._poll = select.poll()
        self._poll.register(sys.stdin, select.POLLIN)
        self._room = select.poll()
        self._room.register(sys.stdout, select.POLLOUT)
        self._one = bytearray(1)
        self._taken = bytearray(READ_AT_ONCE)
        self._queue: list[bytes] = []
        self._queued = 0
        self._unit = bytearray(UNIT)
        self._sent = 0  # bytes of the first line that are out
        self._stalled_ms = time.ticks_ms()
        self._quiet = False
        self.dropped = 0
        self.stalls = 0

    def take(self) -> bytes:
        """What has arrived, at most READ_AT_ONCE bytes."""
        count = 0
        while count < READ_AT_ONCE and self._poll.poll(0):
            # One byte at a time: a longer read would wait for all of them.
            if not self._in.readinto(self._one):
                break
            self._taken[count] = self._one[0]
            count += 1
        if count:
            # Whoever speaks is likely to read.
            self._quiet = False
        return bytes(memoryview(self._taken)[:count])

    def queue(self, line: bytes) -> None:
        """Send when there is room; the oldest lines give way when the queue is full.

        line: encoded message.
        """
        self._queue.append(line)
        self._queued += len(line)
        while self._queued > MAX_QUEUE_BYTES:
            # One that is half out stays: its end would be taken for another line's beginning.
            self._drop(1 if self._sent else 0)

    def _drop(self, at: int) -> None:
        self._queued -= len(self._queue.pop(at))
        self.dropped += 1

    def send(self) -> None:
        """Write what the port takes now, at most WRITE_AT_ONCE bytes."""
        if self._quiet and time.ticks_diff(time.ticks_ms(), self._stalled_ms) < QUIET_MS:
            return
        self._quiet = False
        for _ in range(WRITE_AT_ONCE // UNIT):
            if self._quiet or not self._queue or not self._room.poll(0):
                return
            line = self._queue[0]
            piece = line[self._sent : self._sent + UNIT]
            unit, count = self._unit, len(piece)
            unit[:count] = piece
            if count < UNIT:
                unit[count:] = FILLING[count:]
            self._sent += count
            if self._sent >= len(line):
                self._queued -= len(self._queue.pop(0))
                self._sent = 0
            begun_ms = time.ticks_ms()
            self._out.write(unit)
            ended_ms = time.ticks_ms()
            if time.ticks_diff(ended_ms, begun_ms) >= STALL_MS:
                self._stalled_ms = ended_ms
                self._shed()

    def _shed(self) -> None:
        """Nobody reads: nothing is kept for later, nor written until the host speaks or a while is over.

        By then the port's buffer is full, and tells by its room when somebody reads again.
        """
        self._quiet = True
        self.stalls += 1
        while self._queue:
            self._drop(0)
        # What is half out ends here, whoever reads it.
        self._sent = 0
        self._queue.append(b"\n")
        self._queued = 1
