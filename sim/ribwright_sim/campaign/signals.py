"""From junction to converter frame, quickly: the campaign reads some ten million of them.

The forward type K curve of chips.py as a table of whole degrees with straight lines between, and the
converter with the faults of its wire and of itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ribwright_board.core.sensing import Missing, Reading, read_max31855
from ribwright_sim.chips import SLOPE_MV_PER_C, Max31855, frame
from ribwright_sim.emf import type_k_mv

LOWEST_C, HIGHEST_C = -200, 1300
_MV = tuple(type_k_mv(float(c)) for c in range(LOWEST_C, HIGHEST_C + 2))
_BLOCK = 512
# What fourteen bits with a sign can hold, as in chips.frame.
LEAST_QUARTERS, MOST_QUARTERS = -8192, 8191


def quick_mv(hot_c: float) -> float:
    """The emf of type K in mV, reference junction at 0 degrees C; clamped to LOWEST_C..HIGHEST_C.

    >>> abs(quick_mv(150.5) - type_k_mv(150.5)) < 1e-4
    True
    """
    place = min(max(hot_c, LOWEST_C), HIGHEST_C) - LOWEST_C
    whole = int(place)
    low = _MV[whole]
    return low + (place - whole) * (_MV[whole + 1] - low)


@dataclass
class Wire:
    """What lies between junction and converter, as a straight line.

    gain: 1 for a whole wire, -1 for a reversed one, 0 for one shorted on its way, between for a leaking one.
    offset_k: added, e.g. by a wrong extension wire. open: broken, and the chip's own open detection works.
    """

    gain: float = 1.0
    offset_k: float = 0.0
    open: bool = False


class Converter:
    """One zone's converter and its wire.

    seed: of the noise. noise_k: standard deviation [K]. cold_offset_k: error of the chip's own sensor.
    spike_k: added to the next reading only. chip: the chip that can break, see chips.Max31855.
    """

    def __init__(self, seed: int, noise_k: float = 0.3) -> None:
        self.noise_k = noise_k
        self.cold_offset_k = 0.0
        self.spike_k = 0.0
        self.wire = Wire()
        self.chip = Max31855(seed=seed + 1, noise_k=noise_k)
        self._random = np.random.default_rng(seed)
        self._noise: list[float] = []
        self._cold: tuple[float, float, float, int] = (math.nan, math.nan, 0.0, 0)

    def convert(self, hot_c: float, cold_c: float) -> int:
        """The 32 bits of one conversion; hot_c: the junction [C], cold_c: the converter itself [C]."""
        wire = self.wire
        if wire.open and self.chip.state == "good":
            self.chip.state = "open"
        seen_c = cold_c + (hot_c - cold_c) * wire.gain + wire.offset_k + self.spike_k
        self.spike_k = 0.0
        if self.chip.state != "good":
            limited_c = min(max(seen_c, LOWEST_C), HIGHEST_C)
            return int.from_bytes(self.chip.convert(limited_c, cold_c + self.cold_offset_k), "big")
        if not self._noise:
            self._noise = self._random.standard_normal(_BLOCK).tolist()
        noise_k = self._noise.pop() * self.noise_k
        at_c, offset_k, cold_mv, cold_bits = self._cold
        if cold_c != at_c or self.cold_offset_k != offset_k:
            # The box keeps its temperature for hours.
            cold_mv, cold_bits = quick_mv(cold_c), frame(0.0, cold_c + self.cold_offset_k)
            self._cold = (cold_c, self.cold_offset_k, cold_mv, cold_bits)
        indicated_c = (quick_mv(seen_c) - cold_mv) / SLOPE_MV_PER_C + cold_c + noise_k
        quarters = min(max(math.floor(indicated_c * 4 + 0.5), LEAST_QUARTERS), MOST_QUARTERS)
        word = self.chip.last = (quarters & 0x3FFF) << 18 | cold_bits
        return word

    def wrong_k(self, hot_c: float, cold_c: float) -> float:
        """How far the reading is from the junction [K], noise apart; infinite while the chip is not good."""
        if self.chip.state != "good" or self.wire.open:
            return math.inf
        return abs((hot_c - cold_c) * (self.wire.gain - 1.0) + self.wire.offset_k)


def reading(word: int, now_ms: int) -> Reading | Missing:
    """What the firmware makes of a word, the 32 bits of a conversion, read at now_ms."""
    seen = _seen(word)
    return Missing(seen, now_ms) if isinstance(seen, str) else Reading(*seen, now_ms)


@lru_cache(maxsize=1 << 16)
def _seen(word: int) -> tuple[float, float] | str:
    """The same without its time, junction and converter [C] or the code of a fault: only words count, and in
    steps of a quarter of a degree the same ones come again and again.
    """
    found = read_max31855(word >> 16, word & 0xFFFF, 0)
    return (found.temperature_c, found.cold_c) if isinstance(found, Reading) else found.code
