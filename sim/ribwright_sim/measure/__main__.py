"""`python -m ribwright_sim.measure [FOLDER [PART...]]`: bench.json, bench_notes.json, bench.md; see PARTS."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import numpy as np

from ribwright_sim import reference as ref
from ribwright_sim.campaign.spread import cores
from ribwright_sim.compiled import HAVE_NUMBA

from . import book as notebook
from . import ours, page, plans, readme, scaling, waits
from .board import board
from .contest import BATCH, Book, contest
from .table import table
from .timing import exponent, machine, medians_s, reference_kernel

SEED = 20260
ROUNDS = 5
FULL_BATCH = 256
# A scalar run is too short for the clock.
SCALAR_RUNS = 20
# Fewer windows of the slow ways, scaled up: every window costs the same.
NUMPY_WINDOWS = 600
PLANT_COUNTS = [256, 1024, 4096]
PARTS = ("waits", "solver", "board", "plans", "page", "book")
# Measured when it is asked for by name, as `make scaling` does.
MORE = ("scaling",)
GRID_TIMES = (1, 2, 4)


def say(line: str) -> None:
    """One line of progress."""
    sys.stderr.write(line + "\n")


def _own(book: Book) -> None:
    """Our own times, interleaved with the kernel that stands for the machine."""
    coarse, even = ref.COARSE_CELLS, ref.EVEN_48_CELLS
    stacks = {cells: ours.plants(BATCH, cells, SEED) for cells in (coarse, even)}
    batch = {cells: ours.solver(stacks[cells], use_numba=True) for cells in stacks}
    one = {cells: ours.solver(stacks[cells][:1], use_numba=True) for cells in stacks}
    plain, plain_batch = (ours.solver(some, use_numba=False) for some in (stacks[coarse][:1], stacks[coarse]))
    full, full_gains = ours.full_batch(FULL_BATCH, SEED)
    seconds = medians_s(
        {
            "kernel": reference_kernel,
            "scalar": lambda: [ours.run(one[coarse], 1) for _ in range(SCALAR_RUNS)],
            "batch": lambda: ours.run(batch[coarse], BATCH),
            "scalar_48": lambda: [ours.run(one[even], 1) for _ in range(SCALAR_RUNS)],
            "batch_48": lambda: ours.run(batch[even], BATCH),
            "prepare": lambda: ours.solver(stacks[coarse], use_numba=True),
            "full_batch": lambda: full.run(full_gains, np.repeat(ref.targets_c(), 2, axis=1)),
        },
        ROUNDS,
    )
    slow = medians_s(
        {
            "numpy": lambda: ours.run(plain, 1),
            "numpy_batch": lambda: ours.run(plain_batch, BATCH, windows=NUMPY_WINDOWS),
            "full": ours.full_run,
        },
        3,
    )
    cells, steps = sum(coarse), ref.END_S
    figures = book.figures
    traces = [ours.run(one[coarse], 1, trace=True), ours.run(batch[coarse], BATCH, trace=True)]
    figures["sim_error_k"] = max(map(ours.error_k, traces))
    figures["sim_error_48_k"] = ours.error_k(ours.run(one[even], 1, trace=True))
    figures["sim_run_ms"] = seconds["scalar"] / SCALAR_RUNS * 1e3
    figures["sim_batch_run_us"] = seconds["batch"] / BATCH * 1e6
    figures["sim_run_48_ms"] = seconds["scalar_48"] / SCALAR_RUNS * 1e3
    figures["sim_batch_run_48_us"] = seconds["batch_48"] / BATCH * 1e6
    figures["sim_batch_plants"] = BATCH
    figures["ns_per_cell_step"] = seconds["batch"] / BATCH / cells / steps * 1e9
    figures["ns_per_cell_step_scalar"] = seconds["scalar"] / SCALAR_RUNS / cells / steps * 1e9
    figures["ns_per_cell_step_48"] = seconds["batch_48"] / BATCH / sum(even) / steps * 1e9
    figures["cells_per_column"] = cells
    figures["step_s"] = ours.SCHEME.step_s
    figures["reference_kernel_ms"] = seconds["kernel"] * 1e3
    figures["numpy_run_ms"] = slow["numpy"] * 1e3
    figures["numpy_batch_run_us"] = slow["numpy_batch"] * ref.END_S / NUMPY_WINDOWS / BATCH * 1e6
    figures["sim_full_run_ms"] = slow["full"] * 1e3
    figures["sim_full_batch_run_us"] = seconds["full_batch"] / FULL_BATCH * 1e6
    figures["sim_prepare_us"] = seconds["prepare"] / BATCH * 1e6
    book.notes["sim_run_ms"] = "a solver that holds its stacks; reading them in is sim_prepare_us for each"
    book.notes["numpy_batch_run_us"] = f"timed over {NUMPY_WINDOWS} of {ref.END_S} s and scaled"
    book.notes["ns_per_cell_step"] = (
        "a step is one second of two implicit stages, refresh and control included"
    )


def _scaling(book: Book) -> None:
    """How time grows with plants and with cells."""
    coarse = ref.COARSE_CELLS
    sizes: dict[str, tuple[int, tuple[int, ...]]] = {f"plants {n}": (n, coarse) for n in PLANT_COUNTS}
    sizes |= {f"cells {k}": (256, tuple(k * c for c in ref.EVEN_48_CELLS)) for k in GRID_TIMES}
    work: dict[str, Callable[[], object]] = {}
    for name, (count, cells) in sizes.items():
        solver = ours.solver(ours.plants(count, cells, SEED), use_numba=True)
        work[name] = partial(ours.run, solver, count)
    seconds = medians_s(work, 3)
    book.figures["scaling_exponent_plants"] = exponent(
        PLANT_COUNTS, [seconds[f"plants {n}"] for n in PLANT_COUNTS]
    )
    book.figures["scaling_exponent_cells"] = exponent(
        list(GRID_TIMES), [seconds[f"cells {k}"] for k in GRID_TIMES]
    )
    book.notes["scaling"] = f"plants {PLANT_COUNTS}; cells 48 times {list(GRID_TIMES)}; medians of 3 rounds"


def _versions() -> dict[str, str]:
    found = {}
    for name in ("numpy", "numba", "scipy", "casadi", "scikit-sundae", "fipy"):
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found


def _kept(
    book: Book,
    found: tuple[dict[str, object], dict[str, object]],
    broken: Callable[[dict[str, object]], list[str]],
) -> list[str]:
    """Put figures and notes of a part into the book; names of what is not as it has to be."""
    figures, notes = found
    book.figures |= figures
    book.notes |= notes
    return broken(figures)


def _solver(book: Book) -> list[str]:
    say("measuring our own runs")
    _own(book)
    _scaling(book)
    contest(book, SEED, ROUNDS, say)
    return []


def _works(book: Book, folder: Path) -> dict[str, Callable[[], list[str]]]:
    """Each part by name, in the order they are measured; it gives names of what is not as it should be."""
    return {
        "waits": lambda: _kept(book, waits.measured(say), waits.broken),
        "solver": lambda: _solver(book),
        "board": lambda: board(book, say),
        "plans": lambda: _kept(book, plans.measured(say, workers=cores()), plans.broken),
        "page": lambda: _kept(book, page.measured(say), page.broken),
        "book": lambda: _kept(book, notebook.measured(say), notebook.broken),
        "scaling": lambda: _kept(book, scaling.measured(say, folder), scaling.broken),
    }


def main(folder: Path, parts: Sequence[str] = PARTS, page_path: Path | None = None) -> int:
    """Measure and write bench.json, bench_notes.json and bench.md into `folder`.

    parts: of PARTS and MORE; figures of a part not measured now stay as the file has them. page_path: of the
    README whose table is written anew. Returns 1 when a figure is not what it has to be, 2 when the compiler
    is missing.
    """
    if {"solver", "scaling"} & set(parts) and not HAVE_NUMBA:
        say("numba is not installed, nothing can be compared; pip install 'ribwright[fast,peers]'")
        return 2
    begun = time.monotonic()
    book = Book(_before(folder, "bench.json"), _before(folder, "bench_notes.json"))
    wrong: list[str] = []
    took = {}
    for name, work in _works(book, folder).items():
        if name in parts:
            since = time.monotonic()
            wrong += work()
            took[name] = round((time.monotonic() - since) / 60.0, 1)
    book.figures |= {"seed": SEED, "rounds": ROUNDS, "machine": machine() | {"versions": _versions()}}
    book.notes["minutes"] = took | {"all": round((time.monotonic() - begun) / 60.0, 1)}
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in (("bench.json", book.figures), ("bench_notes.json", book.notes)):
        (folder / name).write_text(json.dumps(content, indent=2) + "\n", encoding="utf-8")
    (folder / "bench.md").write_text(table(book), encoding="utf-8")
    if page_path is not None:
        readme.put(page_path, book.figures)
    say(f"written: {folder / 'bench.json'}, bench_notes.json and bench.md beside it")
    if wrong:
        say(f"not as it has to be: {', '.join(wrong)}")
    return 1 if wrong else 0


def _before(folder: Path, name: str) -> dict[str, object]:
    """What a file of an earlier measurement says, nothing when there is none."""
    try:
        found = json.loads((folder / name).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


if __name__ == "__main__":
    own = Path("README.md")
    sys.exit(
        main(
            Path(sys.argv[1] if len(sys.argv) > 1 else "build"),
            sys.argv[2:] or PARTS,
            # Run from the project's folder, as `make bench` does; elsewhere there is no table to write.
            own if own.is_file() and readme.BEGIN in own.read_text(encoding="utf-8") else None,
        )
    )
