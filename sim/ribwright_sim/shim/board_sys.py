"""Stands in for `sys.stdin` and `sys.stdout`: the serial link, bytes as they are."""

import sys as _real

import board_clock


class _Input:
    def readinto(self, buf, count=-1):
        """Fill buf; blocks until it is full, as on a board."""
        count = len(buf) if count < 0 else min(count, len(buf))
        view = memoryview(buf)
        got = 0
        while got < count:
            board_clock.link_wait()
            got += board_clock.link_take(view[got:count], count - got)
        return got

    def read(self, count=1):
        """Return `count` bytes; blocks until all are there."""
        buf = bytearray(count)
        self.readinto(buf)
        return bytes(buf)


class _Output:
    def write(self, data):
        """Write bytes to the link."""
        return board_clock.link_put(data)

    def flush(self):
        """Nothing is held back here."""


class _TextInput:
    buffer = _Input()

    def read(self, count=1):
        """Return `count` characters."""
        return self.buffer.read(count).decode()


class _TextOutput:
    buffer = _Output()
    encoding = "utf-8"

    def write(self, text):
        """Write text to the link."""
        board_clock.link_put(text.encode())
        return len(text)

    def flush(self):
        """Nothing is held back here."""


class Sys:
    """The real sys with the two streams replaced."""

    stdin = _TextInput()
    stdout = _TextOutput()

    def __getattr__(self, name):
        return getattr(_real, name)
