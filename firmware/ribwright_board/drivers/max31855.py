"""MAX31855 thermocouple converter: 32-bit read-only frame over SPI.

Data sheet 19-5793 rev 5: clock up to 5 MHz, data and fault bits are refreshed only while select is
high, a conversion takes up to 100 ms, and the first 200 ms after power-on may be wrong.
"""

from ribwright_board.core.sensing import K_CURVE, Missing, Reading, read_max31855

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import SPI

    from ribwright_board.core.shapes import Select

# Every converter takes as much; 32 bits pass in 32 us.
SPI_HERTZ = 1_000_000
SETTLE_MS = 200
# Nominally 70 ms, at most 100; ticks are not exactly 100 ms apart, and one that comes a little early must not
# find nothing new.
CONVERT_MS = 90
# The data line is pulled up: with every select high it shows ones. A dead line shows zeros and is named by
# the converters themselves.
IDLE_FRAMES = (b"\xff\xff\xff\xff", b"\x00\x00\x00\x00")


class Bus:
    """The line all converters share.

    spi: bus.
    """

    def __init__(self, spi: "SPI") -> None:
        self._spi = spi
        self._frame = bytearray(4)

    def quiet(self) -> bool:
        """Whether nobody answers while nobody is asked; a converter whose select is stuck does."""
        self._spi.readinto(self._frame)
        return self._frame in IDLE_FRAMES


class Max31855:
    """One converter.

    spi: bus, mode 0. select: output pin, high between reads. curve: of the type its part is made for.
    """

    def __init__(
        self, spi: "SPI", select: "Select", curve: "tuple[float, tuple[int, ...]]" = K_CURVE
    ) -> None:
        self._spi = spi
        self._select = select
        self._curve = curve
        self._frame = bytearray(4)
        self._last_ms = -CONVERT_MS

    def read(self, now_ms: int) -> Reading | Missing | None:
        """Reading or Missing; None while the chip cannot have converted anything new.

        now_ms: present time since boot.
        """
        if now_ms < SETTLE_MS or now_ms - self._last_ms < CONVERT_MS:
            return None
        self._last_ms = now_ms
        frame = self._frame
        self._select.value(0)
        try:
            self._spi.readinto(frame)
        finally:
            # A select that stays low freezes the chip's data without any flag.
            self._select.value(1)
        return read_max31855(frame[0] << 8 | frame[1], frame[2] << 8 | frame[3], now_ms, self._curve)
