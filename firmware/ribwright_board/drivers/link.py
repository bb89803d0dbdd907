"""Serial link over the board's USB: never blocks the heating loop.

Ctrl-C (0x03) is data here. Writing waits for no host: while the port takes no bytes, the oldest
unsent tells are dropped and counted.
"""

import select
import sys

import micropython

MAX_QUEUE = 24
READ_AT_ONCE = 512


class Link:
    """Bytes in, lines out."""

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
        self.dropped = 0

    def take(self) -> bytes:
        """What has arrived, at most READ_AT_ONCE bytes."""
        count = 0
        while count < READ_AT_ONCE and self._poll.poll(0):
            # One byte at a time: a longer read would wait for all of them.
            if not self._in.readinto(self._one):
                break
            self._taken[count] = self._one[0]
            count += 1
        return bytes(memoryview(self._taken)[:count])

    def queue(self, line: bytes) -> None:
        """Send when there is room; the oldest line gives way when the queue is full.

        line: encoded message.
        """
        if len(self._queue) >= MAX_QUEUE:
            self._queue.pop(0)
            self.dropped += 1
        self._queue.append(line)

    def send(self) -> None:
        """Write what the port takes now."""
        while self._queue and self._room.poll(0):
            self._out.write(self._queue.pop(0))
