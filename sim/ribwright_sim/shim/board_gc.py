"""Stands in for `gc`: a collection takes its time on a board; counts are the interpreter's own."""

import gc as _real

import board_clock

# Of the collections that are asked for, really made, but for the first ones, while the firmware loads: on a
# computer they take a quarter of a board's time. An interpreter whose memory is full collects by itself.
EVERY = 1
FIRST = 20
# Bytes of the heap that are no board's, for what is left lying meanwhile.
LYING = 0
_asked = 0
_kept = -1  # free bytes that the last one left
_free = -1  # as the last one left it, where the present one was left out

enable = _real.enable
disable = _real.disable
isenabled = _real.isenabled


def _unknown():
    # CPython has no bounded heap to measure.
    return -1


_mem_free = getattr(_real, "mem_free", _unknown)
mem_alloc = getattr(_real, "mem_alloc", _unknown)


def mem_free():
    """Free bytes: now, or as the last collection left them where the present one was left out."""
    free = _mem_free() if _free < 0 else _free
    return free if free < 0 else max(0, free - LYING)


def threshold(*amount):
    """Bytes after which the interpreter collects by itself, -1 for none; asked for, or set to an amount."""
    if hasattr(_real, "mem_free"):
        return _real.threshold(*amount)
    # CPython counts otherwise.
    return None if amount else -1


def collect():
    """Collect, and let the time of a collection pass."""
    global _asked, _free, _kept
    _asked += 1
    if _asked <= FIRST or _asked % EVERY == 0:
        _real.collect()
        _kept, _free = _mem_free(), -1
    else:
        _free = _kept
    board_clock.charge(board_clock.COLLECT)
