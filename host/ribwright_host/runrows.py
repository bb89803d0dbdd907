"""What a run's log is made of, as the host keeps it: rows, events, and the readings that led to a trip."""

from collections.abc import Sequence
from dataclasses import dataclass

from ribwright_board.core import record
from ribwright_board.core.errors import fault_name
from ribwright_board.core.units import TENTHS_MISSING

# A missing reading says why by a number that no temperature has.
COLDEST_TENTHS = -3000
# So far below its target, for so many seconds, and no relay ever on: nothing here heats.
BELOW_K, WATCHED_ROWS = 2.0, 10


@dataclass(frozen=True)
class ZoneRow:
    """One zone in one row: temperatures in C or None, duty 0-1, relay time since the last row in ms, the
    board's estimate of the wood's middle in C or None.
    """

    target_c: float | None
    measured_c: float | None
    duty: float
    relay_on_ms: int
    mid_wood_c: float | None = None

    @property
    def below(self) -> bool:
        """Whether it reads less than its target, by more than noise."""
        if self.target_c is None or self.measured_c is None:
            return False
        return self.measured_c < self.target_c - BELOW_K


@dataclass(frozen=True)
class LogRow:
    """One second of a run; stage counted from 0, at_ms since the run's start."""

    at_ms: int
    stage: int
    mode: str
    flags: int
    late_ms: int
    zones: tuple[ZoneRow, ...]


@dataclass(frozen=True)
class LogEvent:
    """One event; name, a and b as record.EVENTS tells, zone a position or -1 for the whole rig."""

    at_ms: int
    stage: int
    name: str
    zone: int
    a: int
    b: int
    text: str


@dataclass(frozen=True)
class LogTrail:
    """The readings of one zone that led to a trip, the oldest first.

    at_ms: of the last one. zone: position. step_ms: between two. readings: temperature in C, or the name of
    the fault that stands in its place, "none" for no reading at all.
    """

    at_ms: int
    zone: int
    step_ms: int
    readings: tuple[float | str, ...]


def keep_trail(trails: list[LogTrail], item: record.Trail) -> None:
    """Add a record of readings; one that goes on where the last one of its zone ended is joined to it.

    trails: so far, changed in place. item: as core.record reads it.
    """
    readings = tuple(_reading(value) for value in item.values)
    last = trails[-1] if trails else None
    begun_ms = item.at_ms - item.step_ms * len(readings)
    if last and last.zone == item.zone and last.step_ms == item.step_ms and last.at_ms == begun_ms:
        trails[-1] = LogTrail(item.at_ms, item.zone, item.step_ms, last.readings + readings)
    else:
        trails.append(LogTrail(item.at_ms, item.zone, item.step_ms, readings))


def _reading(value: int) -> float | str:
    if value == TENTHS_MISSING:
        return "none"
    return value / 10 if value > COLDEST_TENTHS else fault_name(value - TENTHS_MISSING)


def watched(rows: Sequence[LogRow]) -> bool:
    """Whether zones stayed below their targets while no relay ever came on: heat came from elsewhere.

    rows: of a whole run.
    """
    if any(zone.relay_on_ms for row in rows for zone in row.zones):
        return False
    wanting = [row for row in rows if row.mode == "running" and any(zone.below for zone in row.zones)]
    return len(wanting) >= WATCHED_ROWS
