"""Stands in for `time`: virtual, with the calls of the board's own and the tick period of a 32-bit board."""

import time as _real

import board_clock
from board_clock import Board

_PERIOD = 1 << 30
_HALF = 1 << 29
NAP_US = 10000
_EPOCH_S = 1609459200  # a Pico without a set clock starts at 2021-01-01


def _read():
    """The moment after a read of the clock, in us; naps in a row are one stretch, told when it ends."""
    board_clock.charge_quietly(board_clock.CLOCK_READ)
    if Board.now_us - Board.mark_us > board_clock.MIDWAY_US and not Board.napped:
        board_clock.exchange(board_clock.MIDWAY)
    return Board.now_us


def ticks_ms():
    """Milliseconds since the start, modulo 2**30."""
    return _read() // 1000 % _PERIOD


def ticks_us():
    """Microseconds since the start, modulo 2**30."""
    return _read() % _PERIOD


ticks_cpu = ticks_us


def ticks_add(ticks, delta):
    """Return the moment delta after ticks."""
    return (ticks + delta) % _PERIOD


def ticks_diff(end, start):
    """Return end - start, signed, across the wrap."""
    return (end - start + _HALF) % _PERIOD - _HALF


def sleep_ms(ms):
    """Sleep so many ms in virtual time."""
    sleep_us(int(ms) * 1000)


def sleep_us(us):
    """Sleep so many us; a short sleep that the simulation allows is not told to it by itself."""
    if Board.naps and us <= NAP_US and not (Board.tx_len or Board.edges):
        if Board.work != 2:
            board_clock.charge_quietly(board_clock.TICK_CODE if Board.work else board_clock.WAKE_CODE)
        Board.work = 0
        Board.naps -= 1
        Board.napped = True
        board_clock.spend(int(us))
        Board.wake_us = Board.now_us
    else:
        board_clock.sleep_us(int(us))


def sleep(seconds):
    """Sleep so many seconds in virtual time."""
    sleep_us(int(seconds * 1000000))


def time():
    """Whole seconds, as a board whose clock nobody has set."""
    return _EPOCH_S + Board.now_us // 1000000


def time_ns():
    """Nanoseconds on the same clock."""
    return time() * 1000000000


gmtime = _real.gmtime
localtime = _real.gmtime
mktime = _real.mktime
if hasattr(_real, "monotonic"):
    # Under CPython the standard library asks for more of this module than a board has.
    def __getattr__(name):
        return getattr(_real, name)
