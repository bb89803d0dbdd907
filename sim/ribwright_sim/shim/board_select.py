"""Stands in for `select`: a poll over the virtual serial link."""

import board_clock
from board_clock import Board

POLLIN = 1
POLLOUT = 4
POLLERR = 8
POLLHUP = 16


class poll:
    """Tells whether received bytes wait, and whether a write would go through at once.

    As the board's own select.poll; flags are only accepted.
    """

    def __init__(self):
        self._watched = []

    def register(self, stream, mask=POLLIN | POLLOUT):
        """Watch a stream, or change what is watched."""
        self.unregister(stream)
        self._watched.append((stream, mask))

    modify = register

    def unregister(self, stream):
        """Stop watching a stream."""
        self._watched = [entry for entry in self._watched if entry[0] is not stream]

    def _ready(self):
        events = (POLLIN if Board.rx_len else 0) | (POLLOUT if Board.room else 0)
        ready = []
        for stream, mask in self._watched:
            if mask & events:
                ready.append((stream, mask & events))
        return ready

    def poll(self, timeout=-1):
        """Return the ready streams, waiting up to timeout ms (-1: for ever) in virtual time."""
        if timeout == 0:
            return self._ready()
        waited = 0
        while True:
            ready = self._ready()
            if ready or 0 <= timeout <= waited:
                return ready
            board_clock.sleep_us(10000)
            waited += 10

    def ipoll(self, timeout=-1, flags=0):
        """Return an iterator over poll()."""
        return iter(self.poll(timeout))
