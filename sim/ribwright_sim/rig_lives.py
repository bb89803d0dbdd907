"""Lives of one virtual board, from a start to what ends it: itself, its watchdog, or a reset from outside."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .interpreter import Interpreter, flash_path, lying_bytes
from .lockstep import ENDED, NEVER, RESET, BoardProcess, BoardSettings, Frame
from .rig_figures import Figures
from .rig_physics import SECOND_US, Physics
from .rig_scenario import Scenario

MAX_LIVES = 30  # a board that keeps resetting tells nothing new
LOST_US = 2_000_000  # a board that answers nothing any more is started again by its watchdog
TAIL_BYTES = 1500


@dataclass(frozen=True)
class PlannedReset:
    """A reset from outside: how, when, and how long the board stays off.

    how: "power" takes the supply of board, detector and coil away, as a brown-out and a mains cut do; "pin"
    holds the board's reset line; "watchdog" is what the board's own watchdog does. at_us, off_us: us.
    """

    how: str
    at_us: int
    off_us: int


class Lives:
    """The board's interpreter through its resets. The flash keeps its content; nothing else survives.

    scenario: what the rig is. kind: what runs the firmware. costs: in us, in the order of OPERATIONS.
    physics, figures: of the same rig. emit: called with each event, a mapping.

    most: starts after which it is given up. `board` is the present life, None while the board is down;
    `over` says why no further one begins; `planned` is a reset to come; `display` is how a new life finds it.
    """

    def __init__(
        self,
        scenario: Scenario,
        kind: Interpreter,
        costs: tuple[int, ...],
        physics: Physics,
        figures: Figures,
        emit: Callable[[Mapping[str, object]], None],
        most: int,
    ) -> None:
        self._scenario, self._kind, self._costs = scenario, kind, costs
        self._physics, self._figures, self._emit, self._most = physics, figures, emit, most
        self._flash = flash_path(kind, scenario.image)
        self._by_watchdog = False
        self.display = "answers" if "display" in scenario.panel else "absent"
        self.board: BoardProcess | None = None
        self.planned: PlannedReset | None = None
        self.over: str | None = None

    def begin(self) -> BoardProcess | None:
        """Start the board; None when it has been started too often."""
        scenario, figures = self._scenario, self._figures
        if figures.lives >= self._most:
            self.over = f"the board was reset {self._most} times"
            figures.crashes += 1
            return None
        settings = BoardSettings(
            flash=self._flash,
            costs=self._costs,
            alive_pin=int(scenario.rig["pins"]["alive"]),
            select_pins=scenario.select_pins,
            chips=self._physics.chip_names,
            start_us=0 if figures.lives else scenario.start_ticks_ms * 1000,
            watchdog_cause=self._by_watchdog,
            reach=scenario.reach,
            panel=bool(scenario.panel),
            display=self.display,
            collect_every=scenario.collect_every,
            lying=lying_bytes(scenario.heap, scenario.collect_every),
        )
        self.board = BoardProcess(self._kind, settings, scenario.heap, awake=scenario.awake)
        figures.begin_life()
        return self.board

    def close(self) -> None:
        """End the board, whatever it does."""
        if self.board is not None:
            self.board.kill()
            self.board = None

    def ends(self, frame: Frame) -> bool:
        """Return whether the board's life ends within this frame."""
        end_us = self._physics.now_us + frame.elapsed_us
        return frame.kind in (RESET, ENDED) or (self.planned is not None and self.planned.at_us <= end_us)

    def end(self, frame: Frame | None) -> None:
        """Play what a board does from its last instruction to the next start.

        frame: its last one, None when the interpreter is gone or hung.
        """
        physics, planned = self._physics, self.planned
        if frame is None:
            self._lose()
        elif planned is not None and planned.at_us <= physics.now_us + frame.elapsed_us:
            # What the board did after that moment never happened.
            left_us = planned.at_us - physics.now_us
            physics.take_edges((edge for edge in frame.edges if edge[0] < left_us), max(0, left_us))
            self.falls()
        else:
            physics.take_edges(frame.edges, frame.elapsed_us)
            self._figures.count(frame, physics.now_us)
            self._finish(frame)

    def falls(self) -> bool:
        """Carry out a planned reset whose moment has come; return whether it did."""
        planned, physics = self.planned, self._physics
        if planned is None or planned.at_us > physics.now_us:
            return False
        self.close()
        self.planned = None
        self._by_watchdog = planned.how == "watchdog"
        if planned.how == "power":
            physics.lose_supply()
        else:
            physics.release()
        self._figures.resets += 1
        self._emit({"event": "reset", "why": planned.how, "at_s": physics.now_us / SECOND_US})
        physics.take_edges((), planned.off_us)
        return True

    def _lose(self) -> None:
        board = self.board
        text = bytes(board.noise[-TAIL_BYTES:]).decode("utf-8", "replace") if board else ""
        self._figures.crashes += 1
        what = "hang" if board and board.hung else "crash"
        self._bite({"event": what, "traceback": text}, LOST_US)

    def _finish(self, frame: Frame) -> None:
        """The board has reset itself, or its program has come to its end."""
        text = frame.data.decode("utf-8", "replace")
        if frame.kind == RESET:
            self._bite({"event": "reset", "why": text}, 0)
            return
        self._figures.crashes += 1
        if frame.busy_us == NEVER:
            self.over = "the board's program ended and no watchdog runs"
        self._bite({"event": "crash", "traceback": text}, frame.busy_us)

    def _bite(self, event: dict[str, object], left_us: int) -> None:
        """Outputs stay as they were until the watchdog bites; then pull-downs take over."""
        self.close()
        self._by_watchdog = True
        physics = self._physics
        if self.over is None:
            physics.take_edges((), left_us)
            physics.release()
            self._figures.resets += 1
        event["at_s"] = physics.now_us / SECOND_US
        self._emit(event)
