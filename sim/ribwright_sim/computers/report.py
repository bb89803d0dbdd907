"""The hour with every bad computer beside one with a good one, as figures and notes."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict

from .cable import KINDS
from .trial import trial

# A tick, a flush that has to erase, a collection: with typical costs of the flash.
LATE_MOST_MS = 250


def measured(
    say: Callable[[str], None] = lambda _: None, set_min: int = 45
) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes; some minutes on one core.

    say: takes a line of progress. set_min: minutes of the bend's set stage, which is most of the hour.
    Raises RigError when a board does not come up or comes down.
    """
    begun = time.monotonic()
    say("computers: an hour with every one that behaves badly")
    rough = trial(set_min=set_min)
    say("computers: the same with a good one")
    good = trial(KINDS[:1], set_min=set_min)
    figures: dict[str, object] = {
        "host_fault_worst_late_ms": rough.worst_late_ms,
        "host_fault_hours": round(rough.seconds / 3600, 3),
        "host_fault_ending": rough.ending,
        "host_fault_rows_lost": rough.rows_lost,
        "host_fault_stalled_writes": rough.stalled_writes,
        "host_good_worst_late_ms": good.worst_late_ms,
    }
    notes: dict[str, object] = {
        "host_fault": asdict(rough) | {"kinds": list(KINDS)},
        "host_good": asdict(good),
        "host_fault_seconds": round(time.monotonic() - begun, 1),
    }
    return figures, notes


def broken(figures: dict[str, object]) -> list[str]:
    """Names of the figures that are not what they have to be."""
    wrong = [] if figures["host_fault_ending"] == "done" else ["host_fault_ending"]
    late_ms = figures["host_fault_worst_late_ms"]
    wrong += [] if isinstance(late_ms, int) and late_ms <= LATE_MOST_MS else ["host_fault_worst_late_ms"]
    return wrong + [name for name in ("host_fault_rows_lost",) if figures[name] != 0]
