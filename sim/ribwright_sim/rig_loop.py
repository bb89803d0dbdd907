"""Drives one virtual rig: lives of the board one after another, each an exchange of frames."""

from __future__ import annotations

import os
import queue
import time
from collections.abc import Callable, Mapping
from typing import Any

from .costs import costs_us
from .interpreter import RigError, choose, flash_path, install_files, read_tree
from .lockstep import (
    ENDED,
    HELLO,
    LINK_RING,
    NEVER,
    NO_PULL,
    RESET,
    BoardProcess,
    BoardSettings,
    Frame,
)
from .maker import Maker, TellWatcher
from .rig_figures import Figures
from .rig_physics import SECOND_US, Physics, make_plant
from .rig_scenario import Scenario
from .serial_link import SerialLink

PRESS_US = 250_000
MAX_LIVES = 30  # a board that keeps resetting tells nothing new
LOST_US = 2_000_000  # a board that answers nothing any more is started again by its watchdog
TAIL_BYTES = 1500
Emit = Callable[[Mapping[str, object]], None]


class RigLoop:
    """One virtual rig from power-on to its end.

    scenario: what it is. emit: called with each mapping that is to be told to whoever started the rig.
    Raises RigError when it cannot start.
    """

    def __init__(self, scenario: Scenario, emit: Emit) -> None:
        self.scenario = scenario
        self.kind = choose(scenario.interpreter)
        self.commands: queue.SimpleQueue[dict[str, Any] | None] = queue.SimpleQueue()
        self._emit = emit
        self._costs = costs_us(scenario.costs)
        self._flash = flash_path(self.kind, scenario.image)
        if scenario.files is not None:
            install_files(scenario.image, read_tree(scenario.files), self.kind)
        self.physics = Physics(scenario, make_plant(scenario))
        self.watcher = TellWatcher()
        self._maker = None
        if scenario.maker is not None:
            try:
                self._maker = Maker.from_mapping(len(scenario.relay_pins), scenario.maker, scenario.seed)
            except ValueError as error:
                raise RigError(f"scenario: {error}") from error
        try:
            self.link = SerialLink(scenario.port)
        except OSError as error:
            raise RigError(f"port {scenario.port} cannot be opened ({error}); choose another or 0") from error
        self._board: BoardProcess | None = None
        self._pressed: dict[int, int] = {}
        self._jump_us = 0
        self._due_s = time.monotonic()
        self.figures = Figures(scenario, self._costs)
        self.quit: str | None = None

    def run(self) -> int:
        """Run until told to end; return 0, or 1 when the board's program ended for good."""
        watchdog = False
        try:
            while self.quit is None:
                if self.figures.lives == MAX_LIVES:
                    self.quit = f"the board was reset {MAX_LIVES} times"
                    self.figures.crashes += 1
                    break
                watchdog = self._live(watchdog)
        finally:
            if self._board is not None:
                self._board.kill()
            self.link.close()
            self.figures.write(self.physics, self.link, last=True)
            self.physics.close()
        self._emit(
            {"event": "stopped", "why": self.quit, "simulated_s": round(self.physics.now_us / SECOND_US, 3)}
        )
        return 1 if self.figures.crashes and "program" in str(self.quit) else 0

    def _live(self, watchdog: bool) -> bool:  # noqa: FBT001 - the one fact a reset leaves behind
        """Live one life of the board; return whether the next one starts by the watchdog."""
        scenario = self.scenario
        settings = BoardSettings(
            flash=self._flash,
            costs=self._costs,
            alive_pin=int(scenario.rig["pins"]["alive"]),
            select_pins=scenario.select_pins,
            start_us=0 if self.figures.lives else scenario.start_ticks_ms * 1000,
            watchdog_cause=watchdog,
        )
        self._board = board = BoardProcess(self.kind, settings, scenario.heap)
        self.figures.begin_life()
        self.watcher.forget()
        while self.quit is None:
            frame = board.next_frame()
            if board.noise:
                # print() in the firmware goes to the serial link.
                self._told(bytes(board.noise))
                board.noise.clear()
            if frame is None or frame.kind in (RESET, ENDED):
                return self._end_of_life(board, frame)
            self.figures.exchanges += 1
            if frame.kind == HELLO:
                self._hello(frame, board.pid)
                board.reply(0, self.physics.words)
                continue
            self.physics.take_edges(frame.edges, frame.elapsed_us)
            self.figures.count(frame, self.physics.now_us)
            if frame.data:
                self._told(frame.data)
            self._turn(board, frame)
        return False

    def _turn(self, board: BoardProcess, frame: Frame) -> None:
        """Let the world act, keep pace with real time, and answer the frame."""
        physics = self.physics
        self._listen()
        if self._maker is not None:
            for action in self._maker.act(physics.now_us / SECOND_US):
                self._do(*action)
        jump_us, self._jump_us = self._jump_us, 0
        if jump_us:
            physics.take_edges((), jump_us)
        self._pace(frame.elapsed_us + jump_us)
        inputs = NO_PULL
        for pin, until_us in list(self._pressed.items()):
            if physics.now_us < until_us:
                inputs &= ~(1 << pin)
            else:
                del self._pressed[pin]
        data = self.link.take(frame.elapsed_us, LINK_RING - frame.waiting)
        physics.board_ms = (board.board_us + frame.elapsed_us + jump_us) // 1000
        board.reply(frame.elapsed_us + jump_us, physics.chip_words(), inputs, data, self.link.room)
        self.figures.write(physics, self.link)
        self._look_for_end()

    def _hello(self, frame: Frame, board_pid: int) -> None:
        name, heap = frame.data.decode("ascii", "replace").split("\n")
        self.figures.heap_free_bytes = int(heap)
        if not self.figures.interpreter:
            self.figures.interpreter = name
            self._emit(
                {"port": self.link.port, "interpreter": name, "pid": os.getpid(), "board_pid": board_pid}
            )
        else:
            self._emit({"event": "started", "board_pid": board_pid, "at_s": self.physics.now_us / SECOND_US})

    def _told(self, data: bytes) -> None:
        self.link.send(data)
        for message in self.watcher.feed(data):
            if self._maker is not None:
                self._maker.see(message, self.physics.now_us / SECOND_US)

    def _end_of_life(self, board: BoardProcess, frame: Frame | None) -> bool:
        """Play what a board does from its last instruction to the next start; return whether the watchdog did
        it.
        """
        physics = self.physics
        event: dict[str, object] = {"event": "reset"}
        if frame is None:
            text = bytes(board.noise[-TAIL_BYTES:]).decode("utf-8", "replace")
            event = {"event": "hang" if board.hung else "crash", "traceback": text}
            self.figures.crashes += 1
            left_us = LOST_US
        else:
            physics.take_edges(frame.edges, frame.elapsed_us)
            self.figures.count(frame, physics.now_us)
            text = frame.data.decode("utf-8", "replace")
            left_us = 0
            if frame.kind == RESET:
                event["why"] = text
            else:
                event = {"event": "crash", "traceback": text}
                self.figures.crashes += 1
                left_us = frame.busy_us
                if left_us == NEVER:
                    self.quit = "the board's program ended and no watchdog runs"
        board.kill()
        if self.quit is None:
            # Outputs stay as they were until the watchdog bites; then pull-downs take over.
            physics.take_edges((), left_us)
            physics.release()
            self.figures.resets += 1
        event["at_s"] = physics.now_us / SECOND_US
        self._emit(event)
        if self.quit is not None:
            self.link.poll(now=True)
        return True

    def _pace(self, elapsed_us: int) -> None:
        """Hold virtual time back to the asked multiple of real time; the wish of a computer cuts an idle wait
        short.
        """
        scenario = self.scenario
        speed = scenario.speed or (0.0 if self.watcher.running else scenario.idle_speed)
        self.link.poll()
        if speed == 0.0 or not self.figures.interpreter:
            return
        now_s = time.monotonic()
        self._due_s = max(self._due_s, now_s - 0.1) + elapsed_us / SECOND_US / speed
        while (wait_s := self._due_s - time.monotonic()) > 0.0005:
            if not scenario.speed and self.link.waiting:
                self._due_s = time.monotonic()
                return
            came = self.link.wait(min(wait_s, 0.05))
            self._listen()
            if self.quit is not None:
                return
            if came and scenario.speed:
                time.sleep(min(0.001, wait_s))

    def _listen(self) -> None:
        while not self.commands.empty():
            command = self.commands.get()
            if command is None:
                if self.scenario.quit_on_eof:
                    self.quit = "standard input was closed"
                continue
            for key, value in command.items():
                if key == "quit":
                    self.quit = "asked to"
                elif not self._command(key, value, command):
                    self._emit({"event": "refused", "command": command})
                    break

    def _command(self, key: str, value: Any, command: Mapping[str, Any]) -> bool:  # noqa: ANN401 - as it came
        """Carry out one word of the control channel; return False when it makes no sense."""
        physics = self.physics
        zones = len(physics.chips)
        if key == "press" and value in self.scenario.buttons:
            self._do("press", value)
        elif key == "form" and isinstance(value, int) and 0 <= value < zones:
            self._do("form", value)
        elif key == "chip" and value in range(zones) and command.get("state") in physics.chips[0].STATES:
            physics.chips[value].state = command["state"]
        elif key == "relay" and value in range(zones) and command.get("stuck") in ("on", "off", None):
            physics.bench.stuck[value] = command.get("stuck")
            physics.switch()
        elif key == "host_reads" and isinstance(value, bool):
            self.link.host_reads = value
        elif key == "jump_ms" and isinstance(value, int) and value >= 0:
            self._jump_us += value * 1000
        else:
            return key in ("state", "stuck")
        return True

    def _do(self, what: str, which: str | int) -> None:
        if what == "form":
            self.physics.press_on_form(int(which))
        else:
            self._pressed[self.scenario.buttons[str(which)]] = self.physics.now_us + PRESS_US
        self._emit({"event": what, "which": which, "at_s": self.physics.now_us / SECOND_US})

    def _look_for_end(self) -> None:
        scenario = self.scenario
        if scenario.max_sim_s is not None and self.physics.now_us >= scenario.max_sim_s * SECOND_US:
            self.quit = f"virtual time reached {scenario.max_sim_s} s"
        linger_s = float("inf") if scenario.linger_s is None else scenario.linger_s
        alone = not self.link.connected and not self.watcher.running
        if alone and time.monotonic() - self.link.last_seen_s > linger_s:
            self.quit = f"no computer and no run for {scenario.linger_s} s"
