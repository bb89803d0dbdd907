"""Resets of every kind at random instants, through the shipped firmware: nothing flows until someone presses.

One board is reset again and again: brought up, made ready, started, and reset at a drawn moment of whatever
it is doing then. After every reset the meter counts current, alive edges are looked for, and the firmware
must have told which run was cut off.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from ribwright_sim.interpreter import RigError

from .board_phase import plant_for, profile_for
from .board_rig import BoardRig
from .board_runs import board_setting, fresh_flash
from .core_rig import ENDINGS
from .meter import SECOND_US
from .spread import Executor, processes

# How a reset comes about: what is done, and for how long the board then stays off [s].
HOWS = {
    "brown-out": ("power", (0.001, 0.5)),
    "mains cut": ("power", (1.0, 20.0)),
    "reset line": ("pin", (0.0001, 0.2)),
    "watchdog": ("watchdog", (0.0, 0.0)),
    "hung": ("hang()", (0.0, 0.0)),
    "exception": ("fail()", (0.0, 0.0)),
}
# A board whose watchdog does not run yet stays hung, which is no reset.
NEEDS_WATCHDOG = ("hung", "exception")
PHASES = ("ramp", "plateau", "hold", "rest", "set", "cool")
STARTED_S = (0.0, 50.0)
QUIET_S = (0.0, 1.5)
WATCHED_S = 1.5
# Around a change of mode what the flash says and what the link has told may differ.
UNSURE_US = 400_000
FALL_S = 10.0
SOON_US = 150_000
PRESSED_S = 0.5
# Shares of what is done before a reset.
IDLE_SHARE, READY_SHARE, PAUSED_SHARE, HELD_SHARE, ACKNOWLEDGED = 0.1, 0.15, 0.1, 0.15, 0.8
PER_BOARD = 8
BOARDS_AT_ONCE = 4
HERTZ = 60
HOLD_US = 4 * SECOND_US


@dataclass(frozen=True)
class ResetOutcome:
    """One reset and what came after it.

    how: key of HOWS. mode: what the firmware was doing. at_s: moment in the board's simulated life.
    half_cycles: mains half cycles with current in any blanket from the reset to the next press. alive_edges:
    whether the alive line moved in that time. told: the run that was said to be cut off, 0 for none; wrong:
    that is not what was under way. locked: the firmware wants an acknowledgement. note: what went wrong.
    """

    how: str
    mode: str
    at_s: float
    half_cycles: int = 0
    alive_edges: bool = False
    told: int = 0
    wrong: bool = False
    locked: bool = False
    note: str = ""


def run_board_resets(
    n: int, seed: int, *, workers: int, executor: Executor = processes
) -> list[ResetOutcome]:
    """Reset boards n times in all.

    n: how often. seed: draws everything. workers: processes, 1 for this one alone. executor: as of spread.py.
    """
    boards = [
        (number, seed * 1000 + number, min(PER_BOARD, n - at))
        for number, at in enumerate(range(0, n, PER_BOARD))
    ]
    tasks = [boards[at : at + BOARDS_AT_ONCE] for at in range(0, len(boards), BOARDS_AT_ONCE)]
    found = {number: some for part in executor(_reset_some, tasks, workers) for number, some in part}
    return [outcome for number in range(len(boards)) for outcome in found[number]]


def _reset_some(boards: Sequence[tuple[int, int, int]]) -> list[tuple[int, list[ResetOutcome]]]:
    with tempfile.TemporaryDirectory(prefix="ribwright_boards_") as folder:
        return [(number, reset_board(seed, times, Path(folder))) for number, seed, times in boards]


def reset_board(seed: int, times: int, folder: Path) -> list[ResetOutcome]:
    """Reset one board again and again.

    seed: draws its rig, its phase and every moment. times: how often. folder: room for flashes.

    What goes wrong for good ends the list early, with a last outcome of no `how` and a note.
    """
    draw = Random(f"resets {seed}")  # noqa: S311 - moments, no secret
    setting = board_setting(seed, draw.choice((0.9, 1.0, 1.1)), bare=False)
    phase = draw.choice(PHASES)
    plant, profile = plant_for(phase, setting), profile_for(phase, setting)
    rig = BoardRig(setting, plant, fresh_flash(setting, folder), profile)
    rig.hands.starts = False

    def renew() -> None:
        """The next run begins on a stack of its own: the old one would not be ready so soon."""
        rig.plant = plant_for(phase, setting)

    rig.at_fall = renew
    session = _Session(rig, draw)
    outcomes: list[ResetOutcome] = []
    try:
        for _ in range(times):
            session.go_somewhere()
            outcomes.append(session.reset())
    except RigError as error:
        outcomes.append(ResetOutcome("", rig.controller.mode, rig.now_us / SECOND_US, note=str(error)))
    finally:
        rig.close()
    return outcomes


class _Session:
    """One board, the person at it, and what must be on its flash about the run under way."""

    def __init__(self, rig: BoardRig, draw: Random) -> None:
        self.rig = rig
        self.draw = draw
        self._seen = self._falls = 0
        self._mark = 0
        self._marked_us = 0

    def go_somewhere(self) -> None:
        """Do what a maker does, up to a drawn point: nothing, lay a run out, start it, pause it."""
        rig, draw = self.rig, self.draw
        self._falls = rig.falls
        self._run(draw.uniform(*QUIET_S))
        if rig.controller.mode == "tripped" and draw.random() < ACKNOWLEDGED:
            self._press()
        far = draw.random()
        if far < IDLE_SHARE or rig.controller.mode not in ("idle", "ready"):
            return
        rig.lay_out()
        if far < READY_SHARE:
            return
        self._press()
        self._run(draw.uniform(*STARTED_S))
        if rig.controller.mode == "running" and draw.random() < PAUSED_SHARE:
            rig.ask("pause", {})
            self._run(draw.uniform(*QUIET_S))

    def reset(self) -> ResetOutcome:
        """Reset it somehow, somewhen within the next moments, and see what comes of it."""
        rig, draw = self.rig, self.draw
        how = draw.choice(list(HOWS))
        if how in NEEDS_WATCHDOG and rig.controller.mode not in ("proving", "running"):
            how = "watchdog"
        what, off_s = HOWS[how]
        if draw.random() < HELD_SHARE:
            # A finger, or a short, on the button all the while.
            rig.loop.hold("start", HOLD_US)
        off_us = int(draw.uniform(*off_s) * SECOND_US)
        if how in NEEDS_WATCHDOG:
            rig.loop.order_board(what)
        else:
            rig.loop.reset_at(what, rig.now_us + draw.randrange(SOON_US), off_us)
        mode = rig.controller.mode
        end_us = rig.now_us + int(FALL_S * SECOND_US)
        while rig.falls == self._falls and rig.now_us < end_us:
            mode = rig.controller.mode
            rig.tick()
        if rig.fell_us is None or rig.falls != self._falls + 1:
            raise RigError(f"board: {rig.falls - self._falls} resets where {how} makes 1; {rig.crashes[-1:]}")
        expected, sure = self._expected(rig.fell_us)
        self._run((rig.fell_us + off_us - rig.now_us) / SECOND_US + WATCHED_S)
        told = [entry for entry in rig.told[self._seen :] if entry[0] >= rig.fell_us]
        said = [entry[3] for entry in told if entry[1] == "interrupted"]
        run = said[0] if said else 0
        return ResetOutcome(
            how,
            mode,
            rig.fell_us / SECOND_US,
            half_cycles=rig.meter.half_cycles(rig.flowed_since_us, HERTZ),
            alive_edges=rig.alive_us > rig.fell_us,
            told=run,
            wrong=sure and run != expected,
            locked=any(entry[1] == "trip" and entry[5] == "resets" for entry in told),
        )

    def _expected(self, fell_us: int) -> tuple[int, bool]:
        """The run that was under way when the board fell, 0 for none, and whether that is sure."""
        for entry in self.rig.told[self._seen :]:
            at_us, name, _, _, _, text = entry
            if at_us > fell_us:
                break
            self._seen += 1
            if name == "proved" or (name in ENDINGS and text != "resets"):
                self._mark = self.rig.run if name == "proved" else 0
                self._marked_us = at_us
        return self._mark, fell_us - self._marked_us > UNSURE_US

    def _press(self) -> None:
        self.rig.loop.do("press", "start")
        self._run(PRESSED_S)

    def _run(self, seconds: float) -> None:
        end_us = self.rig.now_us + int(seconds * SECOND_US)
        while self.rig.now_us < end_us:
            self.rig.tick()
