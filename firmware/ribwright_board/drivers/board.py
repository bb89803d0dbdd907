"""The real board as one bundle: clock, sensors, relays, alive signal, panel, link, store, watchdog."""

import binascii
import gc
import sys

import machine
import pins

from ribwright_board import __version__

from .alive import Alive
from .clock import Clock
from .feedback import Feedback
from .link import Link
from .max31855 import SPI_HERTZ, Bus, Max31855
from .panel import Panel
from .relay import Relay
from .store import Store
from .watchdog import Watchdog

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.shapes import Sensor

    from .front import Front


class Board:
    """Everything the firmware touches. Relays come first: they are off from here on."""

    def __init__(self) -> None:
        output = machine.Pin.OUT
        self.relays = [Relay(machine.Pin(number, output, value=0)) for number in pins.RELAYS]
        self.alive = Alive(machine.Pin(pins.ALIVE, output, value=0))
        # Every select goes high before the first clock, or two chips answer at once.
        selects = [machine.Pin(number, output, value=1) for number in pins.SELECTS]
        spi = machine.SPI(
            pins.BUS,
            baudrate=SPI_HERTZ,
            polarity=0,
            phase=0,
            sck=machine.Pin(pins.SCK),
            mosi=machine.Pin(pins.MOSI),
            # The pull-up stays when the bus takes the pin; a resistor on the converter board does it better.
            miso=machine.Pin(pins.MISO, machine.Pin.IN, machine.Pin.PULL_UP),
        )
        self.bus = Bus(spi)
        self.sensors: list[Sensor] = []
        if set(pins.CHIPS + pins.TYPES) == {"MAX31855", "K"}:
            self.sensors += [Max31855(spi, select) for select in selects]
        else:
            from .converters import converters  # noqa: PLC0415 - a board loads its own converters only

            self.sensors = converters(spi, selects, pins.CHIPS, pins.TYPES, pins.HERTZ)
        pulled = machine.Pin.PULL_UP
        buttons = (("start", pins.START), ("next", pins.NEXT), ("stop", pins.STOP))
        panel = Panel({name: machine.Pin(number, machine.Pin.IN, pulled) for name, number in buttons})
        self.panel: Panel | Front = panel
        if pins.PANEL is not None:
            from .fitting import fitted  # noqa: PLC0415 - a rig without these parts has no memory for them

            self.panel = fitted(panel, pins.PANEL, pins.BOARD)
            del sys.modules["ribwright_board.drivers.fitting"]
        watched = pins.FEEDBACK
        self.feedback = None
        if watched is not None:
            self.feedback = Feedback(machine.Pin(watched, machine.Pin.IN, pulled))
        self.clock = Clock()
        self.watchdog = Watchdog()
        self.store = Store()
        self.link = Link()

    def identity(self) -> dict[str, str]:
        """Who this board is and what runs on it."""
        version = [str(part) for part in list(sys.implementation.version)[:3]]
        python = sys.implementation.name + " " + ".".join(version)
        board = binascii.hexlify(machine.unique_id()).decode()
        return {"board": board, "fw": __version__, "python": python}

    def forget(self, names: tuple[str, ...]) -> None:
        """Let go of modules of core that are needed seldom, and free memory; who needs one imports it.

        names: within ribwright_board.core.
        """
        core = sys.modules["ribwright_board.core"]
        for name in names:
            if sys.modules.pop("ribwright_board.core." + name, None) and hasattr(core, name):
                delattr(core, name)
        gc.collect()

    def restart(self) -> None:
        """Reset the board; it ends a watchdog as well, which nothing else can."""
        machine.reset()

    def free_heap(self) -> int:
        """Free bytes of the heap now."""
        return gc.mem_free()


def make_board() -> Board:
    """The board this firmware runs on."""
    return Board()
