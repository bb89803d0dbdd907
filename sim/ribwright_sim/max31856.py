"""MAX31856 at the level of its registers: what they hold after power-on, what writing does, what converts.

Data sheet 19-7534 rev 0: table 6 and the descriptions of the registers, times of page 4 and 20, typical.
"""

from __future__ import annotations

from typing import ClassVar

from .chips import Chip
from .emf import emf_mv, temperature_c

DEFAULTS = bytes.fromhex("0003ff7fc07fff800000000000000000")
CR0, CR1, MASK, CJHF, CJLF, LTHF, LTLF, CJTO, CJT, LTC, SR = 0, 1, 2, 3, 4, 5, 7, 9, 10, 12, 15
AUTOMATIC, ONE_SHOT, COLD_OFF, FAULT_CLEAR, FIFTY_HERTZ = 0x80, 0x40, 0x08, 0x02, 0x01
COLD_RANGE, HOT_RANGE, COLD_HIGH, COLD_LOW, HOT_HIGH, HOT_LOW, OVUV, OPEN = (0x80 >> bit for bit in range(8))
# Type by the low half of CR1, and what it covers, degrees C (table 1).
TYPES = {2: "J", 3: "K", 4: "N", 7: "T"}
RANGES_C = {"K": (-200.0, 1372.0), "J": (-210.0, 1200.0), "N": (-200.0, 1300.0), "T": (-200.0, 400.0)}
# First conversion and the following ones by mains filter, open-circuit test by CR0 5:4, us.
FIRST_US = (143_000, 169_000)
NEXT_US = (82_000, 98_000)
OPEN_TEST_US = (0, 13_300, 33_400, 113_400)
TEST_EVERY = 16
DIPS = ("dip", "setup_lost")
LONG_US = 10_000_000


class Max31856(Chip):
    """One chip; states as chips.Chip, and "overvoltage": an input beyond the supply.

    "dip" is one of its supply, over at once: registers are as after power-on, the state is good. "setup_lost"
    are such dips without end.
    """

    STATES: ClassVar[tuple[str, ...]] = (*Chip.STATES, "overvoltage", "dip", "setup_lost")

    def __post_init__(self) -> None:
        """Start as after power-on."""
        super().__post_init__()
        self.held = bytearray(DEFAULTS)
        self.due_us: int | None = None
        self._count = 0

    def lose_supply(self) -> None:
        """Forget everything, as below 2.7 V."""
        self.held[:] = DEFAULTS
        self.due_us = None

    def write(self, register: int, value: int, now_us: int) -> None:
        """Take a byte the board has written; registers behind CJTL cannot be written.

        register: address without its highest bit. value: 0 to 255. now_us: of the simulation.
        """
        if not 0 <= register < LTC:
            return
        was = self.held[CR0]
        self.held[register] = value
        if register != CR0:
            return
        if value & FAULT_CLEAR:
            self.held[SR] &= COLD_RANGE | HOT_RANGE
        self.held[CR0] &= ~(FAULT_CLEAR | ONE_SHOT)
        if not value & AUTOMATIC and not value & ONE_SHOT:
            self.due_us = None
        elif value & ONE_SHOT or not was & AUTOMATIC:
            self._count = 0
            self.due_us = now_us + FIRST_US[value & FIFTY_HERTZ] + self._test_us()

    def due(self, now_us: int) -> bool:
        """Return whether live() would change anything now."""
        return self.state in DIPS or (self.due_us is not None and self.due_us <= now_us)

    def live(self, now_us: int, hot_c: float, cold_c: float) -> None:
        """Finish what conversions were due by now, with junctions at hot_c and cold_c (degrees C)."""
        if self.state in DIPS:
            self.lose_supply()
            self.state = "good" if self.state == "dip" else self.state
        if self.due_us is not None and now_us - self.due_us > LONG_US:
            # A jump of time: only the last conversions matter.
            passed = (now_us - self.due_us - LONG_US // 2) // NEXT_US[1]
            self._count += passed
            self.due_us += passed * NEXT_US[1]
        while self.due_us is not None and self.due_us <= now_us:
            ended_us = self.due_us
            self._convert(hot_c, cold_c)
            self._count += 1
            self.due_us = None
            if self.held[CR0] & AUTOMATIC:
                self.due_us = ended_us + NEXT_US[self.held[CR0] & FIFTY_HERTZ] + self._test_us()

    def word(self) -> bytes:
        """Return what a burst of all registers brings."""
        dead = {"bus_low": b"\x00", "bus_high": b"\xff"}.get(self.state)
        return bytes(self.held) if dead is None else 16 * dead

    def _test_us(self) -> int:
        """Time of the open-circuit test in the conversion that begins, 0 without one."""
        return 0 if self._count % TEST_EVERY else OPEN_TEST_US[self.held[CR0] >> 4 & 3]

    def _convert(self, hot_c: float, cold_c: float) -> None:
        held = self.held
        noise_k = self.noise_k * float(self._noise.standard_normal())
        if self.state == "frozen":
            return
        if self.state == "overvoltage":
            # Everything else stands still, the last temperature with it.
            held[SR] |= OVUV
            return
        status = held[SR] & OPEN
        if self._test_us():
            status = OPEN if self.state == "open" else 0
        shown_c = self._box_c(cold_c)
        status |= 0 if -55.0 <= shown_c <= 125.0 else COLD_RANGE
        kind = TYPES.get(held[CR1] & 0x0F)
        if kind is None:
            raise ValueError(f"MAX31856: CR1 asks for type {held[CR1] & 0x0F}, simulated are {sorted(TYPES)}")
        # An open input is taken for no voltage until the test finds it; what a real one shows is not stated.
        mv = 0.0 if self.state == "open" else self._emf_mv(hot_c, cold_c)
        low_c, high_c = RANGES_C[kind]
        junction_c = temperature_c(kind, mv + emf_mv(kind, shown_c), low_c, high_c)
        status |= 0 if low_c + 0.01 < junction_c < high_c - 0.01 else HOT_RANGE
        read = round((junction_c + self._wrong_k(noise_k)) * 128.0)
        held[LTC : LTC + 3] = (read * 32 & 0xFFFFFF).to_bytes(3, "big")
        held[SR] = status | self._beyond(shown_c, read / 128.0)

    def _box_c(self, cold_c: float) -> float:
        """Measure the chip's own temperature with its offset, or take what was written where that is off."""
        held = self.held
        if not held[CR0] & COLD_OFF:
            own_c = cold_c + (self.cold_off_k if self.state == "cold_off" else 0.0)
            own_c = min(max(own_c + _signed(held[CJTO], 8) / 16.0, -64.0), 127.984375)
            held[CJT : CJT + 2] = (round(own_c * 64.0) * 4 & 0xFFFF).to_bytes(2, "big")
        return _signed(int.from_bytes(held[CJT : CJT + 2], "big"), 16) / 256.0

    def _beyond(self, cold_c: float, hot_c: float) -> int:
        """Bits of the four limits."""
        held = self.held
        hot_high_c = _signed(int.from_bytes(held[LTHF : LTHF + 2], "big"), 16) / 16.0
        hot_low_c = _signed(int.from_bytes(held[LTLF : LTLF + 2], "big"), 16) / 16.0
        found = COLD_HIGH if cold_c > _signed(held[CJHF], 8) else 0
        found |= COLD_LOW if cold_c < _signed(held[CJLF], 8) else 0
        found |= HOT_HIGH if hot_c > hot_high_c else 0
        return found | (HOT_LOW if hot_c < hot_low_c else 0)


def _signed(value: int, bits: int) -> int:
    """Return a two's complement number of so many bits."""
    return value - (1 << bits) if value >> bits - 1 else value
