"""Stands in for `gc`: a collection takes its time on a board; counts are the interpreter's own."""

import gc as _real

import board_clock

enable = _real.enable
disable = _real.disable
isenabled = _real.isenabled


def _unknown():
    # CPython has no bounded heap to measure.
    return -1


mem_free = getattr(_real, "mem_free", _unknown)
mem_alloc = getattr(_real, "mem_alloc", _unknown)


def threshold(*amount):
    """Accept a threshold; -1 means none is set."""
    return -1 if not amount else None


def collect():
    """Collect, and let the time of a collection pass."""
    _real.collect()
    board_clock.charge(board_clock.COLLECT)
