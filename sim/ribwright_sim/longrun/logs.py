"""One run's log held against the seconds it should have, what was told, and how long stages should last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from ribwright_board.core.errors import CoreError
from ribwright_board.core.record import Event, Row, layout_of, read_header, record_size, unpack

from .tells import Told

SEQUENCE = 1 << 16
TIMED = ("hold", "set")
TENTHS = 10.0


@dataclass(frozen=True)
class Log:
    """A log as it was read back.

    rows, events: in order. holes: records that are missing by their numbers, damaged or cut off.
    """

    rows: Sequence[Row]
    events: Sequence[Event]
    holes: int

    def missing_seconds(self) -> int:
        """Seconds of the run without a row, from its first event to its last; a row is due every second."""
        times_ms = [row.at_ms for row in self.rows]
        ends_ms = [event.at_ms for event in self.events]
        if not times_ms or not ends_ms:
            return 1
        edges_ms = [min(ends_ms[0], times_ms[0]), *times_ms, max(ends_ms[-1], times_ms[-1])]
        spans = [(after - before) / 1000.0 for before, after in pairwise(edges_ms)]
        # Some tenths more is a tick that was held up, by a flush for one.
        jumps = sum(max(0, round(span) - 1) for span in spans)
        due = (edges_ms[-1] - edges_ms[0]) // 1000
        return max(jumps, due - len(times_ms))


def read(data: bytes, zones: int) -> Log:
    """The log in these bytes; one whose header fails is a single hole.

    data: the log as it was read back. zones: how many the rig has.
    """
    try:
        _, start = read_header(data)
    except CoreError:
        return Log((), (), 1)
    layout = layout_of(data)
    size = record_size(zones, layout)
    holes = 1 if (len(data) - start) % size else 0
    rows: list[Row] = []
    events: list[Event] = []
    expected = 0
    for at in range(start, len(data) - size + 1, size):
        found = unpack(data[at : at + size], zones, layout)
        if found is None:
            holes += 1
        else:
            holes += (found.seq - expected) % SEQUENCE
            expected = found.seq
        if isinstance(found, Row):
            rows.append(found)
        elif isinstance(found, Event):
            events.append(found)
        expected = (expected + 1) % SEQUENCE
    return Log(rows, events, holes)


def _stays(marks: Sequence[tuple[str, int, float]]) -> dict[int, float]:
    """Per stage how long it lasted, 0 the whole run; marks: (name, figure, second)."""
    marks = [mark for mark in marks if mark[0] in ("stage", "done")]
    stays = {here[1]: after[2] - here[2] for here, after in pairwise(marks) if here[0] == "stage"}
    if marks:
        stays[0] = marks[-1][2] - marks[0][2]
    return stays


@dataclass(frozen=True)
class Times:
    """What the clocks of one run say.

    drift_s: largest difference between two of log, simulation and profile. unmatched: stages that only one of
    log and tells knows. timed: stages whose length the profile gives, and it was held to it.
    """

    drift_s: float
    unmatched: int
    timed: int


def times(log: Log, told: Sequence[Told], profile: Mapping[str, Any], zones: Sequence[str]) -> Times:
    """Hold a run's clocks together. told: its events. profile: its mapping. zones: names."""
    by_log = _stays([(event.name, event.a, event.at_ms / 1000.0) for event in log.events])
    by_sim = _stays([(event.name, event.a, event.at_s) for event in told])
    drifts = [abs(by_log[key] - by_sim[key]) for key in by_log.keys() & by_sim.keys()]
    timed = 0
    for number, stage in enumerate(profile["stages"], start=1):
        if stage["kind"] in TIMED and number in by_sim and _always_within(log, stage, number, zones):
            timed += 1
            drifts.append(abs(by_sim[number] - 60.0 * stage["minutes"]))
    return Times(max(drifts, default=0.0), len(by_log.keys() ^ by_sim.keys()), timed)


def _always_within(log: Log, stage: Mapping[str, Any], number: int, zones: Sequence[str]) -> bool:
    """Whether the stage's clock never stood still for a reading outside its band."""
    places = [zones.index(name) for name in stage["zones"]]
    return all(
        abs(row.zones[place][1] / TENTHS - stage["target"]) < stage["band"]
        for row in log.rows
        if row.stage == number - 1 and row.mode == "running"
        for place in places
    )
