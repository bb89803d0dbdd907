"""How quick the book is with ten thousand runs in it, beside a fixed piece of work of the same process."""

import json
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from . import listing, pairs
from .heat import CURVE_STEP_S, pack
from .invented import covered
from .killed import kills
from .models import SUMS, WHICH, Curve, Measurement, Piece, Run, RunZone, Side, Thickness, open_book
from .store import opened

RUNS, RUNS_OF_A_SIDE = 10_000, 2
ROUNDS = 5
# Writers killed, and invented notebooks with so many pieces in each.
KILLS, NOTEBOOKS, PIECES = 200, 200, 12
CHUNK = 400
KERNEL_LENGTH, KERNEL_REPEATS = 4096, 4000


def _kernel() -> None:
    """The solver's reference: y = 0.999 y + x over what fits the nearest cache, four thousand times."""
    x, y = np.linspace(0.0, 1.0, KERNEL_LENGTH), np.zeros(KERNEL_LENGTH)
    for _ in range(KERNEL_REPEATS):
        np.multiply(y, 0.999, out=y)
        np.add(y, x, out=y)


def fill(runs: int, seed: int = 1) -> None:
    """Fill the open, empty book with made-up simulated runs: two zones each, every other one a second run.

    runs: how many. seed: of the figures.
    """
    dice = np.random.default_rng(seed)
    per_piece = RUNS_OF_A_SIDE * len(WHICH)
    pieces = -(-runs // per_piece)
    curve = pack([20 + 130 * (1 - np.exp(-i / 30)) for i in range(480)])
    rows: dict[type, list[dict[str, object]]] = {
        model: [] for model in (Piece, Side, Thickness, Measurement, Run, RunZone, Curve)
    }
    for piece in range(1, pieces + 1):
        day = f"{2000 + piece // 336}-{1 + piece // 28 % 12:02d}-{1 + piece % 28:02d}"
        rows[Piece].append({"id": piece, "name": f"baritone {piece}", "made_on": day, "simulated": True})
        for which in WHICH:
            side = len(rows[Side]) + 1
            sums = dict(zip(SUMS, dice.normal([900, 156, 0.2, 127, 720, 25], 2), strict=True))
            sums = {name: float(value) for name, value in sums.items()}
            head = {"id": side, "piece": piece, "which": which, "species": "sapele"}
            rows[Side].append(head | {"runs_count": RUNS_OF_A_SIDE} | sums)
            rows[Thickness].append({"side": side, "place": "all along", "thickness_mm": 1.7})
            rows[Measurement].append({"side": side, "noted_on": day, "gap_waist_mm": 0.8})
            for _ in range(RUNS_OF_A_SIDE):
                run = len(rows[Run]) + 1
                about = {"id": run, "key": f"{run:024x}", "side": side, "board": "72696273696d0001"}
                about |= {"number": run, "simulated": True, "profile": "sapele baritone side"}
                about |= {"profile_hash": "a41b", "rig": "5f0c9a", "firmware": "0.1.0", "ending": "done"}
                rows[Run].append(about | {"sha256": "0" * 64, "seconds": 2400.0} | sums)
                for zone in ("waist", "full"):
                    rows[RunZone].append({"run": run, "zone": zone} | sums)
                    rows[Curve].append(
                        {"run_zone": len(rows[RunZone]), "step_s": CURVE_STEP_S, "packed": curve}
                    )
    with open_book.atomic():
        for model, listed in rows.items():
            for at in range(0, len(listed), CHUNK):
                model.insert_many(listed[at : at + CHUNK]).execute()  # type: ignore[attr-defined]


def _compare_one() -> None:
    pairs.whole_piece(Piece.select().order_by(Piece.id.desc()).get()).figures()


def _list_as_shown() -> None:
    found = listing.sides()
    for _ in listing.list_lines(found, listing.runs()):
        pass


def measured() -> dict[str, float]:
    """Times of a book of RUNS runs: s by the wall clock, and CPU time in units of the reference kernel's.

    book_list_s: every side and every run read and put into lines. book_compare_s: every pair judged.
    book_compare_one_s: one pair read whole. book_open_s: opening it. book_kernel_s: CPU time of the kernel.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.sqlite"
        with opened(path, make=True):
            fill(RUNS)
        seconds: dict[str, list[float]] = {}
        cpu: dict[str, list[float]] = {}

        def timed(name: str, work: Callable[[], object]) -> None:
            start, start_cpu = time.perf_counter(), time.process_time()
            work()
            cpu.setdefault(name, []).append(time.process_time() - start_cpu)
            seconds.setdefault(name, []).append(time.perf_counter() - start)

        def open_only() -> None:
            with opened(path):
                pass

        for _ in range(ROUNDS):
            timed("kernel", _kernel)
            timed("open", open_only)
            with opened(path):
                timed("list_sides", listing.sides)
                timed("list", _list_as_shown)
                timed("compare", pairs.all_verdicts)
                timed("compare_one", _compare_one)
        median, used = (
            {name: statistics.median(times) for name, times in some.items()} for some in (seconds, cpu)
        )
        size = path.stat().st_size
    kernel = used.pop("kernel")
    del median["kernel"]
    figures = {f"book_{name}_s": value for name, value in median.items()}
    figures |= {f"book_{name}_of_kernel": value / kernel for name, value in used.items()}
    return figures | {"book_runs": RUNS, "book_bytes_per_run": size / RUNS, "book_kernel_s": kernel}


def proved() -> dict[str, float]:
    """What else is claimed of the book: what kills lose of it, and how often its intervals hold the truth.

    book_covered: over all effects; book_covered_least: of the effect with the least; book_covered_ and the
    name of a factor: of its own.
    """
    with tempfile.TemporaryDirectory() as folder:
        found = kills(Path(folder) / "book.sqlite", KILLS)
    shares = covered(NOTEBOOKS, PIECES)
    learned = {
        "book_notebooks": NOTEBOOKS,
        "book_covered": statistics.fmean(shares.values()),
        "book_covered_least": min(shares.values()),
    }
    learned |= {f"book_covered_{name}": share for name, share in shares.items()}
    return {f"book_{name}": value for name, value in found.items()} | learned


if __name__ == "__main__":
    if "--json" in sys.argv:
        sys.stdout.write(json.dumps(measured() | proved()))
    else:
        for name, value in (measured() | proved()).items():
            print(f"{name} {value:.4g}")  # noqa: T201 - what it is run for
