"""Stands in for what a panel's parts ask of `machine`: the display's bus and a tone; and turns the knob.

What is written to the bus goes to the simulation, which has the display; here is only whether one answers.
Loaded where a rig has such a part.
"""

import board_clock
from board_clock import Board

# A bus without anybody at this address, and one that is held down (from memory of the rp2 port).
NOBODY, HELD = 5, 110
ADDRESS = 0x3C
# Bytes handed over at once; a piece of a picture is sent on as it comes.
HELD_BACK = 256
PICTURE = 16


class I2C:
    """The display's bus: a write is charged by its bytes, and refused where nobody answers.

    As machine.I2C; pins and speed are only accepted. timeout: in us, what a bus that is held costs. Writes
    raise OSError: NOBODY or HELD.
    """

    def __init__(self, number, *, scl=None, sda=None, freq=400000, timeout=50000):
        self._timeout_us = timeout
        self._kept = bytearray(HELD_BACK)
        self._used = 0

    def _write(self, addr, parts):
        count = sum([len(part) for part in parts])
        if Board.display == "holds":
            board_clock.spend(self._timeout_us)
            raise OSError(HELD)
        board_clock.charge_quietly(board_clock.I2C_BYTE, 1 + count)
        if Board.display != "answers" or addr != ADDRESS:
            raise OSError(NOBODY)
        if self._used + 2 + count > HELD_BACK:
            self._hand_over()
        kept, at = self._kept, self._used
        kept[at] = addr
        kept[at + 1] = count
        at += 2
        for part in parts:
            kept[at : at + len(part)] = part
            at += len(part)
        self._used = at
        if count > PICTURE:
            board_clock.charge_quietly(board_clock.DISPLAY_PIECE)
            self._hand_over()

    def _hand_over(self):
        # A frame carries one kind of bytes: what is written to the link goes first.
        board_clock.flush()
        count, self._used = self._used, 0
        board_clock._tx[:count] = memoryview(self._kept)[:count]  # noqa: SLF001 - one chip in two files
        Board.tx_len = count
        board_clock.exchange(board_clock.WIRES)

    def writeto(self, addr, buf, stop=True):
        """Write bytes to a device; their number."""
        self._write(addr, (buf,))
        return len(buf)

    def writevto(self, addr, vector, stop=True):
        """Write pieces one after the other; their bytes."""
        self._write(addr, vector)
        return sum([len(part) for part in vector])


class PWM:
    """A tone on a pin: heard as long as its duty is not 0; as machine.PWM, its pitch is only accepted."""

    def __init__(self, pin, *, freq=0, duty_u16=0):
        self._pin = pin
        self.duty_u16(duty_u16)

    def duty_u16(self, duty):
        """Sound, or be silent with 0."""
        self._pin.value(1 if duty else 0)


def turn(a, b, detents):
    """Turn the knob: four edges a detent, told to whoever listens to its pins.

    a, b: numbers of these pins. detents: how far, below 0 the other way round.
    """
    order = (a, b) if detents > 0 else (b, a)
    for _ in range(abs(detents)):
        for level in (0, 1):
            for pin in order:
                Board.inputs = Board.inputs | 1 << pin if level else Board.inputs & ~(1 << pin)
                for handler, listening in Board.listeners:
                    if listening.number == pin:
                        handler(listening)
