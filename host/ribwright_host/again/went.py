"""How each stage of a recorded run went: how it ended, at which targets it was held and for how long, cues.

Targets and readings come from the rows, so that a target moved by hand counts whoever moved it; what ended a
stage comes from the events, by their names, so that a log of another firmware is read as far as it is known.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from statistics import median

from ribwright_host.runlog import GAP_MS, RunLog, Span, StageInfo, weighted
from ribwright_host.runrows import LogEvent, LogRow

ARRIVED, CLOCK, MAKER, WOOD = "arrived", "by the clock", "by the maker", "by the wood"
WOOD_LATE, LONGEST, BACKED_OFF = "wood late", "longest time", "backed off"
STOPPED, TRIPPED, LOST = "stopped", "shut down", "no end in the record"
CUT = (STOPPED, TRIPPED, LOST)
# Detents of a knob and steps typed one after another are one move; a shorter time at a target is on its way.
MOVE_S = 20.0
SAME_C = 0.06
# A hold within its band for less counts as one that was not reached (PROPOSAL).
LEAST_S, LEAST_SHARE = 6.0, 0.1
STEADY_SHARE = 0.7


@dataclass(frozen=True)
class Held:
    """A stretch of a hold or set at one target. target_c: as it stood. in_band_s: within the stage's band,
    every zone of it read. whole_s: from end to end. until_ms: its end in the run. stood_c: where the coolest
    zone stood, the middle of its readings, None without any; stood_s: within the band around that.
    """

    target_c: float
    in_band_s: float
    whole_s: float
    until_ms: int
    stood_c: float | None = None
    stood_s: float = 0.0

    @property
    def reached(self) -> bool:
        """Whether it was within its band for more than a moment: a tenth of its time, and LEAST_S."""
        return self.in_band_s >= max(LEAST_S, LEAST_SHARE * self.whole_s)

    @property
    def steady(self) -> bool:
        """Whether it stood at some temperature for most of its time, whatever was asked for."""
        return self.stood_c is not None and self.stood_s >= max(LEAST_S, STEADY_SHARE * self.whole_s)


@dataclass(frozen=True)
class Cue:
    """A cue of a hold. number: counted from 1. after_s: from the stage's begin to the press that acknowledged
    it, None where none did. at_ms: of that press.
    """

    number: int
    after_s: float | None
    at_ms: int | None


@dataclass(frozen=True)
class Went:
    """One stage as it went. index: in the profile, from 0. ended: one of the words above. seconds: from its
    begin to its end. held: its stretches, empty for ramps and cooling. lost_s: without a row in the record.
    paused_s: heat off, waiting for a press. mid_c: coolest estimate of the wood's middle at its end, or None.
    last_c: readings of its zones at its end, those that there are. extended_min: added to it by hand.
    """

    index: int
    ended: str
    seconds: float
    held: tuple[Held, ...] = ()
    cues: tuple[Cue, ...] = ()
    lost_s: float = 0.0
    paused_s: float = 0.0
    mid_c: float | None = None
    last_c: tuple[float, ...] = field(default=())
    start_c: tuple[float, ...] = field(default=())
    extended_min: float = 0.0

    @property
    def cut(self) -> bool:
        """Whether the run ended in it before it was over."""
        return self.ended in CUT


def stages_of(run: RunLog) -> list[Went]:
    """The stages that a run went through, in their order.

    run: as read, with a profile in its header.
    """
    infos = run.stages()
    spans = _whole([span for span in run.spans() if span.stage is not None and span.mode == "running"])
    by_stage = _events_by_stage(run.events)
    over = any(event.name == "done" for event in run.events)
    holes_s = _holes_s(run)
    found = []
    for at, span in enumerate(spans):
        index = span.stage or 0
        if index >= len(infos):
            continue
        events = by_stage.get(index, [])
        last = at == len(spans) - 1
        cut = "" if over or not last else _cut_by(run)
        found.append(_went(index, span, infos[index], events, cut, holes_s))
    return found


def _whole(spans: Sequence[Span]) -> list[Span]:
    """Spans of one stage joined: a mode in between does not make two of it."""
    joined: list[Span] = []
    for span in spans:
        if joined and joined[-1].stage == span.stage:
            before = joined.pop()
            rows = before.rows + span.rows
            joined.append(Span(span.stage, span.mode, before.start_ms, span.end_ms, rows))
        else:
            joined.append(span)
    return joined


def _events_by_stage(events: Sequence[LogEvent]) -> dict[int, list[LogEvent]]:
    """Events by the stage they fell into; that of an event which ends a stage is the stage it ended."""
    found: dict[int, list[LogEvent]] = {}
    present = -1
    for event in events:
        if event.name == "stage":
            present = event.a - 1
        found.setdefault(present, []).append(event)
    return found


def _cut_by(run: RunLog) -> str:
    """What ended a run that is not done."""
    for event in reversed(run.events):
        if event.name in ("trip", "stop"):
            return TRIPPED if event.name == "trip" else STOPPED
    return LOST


def _went(
    index: int,
    span: Span,
    info: StageInfo,
    events: Sequence[LogEvent],
    cut: str,
    holes_s: Mapping[int, float],
) -> Went:
    names = {event.name for event in events}
    ended = cut or _ended(info, names)
    running = [row for row in span.rows if row.mode == "running"]
    paused_s = sum(ms for row, ms in weighted(span.rows, span.start_ms) if row.mode == "paused") / 1000
    held = _held(span, info) if info.kind in ("hold", "set") else ()
    return Went(
        index,
        ended,
        (span.end_ms - span.start_ms) / 1000,
        held,
        _cues(info, events, span.start_ms),
        sum(holes_s.get(row.at_ms, 0.0) for row in span.rows),
        paused_s,
        _coolest(running, info),
        _readings(running[-1:], info),
        _readings(running[:1], info),
        float(sum(event.a for event in events if event.name == "extend")),
    )


def _ended(info: StageInfo, names: set[str]) -> str:
    """What ended a stage that another one follows."""
    by_event = {
        "hold_longest": LONGEST,
        "back_off": BACKED_OFF,
        "wood_hot": WOOD,
        "wood_late": WOOD_LATE,
        "next": MAKER,
    }
    for name, word in by_event.items():
        if name in names:
            return word
    return ARRIVED if info.kind in ("ramp", "cool") else CLOCK


def _holes_s(run: RunLog) -> dict[int, float]:
    """Seconds that no row tells of, by the time of the row behind each hole."""
    steps = ((later.at_ms, later.at_ms - earlier.at_ms) for earlier, later in pairwise(run.rows))
    return {at_ms: step_ms / 1000 for at_ms, step_ms in steps if step_ms > GAP_MS}


def _held(span: Span, info: StageInfo) -> tuple[Held, ...]:
    """Stretches at one target; one shorter than MOVE_S is a part of the next, the last one of that before."""
    raw: list[Held] = []
    for row, step_s in _steps(span):
        target_c = row.zones[info.zones[0]].target_c if info.zones else None
        if row.mode != "running" or target_c is None:
            continue
        good_s = step_s if _within(row, info) else 0.0
        if raw and abs(raw[-1].target_c - target_c) < SAME_C:
            last = raw.pop()
            raw.append(Held(target_c, last.in_band_s + good_s, last.whole_s + step_s, row.at_ms))
        else:
            raw.append(Held(target_c, good_s, step_s, row.at_ms))
    kept: list[Held] = []
    carried: Held | None = None
    for one in raw:
        whole = one if carried is None else _joined(carried, one)
        carried = None
        if whole.whole_s < MOVE_S and one is not raw[-1]:
            carried = whole
        elif kept and abs(kept[-1].target_c - whole.target_c) < SAME_C:
            kept.append(_joined(kept.pop(), whole))
        elif kept and whole.whole_s < MOVE_S:
            last = kept.pop()
            kept.append(_joined(last, whole, last.target_c))
        else:
            kept.append(whole)
    ends = [-1, *(one.until_ms for one in kept)]
    return tuple(_stood(one, span, info, begin) for one, begin in zip(kept, ends, strict=False))


def _stood(one: Held, span: Span, info: StageInfo, after_ms: int) -> Held:
    """The stretch with where its coolest zone stood."""
    seen = [
        (min(zones), step_s)
        for row, step_s in _steps(span)
        if row.mode == "running"
        and after_ms < row.at_ms <= one.until_ms
        and len(zones := _readings([row], info)) == len(info.zones) > 0
    ]
    if not seen or info.band_k is None:
        return one
    stood_c = median(coolest_c for coolest_c, _ in seen)
    stood_s = sum(step_s for coolest_c, step_s in seen if abs(coolest_c - stood_c) <= info.band_k + 1e-9)
    return replace(one, stood_c=stood_c, stood_s=stood_s)


def _joined(first: Held, second: Held, target_c: float | None = None) -> Held:
    """Two stretches as one, at the second's target unless another is given."""
    at_c = second.target_c if target_c is None else target_c
    return Held(at_c, first.in_band_s + second.in_band_s, first.whole_s + second.whole_s, second.until_ms)


def _steps(span: Span) -> Iterator[tuple[LogRow, float]]:
    for row, step_ms in weighted(span.rows, span.start_ms):
        yield row, step_ms / 1000


def _within(row: LogRow, info: StageInfo) -> bool:
    """Whether every zone of a stage was read and within the band, as the board counts."""
    for zone in info.zones:
        seen = row.zones[zone]
        if seen.measured_c is None or seen.target_c is None or info.band_k is None:
            return False
        if abs(seen.measured_c - seen.target_c) > info.band_k + 1e-9:
            return False
    return True


def _cues(info: StageInfo, events: Sequence[LogEvent], start_ms: int) -> tuple[Cue, ...]:
    done = {event.a: event.at_ms for event in events if event.name == "cue_done"}
    return tuple(
        Cue(number, (done[number] - start_ms) / 1000 if number in done else None, done.get(number))
        for number in range(1, len(info.cues) + 1)
    )


def _coolest(rows: Sequence[LogRow], info: StageInfo) -> float | None:
    """The last estimate of the coolest zone's wood; None where a zone has none."""
    for row in reversed(rows[-5:]):
        mids = [row.zones[zone].mid_wood_c for zone in info.zones]
        known = [mid for mid in mids if mid is not None]
        if mids and len(known) == len(mids):
            return min(known)
    return None


def _readings(rows: Sequence[LogRow], info: StageInfo) -> tuple[float, ...]:
    """Readings of a stage's zones in the last of some rows."""
    if not rows:
        return ()
    seen = [rows[-1].zones[zone].measured_c for zone in info.zones]
    return tuple(value for value in seen if value is not None)
