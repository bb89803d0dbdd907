"""The report of a run: one HTML file that needs nothing else, with the same pictures beside it.

Every name in it came from a file or a board and is treated as untrusted text.
"""

import math
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from ribwright_board.core import record
from ribwright_board.core.acts import MARKS
from ribwright_board.core.errors import FAULTS, fault_name
from ribwright_board.core.units import in_unit, in_unit_difference

from . import figures
from .acts import again_words, stage_again
from .figures import WORDS
from .inline import inline_svg, page_templates
from .logbook import (
    GAP_MS,
    NO_WALL_TIME,
    LogEvent,
    RunLog,
    Span,
    clock_text,
    read_run,
)
from .runlog import weighted
from .side.kept import laid_words
from .writing import unwritable

PAGE = "report.html"
NONE = "\u2013"
# Rows shown before a trip: enough to tell a fast rise from a lost reading.
TRIP_ROWS = 6
# The readings of a trip end with it; those of a later one do not belong to it.
TRAIL_LATE_MS = 1000


@dataclass(frozen=True)
class StageFigures:
    """Figures of one zone during one visit of a stage; None where unknown.

    Means and sums weigh each row by the time it stands for.
    """

    target_c: float | None
    minutes: float
    in_band_min: float | None
    peak_c: float | None
    mean_c: float | None
    rms_k: float | None
    mid_wood_c: float | None


def stage_figures(run: RunLog, span: Span, zone: int) -> StageFigures:
    """What a zone did during a span.

    run: the run. span: one of run.spans(). zone: position of the zone.

    The rms error is told for hold and set only; in a ramp the target itself moves. The middle of the wood is
    the board's last estimate in it.
    """
    stages = run.stages()
    stage = stages[span.stage] if span.stage is not None and span.stage < len(stages) else None
    band_k = stage.band_k if stage else None
    readings: list[tuple[float, int]] = []
    errors: list[tuple[float, int]] = []
    for row, step_ms in weighted(span.rows, span.start_ms):
        seen = row.zones[zone]
        if seen.measured_c is not None:
            readings.append((seen.measured_c, step_ms))
            if seen.target_c is not None:
                errors.append((seen.measured_c - seen.target_c, step_ms))
    mids = [row.zones[zone].mid_wood_c for row in span.rows]
    total_ms = sum(step_ms for _, step_ms in readings)
    error_ms = sum(step_ms for _, step_ms in errors)
    target_c = stage.target_c if stage else None
    in_band_ms = rms_k = None
    if errors and stage and stage.kind != "cool" and band_k:
        in_band_ms = sum(step_ms for error, step_ms in errors if abs(error) <= band_k + 1e-9)
    if errors and stage and stage.kind in ("hold", "set"):
        rms_k = math.sqrt(sum(error * error * step_ms for error, step_ms in errors) / error_ms)
    return StageFigures(
        target_c=target_c,
        minutes=(span.end_ms - span.start_ms) / 60000,
        in_band_min=None if in_band_ms is None else in_band_ms / 60000,
        peak_c=max((reading for reading, _ in readings), default=None),
        mean_c=sum(reading * step_ms for reading, step_ms in readings) / total_ms if readings else None,
        rms_k=rms_k,
        mid_wood_c=next((mid for mid in reversed(mids) if mid is not None), None),
    )


def on_time_s(run: RunLog, zone: int) -> float:
    """Time a zone's relay was on in the recorded rows, s.

    run: the run. zone: position of the zone.
    """
    return sum(row.zones[zone].relay_on_ms for row in run.rows) / 1000


def energy_kwh(run: RunLog, zone: int) -> float | None:
    """Energy of a zone by its rated power, kWh; None when the power is not stated, or heat was elsewhere.

    run: the run. zone: position of the zone.
    """
    power_w = run.power_w.get(run.zones[zone])
    return None if power_w is None or run.watched else on_time_s(run, zone) * power_w / 3.6e6


def _degrees(value_c: float | None, unit: str, decimals: int = 1) -> str:
    return NONE if value_c is None else f"{in_unit(value_c, unit):.{decimals}f} \u00b0{unit}"


def _difference(value_k: float, unit: str) -> str:
    return f"{in_unit_difference(value_k, unit):.1f} \u00b0{unit}"


def _tenths(value: int, unit: str) -> str:
    return "none" if record.missing(value) else _degrees(value / 10, unit)


def _zone_name(run: RunLog, zone: int) -> str:
    return run.zones[zone] if 0 <= zone < len(run.zones) else "the rig"


def _advice(number: int) -> str:
    return str(FAULTS.get(fault_name(number), (0, "see the notes of the firmware that wrote this log"))[1])


def event_words(run: RunLog, event: LogEvent, unit: str) -> str:
    """One event as a sentence.

    run: the run. event: one of its events. unit: "C" or "F".
    """
    sentence = WORDS["events"].get(event.name)
    if sentence is None:
        return f"An event this version does not know (a = {event.a}, b = {event.b}) {event.text}".strip()
    stages = run.stages()
    stage = stages[event.stage] if event.stage < len(stages) else None
    began = stages[event.a - 1] if 1 <= event.a <= len(stages) else None
    heated = began is not None and began.target_c is not None
    cue = stage.cues[event.a - 1] if stage and 1 <= event.a <= len(stage.cues) else ""
    words = str(sentence).format(
        a=event.a,
        b=event.b,
        mark=WORDS["marks"].get(MARKS[event.a - 1], "") if 1 <= event.a <= len(MARKS) else "unknown",
        a_percent=f"{event.a / 10:.0f} %",
        a_temperature=_tenths(event.a, unit),
        b_temperature=_tenths(event.b, unit),
        zone=_zone_name(run, event.zone),
        stage=began.name if began else "not in the profile",
        target=f", target {_tenths(event.b, unit)}" if heated else "",
        cue=f" (\u201c{cue}\u201d)" if cue else "",
        fault=fault_name(event.a),
        advice=_advice(event.a),
    )
    return words[0].upper() + words[1:]


def _stage_lines(run: RunLog) -> list[tuple[str, str, StageFigures]]:
    """Stage, zone and figures: a line for every zone the stage heats, all zones while cooling."""
    stages = run.stages()
    lines: list[tuple[str, str, StageFigures]] = []
    for span in run.spans():
        stage = stages[span.stage] if span.stage is not None and span.stage < len(stages) else None
        if span.stage is None and span.end_ms - span.start_ms <= GAP_MS:
            continue  # the one second between the last stage and the end is no line worth reading
        name = WORDS["modes"].get(span.mode, span.mode)
        if span.stage is not None:
            name = f"{span.stage + 1} {stage.name if stage else 'stage'}"
        zones = (stage.zones if stage else ()) or range(len(run.zones))
        lines += [(name, run.zones[zone], stage_figures(run, span, zone)) for zone in zones]
    return lines


def _trip(run: RunLog) -> dict[str, object] | None:
    """The first trip with the readings that led to it; later ones are consequences."""
    event = next((event for event in run.events if event.name == "trip"), None)
    if event is None:
        return None
    known = 0 <= event.zone < len(run.zones)
    rows = [row for row in run.rows if row.at_ms <= event.at_ms][-TRIP_ROWS:] if known else []
    return {
        "at_ms": event.at_ms,
        "fault": fault_name(event.a).replace("_", " "),
        "advice": _advice(event.a),
        "zone": _zone_name(run, event.zone),
        "reading_c": None if record.missing(event.b) else event.b / 10,
        "rows": [(row.at_ms, row.zones[event.zone]) for row in rows],
        "trails": [
            (_zone_name(run, trail.zone), trail.step_ms * len(trail.readings) / 1000, trail.readings)
            for trail in run.trails
            if event.at_ms - TRAIL_LATE_MS <= trail.at_ms <= event.at_ms
        ],
    }


def _when(unix: int | None) -> str:
    if unix is None:
        return NO_WALL_TIME
    local = datetime.fromtimestamp(unix, UTC).astimezone().isoformat(sep=" ", timespec="minutes")
    return f"{local[:-6]} (UTC{local[-6:]})"


def _outcome(run: RunLog) -> str:
    last = next((event for event in reversed(run.events) if event.name in WORDS["endings"]), None)
    if last is not None:
        return f"{WORDS['endings'][last.name]} after {clock_text(last.at_ms)} (minutes:seconds)."
    if not run.rows:
        return "Nothing was recorded."
    last_at = clock_text(run.rows[-1].at_ms)
    return f"The record stops at {last_at} without an end: power was lost or the log was cut."


def _again(run: RunLog) -> str:
    """How a bend that tripped or was cut off can be taken up; empty for any other."""
    endings = [event for event in run.events if event.name in WORDS["endings"]]
    if not run.rows or (endings and endings[-1].name != "trip"):
        return ""
    stage = endings[-1].stage if endings else run.rows[-1].stage
    code = fault_name(endings[-1].a) if endings else ""
    kinds = {number: stage.kind for number, stage in enumerate(run.stages(), start=1)}
    return again_words(stage_again(kinds, stage + 1, code))


def _alt_text(run: RunLog, unit: str) -> str:
    parts = []
    for zone, name in enumerate(run.zones):
        seen = [row.zones[zone].measured_c for row in run.rows]
        known = [value for value in seen if value is not None]
        parts.append(f"zone {name}, highest reading {_degrees(max(known, default=None), unit)}")
    what = "Temperature, target and duty over time"
    return (
        f"{what}: {'; '.join(parts) or 'nothing recorded'}. The tables on this page give the same in figures."
    )


def build(run_csv_or_log: RunLog | Path, out_dir: Path, unit: str = "C") -> Path:
    """Write report.html, run.png and run.svg of a run; gives the path of the HTML file.

    run_csv_or_log: the run, or the path of its CSV or of the board's log (.rlg).
    out_dir: folder, made when absent. unit: "C" or "F", for the temperatures shown.
    Raises FileError when the run cannot be read or the report not written.
    """
    run = run_csv_or_log if isinstance(run_csv_or_log, RunLog) else read_run(run_csv_or_log)
    path = out_dir / PAGE
    try:
        out_dir.mkdir(parents=True, exist_ok=True)
        _, svg = figures.save(run, out_dir, unit)
        text = _page(run, unit, svg.read_text(encoding="utf-8"))
        # A name may hold half a character pair, which no file can: it becomes a question mark.
        path.write_text(text, encoding="utf-8", errors="replace")
    except OSError as error:
        raise unwritable(out_dir, error, "choose another folder") from error
    return path


def _page(run: RunLog, unit: str, svg: str) -> str:
    pages = page_templates()
    pages.filters |= {
        "clock": clock_text,
        "when": _when,
        "degrees": lambda value_c, decimals=1: _degrees(value_c, unit, decimals),
        "difference": lambda value_k: NONE if value_k is None else _difference(value_k, unit),
        "or_dash": lambda value, form: NONE if value is None else form % value,
    }
    zones = range(len(run.zones))
    lines = _stage_lines(run)
    return pages.get_template("report.html.j2").render(
        run=run,
        outcome=_outcome(run),
        again=_again(run),
        # Only a checked profile has every fact of the piece, each of its right kind.
        profile=run.header["profile"] if run.stages() else None,
        piece_words=WORDS["pieces"],
        side_words=laid_words(run.laid),
        trip=_trip(run),
        stages=lines,
        wood=any(seen.mid_wood_c is not None for _, _, seen in lines),
        energy=[(run.zones[zone], on_time_s(run, zone), energy_kwh(run, zone)) for zone in zones],
        events=[(event.at_ms, event_words(run, event, unit)) for event in run.events],
        picture=inline_svg(svg, _alt_text(run, unit)),
    )
