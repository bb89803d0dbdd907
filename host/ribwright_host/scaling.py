"""How logs and notebooks grow, and a picture of all sweeps: `python -m ribwright_host.scaling FOLDER`.

Takes what the simulator measured from standard input and gives its own sweeps as JSON.
"""

import json
import sys
import tempfile
import time
from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.figure import Figure

from ribwright_board.core import record
from ribwright_board.core.modes import MODES

from .book import listing
from .book.measured import fill
from .book.store import opened
from .logbook import read_log

ROWS, RUNS = (2_500, 10_000, 40_000), (1_000, 4_000, 10_000)
ROUNDS = 3
POWERS_W = {"waist": 105.0, "full": 420.0}
# As record.pack_row takes them; any figures take the same time.
ZONE_ROW = [1500, 1500, 300, 300, 1200]
Sweep = dict[str, Any]


def log_of(rows: int) -> bytes:
    """The log of a run of so many seconds.

    rows: one a second.
    """
    header = {"run": 1, "zones": list(POWERS_W), "power_w": list(POWERS_W.values()), "profile": {}, "unix": 0}
    buffer = bytearray(record.record_size(len(POWERS_W)))
    data = bytearray(record.header_bytes(header))
    for row in range(rows):
        zones = [list(ZONE_ROW) for _ in POWERS_W]
        record.pack_row(buffer, 0, row, 1000 * (row + 1), MODES.index("running"), 0, 0, zones)
        data += buffer
    return bytes(data)


def _median_s(work: Callable[[], object]) -> float:
    """Median CPU seconds after one call to warm it up."""
    work()
    seen = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        work()
        seen.append(time.process_time() - begun)
    return median(seen)


def _sweep(unit: str, sizes: tuple[int, ...], seconds: list[float]) -> Sweep:
    slope = float(np.polyfit(np.log(sizes), np.log(seconds), 1)[0])
    rounded = [float(f"{value:.4g}") for value in seconds]
    return {"unit": unit, "sizes": list(sizes), "seconds": rounded, "exponent": round(slope, 3)}


def logs(sizes: tuple[int, ...] = ROWS) -> Sweep:
    """CPU seconds to read a log back.

    sizes: rows of it.
    """
    return _sweep("rows", sizes, [_median_s(partial(read_log, log_of(rows), POWERS_W, 0)) for rows in sizes])


def notebooks(sizes: tuple[int, ...] = RUNS) -> Sweep:
    """CPU seconds to list every side of a notebook.

    sizes: runs in it.
    """
    found = []
    for runs in sizes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "book.sqlite"
            with opened(path, make=True):
                fill(runs)
            with opened(path):
                found.append(_median_s(listing.sides))
    return _sweep("runs", sizes, found)


def draw(sweeps: Mapping[str, Sweep], spreads: Mapping[str, Mapping[str, float]], folder: Path) -> None:
    """Write scaling.svg and scaling.png: a field for each sweep, one for the workers.

    sweeps, spreads: as bench.json has them. folder: where to.
    """
    columns = 3
    lines = -(-(len(sweeps) + 1) // columns)
    figure = Figure(figsize=(10, 3.0 * lines), layout="constrained")
    fields = list(figure.subplots(lines, columns, squeeze=False).flat)
    for (name, one), field in zip(sweeps.items(), fields, strict=False):
        sizes, seconds = np.array(one["sizes"], float), np.array(one["seconds"], float)
        field.loglog(sizes, seconds, "o-", color="0.15")
        field.loglog(sizes, seconds[0] * sizes / sizes[0], ":", color="0.55")
        field.set_title(f"{name}: exponent {one['exponent']:.2f}", fontsize=10)
        field.set_xlabel(one["unit"])
        field.set_ylabel("CPU time, s")
        field.set_xticks(sizes, [f"{size:,.0f}" for size in sizes])
        field.minorticks_off()
    rest = fields[len(sweeps) :]
    labels = list(dict.fromkeys(label for times in spreads.values() for label in times))
    for place, (what, times) in enumerate(spreads.items()):
        at = [labels.index(label) + 0.4 * place for label in times]
        bars = rest[0].bar(at, list(times.values()), 0.38, color=("0.3", "0.65")[place % 2], label=what)
        rest[0].bar_label(bars, fmt="%.0f", fontsize=8)
    rest[0].set_xticks([n + 0.2 for n in range(len(labels))], labels, fontsize=8)
    rest[0].set_title("the same work, spread", fontsize=10)
    rest[0].set_ylabel("wall time, s")
    rest[0].margins(y=0.2)
    rest[0].legend(fontsize=8)
    for field in rest[1:]:
        field.set_axis_off()
    figure.suptitle("How time grows; dotted: in proportion", fontsize=11)
    # Words stay words in the SVG.
    with rc_context({"svg.fonttype": "none"}):
        for kind in ("svg", "png"):
            figure.savefig(folder / f"scaling.{kind}", dpi=110)


def main(folder: Path) -> None:
    """Measure, draw, and print what was measured here; folder: for the pictures."""
    told = json.load(sys.stdin)
    mine = {"log length": logs(), "notebook": notebooks()}
    draw(told["sweeps"] | mine, told["spreads"], folder)
    sys.stdout.write(json.dumps(mine) + "\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
