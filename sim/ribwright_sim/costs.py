"""What work costs in time on a board: one table, read by the virtual rig and walked row by row by a test."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Column = Literal["typical", "maximum"]

# Same order as OPERATIONS in shim/board_clock.py; tests/seam compares them.
OPERATIONS = (
    "boot",
    "tick_code",
    "wake_code",
    "spi_read_4_bytes",
    "gc_collect",
    "flash_program_page",
    "flash_erase_sector",
    "stalled_write",
    "link_read_byte",
    "clock_read",
    "link_write_64_bytes",
    "i2c_byte",
    "display_piece",
)
TABLE = Path(__file__).with_name("board_costs.csv")


@dataclass(frozen=True)
class Cost:
    """One row: an operation, its typical and maximum time in us, what is counted, and where the figure is
    from.
    """

    operation: str
    typical_us: int
    maximum_us: int
    unit_note: str
    source: str


def read_costs(path: Path = TABLE) -> dict[str, Cost]:
    """Return the rows of the cost table by operation.

    path: of a file with the columns of board_costs.csv.

    Raises ValueError naming the row when an operation is missing, unknown or doubled, a time is not a whole
    number of us with 0 < typical <= maximum, or a source is missing.
    """
    rows: dict[str, Cost] = {}
    with path.open(newline="", encoding="utf-8") as file:
        for line, row in enumerate(csv.DictReader(file), start=2):
            where = f"{path.name} line {line}"
            name = row["operation"]
            if name not in OPERATIONS or name in rows:
                raise ValueError(f"{where}: operation {name!r} is unknown or given twice")
            cost = Cost(name, int(row["typical_us"]), int(row["maximum_us"]), row["unit_note"], row["source"])
            if not 0 < cost.typical_us <= cost.maximum_us:
                raise ValueError(
                    f"{where}: typical {cost.typical_us} us and maximum {cost.maximum_us} us do not rise"
                )
            if not cost.source or not cost.unit_note:
                raise ValueError(f"{where}: {name} names no source or no unit")
            rows[name] = cost
    missing = [name for name in OPERATIONS if name not in rows]
    if missing:
        raise ValueError(f"{path.name}: no row for {', '.join(missing)}")
    return rows


def costs_us(column: Column, path: Path = TABLE) -> tuple[int, ...]:
    """Return the times of one column in us, in the order of OPERATIONS.

    column: "typical" or "maximum". path, and what is raised: as read_costs().
    """
    rows = read_costs(path)
    return tuple(
        rows[name].typical_us if column == "typical" else rows[name].maximum_us for name in OPERATIONS
    )
