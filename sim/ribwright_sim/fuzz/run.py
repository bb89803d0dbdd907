"""The whole of it: frames into both sides, over all cores, as figures and notes."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable

from ribwright_sim.campaign.spread import processes

from . import board_memory, board_side, board_state, host_side
from .frames import KINDS
from .tally import Tally

FRAMES = 1_000_000
SEED = 7
# Frames of one piece of work, long enough to be worth a process and short enough to end together.
PIECE = 25_000
MEMORY_FRAMES = 20_000

Task = tuple[str, str, int]


def tasks(frames: int, seed: int = SEED) -> list[Task]:
    """Pieces of work as (side, seed, frames), `frames` for each side."""
    found = []
    for side in ("board", "host"):
        for place, begun in enumerate(range(0, frames, PIECE)):
            found.append((side, f"{side} {seed} {place}", min(PIECE, frames - begun)))
    return found


def work(task: Task) -> tuple[str, Tally]:
    """One piece of work: its side and what was seen.

    task: as tasks() gives it.
    """
    side, seed, count = task
    begun = time.process_time()
    if side == "host":
        tally = host_side.play(seed, count)
    else:
        tally = board_side.play(seed, count, board_state.warm_all())
    tally.cpu_s = time.process_time() - begun
    return side, tally


def measure(
    frames: int = FRAMES, workers: int = 2, seed: int = SEED, step: Callable[[str], None] = lambda _: None
) -> tuple[dict[str, object], dict[str, object]]:
    """Fuzz both sides; returns figures and notes.

    frames: for each side. workers: processes. seed: of everything drawn. step: told of each piece done.
    """
    begun = time.monotonic()
    sums = {"board": Tally(), "host": Tally()}
    for side, tally in processes(work, tasks(frames, seed), workers):
        sums[side].add(tally)
        step(side)
    board, host = sums["board"], sums["host"]
    watched = min(frames, MEMORY_FRAMES)
    growth, peak = board_memory.growth(f"memory {seed}", watched)
    figures: dict[str, object] = {
        "fuzz_frames_board": board.total,
        "fuzz_frames_host": host.total,
        "fuzz_exceptions": board.escaped + host.escaped,
        "fuzz_state_changes": board.changed + host.changed,
        "fuzz_bounds_broken": board.bounds + host.bounds,
        "fuzz_board_bytes_most": board.bytes_most,
        "fuzz_board_heap_growth_bytes": growth,
        "fuzz_board_heap_peak_bytes": peak,
        "fuzz_host_bytes_most": host.bytes_most,
        "fuzz_seed": seed,
        "fuzz_seconds": round(time.monotonic() - begun, 1),
        "fuzz_cpu_seconds": round(board.cpu_s + host.cpu_s, 1),
        "fuzz_workers": workers,
    }
    notes: dict[str, object] = {
        "frames_board": _ordered(board.frames),
        "frames_host": _ordered(host.frames),
        "board_modes": _ordered(board.modes),
        "board_answers": _ordered(board.answers),
        "board_quiet_blocks": board.deep_checks,
        "host_calls": _ordered(host.modes),
        "host_ends": _ordered(host.answers),
        "findings": {
            side: {"seen": _ordered(tally.seen), "first": tally.findings} for side, tally in sums.items()
        },
        "mix": {name: share for name, (share, _) in KINDS.items()},
        "fuzz_board_bytes_most": f"texts and buffers of the service between two frames, at most "
        f"{board_side.HELD_MOST} are allowed; looked at every {board_side.HELD_EVERY} frames",
        "fuzz_board_heap_growth_bytes": f"what CPython's allocator holds more after {watched} "
        f"frames into one board than after the first {board_memory.SETTLE}; the peak counts from there too",
        "fuzz_host_bytes_most": "longest unfinished line that the computer's reader held",
    }
    return figures, notes


def _ordered(counts: Counter[str]) -> dict[str, int]:
    return dict(counts.most_common())
