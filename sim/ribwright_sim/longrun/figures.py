"""Figures of a long run, on one board or spread over several, and what they have to be.

boards: plays that have ended, one of each board, at least one. lows: lowest free heap of each span, in order,
bytes. found: as figures().
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from .play import HOUR_S, LongRun

MOST_DRIFT_S = 1.0
# Least free heap of the last quarter against the first one's: as near counts as flat.
FLAT_SHARE = 0.02
HEATING_TIME = (
    "seconds of the simulation with heat allowed: from the end of each start's proof to its cool stage; "
    "proofs, cooling and what lies between two runs do not count"
)
STACK = "per zone a lump of blanket with slats, one of wood, one of junction; the chip model adds its noise"
HEAP = (
    "free bytes after each collection, of 380 KB that stand for a Pico's 190 KB where words have 8 bytes; "
    "the lowest is begun anew every span"
)


def slope_per_hour(lows: list[int], span_s: float) -> float:
    """Straight line through the lows by least squares, bytes per hour; 0 for fewer than two.

    span_s: from one low to the next.
    """
    if len(lows) < 2:
        return 0.0
    hours = np.arange(len(lows)) * span_s / HOUR_S
    return float(np.polyfit(hours, np.asarray(lows, dtype=float), 1)[0])


def flat(lows: list[int]) -> bool:
    """Whether the lowest of the last quarter is within FLAT_SHARE of the first quarter's.

    Fewer than four lows are never flat, nor are any with a 0 in their first quarter.
    """
    quarter = max(1, len(lows) // 4)
    if len(lows) < 4:
        return False
    first, last = min(lows[:quarter]), min(lows[-quarter:])
    return first > 0 and abs(last - first) <= FLAT_SHARE * first


def seen_lows(long: LongRun) -> list[int]:
    """The lows of every span in which the board told any; the last one may have been too short."""
    return [low for low in long.heap.lows if low > 0]


def _largest(values: Sequence[float]) -> float:
    """The one furthest from 0."""
    return max(values, key=abs)


def figures(boards: Sequence[LongRun]) -> dict[str, Any]:
    """Every figure of plays that have ended, the worst of them where one board may differ from another."""
    lows = [seen_lows(long) for long in boards]
    runs = [run for long in boards for run in long.runs]
    slopes = [slope_per_hour(seen, long.heap.span_s) for seen, long in zip(lows, boards, strict=True)]
    wall_s = max(long.wall_s for long in boards)
    simulated_s = sum(long.simulated_s for long in boards)
    return {
        "longrun_hours": round(sum(long.heat_s for long in boards) / HOUR_S, 3),
        "longrun_hours_wanted": sum(long.hours for long in boards),
        "runs": len(runs),
        "boards": len(boards),
        "heap_low_bytes": min((min(seen, default=0) for seen in lows), default=0),
        "heap_slope_bytes_per_hour": round(_largest(slopes), 2),
        "heap_flat": all(flat(seen) for seen in lows),
        "stage_drift_s": round(max((run.drift_s for run in runs), default=0.0), 3),
        "stages_timed": sum(run.timed for run in runs),
        "log_gaps": sum(run.gaps for run in runs),
        "log_records": sum(run.records for run in runs),
        "runs_made_room": sum(long.made_room for long in boards),
        "trips": sum(long.trips for long in boards),
        "refusals": sum(long.refusals for long in boards),
        "resets": sum(long.resets for long in boards),
        "ticks_wrapped": all(any(run.wrapped for run in long.runs) for long in boards),
        "worst_late_ms": max((run.late_ms for run in runs), default=0),
        "flash_erases": max(long.erases for long in boards),
        "energy_residual": _largest([long.energy_residual for long in boards]),
        "simulated_hours": round(simulated_s / HOUR_S, 3),
        "frames": sum(long.frames for long in boards),
        "realtime_factor": round(simulated_s / max(wall_s, 1e-9), 1),
        "wall_s": round(wall_s, 1),
        "interpreter": boards[0].interpreter,
        "seeds": [long.seed for long in boards],
    }


def broken(found: dict[str, Any]) -> list[str]:
    """Names of the goals that are not held."""
    held = {
        "longrun_hours": found["longrun_hours"] >= found["longrun_hours_wanted"],
        "heap_flat": found["heap_flat"],
        "stage_drift_s": found["stage_drift_s"] <= MOST_DRIFT_S and found["stages_timed"] > 0,
        "log_gaps": found["log_gaps"] == 0 and found["log_records"] > 0,
        "trips": found["trips"] == 0,
        "refusals": found["refusals"] == 0,
        "resets": found["resets"] == 0,
        "ticks_wrapped": found["ticks_wrapped"],
    }
    return [name for name, holds in held.items() if not holds]


def notes(boards: Sequence[LongRun]) -> dict[str, Any]:
    """What stands behind the figures."""
    return {
        "heating_time": HEATING_TIME,
        "stack": STACK,
        "heap": HEAP,
        "boards": [_board_notes(long) for long in boards],
    }


def _board_notes(long: LongRun) -> dict[str, Any]:
    lows = seen_lows(long)
    return {
        "seed": long.seed,
        "heat_s": round(long.heat_s, 1),
        "ended_early": long.lost,
        "heap_span_s": long.heap.span_s,
        "heap_low_per_span_bytes": lows,
        "heap_slope_bytes_per_hour": round(slope_per_hour(lows, long.heap.span_s), 2),
        "runs": [
            {
                "run": run.number,
                "heat_s": round(run.heat_s, 1),
                "ended": run.ended,
                "records": run.records,
                "gaps": run.gaps,
                "drift_s": round(run.drift_s, 3),
                "late_ms": run.late_ms,
                "ticks_wrapped": run.wrapped,
            }
            for run in long.runs
        ],
    }
