"""Thermocouple and MAX31855 at the level of the 32-bit frame: what the bus shows for a hot and a cold
temperature, whole and broken.

The forward direction only: the firmware has the inverse, and neither is made from the other.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

import numpy as np

from .emf import emf_mv

# MAX31855 data sheet 19-5793 Rev 5, table 1: the straight line that the part for each type assumes.
SLOPES_MV_PER_C = {"K": 0.041276, "J": 0.057953, "T": 0.05218, "N": 0.036256}
SLOPE_MV_PER_C = SLOPES_MV_PER_C["K"]
CONVERSION_US = 70_000  # same, tCONV typical
OPEN, SHORT_GROUND, SHORT_SUPPLY = 1, 2, 4


# A chip's own temperature stays what it was for many conversions.
_cold_mv = lru_cache(64)(emf_mv)


def indicated_c(hot_c: float, cold_c: float, kind: str = "K") -> float:
    """Return what an ideal MAX31855 reports in degrees C, before rounding: its straight line, uncorrected.

    kind: of thermocouple and part.
    """
    return (emf_mv(kind, hot_c) - emf_mv(kind, cold_c)) / SLOPES_MV_PER_C[kind] + cold_c


def frame(reading_c: float, cold_c: float, faults: int = 0) -> int:
    """Pack a 32-bit MAX31855 frame (data sheet tables 2 and 3) from degrees C and the fault bits D2..D0.

    Values are rounded to 0.25 and 0.0625 degrees C and clamped to the 14- and 12-bit fields. faults: the sum
    of OPEN, SHORT_GROUND and SHORT_SUPPLY, 0 for none; any sets the fault bit D16 as well.
    """
    quarters = min(max(math.floor(reading_c * 4 + 0.5), -8192), 8191)
    sixteenths = min(max(math.floor(cold_c * 16 + 0.5), -2048), 2047)
    word = (quarters & 0x3FFF) << 18 | (sixteenths & 0xFFF) << 4 | faults & 7
    return word | 0x10000 if faults & 7 else word


# What wires, plugs and interference do, whatever converter is behind them.
WIRES = ("good", "reversed", "double_reversed", "short_at_plug", "wrong_gain", "cold_off", "offset", "noisy")
LINES = ("open", "bus_low", "bus_high", "frozen")


@dataclass
class Chip:
    """One converter and its thermocouple: seeded noise, and a state in which it or its wire is broken.

    state: one of STATES. noise_k: standard deviation of the reading in kelvin. What some states need:
    head_rise_k: how much warmer than the chip the joint is at which an extension wire begins, for
    "double_reversed". gain: of the wrong amplifier, for "wrong_gain". cold_off_k: error of the cold
    junction, for "cold_off". offset_k: what a touch of the steel adds, for "offset". burst_k and
    burst_share: spread of a disturbed conversion and how many are disturbed, for "noisy". kind: type of the
    thermocouple, and what the chip takes it for.
    """

    seed: int = 0
    noise_k: float = 0.3
    state: str = "good"
    last: int = 0
    head_rise_k: float = 15.0
    gain: float = 0.8
    cold_off_k: float = 15.0
    offset_k: float = 40.0
    burst_k: float = 40.0
    burst_share: float = 0.6
    kind: str = "K"

    STATES: ClassVar[tuple[str, ...]] = WIRES + LINES

    def __post_init__(self) -> None:
        """Start the noise."""
        self._noise = np.random.default_rng(self.seed)
        self._burst_left = 0

    def convert(self, hot_c: float, cold_c: float) -> bytes:
        """Return the bytes of a fresh conversion for junctions at hot_c and cold_c (degrees C), of a chip
        without times of its own. Raises NotImplementedError for any other.
        """
        raise NotImplementedError(f"{type(self).__name__} converts in its own time")

    def _wrong_k(self, noise_k: float) -> float:
        """What interference adds to one conversion in kelvin, beside its noise."""
        if self.state == "noisy":
            return noise_k + self._burst()
        return noise_k + self.offset_k if self.state == "offset" else noise_k

    def _emf_mv(self, hot_c: float, cold_c: float) -> float:
        """Voltage at the chip's input, as the wire is now."""
        whole_mv = emf_mv(self.kind, hot_c) - _cold_mv(self.kind, cold_c)
        if self.state == "reversed":
            return -whole_mv
        if self.state == "double_reversed":
            # The extension is swapped at both of its ends: its own voltage counts the wrong way round.
            head_mv = emf_mv(self.kind, cold_c + self.head_rise_k) - emf_mv(self.kind, cold_c)
            return whole_mv - 2.0 * head_mv
        if self.state == "short_at_plug":
            # The wires touch beside the box: the loop ends there, at the chip's own temperature.
            return 0.0
        return whole_mv * self.gain if self.state == "wrong_gain" else whole_mv

    def _burst(self) -> float:
        """Error of one conversion in kelvin: bursts of one to five, so many that burst_share is hit."""
        if self._burst_left == 0:
            length = int(self._noise.integers(1, 6))
            quiet = self._noise.random() >= self.burst_share
            self._burst_left = -length if quiet else length
        hit = self._burst_left > 0
        self._burst_left += -1 if hit else 1
        return self.burst_k * float(self._noise.standard_normal()) if hit else 0.0


class Max31855(Chip):
    """A MAX31855 of its type."""

    STATES: ClassVar[tuple[str, ...]] = (*Chip.STATES, "short_ground", "short_supply")

    def convert(self, hot_c: float, cold_c: float) -> bytes:
        """Return the four bytes of a fresh conversion for junctions at hot_c and cold_c (degrees C)."""
        word = self._word(hot_c, cold_c, self.noise_k * float(self._noise.standard_normal()))
        self.last = word
        return word.to_bytes(4, "big")

    def _word(self, hot_c: float, cold_c: float, noise_k: float) -> int:
        state = self.state
        if state in ("frozen", "bus_low", "bus_high"):
            return {"frozen": self.last, "bus_low": 0, "bus_high": 0xFFFFFFFF}[state]
        if state == "open":
            # Data sheet, "Serial Interface": sign bit 0 and the other 13 bits all 1.
            return frame(2047.75, cold_c, OPEN)
        faults = {"short_ground": SHORT_GROUND, "short_supply": SHORT_SUPPLY}.get(state, 0)
        noise_k = self._wrong_k(noise_k)
        shown_c = cold_c + self.cold_off_k if state == "cold_off" else cold_c
        return frame(
            self._emf_mv(hot_c, cold_c) / SLOPES_MV_PER_C[self.kind] + shown_c + noise_k, shown_c, faults
        )


@dataclass
class Harness:
    """The chips of a rig, the wires between them and the junctions, and the bus they share.

    junction: which zone's junction each chip is wired to; two plugs exchanged are two entries exchanged.
    select_low: a chip whose select line is stuck low, None for none. It never converts anew, since a chip
    refreshes only while its select is high, and it drives the data line with every other chip: the line is
    low where either of them holds it low.
    """

    chips: list[Chip]
    select_low: int | None = None

    def __post_init__(self) -> None:
        """Start with every plug in its own socket."""
        self.junction = list(range(len(self.chips)))
        self._stuck_word: bytes | None = None

    def swap(self, one: int, other: int) -> None:
        """Exchange the plugs of two chips; one, other: their positions."""
        junction = self.junction
        junction[one], junction[other] = junction[other], junction[one]

    def convert(self, hot_c: Sequence[float], cold_c: Sequence[float]) -> list[bytes]:
        """Return what the bus brings of each chip, from the junctions at hot_c by zone and the chips' own
        temperatures at cold_c by chip (degrees C).
        """
        return self.mix(
            [
                chip.convert(hot_c[at], cold)
                for chip, at, cold in zip(self.chips, self.junction, cold_c, strict=True)
            ]
        )

    def idle(self) -> bytes:
        """Return what the line shows while no chip is selected: pulled up, unless one never lets go."""
        held = self._stuck_word
        return b"\xff\xff\xff\xff" if self.select_low is None or held is None else held

    def mix(self, words: list[bytes]) -> list[bytes]:
        """Return what the shared line makes of the chips' own answers; words: in the chips' order."""
        if self.select_low is None:
            self._stuck_word = None
            return words
        if self._stuck_word is None:
            self._stuck_word = words[self.select_low]
        held = self._stuck_word
        words[self.select_low] = held
        return [bytes(a & b for a, b in zip(word, held, strict=True)) for word in words]
