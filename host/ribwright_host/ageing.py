"""How a rig changes from run to run: how fast each zone warms at full power, and what holding takes.

Only runs that tell the same can be compared: of one rig, one profile, begun cold. Trends are Theil-Sen
slopes, the median of the slopes between every two runs (scipy.stats.theilslopes), which one odd run does not
move.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from statistics import fmean, median
from typing import Any

from .errors import FileError, UsageError
from .logbook import read_run
from .runlog import RunLog, weighted

# The warm-up is measured where neither the start nor boiling water bends the line, C (proposals).
FROM_C, TO_C = 45.0, 85.0
LEAST_RISE_K = 20.0
# A run that begins warmer tells of the run before it.
COLD_C = 40.0
FULL_SHARE = 0.95
SETTLED_S = 60.0
LEAST_HOLD_S = 60.0
# Runs that a trend needs, and what it must amount to over all of them before anybody is bothered (proposals).
LEAST_RUNS = 6
NOTABLE = 0.10
CONFIDENCE = 0.95

LOOK_AT = {
    (
        "warm",
        -1,
    ): "warms more slowly: mains voltage, the blanket and its leads, a relay that misses half waves",
    (
        "warm",
        1,
    ): "warms faster: a thermocouple that has moved towards the blanket, another blanket or thinner slats",
    ("hold", -1): "takes less to hold: a thermocouple that has moved towards the blanket, or a better lid",
    (
        "hold",
        1,
    ): "takes more to hold: a blanket or slat that no longer lies flat, a draught, a worn thermocouple",
}


@dataclass(frozen=True)
class Seen:
    """What one run tells of one zone; None where it tells nothing.

    warm_k_per_s: rise at full power between FROM_C and TO_C. hold_w_per_k: mean power in holds and sets that
    have settled, W per kelvin above the start; a thousandth of full power for W where that is not stated.
    """

    warm_k_per_s: float | None
    hold_w_per_k: float | None


@dataclass(frozen=True)
class Trend:
    """One figure over the runs of a rig: "warm" or "hold" of a zone.

    runs: that tell it. first, last: by the trend's line, in the figure's unit. change: of the first, over all
    runs; low, high: its 95 % interval. notable: beyond doubt, and NOTABLE or more.
    """

    zone: str
    what: str
    runs: int
    first: float | None = None
    last: float | None = None
    change: float | None = None
    low: float | None = None
    high: float | None = None
    notable: bool = False

    def sentence(self) -> str:
        """The trend in plain words."""
        name = {"warm": "warm-up at full power", "hold": "power to hold"}[self.what]
        if self.change is None or self.low is None or self.high is None:
            told = f"{self.runs} cold runs tell it and {LEAST_RUNS} are needed"
            return f"{self.zone}, {name}: not enough yet, {told}."
        span, change = f"{_percent(self.low)} to {_percent(self.high)}", _percent(self.change)
        if not self.notable:
            return f"{self.zone}, {name}: {change} over {self.runs} runs ({span}): nothing to see."
        look = LOOK_AT[(self.what, 1 if self.change > 0 else -1)]
        return f"{self.zone}, {name}: {change} over {self.runs} runs ({span}): it {look}."


def _percent(share: float) -> str:
    """A share in per cent with its sign; nothing has none.

    >>> _percent(-0.204), _percent(-0.004), _percent(0.07)
    ('-20%', '0%', '+7%')
    """
    text = f"{share:+.0%}"
    return text[1:] if text[1:] == "0%" else text


def seen_in(run: RunLog) -> list[Seen]:
    """What a run tells of each of its zones; nothing of one that began warm.

    run: as it was read.
    """
    starts_c = [
        next((row.zones[zone].measured_c for row in run.rows if row.zones[zone].measured_c is not None), None)
        for zone in range(len(run.zones))
    ]
    if any(start_c is None or start_c >= COLD_C for start_c in starts_c):
        return [Seen(None, None)] * len(run.zones)
    return [
        Seen(_warm_k_per_s(run, zone), _hold(run, zone, start_c or 0.0))
        for zone, start_c in enumerate(starts_c)
    ]


def _warm_k_per_s(run: RunLog, zone: int) -> float | None:
    """The first stretch of full power: its rise over its time between the two temperatures."""
    began: tuple[float, float] | None = None
    ended: tuple[float, float] | None = None
    for row, step_ms in weighted(run.rows, run.rows[0].at_ms - 1000):
        seen = row.zones[zone]
        full = row.mode == "running" and seen.relay_on_ms >= FULL_SHARE * step_ms
        if seen.measured_c is None or not full:
            if began is not None:
                break
            continue
        if FROM_C <= seen.measured_c <= TO_C:
            began = began or (row.at_ms / 1000, seen.measured_c)
            ended = (row.at_ms / 1000, seen.measured_c)
    if began is None or ended is None or ended[1] - began[1] < LEAST_RISE_K or ended[0] <= began[0]:
        return None
    return (ended[1] - began[1]) / (ended[0] - began[0])


def _hold(run: RunLog, zone: int, start_c: float) -> float | None:
    """Mean power per kelvin above the start, of seconds in the band of a hold or a set that has settled."""
    stages = run.stages()
    shares: list[float] = []
    above_k: list[float] = []
    within_s, at_stage = 0.0, -1
    for row, step_ms in weighted(run.rows, run.rows[0].at_ms - 1000):
        stage = stages[row.stage] if row.stage < len(stages) else None
        seen = row.zones[zone]
        if row.stage != at_stage:
            at_stage, within_s = row.stage, 0.0
        fits = (
            stage is not None
            and stage.kind in ("hold", "set")
            and zone in stage.zones
            and row.mode == "running"
        )
        if not fits or stage is None or seen.measured_c is None or seen.target_c is None:
            within_s = 0.0
            continue
        if stage.band_k is not None and abs(seen.measured_c - seen.target_c) > stage.band_k:
            within_s = 0.0
            continue
        within_s += step_ms / 1000
        if within_s > SETTLED_S:
            shares.append(min(1.0, seen.relay_on_ms / step_ms))
            above_k.append(seen.measured_c - start_c)
    if len(shares) < LEAST_HOLD_S or fmean(above_k) < LEAST_RISE_K:
        return None
    power_w = run.power_w.get(run.zones[zone], 1000.0)
    return fmean(shares) * power_w / fmean(above_k)


def trend(zone: str, what: str, values: Sequence[float]) -> Trend:
    """The trend of a figure in the order of the runs.

    zone: its name. what: "warm" or "hold". values: of the runs that tell it.
    """
    count = len(values)
    if count < LEAST_RUNS:
        return Trend(zone, what, count)
    from scipy.stats import theilslopes  # noqa: PLC0415 - takes a while to load

    slope, start, low, high = theilslopes(values, range(count), CONFIDENCE)
    first = float(start)
    scale = (count - 1) / (first if first > 0 else median(values))
    change, least, most = float(slope) * scale, float(low) * scale, float(high) * scale
    notable = abs(change) >= NOTABLE and least * most > 0
    return Trend(zone, what, count, first, first * (1 + change), change, least, most, notable)


def trends(runs: Sequence[RunLog]) -> list[Trend]:
    """Trends of every zone of runs that can be compared, in their order.

    runs: of one rig and one profile.
    """
    told = [seen_in(run) for run in runs if run.rows]
    found = []
    figures: dict[str, Callable[[Seen], float | None]] = {
        "warm": lambda seen: seen.warm_k_per_s,
        "hold": lambda seen: seen.hold_w_per_k,
    }
    for zone, name in enumerate(runs[0].zones):
        for what, figure in figures.items():
            values = [value for one in told if (value := figure(one[zone])) is not None]
            found.append(trend(name, what, values))
    return found


def ageing(paths: Sequence[Path]) -> dict[str, Any]:
    """How the rigs of run files have changed: groups of comparable runs, each with its trends.

    paths: of run files, in any order. Raises FileError as read_run(), UsageError for none.
    """
    if not paths:
        raise UsageError("no run is named", "name run files: ribwright ageing run-*.csv", code="no_runs")
    groups: Mapping[tuple[str, str, str, bool, int], list[RunLog]] = defaultdict(list)
    for path in paths:
        run = read_run(path)
        alike = (run.word("rig"), run.word("profile_hash"), run.word("board"), run.simulated, run.from_stage)
        groups[alike].append(run)
    told = []
    for (rig, _, board, simulated, _), runs in groups.items():
        zones = {run.zones for run in runs}
        if len(zones) != 1:
            raise FileError(
                f"runs of rig {rig} name their zones differently",
                "leave out those that do not belong",
                code="zones",
            )
        # The board's own number: the clock of a board may be unknown.
        runs.sort(
            key=lambda run: (run.started_unix or 0, int(run.word("run")) if run.word("run").isdigit() else 0)
        )
        told.append(
            {
                "rig": rig,
                "rig_name": runs[0].word("rig_name"),
                "board": board,
                "profile": runs[0].profile_name,
                "simulated": simulated,
                "runs": len(runs),
                "trends": [asdict(one) | {"sentence": one.sentence()} for one in trends(runs)],
            }
        )
    return {"schema": 1, "groups": told}
