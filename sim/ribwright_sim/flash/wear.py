"""What logging costs the flash: erases, pages, the longest stall, years, and the hours that fit.

Times are those of board_costs.csv for pages and blocks alone: what the file system computes and reads comes
on top.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable
from typing import Any

from ribwright_sim.costs import OPERATIONS, Column, costs_us

from .play import ask, payload
from .scenes import header

BLOCKS = 352
PERIODS_S = (1, 5, 10, 30, 60)
LONG_HOURS = 60
# The file system begins where chance has it, so the most worn block differs by a tenth; the worst one counts.
LONG_TIMES = 3
OLDER_RUNS = 3
PAGE_BYTES = 256
# Endurance a data sheet of a serial NOR part states for each block; from memory.
CYCLES = 100_000
HOURS_A_DAY = 4.0
DAYS_A_YEAR = 365.25
COLUMNS: tuple[Column, Column] = ("typical", "maximum")
WATCHDOG_FILE = "lib/ribwright_board/drivers/watchdog.py"


def page_and_block_us() -> list[list[int]]:
    """Time of a page and of a block, typical and at most [us]."""
    at = [OPERATIONS.index(name) for name in ("flash_program_page", "flash_erase_sector")]
    return [[costs_us(column)[place] for place in at] for column in COLUMNS]


def stall_ms(worst: list[list[int]], column: int) -> float:
    """How long the worst of an act stops the processor [ms].

    worst: (erases, pages) by column. column: 0 for typical times, 1 for the longest.
    """
    page_us, block_us = page_and_block_us()[column]
    erases, pages = worst[column]
    return (erases * block_us + pages * page_us) / 1000.0


def _row(period: str, hour: dict[str, Any]) -> dict[str, float]:
    """One period of the table."""
    worst = hour["acts"]["append"]["worst"]
    return {
        "flush_s": int(period),
        "erases_per_hour": hour["erases"],
        "kb_per_hour": round(hour["pages"] * PAGE_BYTES / 1024, 1),
        "worst_erases": worst[0][0],
        "worst_pages": worst[0][1],
        "worst_ms": stall_ms(worst, 0),
        "worst_max_ms": stall_ms(worst, 1),
    }


def _watchdog_ms() -> int:
    """The watchdog's patience, as the board's files state it [ms]."""
    found = re.search(rb"^TIMEOUT_MS = (\d+)$", payload("cpython")[WATCHDOG_FILE], re.MULTILINE)
    if found is None:
        raise ValueError(f"{WATCHDOG_FILE}: states no TIMEOUT_MS")
    return int(found[1])


def wear(
    periods_s: Iterable[int] = PERIODS_S, hours: int = LONG_HOURS
) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes of an hour of logging at each period, and of many hours at the shipped one.

    periods_s: between two flushes. hours: of the long run, in runs of one hour. Raises RigError when
    MicroPython is missing.
    """
    (seen,) = ask(
        "wear_play.py",
        {
            "blocks": BLOCKS,
            "header": base64.b64encode(header(1)).decode(),
            "periods_s": list(periods_s),
            "hours": hours,
            "times": LONG_TIMES,
            "older": OLDER_RUNS,
            "costs_us": page_and_block_us(),
        },
    )
    shipped, lasting = str(seen["flush_s"]), max(seen["long"], key=lambda run: int(run["worst_block"]))
    table = [
        _row(period, hour) for period, hour in sorted(seen["hours"].items(), key=lambda kept: int(kept[0]))
    ]
    flushes = [run["acts"]["append"]["worst"] for run in (seen["hours"][shipped], *seen["long"])]
    worn_per_hour = lasting["worst_block"] * 3600.0 / lasting["seconds"]
    figures: dict[str, object] = {
        "erases_per_hour": seen["hours"][shipped]["erases"],
        "flush_worst_ms": max(stall_ms(worst, 0) for worst in flushes),
        "flush_worst_max_ms": max(stall_ms(worst, 1) for worst in flushes),
        "flash_worst_block_erases": lasting["worst_block"],
        "flash_years_at_4_h_a_day": CYCLES / worn_per_hour / HOURS_A_DAY / DAYS_A_YEAR,
        "flash_free_bytes": seen["fit"]["free_bytes"],
        "log_hours_that_fit": seen["fit"]["log_s"] / 3600.0,
        "log_lost_when_full_s": seen["fit"]["lost_s"],
        "log_hour_after_full_s": min(seen["fit"]["again_s"]),
    }
    acts = {name: [stall_ms(act["worst"], n) for n in (0, 1)] for name, act in lasting["acts"].items()}
    notes: dict[str, object] = {
        "erases_per_hour": f"two zones at 1 Hz, flushed every {shipped} s as shipped, {OLDER_RUNS} older",
        "flush_table": table,
        "flush_worst_ms": f"pages and blocks at typical times, over {hours} hours; processor time on top",
        "flush_worst_max_ms": f"at the longest times; the watchdog waits {_watchdog_ms()} ms",
        "flash_stalls_ms": {"typical and longest, by act, over the long run": acts},
        "flash_worst_block_erases": f"over {lasting['seconds'] / 3600.0:g} h, worst of {LONG_TIMES}; "
        f"half of all blocks had {lasting['median_block']} or fewer, {lasting['untouched_blocks']} none; "
        f"{lasting['removed_runs']} runs made room",
        "flash_years_at_4_h_a_day": f"assumes {CYCLES} erases of the most worn block, wearing on as over "
        f"these {hours} h, {HOURS_A_DAY:g} heated hours every day",
        "flash_free_bytes": "as the file system counts: two blocks too few for each directory, and less than "
        "none, which wraps round, when the last of them are used",
        "log_hour_after_full_s": "of an hour's run after the flash was full and old runs made room for it; "
        "the log still open, or after a reset; the less of the two",
        "log_hours_that_fit": f"filled until full, runs of an hour, flushed every {shipped} s, beside "
        f"{seen['payload_bytes']} bytes of the board's own files",
    }
    return figures, notes
