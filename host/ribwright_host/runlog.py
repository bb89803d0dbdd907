"""A run as the board recorded it, and how it is read from the board's log.

A log that was cut or damaged is read as far as it is good; what is missing is said in words.
"""

from binascii import hexlify
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ribwright_board.core import record
from ribwright_board.core.errors import CoreError
from ribwright_board.core.profile import MAX_STAGES, parse

from .runrows import LogEvent, LogRow, LogTrail, ZoneRow, keep_trail, watched

MAX_ZONES = 4
# Rows come once a second; a longer step between two rows is a hole in the record.
ROW_MS, GAP_MS = 1000, 2500
# A ruined log could have a hole every few records: past this many, only the count is said.
MOST_PROBLEMS = 12
SIMULATED_BOARD = hexlify(b"ribsim").decode()
NO_WALL_TIME = "not known: the board had no wall time"
Item = record.Row | record.Event | record.Trail
# 2001 and 2100: anything outside is not the wall time of a bend.
UNIX_SPAN = (1_000_000_000, 4_102_444_800)


@dataclass(frozen=True)
class StageInfo:
    """What the profile says of a stage; zones are positions in RunLog.zones, target_c None without heat."""

    kind: str
    name: str
    zones: tuple[int, ...]
    target_c: float | None
    band_k: float | None
    cues: tuple[str, ...]


@dataclass(frozen=True)
class Span:
    """Rows that belong together: one visit of a stage, or (stage None) a mode without one."""

    stage: int | None
    mode: str
    start_ms: int
    end_ms: int
    rows: tuple[LogRow, ...]


@dataclass
class RunLog:
    """One run as it was recorded.

    header: as the board wrote it, empty when it could not be read. trails: readings that led to a trip.
    problems: what is missing, one sentence each. power_w: rated power by zone name, empty when not stated.
    fetched_unix: when the log left the board, s, or None. laid: which side it was, as side.kept knows.
    """

    header: dict[str, object]
    zones: tuple[str, ...]
    rows: list[LogRow] = field(default_factory=list)
    events: list[LogEvent] = field(default_factory=list)
    trails: list[LogTrail] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    power_w: dict[str, float] = field(default_factory=dict)
    fetched_unix: int | None = None
    laid: dict[str, object] = field(default_factory=dict)

    def word(self, key: str) -> str:
        """Give a header value as text, "unknown" when the header lacks it.

        key: name in the header.
        """
        value = self.header.get(key)
        return str(value) if isinstance(value, (str, int)) and not isinstance(value, bool) else "unknown"

    @property
    def simulated(self) -> bool:
        """Whether the run came from the virtual rig."""
        return self.word("board").startswith(SIMULATED_BOARD)

    @property
    def watched(self) -> bool:
        """Whether zones stayed below their targets and no relay ever came on: heat came from elsewhere."""
        return watched(self.rows)

    @property
    def profile_name(self) -> str:
        """Name of the profile as stated, unchecked."""
        profile = self.header.get("profile")
        name = profile.get("name") if isinstance(profile, dict) else None
        return name if isinstance(name, str) and name else "unnamed run"

    @property
    def from_stage(self) -> int:
        """Stage the run began with, counted from 1; runs that do not say so began with the first."""
        stage = self.header.get("from_stage")
        return stage if isinstance(stage, int) and 1 <= stage <= MAX_STAGES else 1

    @property
    def started_unix(self) -> int | None:
        """Wall time of the start, s, or None when the board did not know it."""
        return wall_time(self.header.get("unix"))

    @property
    def wood_bands_k(self) -> dict[str, float]:
        """How far off the estimate of the wood may be, K, by zone name; of zones that have one."""
        return {name: k for name, k in self._by_zone("wood_band_k").items() if k >= 0}

    @property
    def offsets_k(self) -> dict[str, float]:
        """What the board took off each reading, K, by zone name; of zones with something to take off."""
        return {name: k for name, k in self._by_zone("offsets_k").items() if k}

    def _by_zone(self, key: str) -> dict[str, float]:
        """A header's list of one number per zone; empty where it is none."""
        listed = self.header.get(key)
        if not isinstance(listed, list) or len(listed) != len(self.zones):
            return {}
        found = zip(self.zones, listed, strict=True)
        return {name: float(k) for name, k in found if isinstance(k, (int, float)) and abs(k) < 1e4}

    def stages(self) -> list[StageInfo]:
        """List the profile's stages; empty when the header holds no profile this version can read."""
        profile = self.header.get("profile")
        if not isinstance(profile, dict):
            return []
        try:
            checked = parse(profile)
        except CoreError:
            return []
        found = []
        for stage, listed in zip(checked.stages, profile["stages"], strict=True):
            names = listed.get("zones") or []
            zones = tuple(self.zones.index(name) for name in names if name in self.zones)
            band_k = stage.band_k or None
            found.append(StageInfo(stage.kind, stage.name, zones, stage.target_c, band_k, tuple(stage.cues)))
        return found

    def spans(self) -> list[Span]:
        """Cut the rows into stages and modes, in order; every second belongs to exactly one."""
        spans: list[Span] = []
        group: list[LogRow] = []
        start_ms = max(0, self.rows[0].at_ms - ROW_MS) if self.rows else 0
        for row in [*self.rows, None]:
            if group and (row is None or _span_key(row) != _span_key(group[-1])):
                stage, mode = _span_key(group[0])
                spans.append(Span(stage, mode, start_ms, group[-1].at_ms, tuple(group)))
                start_ms = group[-1].at_ms
                group = []
            if row is not None:
                group.append(row)
        return spans


def _span_key(row: LogRow) -> tuple[int | None, str]:
    return (row.stage, "running") if row.mode in ("running", "paused") else (None, row.mode)


def weighted(rows: Sequence[LogRow], start_ms: int) -> Iterator[tuple[LogRow, int]]:
    """Each row with the time it stands for, ms; a row behind a hole stands for one second.

    rows: rows in order. start_ms: end of the row before them, ms.
    """
    last_ms = start_ms
    for row in rows:
        step_ms = row.at_ms - last_ms
        yield row, step_ms if 0 < step_ms <= GAP_MS else ROW_MS
        last_ms = row.at_ms


def wall_time(value: object) -> int | None:
    """A header's wall time in s since 1970, None for what cannot be that of a bend.

    value: as found in a header.
    """
    if isinstance(value, int) and UNIX_SPAN[0] <= value <= UNIX_SPAN[1]:
        return value
    return None


def clock_text(at_ms: int) -> str:
    """Minutes and seconds since the run's start.

    at_ms: time since the run's start, ms.

    >>> clock_text(811_400)
    '13:31'
    """
    return f"{at_ms // 60000}:{at_ms // 1000 % 60:02d}"


def _tenths(value: int) -> float | None:
    return None if record.missing(value) else value / 10


def _header(data: bytes, problems: list[str]) -> tuple[dict[str, object], int, int, int]:
    """Header, number of zones, layout and where the records begin; zones 0 when nothing can be read."""
    if not data:
        problems.append("the log is empty (0 bytes); nothing was recorded")
        return {}, 0, 0, 0
    try:
        header, start = record.read_header(data)
        zones = header["zones"] if isinstance(header, dict) else None
        zones = zones if isinstance(zones, list) else []
        if 1 <= len(zones) <= MAX_ZONES and all(isinstance(name, str) for name in zones):
            return header, len(zones), record.layout_of(data), start
        why = "the log's header does not name its zones"
    except CoreError as error:
        why = error.text
    except (ValueError, KeyError, RecursionError):
        why = "the log's header cannot be read"
    # Records check themselves, so the first good one tells the number of zones and the layout.
    shapes = [(count, layout) for layout in (record.LAYOUT, 1) for count in range(1, MAX_ZONES + 1)]
    for at in (place for place, kind in enumerate(data) if kind in (record.ROW, record.EVENT)):
        for count, layout in shapes:
            if _record_at(data, at, count, layout) is not None:
                problems.append(f"{why}; profile, zone names and firmware of this run are unknown")
                return {}, count, layout, at
    problems.append(f"{why}, and no record can be read; fetch the run again")
    return {}, 0, 0, 0


def _record_at(data: bytes, at: int, zones: int, layout: int) -> Item | None:
    # The kind byte first: most places of a damaged stretch are ruled out without a CRC.
    if at >= len(data) or data[at] not in (record.ROW, record.EVENT, record.TRAIL):
        return None
    found = record.unpack(data[at : at + record.record_size(zones, layout)], zones, layout)
    return found if isinstance(found, (record.Row, record.Event, record.Trail)) else None


def _next_good(data: bytes, at: int, zones: int, layout: int) -> int:
    """Where the next good record begins; the length of data when there is none."""
    while at < len(data) and _record_at(data, at, zones, layout) is None:
        at += 1
    return min(at, len(data))


def _damage_text(at: int, good: int, size: int, start: int, end: int, kept: int) -> str:
    first, last = (at - start) // size + 1, (good - 1 - start) // size + 1
    about = -(-(end - start) // size)
    if good == end and end - at < size:
        return f"the log ends inside record {first}; {kept} records before it are read"
    which = f"records {first} to {last} of about {about} fail their check"
    if first == last:
        which = f"record {first} of about {about} fails its check"
    if good == end:
        return f"{which} and nothing readable follows; {kept} records read"
    return f"{which}; left out, reading goes on behind"


def read_log(
    data: bytes, power_w: Mapping[str, float] | None = None, fetched_unix: int | None = None
) -> RunLog:
    """Read a run from the bytes of the board's log; never raises for a damaged one.

    data: the whole file. power_w: rated power by zone name, W, for the energy. fetched_unix: now, s.
    """
    problems: list[str] = []
    header, count, layout, start = _header(data, problems)
    names = header.get("zones")
    zones = tuple(names) if isinstance(names, list) else tuple(f"zone {i + 1}" for i in range(count))
    run = RunLog(header, zones, problems=problems, power_w=dict(power_w or {}), fetched_unix=fetched_unix)
    if not count:
        return run
    size, at, kept, whole = record.record_size(count, layout), start, 0, True
    found: list[str] = []
    seq: int | None = None
    while at < len(data):
        item = _record_at(data, at, count, layout)
        if item is None:
            good = _next_good(data, at + 1, count, layout)
            found.append(_damage_text(at, good, size, start, len(data), kept))
            at, whole = good, False
            continue
        lost = 0 if seq is None else (item.seq - seq - 1) % 65536
        if whole and lost:
            found.append(f"{lost} records before {clock_text(item.at_ms)} never reached the board's flash")
        _keep(run, item)
        seq, whole, kept, at = item.seq, True, kept + 1, at + size
    if not kept:
        found.append("the log holds no record; the run ended before its first second was written")
    problems.extend(found[:MOST_PROBLEMS])
    if len(found) > MOST_PROBLEMS:
        problems.append(f"and {len(found) - MOST_PROBLEMS} more places like these")
    return run


def _keep(run: RunLog, item: Item) -> None:
    if isinstance(item, record.Trail):
        keep_trail(run.trails, item)
        return
    if isinstance(item, record.Event):
        run.events.append(LogEvent(item.at_ms, item.stage, item.name, item.zone, item.a, item.b, item.text))
        return
    zones = tuple(
        ZoneRow(_tenths(t), _tenths(m), duty / 1000, on, _tenths(mid)) for t, m, duty, on, mid in item.zones
    )
    run.rows.append(LogRow(item.at_ms, item.stage, item.mode, item.flags, item.late_ms, zones))
