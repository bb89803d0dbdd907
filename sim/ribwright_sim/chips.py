"""Thermocouple and MAX31855 at the level of the 32-bit frame: what the bus shows for a hot and a cold
temperature.

The forward direction only: the firmware has the inverse, and neither is made from the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

# ITS-90 reference function of type K, mV from degrees C, reference junction at 0 C: NIST Standard Reference
# Database 60 (reproducing Monograph 175), file type_k.tab.
K_BELOW_ZERO = (
    0.0,
    0.394501280250e-1,
    0.236223735980e-4,
    -0.328589067840e-6,
    -0.499048287770e-8,
    -0.675090591730e-10,
    -0.574103274280e-12,
    -0.310888728940e-14,
    -0.104516093650e-16,
    -0.198892668780e-19,
    -0.163226974860e-22,
)
K_ABOVE_ZERO = (
    -0.176004136860e-1,
    0.389212049750e-1,
    0.185587700320e-4,
    -0.994575928740e-7,
    0.318409457190e-9,
    -0.560728448890e-12,
    0.560750590590e-15,
    -0.320207200030e-18,
    0.971511471520e-22,
    -0.121047212750e-25,
)
K_BUMP_MV, K_BUMP_PER_C2, K_BUMP_C = 0.1185976, -0.1183432e-3, 126.9686

# MAX31855 data sheet 19-5793 Rev 5, table 1: the straight line the chip assumes for type K.
SLOPE_MV_PER_C = 0.041276
CONVERSION_US = 70_000  # same, tCONV typical
OPEN, SHORT_GROUND, SHORT_SUPPLY = 1, 2, 4


def type_k_mv(hot_c: float) -> float:
    """Return the emf of a type K thermocouple in mV, reference junction at 0 degrees C.

    hot_c: -270 to 1372 degrees C; raises ValueError outside.

    >>> round(type_k_mv(177.0), 6)
    7.220255
    """
    if not -270.0 <= hot_c <= 1372.0:
        raise ValueError(f"type K is defined from -270 to 1372 degrees C, got {hot_c}")
    total = 0.0
    for coefficient in reversed(K_BELOW_ZERO if hot_c < 0.0 else K_ABOVE_ZERO):
        total = total * hot_c + coefficient
    if hot_c >= 0.0:
        total += K_BUMP_MV * math.exp(K_BUMP_PER_C2 * (hot_c - K_BUMP_C) ** 2)
    return total


def indicated_c(hot_c: float, cold_c: float) -> float:
    """Return what an ideal MAX31855 for type K reports in degrees C, before rounding: its straight line,
    uncorrected.
    """
    return (type_k_mv(hot_c) - type_k_mv(cold_c)) / SLOPE_MV_PER_C + cold_c


def frame(reading_c: float, cold_c: float, faults: int = 0) -> int:
    """Pack a 32-bit MAX31855 frame (data sheet tables 2 and 3) from degrees C and the fault bits D2..D0.

    Values are rounded to 0.25 and 0.0625 degrees C and clamped to the 14- and 12-bit fields.
    """
    quarters = min(max(math.floor(reading_c * 4 + 0.5), -8192), 8191)
    sixteenths = min(max(math.floor(cold_c * 16 + 0.5), -2048), 2047)
    word = (quarters & 0x3FFF) << 18 | (sixteenths & 0xFFF) << 4 | faults & 7
    return word | 0x10000 if faults & 7 else word


@dataclass
class Max31855:
    """One chip on the bus: seeded noise, and a state in which it or its wire is broken.

    state: "good", "open", "short_ground", "short_supply", "bus_low" (all zeros), "bus_high" (all ones) or
    "frozen". noise_k: standard deviation of the reading in kelvin.
    """

    seed: int = 0
    noise_k: float = 0.3
    state: str = "good"
    last: int = 0

    STATES = ("good", "open", "short_ground", "short_supply", "bus_low", "bus_high", "frozen")

    def __post_init__(self) -> None:
        """Start the noise."""
        self._noise = np.random.default_rng(self.seed)

    def convert(self, hot_c: float, cold_c: float) -> bytes:
        """Return the four bytes of a fresh conversion for junctions at hot_c and cold_c (degrees C)."""
        reading_c = indicated_c(hot_c, cold_c) + self.noise_k * float(self._noise.standard_normal())
        if self.state == "open":
            # Data sheet, "Serial Interface": sign bit 0 and the other 13 bits all 1.
            word = frame(2047.75, cold_c, OPEN)
        elif self.state in ("short_ground", "short_supply"):
            word = frame(reading_c, cold_c, SHORT_GROUND if self.state == "short_ground" else SHORT_SUPPLY)
        elif self.state == "bus_low":
            word = 0
        elif self.state == "bus_high":
            word = 0xFFFFFFFF
        elif self.state == "frozen":
            word = self.last
        else:
            word = frame(reading_c, cold_c)
        self.last = word
        return word.to_bytes(4, "big")
