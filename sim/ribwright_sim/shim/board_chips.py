"""The converters' bus where a chip is more than a frame: register addresses, writes, reads that break off a
conversion. Loaded for such rigs alone.

What a chip holds comes from the simulation with every exchange (mixed_chips.py); what the board does to it
goes back as events in place of pin edges, with numbers no pin has. In between it is kept here.
"""

import board_clock
from board_clock import Board

REGISTER, RELEASED = 64, 128
REGISTERS, WRITABLE = 16, 12
SIZES = {"MAX31855": 4, "MAX31856": 16, "MAX6675": 2}
UNHEARD = -1  # an address that was clocked in the wrong mode
PULLED_UP = 0xFF

_chips = ()
_starts = []
_at = []  # bytes since the select went low
_address = []
_before = []  # the byte before, for a stream that is one bit late


def install(chips, selects):
    """Take over selects and transfers. Return how many bytes each chip hands over.

    chips: names by zone, of SIZES. selects: their pins, in the same order.
    """
    global _chips
    _chips = tuple(chips)
    start = 0
    for name in _chips:
        _starts.append(start)
        start += SIZES[name]
        _at.append(0)
        _address.append(UNHEARD)
        _before.append(PULLED_UP)
    Board.selected = _selected
    Board.transfer = _transfer
    return tuple([SIZES[name] for name in _chips])


def _selected(pin, level):
    n = Board.selects.index(pin)
    if not level:
        _at[n] = 0
        _before[n] = PULLED_UP
    elif _chips[n] == "MAX6675":
        board_clock.note(RELEASED + n, 1)


def _transfer(out, buf, phase):
    idle = Board.frames[-4:]
    for i in range(len(buf)):
        found, driven = PULLED_UP, False
        for n in range(len(Board.selects)):
            if not Board.levels[Board.selects[n]]:
                found &= _shift(n, out[i] if out else 0, phase)
                driven = True
        buf[i] = found if driven or i >= len(idle) else idle[i]


def _shift(n, byte, phase):
    """One byte in and out of a chip that is selected."""
    at = _at[n]
    _at[n] = at + 1
    name, start = _chips[n], _starts[n]
    if name == "MAX31855":
        return Board.frames[start + at] if at < SIZES[name] else 0
    if name == "MAX6675":
        # Its last bit is not driven, nor is the line after it.
        return Board.frames[start + at] if at < SIZES[name] else PULLED_UP
    true = _register_byte(n, at, byte, phase)
    if phase:
        return true
    # Sampled on the first edge, where the chip is about to change its data: every bit is the one before.
    late = (_before[n] << 7 | true >> 1) & 0xFF
    _before[n] = true
    return late


def _register_byte(n, at, byte, phase):
    if at == 0:
        _address[n] = byte if phase else UNHEARD
        return PULLED_UP
    if _address[n] == UNHEARD:
        # What it makes of an address a bit late is not stated; reads begin at the first register.
        return Board.frames[_starts[n] + at - 1] if at <= REGISTERS else PULLED_UP
    register = (_address[n] & 0x7F) + at - 1
    if _address[n] & 0x80:
        if register < WRITABLE:
            Board.frames[_starts[n] + register] = byte
            board_clock.note(REGISTER + REGISTERS * n + register, byte)
        return PULLED_UP
    return Board.frames[_starts[n] + register] if register < REGISTERS else PULLED_UP
