"""What a tick of the shipped firmware costs: time as a board's clock would have it, and memory.

The firmware runs a bend in the board's own interpreter. From an order on, every tick is timed by the
computer's clock, without exchanges with the simulation and without collections, which the cost table charges
by themselves. A loop of float multiply-adds, timed right before each tick, stands for the machine: how long a
Pico takes for it is known.
"""

from __future__ import annotations

import json
import statistics
from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from ribwright_board.core.wire import Message
from ribwright_sim.costs import read_costs
from ribwright_sim.interpreter import RigError, read_files
from ribwright_sim.longrun.board import LongBoard
from ribwright_sim.longrun.setting import profile_mapping
from ribwright_sim.longrun.tells import Tells

from .tick_orders import BEGIN, END, NO_GROWTH

SEED = 7
# Every play of a bend does the same in the same tick: what another process takes from one it hardly takes
# from most of them.
PLAYS = 5
HEAT_MIN = 12.0
STARTED_S = 120.0
SETTLE_S = 5.0
# Two ramps, both holds, and some flushes.
MEASURED_S = 200.0
# Room for the figures as well; neither time nor growth of a tick depends on it.
ROOMY, BOARD_HEAP = "400wk", "190wk"
# What the loop at 10 Hz has to keep to, ms: without a flush of the log, and with one at typical cost.
MOST_MS, MOST_FLUSH_MS, LEAST_HEAP = 50.0, 250.0, 96 * 1024
# And with a collection of memory behind it: within its tenth of a second. What stands in for a board's sleep
# is counted with it, some 10 ms that no board takes.
MOST_WAKE_MS = 100.0
# What is kept of a tick.
COLUMNS = 5
NOTES = {
    "tick_board_ms": "the longest tick without a flush of the log, from sensing to the alive edge; time of "
    "this computer over that of a loop of float multiply-adds beside it, and 20 ms for a thousand of them on "
    "a Pico at 125 MHz",
    "wake_board_ms": "the longest such tick with all behind it up to the board's sleep, collections of "
    "memory at typical cost included",
    "tick_flush_board_ms": "the longest tick with a flush, at typical cost",
    "alloc_bytes_per_tick": "on a 64-bit computer, where every value takes twice the room it has on a board",
    "heap_low_in_bend_bytes": "the lowest free heap of a bend with two zones, of 190 k words of a board, "
    "380 kB here; what is built in on a board lies beside it",
}


@dataclass(frozen=True)
class Played:
    """One measured bend, tick by tick.

    code_ms: as a Pico would take. grown: bytes, NO_GROWTH where memory was collected. flash_ms: what the cost
    table has for writes in it. wake_ms: the tick and all behind it up to the board's sleep, collections left
    out. swept: so many of them. loop_us: the least that the loop took here.
    """

    code_ms: Sequence[float]
    grown: Sequence[int]
    flash_ms: Sequence[float]
    wake_ms: Sequence[float]
    swept: Sequence[int]
    loop_us: int


class Bend:
    """A bend on a virtual board, up to its first stage.

    folder: room for the flash. heap: of the board. Raises RigError when the board does not get there.
    """

    def __init__(self, folder: Path, heap: str) -> None:
        self.lows: list[int] = []
        self._tells = Tells()
        self.board = LongBoard(folder, SEED, self._hear, heap)
        self.board.lay_out(self.board.upload(profile_mapping(HEAT_MIN)))
        self.run(STARTED_S, lambda: bool(self._tells.named("proved")))
        if not self._tells.named("proved"):
            raise RigError(f"measured bend: it did not begin within {STARTED_S:g} s")
        self.run(SETTLE_S)

    def _hear(self, message: Message, second: float) -> None:
        self._tells.take(message, second)
        if message.verb == "row" and self._tells.mode == "running":
            self.lows.append(int(message.data["heap"]))

    def run(self, seconds: float, until: Callable[[], bool] = lambda: False) -> None:
        """Live on for so many seconds of the simulation, or until something is so.

        until: asked before each frame. Raises RigError when the board falls.
        """
        end_s = self.board.now_s + seconds
        while self.board.now_s < end_s and not until():
            self.board.step()
            if self.board.fell:
                raise RigError(f"measured bend: {self.board.fell[0]}")


def play(folder: Path) -> Played:
    """Measure one bend; raises RigError when the board falls or refuses.

    folder: room for the flash.
    """
    bend = Bend(folder, ROOMY)
    try:
        bend.board.order(BEGIN)
        bend.run(MEASURED_S)
        bend.board.order(END)
        bend.run(SETTLE_S)
    finally:
        bend.board.close()
    found = read_files(folder / "image")
    head = json.loads(found["ticks.json"])
    kept = array("H", found["ticks.bin"])
    columns = [kept[at : at + head["ticks"]] for at in range(0, len(kept), len(kept) // COLUMNS)]
    times, grown, flash, wakes, swept = columns
    flash_ms = [0.1 * tenths for tenths in flash]
    wake_ms = [0.01 * units for units in wakes]
    return Played([0.01 * units for units in times], grown, flash_ms, wake_ms, swept, head["loop_us"])


def heap_low(folder: Path) -> int:
    """The lowest free heap in bytes that the same bend tells on a heap of a board's size; raises as play().

    folder: room for the flash.
    """
    bend = Bend(folder, BOARD_HEAP)
    try:
        bend.run(MEASURED_S)
    finally:
        bend.board.close()
    return bend.lows[-1]


def figures(plays: Sequence[Played]) -> dict[str, float]:
    """What the plays of one bend say, in ms of a board and bytes of this interpreter.

    Raises ValueError when they are not the same bend.
    """
    ticks = {len(one.code_ms) for one in plays}
    if len(ticks) != 1:
        raise ValueError(f"plays of one bend have {sorted(ticks)} ticks, they must have as many")
    collect_ms = read_costs()["gc_collect"].typical_us / 1000.0
    first = plays[0]
    code_ms = [
        statistics.median(times) + (collect_ms if grown == NO_GROWTH else 0.0)
        for *times, grown in zip(*(one.code_ms for one in plays), first.grown, strict=True)
    ]
    wake_ms = [
        statistics.median(times) + collect_ms * count
        for *times, count in zip(*(one.wake_ms for one in plays), first.swept, strict=True)
    ]
    flash_ms = first.flash_ms
    grown = [count for count in first.grown if count != NO_GROWTH]
    return {
        "tick_board_ms": max(ms for ms, flash in zip(code_ms, flash_ms, strict=True) if not flash),
        "tick_board_median_ms": statistics.median(code_ms),
        "wake_board_ms": max(ms for ms, flash in zip(wake_ms, flash_ms, strict=True) if not flash),
        "tick_flush_board_ms": max(
            (ms + flash for ms, flash in zip(code_ms, flash_ms, strict=True) if flash), default=0.0
        ),
        "alloc_bytes_per_tick": statistics.mean(grown),
        "alloc_bytes_in_a_tick": max(grown),
        "multiply_adds_500_us": min(one.loop_us for one in plays),
        "ticks_measured": len(code_ms),
    }


def measured() -> dict[str, float]:
    """Play the bend and give its figures; raises RigError where MicroPython is missing or a bend fails."""
    with TemporaryDirectory(prefix="ticks-") as folder:
        plays = [play(Path(folder) / str(number)) for number in range(PLAYS)]
        found = figures(plays) | {"heap_low_in_bend_bytes": heap_low(Path(folder) / "heap")}
    return {name: round(value, 2) for name, value in found.items()}


def broken(found: dict[str, float]) -> list[str]:
    """Names of the figures that are beyond what a loop at 10 Hz on a Pico can bear.

    found: as measured().
    """
    limits = {
        "tick_board_ms": MOST_MS,
        "tick_flush_board_ms": MOST_FLUSH_MS,
        "wake_board_ms": MOST_WAKE_MS,
    }
    wrong = [name for name, most in limits.items() if found[name] >= most]
    return wrong + (["heap_low_in_bend_bytes"] if found["heap_low_in_bend_bytes"] < LEAST_HEAP else [])
