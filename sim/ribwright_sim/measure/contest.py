"""Our batch beside each peer, in pairs within one run, at the peer's best grid and at equal grids.

A peer's setting is the coarsest grid and loosest tolerance found to keep 0.05 K over the whole run (a list of
grids of 20 and 48 cells, tolerances 1e-1 to 1e-4); what it really kept in this run stands in the notes.
"""

from __future__ import annotations

import statistics
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from importlib.metadata import PackageNotFoundError, version

import numpy as np
from numpy.typing import NDArray

from ribwright_sim import reference as ref

from . import ours, peers
from .timing import cpu_s

F64 = NDArray[np.float64]

LIMIT_K = 0.05
BATCH = 1024
# FiPy takes minutes for a run: timed over the first seconds, with the relay on throughout, and scaled up.
FIPY_WINDOWS = 20
GRIDS = {"": ref.COARSE_CELLS, "_equal_grid": ref.EVEN_48_CELLS}
IVP_TOLERANCES = {
    "": {"BDF": 1e-3, "LSODA": 1e-2, "Radau": 1e-1},
    "_equal_grid": {"BDF": 3e-4, "LSODA": 1e-3, "Radau": 1e-1},
}
CASADI_TOLERANCES = {"": 3e-4, "_equal_grid": 5e-4}
CVODE_TOLERANCES = {"": 3e-4, "_equal_grid": 5e-4}
FIPY_STEPS_S = {"": 0.0625, "_equal_grid": 0.125}


@dataclass
class Book:
    """Figures by key, None where there is none, and what is to be said about them."""

    figures: dict[str, object] = field(default_factory=dict)
    notes: dict[str, object] = field(default_factory=dict)


def _pairs(
    peer: Callable[[int], F64], batch: Callable[[], object], rounds: int, windows: int = ref.END_S
) -> tuple[float, float, F64]:
    """Median CPU seconds of a peer's run, of one lane of the batch right after it, and the peer's trace."""
    theirs, mine, trace = [], [], np.zeros(0)
    for _ in range(rounds):
        kept: list[F64] = []
        theirs.append(cpu_s(lambda kept=kept: kept.append(peer(windows))) * ref.END_S / windows)  # type: ignore[misc]
        mine.append(cpu_s(batch) / BATCH)
        trace = kept[0]
    return statistics.median(theirs), statistics.median(mine), trace


def enter(
    book: Book,
    key: str,
    label: str,
    peer: Callable[[int], F64],
    batch: Callable[[], object],
    *,
    rounds: int,
    windows: int = ref.END_S,
) -> float:
    """Measure one pair and put it under `key`, unless a faster peer stands there; the ratio.

    A peer whose error is above LIMIT_K is left out, with a note.

    Args:
        book: takes the ratio of CPU times, the peer's over ours, and what is to be said about it.
        key: of the figure.
        label: the peer and its setting, for people.
        peer: called with how many seconds to run; gives the thermocouple trace [C].
        batch: one run of ours with BATCH lanes.
        rounds: how often both are timed, 1 at least.
        windows: how many seconds the peer runs; its time is scaled up to END_S.
    """
    their_s, my_s, trace = _pairs(peer, batch, rounds, windows)
    error = float(np.abs(trace - ref.fine_samples_c()[: len(trace)]).max())
    ratio = their_s / my_s
    if error > LIMIT_K:
        book.notes[f"{key}, {label}"] = {"reason": f"left out: its error was {error:.4f} K", "ratio": ratio}
        return ratio
    best = book.figures.get(key)
    if best is None or (isinstance(best, float) and ratio < best):
        book.figures[key] = ratio
        book.notes[key] = {
            "peer": label,
            "peer_s_per_run": their_s,
            "batch_us_per_run": my_s * 1e6,
            "error_k": error,
            "rounds": rounds,
            "seconds_simulated": windows,
            "scaled_from_part": windows < ref.END_S,
        }
    return ratio


def _try(book: Book, key: str, package: str, work: Callable[[], None], say: Callable[[str], None]) -> None:
    """Do `work` if the peer is there, else leave its key empty with the reason."""
    try:
        version(package)
    except PackageNotFoundError:
        book.figures[key] = None
        book.notes[key] = {"reason": f"{package} is not installed; pip install 'ribwright[fast,peers]'"}
        say(f"{key}: {package} is not installed, so this figure stays empty")
        return
    work()
    value = book.figures.get(key)
    if isinstance(value, float):
        say(f"{key}: {value:,.0f}")


def contest(book: Book, seed: int, rounds: int, say: Callable[[str], None]) -> None:
    """Every peer on every grid.

    Args:
        book: takes the figures.
        seed: of our stacks.
        rounds: of CVODE and CasADi; the slower peers have one.
        say: takes a line of progress.
    """
    for suffix, cells in GRIDS.items():
        solver = ours.solver(ours.plants(BATCH, cells, seed), use_numba=True)
        batch = partial(ours.run, solver, BATCH)
        batch()
        for key, package, work in (
            ("solve_ivp", "scipy", _ivp),
            ("cvode", "scikit-sundae", _cvode),
            ("casadi", "casadi", _casadi),
            ("fipy", "fipy", _fipy),
        ):
            name = f"batch_vs_{key}_ratio{suffix}"
            _try(book, name, package, partial(work, book, name, suffix, batch, rounds), say)


def _ivp(book: Book, key: str, suffix: str, batch: Callable[[], object], _rounds: int) -> None:
    """Three methods, the fastest of which counts; one round, for each takes seconds."""
    cells = GRIDS[suffix]
    for method, tolerance in IVP_TOLERANCES[suffix].items():
        label = f"scipy solve_ivp {method}, {sum(cells)} cells, tolerance {tolerance:g}"
        enter(book, key, label, partial(peers.solve_ivp, method, cells, tolerance), batch, rounds=1)


def _cvode(book: Book, key: str, suffix: str, batch: Callable[[], object], rounds: int) -> None:
    cells, tolerance = GRIDS[suffix], CVODE_TOLERANCES[suffix]
    peers.cvode(cells, tolerance, 3)
    label = f"scikit-sundae CVODE, {sum(cells)} cells, tolerance {tolerance:g}"
    enter(book, key, label, partial(peers.cvode, cells, tolerance), batch, rounds=rounds)


def _casadi(book: Book, key: str, suffix: str, batch: Callable[[], object], rounds: int) -> None:
    """Interpreted, and as generated C where a compiler is found; the faster one counts."""
    cells, tolerance = GRIDS[suffix], CASADI_TOLERANCES[suffix]
    for what, generated_c in (("vm", False), ("c", True)):
        try:
            peer = peers.Casadi(cells, tolerance, generated_c=generated_c)
        except RuntimeError as problem:
            book.notes[f"{key}, {what}"] = {"reason": str(problem).splitlines()[0]}
            continue
        kind = "generated C" if generated_c else "interpreted"
        label = f"CasADi cvodes, {kind}, {sum(cells)} cells, tolerance {tolerance:g}"
        ratio = enter(book, key, label, peer, batch, rounds=rounds)
        book.figures[f"batch_vs_casadi_{what}_ratio{suffix}"] = ratio
        peer.close()


def _fipy(book: Book, key: str, suffix: str, batch: Callable[[], object], _rounds: int) -> None:
    cells, step_s = GRIDS[suffix], FIPY_STEPS_S[suffix]
    label = f"FiPy, {sum(cells)} cells, steps of {step_s:g} s"
    enter(book, key, label, partial(peers.fipy, cells, step_s), batch, rounds=1, windows=FIPY_WINDOWS)
