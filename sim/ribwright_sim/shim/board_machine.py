"""Stands in for `machine`: what a Pico offers and the firmware uses, nothing a Pico lacks.

Calls and arguments are those of the board's own module; what is only accepted changes nothing here.
"""

import board_clock
from board_clock import Board

# rp2 knows these two causes only, and a machine.reset() there reads as the watchdog (from memory of the rp2
# port).
PWRON_RESET = 1
WDT_RESET = 3
IDENTITY = b"ribsim\x00\x01"
RESET_BY = PWRON_RESET


class Pin:
    """A pin; outputs tell every change with its moment, inputs are levels set by the simulation.

    As machine.Pin; pull is only accepted, since the simulation says what a pin reads.
    """

    IN = 0
    OUT = 1
    PULL_UP = 1
    PULL_DOWN = 2
    IRQ_FALLING = 4
    IRQ_RISING = 8

    def __init__(self, number, mode=-1, pull=-1, *, value=None):
        self.number = number
        self.mode = Pin.IN
        if mode != -1:
            self.init(mode, pull, value=value)

    def init(self, mode=-1, pull=-1, *, value=None):
        """Set the direction, and for an output its first level."""
        self.mode = mode
        if mode == Pin.OUT:
            self._set(Board.levels[self.number] if value is None else value)

    def _set(self, level):
        level = 1 if level else 0
        if level != Board.levels[self.number]:
            board_clock.edge(self.number, level)

    def value(self, level=None):
        """Return the level, or set it."""
        if level is not None:
            self._set(level)
            return None
        if self.mode == Pin.OUT:
            return Board.levels[self.number]
        return Board.inputs >> self.number & 1

    __call__ = value

    def irq(self, handler=None, trigger=12, *, hard=False):
        """Have a handler called at every edge of an input, whatever trigger says; hard is only accepted."""
        Board.listeners.append((handler, self))

    def on(self):
        """Drive high."""
        self._set(1)

    def off(self):
        """Drive low."""
        self._set(0)

    def toggle(self):
        """Drive to the other level."""
        self._set(not Board.levels[self.number])


class SPI:
    """The bus to the thermocouple chips: answers the frame of the chip whose select line is low.

    As machine.SPI.
    """

    MSB = 0

    def __init__(self, number, baudrate=1000000, **settings):
        self.number = number
        self.init(baudrate=baudrate, **settings)

    def init(self, *, baudrate=0, polarity=0, phase=0, bits=8, firstbit=0, sck=None, mosi=None, miso=None):
        """Accept the settings a board takes; of the chips here only the MAX31856 minds the phase."""
        self.phase = phase

    def deinit(self):
        """Accept the end of use."""

    def readinto(self, buf, write=0):
        """Fill buf from the selected chip; with none selected the line shows what the simulation says it
        idles at, with two it is pulled low by either.
        """
        if not Board.work:
            Board.work = 1
        board_clock.charge(board_clock.SPI_READ, (len(buf) + 3) // 4)
        if Board.transfer:
            Board.transfer(None, buf, self.phase)
            return
        selected = 0
        for n in range(len(Board.selects)):
            if Board.levels[Board.selects[n]]:
                continue
            for i in range(len(buf)):
                word = Board.frames[4 * n + i] if i < 4 else 0
                buf[i] = buf[i] & word if selected else word
            selected += 1
        if not selected:
            for i in range(len(buf)):
                buf[i] = Board.frames[i - 4] if i < 4 else 0xFF

    def read(self, count, write=0):
        """Return `count` bytes from the selected chip."""
        buf = bytearray(count)
        self.readinto(buf, write)
        return bytes(buf)

    def write(self, out):
        """Write, and forget what comes meanwhile."""
        self.write_readinto(out, bytearray(len(out)))

    def write_readinto(self, out, buf):
        """Read while writing; of the chips here only the MAX31856 listens."""
        if not Board.transfer:
            self.readinto(buf)
            return
        if not Board.work:
            Board.work = 1
        board_clock.charge(board_clock.SPI_READ, (len(buf) + 3) // 4)
        Board.transfer(out, buf, self.phase)


def fit_panel():
    """Have what only a panel's parts need; a rig without them keeps its memory."""
    global I2C, PWM
    from board_panel import I2C, PWM


class WDT:
    """The watchdog: once started it cannot be stopped, and it bites in virtual time; as machine.WDT."""

    def __init__(self, id=0, timeout=5000):
        self._timeout_us = timeout * 1000
        self.feed()

    def feed(self):
        """Put the bite off by the whole timeout."""
        Board.deadline_us = Board.now_us + self._timeout_us


def unique_id():
    """Return the identity by which the computer tells a virtual board."""
    return IDENTITY


def reset_cause():
    """Return why the board started."""
    return RESET_BY


def reset():
    """Start the board again; never returns."""
    board_clock.flush()
    board_clock.end(board_clock.RESET, b"asked")


def freq():
    """Return the clock of a Pico in Hz."""
    return 125000000


def idle():
    """Wait for an interrupt; here a millisecond passes."""
    board_clock.sleep_us(1000)
