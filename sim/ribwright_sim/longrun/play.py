"""Run after run on one board until it has heated for so many hours; every log is read back and checked."""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from ribwright_board.core.wire import Message
from ribwright_sim.interpreter import RigError

from .board import LongBoard
from .logs import read, times
from .setting import HEAT_MIN, profile_mapping, rig_mapping
from .tells import HeapLow, Tells

HOUR_S = 3600.0
# Also a short play tells eight heap figures, so that it has quarters.
SPANS = 8
LONGEST_RUN_S = 4.0 * HOUR_S
ANEW = "loop.service.heap_low = 0"


def say(line: str) -> None:
    """One line to whoever waits."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


@dataclass(frozen=True)
class Run:
    """One run that has ended, checked.

    heat_s: as Tells.heat_s. ended: by which event. drift_s, timed: as logs.Times. gaps: seconds and records
    missing in the log, and what was told and is not in it. wrapped: the tick counter began anew in it.
    """

    number: int
    heat_s: float
    ended: str
    drift_s: float
    timed: int
    gaps: int
    records: int
    late_ms: int
    wrapped: bool


@dataclass
class LongRun:
    """A play of so many hours of heat.

    folder: room for the flash. hours: of heat. heat_min: of one run, in minutes. orders: statements for the
    board and the simulation's second at which each is given, for planted defects. say: told of every run.

    runs: what was checked. refusals, trips: of starts and runs. made_room: old runs that gave way. lost: why
    the play ended before its time, "" if it did not.
    """

    folder: Path
    hours: float
    seed: int
    heat_min: float = HEAT_MIN
    orders: Sequence[tuple[float, str]] = ()
    say: Callable[[str], None] = say
    runs: list[Run] = field(default_factory=list)
    made_room: int = 0
    refusals: int = 0
    trips: int = 0
    lost: str = ""
    simulated_s: float = 0.0
    wall_s: float = 0.0
    erases: int = 0
    frames: int = 0
    resets: int = 0
    energy_residual: float = 0.0
    interpreter: str = ""

    def __post_init__(self) -> None:
        """Start with nothing heard."""
        self.heap = HeapLow(min(HOUR_S, self.hours * HOUR_S / SPANS))
        self.profile = profile_mapping(self.heat_min)
        self._zones = [str(zone["name"]) for zone in rig_mapping()["zones"]]
        self._tells = Tells()
        self._orders = sorted(self.orders)
        self._begun_s = time.monotonic()

    @property
    def heat_s(self) -> float:
        """Seconds of heat so far."""
        return sum(run.heat_s for run in self.runs)

    def play(self) -> None:
        """Heat until the hours are full, or the board stops doing what it is asked."""
        board = LongBoard(self.folder, self.seed, self._hear)
        self._board = board
        try:
            key = board.upload(self.profile)
            while not self.lost and self.heat_s < self.hours * HOUR_S:
                self._one(key)
        except RigError as error:
            self.lost = str(error)
        finally:
            self._close(board)

    def _hear(self, message: Message, second: float) -> None:
        self._tells.take(message, second)
        if message.verb != "row":
            return
        if self.heap.begun(second):
            self._board.order(ANEW)
        self.heap.take(int(message.data["heap"]))
        while self._orders and self._orders[0][0] <= second:
            self._board.order(self._orders.pop(0)[1])

    def _one(self, key: str) -> None:
        board, tells = self._board, Tells()
        self._tells = tells
        board.stack.new_strip()
        number = board.lay_out(key)
        wraps = board.wraps
        end_s = board.now_s + LONGEST_RUN_S
        while tells.ending is None or tells.mode in ("running", "proving"):
            board.step()
            if board.fell or board.now_s > end_s:
                raise RigError(f"run {number}: {'; '.join(board.fell) or 'it never ended'}")
        ended = tells.ending
        # The row after the last event: the log is closed by then.
        rested_s = board.now_s + 2.0
        while board.now_s < rested_s:
            board.step()
        self.refusals += len(tells.named("refused"))
        self.trips += len(tells.named("trip"))
        if ended.name != "done":
            self.lost = f"run {number} ended by {ended.name} {ended.text}".rstrip()
        if tells.named("proved"):
            self.runs.append(self._checked(number, tells, ended.name, wrapped=board.wraps > wraps))
        self.made_room += len(tells.named("made_room"))

    def _checked(self, number: int, tells: Tells, ended: str, *, wrapped: bool) -> Run:
        board = self._board
        log = read(board.read_log(number), len(self._zones))
        clocks = times(log, tells.events, self.profile, self._zones)
        logged = sum(row.mode == "running" for row in log.rows)
        untold = max(0, tells.running_rows - logged)
        run = Run(
            number=number,
            heat_s=tells.heat_s(len(self.profile["stages"])),
            ended=ended,
            drift_s=clocks.drift_s,
            timed=clocks.timed,
            gaps=max(log.missing_seconds(), untold) + log.holes + clocks.unmatched,
            records=len(log.rows) + len(log.events),
            late_ms=max([tells.late_ms, *(row.late_ms for row in log.rows)]),
            wrapped=wrapped,
        )
        hours = (self.heat_s + run.heat_s) / HOUR_S
        wall_s = time.monotonic() - self._begun_s
        self.say(
            f"run {number}: {hours:.2f} h of heat, {run.records} records, {run.gaps} gaps, drift "
            f"{run.drift_s:.2f} s, heap {self.heap.lows[-1]}, {board.now_s / wall_s:.0f} x real time"
        )
        return run

    def _close(self, board: LongBoard) -> None:
        loop = board.loop
        summary = loop.figures.summary(loop.physics, loop.link)
        charges = summary["charges"]
        self.erases = int(charges["flash_erase_sector"]) if isinstance(charges, dict) else 0
        self.simulated_s = board.now_s
        self.frames = loop.figures.exchanges
        self.resets = len(board.fell)
        self.energy_residual = float(board.stack.energy().residual_fraction)
        self.interpreter = loop.figures.interpreter
        self.wall_s = time.monotonic() - self._begun_s
        board.close()
        # Another process takes what was found, not the board.
        del self._board


def play_task(task: tuple[float, int]) -> LongRun:
    """One board's play, in whatever process; task: its hours of heat and its seed."""
    hours, seed = task
    with tempfile.TemporaryDirectory(prefix="ribwright_longrun_") as room:
        long = LongRun(Path(room), hours, seed)
        long.play()
    return long
