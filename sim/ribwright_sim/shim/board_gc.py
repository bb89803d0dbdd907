"""Stands in for `gc`: a collection takes its time on a board; counts are the interpreter's own."""

import gc as _real

import board_clock

# Of the collections that are asked for, really made: on a computer they take a fifth of a board's time. An
# interpreter whose memory is full collects by itself.
EVERY = 1
_asked = 0

enable = _real.enable
disable = _real.disable
isenabled = _real.isenabled


def _unknown():
    # CPython has no bounded heap to measure.
    return -1


mem_free = getattr(_real, "mem_free", _unknown)
mem_alloc = getattr(_real, "mem_alloc", _unknown)


def threshold(*amount):
    """Bytes after which the interpreter collects by itself, -1 for none; asked for, or set."""
    if hasattr(_real, "mem_free"):
        return _real.threshold(*amount)
    # CPython counts otherwise.
    return None if amount else -1


def collect():
    """Collect, and let the time of a collection pass."""
    global _asked
    _asked += 1
    if _asked % EVERY == 0:
        _real.collect()
    board_clock.charge(board_clock.COLLECT)
