"""How well a simulated run was controlled, judged on the plant's true temperatures, not on the readings."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from .errors import FileError
from .logbook import RunLog, Span, StageInfo

# A stage that lowers the target starts far above it; its ripple counts from the first time it was this near.
NEAR_K = 2.0


def _read(path: Path, columns: Sequence[str]) -> list[tuple[int, tuple[float, ...]]]:
    """Board time in ms and these columns, one a simulated second. Raises FileError."""
    try:
        with path.open(newline="", encoding="utf-8") as file:
            return [
                (int(row["board_ms"]), tuple(float(row[column]) for column in columns))
                for row in csv.DictReader(file)
            ]
    except (OSError, KeyError, ValueError) as error:
        raise FileError(
            f"{path} holds no true temperatures: {error}", "run the demo again", code="no_truth"
        ) from None


def read_truth(path: Path, zones: tuple[str, ...]) -> list[tuple[int, tuple[float, ...]]]:
    """Board time in ms and each zone's true temperature in C, one a simulated second.

    path: truth.csv of the virtual rig. zones: their names.
    Raises FileError when the file is not one.
    """
    return _read(path, [f"{zone}_thermocouple_c" for zone in zones])


def bends(path: Path, run: RunLog, above_softening_k: Callable[[float, float], float]) -> list[float]:
    """How far the wood was above its softening while it was bent, one figure for each hold with cues.

    path: truth.csv. run: the board's log of the same run. above_softening_k: of a temperature in C and bound
    water in %. Gives the least margin in K, of the middle of the stiffest of the stage's places along the
    side, from its first cue until its last one was acknowledged. Raises FileError.
    """
    started_ms = int(str(run.header["started_ms"]))
    found = []
    for number, stage in enumerate(run.stages()):
        times = [e.at_ms for e in run.events if e.stage == number and e.name in ("cue", "cue_done")]
        if not stage.cues or not times:
            continue
        least_k = math.inf
        for place in _places(path, run.zones, stage.zones):
            columns = [f"{place}_wood_mid_c", f"{place}_moisture_percent"]
            for at_ms, (wood_c, moisture_percent) in _read(path, columns):
                if min(times) <= at_ms - started_ms <= max(times):
                    least_k = min(least_k, above_softening_k(wood_c, moisture_percent))
        found.append(round(least_k, 2))
    return found


def _places(path: Path, zones: tuple[str, ...], heated: tuple[int, ...]) -> Iterator[str]:
    """Places along the side that these zones bend: those named like a zone are its own, the rest belong to
    the zones without one.
    """
    try:
        with path.open(newline="", encoding="utf-8") as file:
            header = next(csv.reader(file), [])
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror}", "run the demo again") from None
    there = [name.removesuffix("_wood_mid_c") for name in header if name.endswith("_wood_mid_c")]
    owners = {place: [zones.index(place)] for place in there if place in zones}
    rest = [zone for zone, name in enumerate(zones) if name not in there]
    for place in there:
        if set(owners.get(place, rest)) & set(heated):
            yield place


def control_figures(path: Path, run: RunLog) -> dict[str, float]:
    """Worst overshoot and ripple over every heated stage of a run.

    path: truth.csv. run: the board's log of the same run.

    overshoot_k: highest true temperature above the target in any ramp or hold, K; where the target is lower
    than the zone's last one, from the first time within 2 K. hold_rms_k: worst zone's and stage's root mean
    square of true temperature less target, K, in holds and sets from the first time within 2 K.
    """
    started_ms = int(str(run.header["started_ms"]))
    truth = [(at_ms - started_ms, values) for at_ms, values in read_truth(path, run.zones)]
    stages = run.stages()
    overshoot_k, ripple_k = 0.0, 0.0
    last_c: dict[int, float] = {}
    for span in run.spans():
        if span.stage is None:
            continue
        stage = stages[span.stage]
        for zone in stage.zones:
            errors = _errors_k(truth, span, stage, zone)
            near = next((i for i, error in enumerate(errors) if abs(error) <= NEAR_K), None)
            target_c = stage.target_c if stage.target_c is not None else -math.inf
            begins = near if target_c < last_c.get(zone, -math.inf) else 0
            last_c[zone] = target_c
            if begins is not None and errors and stage.kind in ("ramp", "hold"):
                overshoot_k = max(overshoot_k, *errors[begins:])
            if stage.kind in ("hold", "set") and near is not None:
                settled = errors[near:]
                ripple_k = max(ripple_k, math.sqrt(sum(error * error for error in settled) / len(settled)))
    return {"overshoot_k": round(overshoot_k, 3), "hold_rms_k": round(ripple_k, 3)}


def _errors_k(
    truth: list[tuple[int, tuple[float, ...]]], span: Span, stage: StageInfo, zone: int
) -> list[float]:
    """True temperature less target, K, second by second of one stage."""
    if stage.target_c is None:
        return []
    return [values[zone] - stage.target_c for at_ms, values in truth if span.start_ms <= at_ms <= span.end_ms]
