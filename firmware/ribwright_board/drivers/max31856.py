"""MAX31856 thermocouple converter: sixteen registers over SPI. Loaded where a rig has one.

Data sheet 19-7534 rev 0: clock up to 5 MHz, data change on the first edge of the clock (mode 1), addresses
count up by themselves while select is low, and a burst brings temperatures of one conversion. The first
conversion takes up to 185 ms, its open-circuit test 15 ms more.
"""

from ribwright_board.core.max31856 import CONVERTS, FRAME_SIZE, read_max31856
from ribwright_board.core.sensing import Missing, Reading

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import SPI, Pin

    from ribwright_board.core.shapes import Select

FRESH_MS = 200
# One that comes a little early must find something; see max31855.CONVERT_MS.
AGAIN_MS = 90


class Modes:
    """The mode of a bus that converters of mode 0 and of mode 1 share; the clock's idle level is the same.

    spi: bus, mode 0. hertz: its clock.
    """

    def __init__(self, spi: "SPI", hertz: int) -> None:
        self._spi = spi
        self._hertz = hertz
        self._phase = 0

    def take(self, phase: int) -> None:
        """Set the bus to a phase, 0 or 1, where it is in the other."""
        if phase != self._phase:
            self._spi.init(baudrate=self._hertz, polarity=0, phase=phase)
            self._phase = phase


class InMode:
    """A select that has the bus in its converter's mode before it goes low.

    select: output pin. modes: of the bus. phase: the converter's.
    """

    def __init__(self, select: "Pin", modes: Modes, phase: int) -> None:
        self._select = select
        self._modes = modes
        self._phase = phase

    def value(self, level: int) -> None:
        """Set the level; level: 0 selects."""
        if not level:
            self._modes.take(self._phase)
        self._select.value(level)


class Max31856:
    """One converter.

    spi: bus. select: output pin, high between reads; with it low the bus is in mode 1. set_up: of
    core.max31856.
    """

    def __init__(self, spi: "SPI", select: "Select", set_up: bytes) -> None:
        self._spi = spi
        self._select = select
        self._set_up = set_up
        self._start = bytes((set_up[0], set_up[1] | CONVERTS))
        self._ask = bytes(FRAME_SIZE)
        self._frame = bytearray(FRAME_SIZE)
        self._last_ms = 0
        self._fresh_ms = 0  # when what was set up last has brought its first conversion; 0: not set up yet
        self._lost = False

    def read(self, now_ms: int) -> Reading | Missing | None:
        """Reading or Missing; None while the chip cannot have converted anything new.

        now_ms: present time since boot. A chip that has forgotten what it was told is told again; until it
        has converted anew its reading stays missing.
        """
        if now_ms < FRESH_MS or now_ms - self._last_ms < AGAIN_MS:
            return None
        self._last_ms = now_ms
        if not self._fresh_ms:
            self._tell(now_ms)
            return None
        self._select.value(0)
        try:
            self._spi.write_readinto(self._ask, self._frame)
        finally:
            self._select.value(1)
        item = read_max31856(self._frame, self._set_up, now_ms)
        if isinstance(item, Missing):
            if item.code in ("setup_lost", "bus"):
                self._lost = True
                self._tell(now_ms)
        elif now_ms < self._fresh_ms:
            return Missing("setup_lost", now_ms) if self._lost else None
        else:
            self._lost = False
        return item

    def _tell(self, now_ms: int) -> None:
        """Set the chip up, then let it convert; filter and type may change only while it does not."""
        self._fresh_ms = now_ms + FRESH_MS
        for registers in (self._set_up, self._start):
            self._select.value(0)
            try:
                self._spi.write(registers)
            finally:
                self._select.value(1)
