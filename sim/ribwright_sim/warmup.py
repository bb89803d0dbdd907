"""A recorded warm-up as the fit sees it: seconds of heat that was given, and what the thermocouples said.

A log begins when heat is allowed; the pulses of the proof before it are replayed as the board gives them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribwright_board.core.proving import PULSE_DUTY, PULSE_S, WATCH_S

from .layout import Stack

F64 = NDArray[np.float64]

# A log states tenths of a degree; a converter's steps are quarters, averaged over a second.
LEAST_NOISE_K = 0.05
# A thermocouple in wood that somebody reads and types in.
LEAST_WOOD_NOISE_K = 0.5
# Lag of a thin bare junction in wood [s]: a proposal.
WOOD_LAG_S = 1.0
FIRST_ROWS = 3


@dataclass(frozen=True, slots=True)
class WoodReadings:
    """The second thermocouple: seconds since the run's start, reading [C], under which zone it lies."""

    time_s: F64
    wood_c: F64
    zone: int


@dataclass(frozen=True, slots=True)
class Warmup:
    """One log from the start of heat, or what of it may be used.

    Attributes:
        name: of the log, for people.
        piece: the profile's [piece].
        row_s: (n,) seconds since the run's start, rising.
        measured_c: (n, zones) mean of the last whole relay window, not a number for none [C].
        on_s: (n, zones) seconds each relay was on since the row before.
        window_s: relay window [s].
        wood: of the second thermocouple, or None.
    """

    name: str
    piece: Mapping[str, object]
    row_s: F64
    measured_c: F64
    on_s: F64
    window_s: float = 1.0
    wood: WoodReadings | None = None

    @property
    def zones(self) -> int:
        """How many."""
        return int(self.measured_c.shape[1])

    @property
    def lead_s(self) -> int:
        """Seconds of the proof's pulses before the log begins [s]."""
        return self.zones * (PULSE_S + WATCH_S)

    @property
    def start_c(self) -> float:
        """Coldest zone's first readings [C]: what is believed of the room before the fit."""
        return float(np.nanmin(np.nanmean(self.measured_c[:FIRST_ROWS], axis=0)))

    @property
    def middle_zone(self) -> int:
        """Position of the zone under whose junction the middle of the wood is followed."""
        return self.wood.zone if self.wood is not None else int(np.argmax(self.on_s.sum(axis=0)))

    def shares(self) -> F64:
        """Share of every second each zone was on, proof and log, (seconds, zones)."""
        last_s = int(np.ceil(self.row_s[-1]))
        grid = np.arange(last_s + 1, dtype=np.float64)
        row_s = np.concatenate(([0.0], self.row_s))
        lead = np.zeros((self.lead_s, self.zones))
        found = np.zeros((last_s, self.zones))
        for z in range(self.zones):
            first = z * (PULSE_S + WATCH_S)
            lead[first : first + PULSE_S, z] = PULSE_DUTY
            total = np.concatenate(([0.0], np.cumsum(self.on_s[:, z])))
            found[:, z] = np.clip(np.diff(np.interp(grid, row_s, total)), 0.0, 1.0)
        return np.concatenate((lead, found))

    def fresh(self) -> NDArray[np.bool_]:
        """Rows that show a window no row before them showed, (n,)."""
        window = np.floor(self.row_s / self.window_s + 1e-6)
        return np.concatenate(([window[0] >= 1.0], np.diff(window) > 0.0))

    def window_ends_s(self) -> F64:
        """End of the window each fresh row shows, from the start of the lead-in [s]."""
        ends = np.floor(self.row_s[self.fresh()] / self.window_s + 1e-6) * self.window_s
        return self.lead_s + ends


def means(trace: F64, ends_s: F64, window_s: float) -> F64:
    """Mean of the last `window_s` [s] before each end of a trace with a point a second from 0.

    trace: (seconds + 1, ...). Gives (ends, ...).
    """
    half = 0.5 * (trace[1:] + trace[:-1])
    total = np.concatenate((np.zeros_like(trace[:1]), np.cumsum(half, axis=0)))
    return (_at(total, ends_s) - _at(total, ends_s - window_s)) / window_s


def at_times(trace: F64, times_s: F64) -> F64:
    """A trace with a point a second from 0, (seconds + 1, ...), at other times [s]."""
    return _at(trace, times_s)


def _at(series: F64, times_s: F64) -> F64:
    before = np.clip(np.floor(times_s).astype(np.int64), 0, len(series) - 2)
    share = (times_s - before).reshape(-1, *(1,) * (series.ndim - 1))
    result: F64 = series[before] * (1.0 - share) + series[before + 1] * share
    return result


def white_noise_k(readings_c: F64) -> float:
    """Standard deviation of what changes from reading to reading by chance [K].

    From second differences, which a smooth course does not have, by their median so that a few edges of
    heat do not count.  1.4826 makes the median of normal noise its standard deviation; three readings
    weighed 1, -2, 1 spread sqrt(6) times as far as one.
    """
    known = readings_c[np.isfinite(readings_c)]
    if len(known) < 3:
        return 0.0
    return float(1.4826 * np.median(np.abs(np.diff(known, n=2))) / np.sqrt(6.0))


def with_wood_junction(stack: Stack, zone: int, depth: float) -> Stack:
    """The stack with one more junction in the middle of the wood, that belongs to no blanket.

    stack: as laid out. zone: under whose junction it lies. depth: cells from the middle to the form's side.
    """
    middle = (stack.wood.start + stack.wood.stop) // 2
    return replace(
        stack,
        zones=(*stack.zones, "wood"),
        own=(*stack.own, stack.own[zone]),
        power_w=np.append(stack.power_w, 0.0),
        power_factor=np.append(stack.power_factor, 1.0),
        heater_share=np.concatenate((stack.heater_share, np.zeros_like(stack.heater_share[:1]))),
        junction_column=np.append(stack.junction_column, stack.junction_column[zone]),
        junction_cell=np.append(stack.junction_cell, middle - 1),
        # The face between two cells of wood lies half-way, so 1 weighs both alike.
        junction_face_weight=np.append(stack.junction_face_weight, 1.0 + 2.0 * depth),
        junction_lag_s=np.append(stack.junction_lag_s, WOOD_LAG_S),
        junction_j_m2_k=np.append(stack.junction_j_m2_k, stack.junction_j_m2_k[zone]),
        cold_rise_k=np.append(stack.cold_rise_k, stack.cold_rise_k[zone]),
        core=np.append(stack.core, stack.core[zone]),
    )
