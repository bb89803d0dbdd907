"""MAX6675 thermocouple converter: 16-bit read-only frame over SPI. Loaded where a rig has one.

Data sheet 19-2235 rev 3: clock up to 4.3 MHz, a conversion takes up to 220 ms, and reading ends the one under
way: a chip that is asked too often never has anything new.
"""

from ribwright_board.core.max6675 import COLD_C, read_max6675
from ribwright_board.core.sensing import Missing, Reading

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import SPI

    from ribwright_board.core.shapes import Select, Sensor

CONVERT_MS = 220
# What is told of the box follows a neighbour in steps: a figure that flickers would hide a chip that repeats
# itself.
STEP_K = 2.0


class Max6675:
    """One converter.

    spi: bus, mode 0. select: output pin, high between reads.
    """

    def __init__(self, spi: "SPI", select: "Select") -> None:
        self._spi = spi
        self._select = select
        self._frame = bytearray(2)
        self._last_ms = 0
        self._cold_c = COLD_C
        self._item: Reading | Missing | None = None

    def beside(self, cold_c: float) -> None:
        """Take what another converter in the same box says of it; cold_c: C."""
        if not -STEP_K <= cold_c - self._cold_c <= STEP_K:
            self._cold_c = cold_c

    def read(self, now_ms: int) -> Reading | Missing | None:
        """Reading or Missing; None before the first conversion.

        now_ms: present time since boot. Until the next conversion the last answer comes again, a reading
        with the time it was read at: evidence in the guard is counted by ticks, and must not wait for this
        chip.
        """
        if now_ms - self._last_ms < CONVERT_MS:
            return self._item
        self._last_ms = now_ms
        frame = self._frame
        self._select.value(0)
        try:
            self._spi.readinto(frame)
        finally:
            # Only now the next conversion begins.
            self._select.value(1)
        self._item = read_max6675(frame[0] << 8 | frame[1], self._cold_c, now_ms)
        return self._item


class Neighbour:
    """A converter that knows its own temperature, and tells those that do not.

    sensor: it. others: the MAX6675 of the rig.
    """

    def __init__(self, sensor: "Sensor", others: list[Max6675]) -> None:
        self._sensor = sensor
        self._others = others

    def read(self, now_ms: int) -> Reading | Missing | None:
        """As the sensor's; now_ms: present time since boot."""
        item = self._sensor.read(now_ms)
        if isinstance(item, Reading):
            for other in self._others:
                other.beside(item.cold_c)
        return item
