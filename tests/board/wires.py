"""Stands in for the board's modules under the panel's drivers: pins with edges, a bus that keeps all.

Imported before the drivers, which ask for `machine` and `framebuf` as they load.
"""

import sys


class Pin:
    """A pin; `drive` sets an input's level and calls who listens."""

    IN, OUT, PULL_UP = 0, 1, 1
    IRQ_FALLING, IRQ_RISING = 4, 8
    hard_offered = True

    def __init__(self, number, mode=0, pull=-1, value=1):
        self.number = number
        self.level = value
        self.handler = None
        self.hard = False

    def value(self, level=None):
        if level is None:
            return self.level
        self.level = level
        return None

    def irq(self, handler, trigger, hard=False):
        if hard and not Pin.hard_offered:
            raise TypeError("unexpected keyword argument")
        assert trigger == Pin.IRQ_FALLING | Pin.IRQ_RISING
        self.handler = handler
        self.hard = hard

    def drive(self, level):
        if level != self.level:
            self.level = level
            if self.handler:
                self.handler(self)


class PWM:
    def __init__(self, pin, freq, duty_u16):
        self.pin, self.freq, self.duty = pin, freq, duty_u16

    def duty_u16(self, duty):
        self.duty = duty


class Bus:
    """A bus: keeps every write as (address, bytes), or fails.

    fails: the error that every write raises, None where the display answers.
    """

    def __init__(self):
        self.writes = []
        self.fails = None

    def writeto(self, addr, buf):
        if self.fails:
            raise self.fails
        self.writes.append((addr, bytes(buf)))

    def writevto(self, addr, vector):
        self.writeto(addr, b"".join([bytes(part) for part in vector]))

    def take(self):
        """All writes since the last taking."""
        found, self.writes = self.writes, []
        return found


class Module:
    """A module's names."""


def install():
    machine = Module()
    machine.Pin, machine.PWM = Pin, PWM
    machine.I2C = lambda *_, **__: Bus()
    sys.modules["machine"] = machine
    try:
        import framebuf  # noqa: F401 - the board's interpreter has it built in
    except ImportError:
        import importlib.util
        from pathlib import Path

        import ribwright_sim

        path = Path(ribwright_sim.__file__).parent / "shim" / "board_framebuf.py"
        spec = importlib.util.spec_from_file_location("framebuf", path)
        sys.modules["framebuf"] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules["framebuf"])
    if "micropython" not in sys.modules and sys.implementation.name != "micropython":
        micropython = Module()
        micropython.const = lambda value: value
        sys.modules["micropython"] = micropython


install()
