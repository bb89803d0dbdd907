"""The true state of a virtual rig's stack as a table: a row for every virtual second."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path
from typing import Any

# What is written down of every zone, and of every column of the side.
ZONE_TRUTH = ("thermocouple_c", "blanket_core_c", "slat_c")
COLUMN_TRUTH = ("wood_mid_c", "wood_hot_c", "moisture_percent", "free_percent")
# Rows between two looks of whoever reads along.
FLUSH_ROWS = 30
_Row = tuple[int, tuple[int, int, int], Any, tuple[int, ...], Sequence[float]]


class Truth:
    """A CSV file of rows that are noted when they are true, and written when there is time.

    path: the file. zones, columns: their names. Raises OSError when it cannot be written.
    """

    def __init__(self, path: Path, zones: Sequence[str], columns: Sequence[str]) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        self._file = path.open("w", newline="", encoding="utf-8")
        self._writer = csv.writer(self._file)
        header = ["time_s", "board_ms", "alive", "contactor"]
        for zone in zones:
            header += [f"{zone}_{name}" for name in ZONE_TRUTH] + [f"{zone}_relay", f"{zone}_on_s"]
        for column in columns:
            header += [f"{column.replace(' ', '_')}_{name}" for name in COLUMN_TRUTH]
        self._columns = len(columns)
        self._writer.writerow(header)
        self._noted: list[_Row] = []

    def note(
        self,
        second: int,
        flags: tuple[int, int, int],
        sample: Any,  # noqa: ANN401 - has what is written down as attributes
        levels: tuple[int, ...],
        on_s: Sequence[float],
    ) -> None:
        """Keep one second for later.

        second: virtual time [s]. flags: the board's clock [ms], whether alive detector and contactor
        hold. sample: of the plant. levels: of the relays. on_s: how long power has flowed in each blanket, s.
        """
        self._noted.append((second, flags, sample, levels, on_s))

    def write(self) -> None:
        """Write what was noted."""
        for second, flags, sample, levels, on_s in self._noted:
            zones = [getattr(sample, name) for name in ZONE_TRUTH]
            columns = [getattr(sample, name) for name in COLUMN_TRUTH]
            row: list[object] = [second, *flags]
            for zone, level in enumerate(levels):
                row += [f"{float(values[zone]):.3f}" for values in zones]
                row += [int(level), f"{on_s[zone]:.3f}"]
            for column in range(self._columns):
                row += [f"{float(values[column]):.3f}" for values in columns]
            self._writer.writerow(row)
            if second % FLUSH_ROWS == 0:
                self._file.flush()
        self._noted.clear()

    def close(self) -> None:
        """Write what is left, and close the file."""
        self.write()
        self._file.close()
