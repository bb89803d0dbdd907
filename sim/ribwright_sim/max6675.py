"""MAX6675 at the level of its frame: sixteen bits, and a conversion that reading breaks off.

Data sheet 19-2235 rev 3; time of a conversion typical.
"""

from __future__ import annotations

import math
from typing import ClassVar

from .chips import LINES, WIRES, Chip

CONVERT_US = 170_000
MV_PER_C = 0.041
OPEN = 4
# D0 is not driven: the line's pull-up shows.
UNDRIVEN = 1


def frame(shown_c: float, *, opened: bool = False) -> int:
    """Pack a frame: 0.25 degrees C a step from 0 to 1023.75, clamped.

    >>> hex(frame(100.75)), hex(frame(-3.0, opened=True))
    ('0xc99', '0x5')
    """
    quarters = min(max(math.floor(shown_c * 4 + 0.5), 0), 4095)
    return quarters << 3 | (OPEN if opened else 0) | UNDRIVEN


class Max6675(Chip):
    """One chip, type K; T- is grounded, or it would not notice an open circuit."""

    STATES: ClassVar[tuple[str, ...]] = WIRES + LINES

    def __post_init__(self) -> None:
        """Start with the first conversion under way."""
        super().__post_init__()
        self.due_us: int | None = CONVERT_US
        self.last = UNDRIVEN

    def lose_supply(self) -> None:
        """Begin anew when it comes back."""
        self.due_us = None

    def released(self, now_us: int) -> None:
        """Begin a conversion: the board has read, which broke off the one under way.

        now_us: of the simulation.
        """
        self.due_us = now_us + CONVERT_US

    def due(self, now_us: int) -> bool:
        """Return whether live() would change anything now."""
        return self.due_us is None or self.due_us <= now_us

    def live(self, now_us: int, hot_c: float, cold_c: float) -> None:
        """Finish what conversions were due by now, with junctions at hot_c and cold_c (degrees C)."""
        if self.due_us is None:
            self.due_us = now_us + CONVERT_US
        # After a jump of time only the last conversions matter.
        self.due_us = max(self.due_us, now_us - 10 * CONVERT_US)
        while self.due_us <= now_us:
            self.due_us += CONVERT_US
            noise_k = self.noise_k * float(self._noise.standard_normal())
            if self.state == "open":
                self.last = frame(1023.75, opened=True)
            elif self.state != "frozen":
                seen_c = cold_c + (self.cold_off_k if self.state == "cold_off" else 0.0)
                self.last = frame(self._emf_mv(hot_c, cold_c) / MV_PER_C + seen_c + self._wrong_k(noise_k))

    def word(self) -> bytes:
        """Return the two bytes of a read."""
        dead = {"bus_low": 0, "bus_high": 0xFFFF}.get(self.state)
        return (self.last if dead is None else dead).to_bytes(2, "big")
