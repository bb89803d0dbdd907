"""What a run has shown so far, a point a second, and how long the wood has been where it is."""

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, NamedTuple

from ribwright_board.core.units import TENTHS_MISSING

# Six hours; a run of heat ends after two.
MOST_POINTS = 6 * 3600
# Rows come once a second: a longer step is a hole, which no held time may bridge.
HOLE_MS = 2500
SAME_MS = 500


def tenths_c(value: object) -> float | None:
    """Tenths of a degree of the link in C; None for what is missing or no number.

    value: as the link told it, whole tenths of a degree C, TENTHS_MISSING for no reading.

    >>> tenths_c(1503), tenths_c(-32768), tenths_c(None)
    (150.3, None, None)
    """
    if isinstance(value, bool) or not isinstance(value, int) or value == TENTHS_MISSING:
        return None
    return value / 10


@dataclass(frozen=True)
class Seen:
    """A zone in one second; temperatures in C or None, duty 0-1, band in K."""

    target_c: float | None
    measured_c: float | None
    duty: float
    relay_on: bool
    mid_c: float | None
    band_k: float


class Point(NamedTuple):
    """One second of a run. at_ms: board time. stage: counted from 1, 0 for none. mode: as it was told."""

    at_ms: int
    seen: list[Seen]
    stage: int
    mode: str


def seen_of(data: Mapping[str, Any]) -> list[Seen]:
    """Every zone of a row or status; what does not make sense is missing, never a number.

    data: as the board told it.
    """
    mids = data.get("mids")
    mids = mids if isinstance(mids, list) else []
    found = []
    zones = data.get("zones")
    for position, entry in enumerate(zones if isinstance(zones, list) else []):
        target, measured, duty, relay = (
            entry if isinstance(entry, list) and len(entry) == 4 else (None, None, 0, 0)
        )
        mid = mids[position] if position < len(mids) else None
        mid, band = mid if isinstance(mid, list) and len(mid) == 2 else (None, 0)
        share = duty / 1000 if isinstance(duty, int) and 0 <= duty <= 1000 else 0.0
        found.append(
            Seen(
                target_c=tenths_c(target),
                measured_c=tenths_c(measured),
                duty=share,
                relay_on=bool(relay),
                mid_c=tenths_c(mid),
                band_k=tenths_c(band) or 0.0,
            )
        )
    return found


@dataclass
class Curve:
    """The seconds of one run.

    first_ms: board time of the first second with heat allowed, None before it. broken: something is missing,
    since the link was lost or the page came when the run was on. edition: another once the past has changed.
    """

    run: int = 0
    first_ms: int | None = None
    points: list[Point] = field(default_factory=list)
    broken: bool = False
    edition: int = 0

    def begin(self, run: int) -> None:
        """A run other than the one before."""
        self.run, self.first_ms, self.points, self.broken = run, None, [], False
        self.edition += 1

    def add(self, point: Point) -> None:
        """One second of a running or paused run; a second told twice counts once."""
        if self.first_ms is None:
            self.first_ms = point.at_ms
        if self.points and point.at_ms <= self.points[-1].at_ms:
            return
        if self.points and point.at_ms - self.points[-1].at_ms > HOLE_MS:
            self.broken = True
        if len(self.points) < MOST_POINTS:
            self.points.append(point)

    def fill(self, started_ms: int, logged: list[Point]) -> None:
        """Seconds of the run's log put where none was told.

        started_ms: board time of the run's beginning. logged: in order.
        """
        told = [point.at_ms for point in self.points]
        new = [point for point in logged if _apart(told, point.at_ms)][: MOST_POINTS - len(told)]
        self.points = sorted(self.points + new, key=lambda point: point.at_ms)
        self.first_ms = started_ms
        edges = [started_ms, *(point.at_ms for point in self.points)]
        self.broken = any(later - earlier > HOLE_MS for earlier, later in pairwise(edges))
        self.edition += 1

    def stage_began(self, stage: int) -> int | None:
        """Where in the points the stage they end in began; None where that was not seen.

        stage: its number.
        """
        at = len(self.points)
        while at and self.points[at - 1].stage == stage:
            at -= 1
            later = self.points[at + 1].at_ms if at + 1 < len(self.points) else self.points[at].at_ms
            if later - self.points[at].at_ms > HOLE_MS:
                return None
        if at == len(self.points):
            return None
        before_ms = self.points[at - 1].at_ms if at else self.first_ms
        near = before_ms is not None and self.points[at].at_ms - before_ms <= HOLE_MS
        return at if near and not (at == 0 and self.broken) else None

    def seconds(self, at_ms: int) -> float:
        """Seconds of a board time since the first of the run."""
        return (at_ms - (self.first_ms if self.first_ms is not None else at_ms)) / 1000

    def held_s(self, zone: int) -> float | None:
        """For how long the middle of a zone's wood has been estimated within its band of what it is now, s.

        zone: position. None without an estimate. A hole in what is known ends the look back.
        """
        if not self.points or zone >= len(self.points[-1].seen):
            return None
        last_ms, last = self.points[-1][:2]
        now = last[zone]
        if now.mid_c is None:
            return None
        since_ms = last_ms
        for at_ms, seen, _, _ in reversed(self.points):
            mid_c = seen[zone].mid_c if zone < len(seen) else None
            if mid_c is None or abs(mid_c - now.mid_c) > now.band_k or since_ms - at_ms > HOLE_MS:
                break
            since_ms = at_ms
        return (last_ms - since_ms) / 1000

    def most_c(self, zone: int) -> float | None:
        """The highest estimate of a zone's wood in this run so far, C; None without any."""
        mids = (point.seen[zone].mid_c for point in self.points if zone < len(point.seen))
        return max((mid_c for mid_c in mids if mid_c is not None), default=None)


def _apart(told: list[int], at_ms: int) -> bool:
    """Whether no second was told near this one: a row and its copy in the log are a tick apart at most."""
    place = bisect_left(told, at_ms)
    near = told[max(0, place - 1) : place + 1]
    return all(abs(one - at_ms) > SAME_MS for one in near)
