"""Drives one virtual rig: lives of the board one after another, each an exchange of frames."""

from __future__ import annotations

import os
import queue
import time
from collections.abc import Callable, Mapping
from typing import Any

from ribwright_board.core.wire import Message

from .costs import costs_us
from .interpreter import RigError, choose, install_files, read_tree
from .lockstep import HELLO, LINK_RING, NO_PULL, WIRES, BoardProcess, Frame
from .maker import Maker, TellWatcher
from .oled import Oled
from .rig_figures import Figures
from .rig_lives import MAX_LIVES, Lives, PlannedReset
from .rig_orders import carry_out
from .rig_physics import SECOND_US, Physics, PlantLike, make_plant
from .rig_scenario import Scenario
from .serial_link import Cable, SerialLink

PRESS_US = 250_000
# So long after the last byte or order the board may keep short sleeps to itself.
QUIET_US = 300_000
IN_A_RUN = 5.0
Emit = Callable[[Mapping[str, object]], None]


class RigLoop:
    """One virtual rig from power-on to its end.

    scenario: what it is. emit: called with each mapping that is to be told to whoever started the rig.
    plant, cable: in place of the scenario's own, for rigs inside another program. most_lives: starts of the
    board after which it is given up. Raises RigError when it cannot start.

    `hear` is called with every row and event the board tells and the virtual second; `world` whenever the
    board sleeps, before it is answered.
    """

    def __init__(
        self,
        scenario: Scenario,
        emit: Emit,
        *,
        plant: PlantLike | None = None,
        cable: Cable | None = None,
        most_lives: int = MAX_LIVES,
    ) -> None:
        self.scenario = scenario
        self.kind = choose(scenario.interpreter)
        self.commands: queue.SimpleQueue[dict[str, Any] | None] = queue.SimpleQueue()
        self.emit = emit
        costs = costs_us(scenario.costs)
        if scenario.files is not None:
            install_files(scenario.image, read_tree(scenario.files), self.kind)
        self.physics = Physics(scenario, make_plant(scenario) if plant is None else plant)
        self.watcher = TellWatcher()
        self.hear: Callable[[Message, float], None] | None = None
        self.world: Callable[[], None] | None = None
        self.maker: Maker | None = None
        if scenario.maker is not None:
            try:
                maker = self.maker = Maker.from_mapping(
                    len(scenario.relay_pins), scenario.maker, scenario.seed
                )
            except ValueError as error:
                raise RigError(f"scenario: {error}") from error
            self.hear = maker.see
            self.world = lambda: self._let_act(maker)
        try:
            self.link: Cable = SerialLink(scenario.port) if cable is None else cable
        except OSError as error:
            raise RigError(f"port {scenario.port} cannot be opened ({error}); choose another or 0") from error
        self._orders: list[str] = []
        self._pressed: dict[int, int] = {}
        # Parts of the panel whose wires are not whole, as rig_panel.WIRES.
        self.wires: dict[str, str] = {}
        self._feedback_pin = scenario.feedback_pin
        self.oled = Oled()
        self._jump_us = self._quiet_us = 0
        self._due_s = time.monotonic()
        self.figures = Figures(scenario, costs)
        self._lives = Lives(scenario, self.kind, costs, self.physics, self.figures, emit, most_lives)
        self.quit: str | None = None

    def run(self) -> int:
        """Run until told to end; return 0, or 1 when the board's program ended for good."""
        try:
            while self.quit is None:
                self.step()
        finally:
            self.close()
        self.emit(
            {"event": "stopped", "why": self.quit, "simulated_s": round(self.physics.now_us / SECOND_US, 3)}
        )
        return 1 if self.figures.crashes and "program" in str(self.quit) else 0

    def step(self) -> None:
        """Live through one frame of the board; a board that is down is started first."""
        lives, physics = self._lives, self.physics
        if lives.board is None:
            self.watcher.forget()
            self._orders.clear()
        board = lives.board or lives.begin()
        if board is not None:
            frame = board.next_frame()
            if board.noise:
                # print() in the firmware goes to the serial link.
                self._told(bytes(board.noise))
                board.noise.clear()
            if frame is None or lives.ends(frame):
                lives.end(frame)
            elif frame.kind == HELLO:
                self.figures.exchanges += 1
                self._hello(frame, board.pid)
                board.reply(0, physics.words)
            else:
                self.figures.exchanges += 1
                physics.take_edges(frame.edges, frame.elapsed_us)
                self.figures.count(frame, physics.now_us)
                self._listen_to_panel(frame)
                if frame.data and frame.kind != WIRES:
                    self._told(frame.data)
                self._turn(board, frame)
        if lives.over:
            self.quit = lives.over
            self.link.poll(now=True)

    def close(self) -> None:
        """End the board and write what is left to write."""
        self._lives.close()
        self.link.close()
        self.figures.write(self.physics, self.link, last=True)
        self.physics.close()

    # What is done to the rig from outside -----------------------------------------------------

    def do(self, what: str, which: str | int) -> None:
        """Press a button ("press", its name; "push" is the knob's), the strip of a zone onto the form
        ("form", zone), turn the knob ("knob", detents), or change strips ("strip", "out" or "in").
        """
        if what == "form":
            self.physics.press_on_form(int(which))
        elif what == "strip":
            self.physics.change_strip(str(which))
        elif what == "knob":
            panel, wires = self.scenario.panel, self.wires.get("knob")
            if wires != "cut":
                turned = -int(which) if wires == "crossed" else int(which)
                self.order_board(f"turn({panel['knob_a']}, {panel['knob_b']}, {turned})")
        elif self.wires.get(str(which)) != "cut":
            self.hold(str(which), PRESS_US)
        self.emit({"event": what, "which": which, "at_s": self.physics.now_us / SECOND_US})

    def hold(self, button: str, us: int) -> None:
        """Keep a button down for so long, in us."""
        self._pressed[self.scenario.buttons[button]] = self.physics.now_us + us

    def reset_at(self, how: str, at_us: int, off_us: int) -> None:
        """Reset the board at at_us of the simulation, to the microsecond; how, off_us: as PlannedReset."""
        self._lives.planned = PlannedReset(how, at_us, off_us)

    def order_board(self, code: str) -> None:
        """Have `code`, Python, executed in the board's interpreter at its next waking; for faults only."""
        self._orders.append(code)

    @property
    def ahead_us(self) -> int:
        """Return the simulation's clock less the board's; the same for a whole life of the board."""
        board = self._lives.board
        return 0 if board is None else self.physics.now_us - board.board_us

    def jump(self, us: int) -> None:
        """Let time pass while the board stands still in its sleep, in us."""
        self._jump_us += us

    def show_display(self, how: str) -> None:
        """Have the display answer, be absent, or hold its bus down; how: "answers", "absent" or "holds"."""
        self._lives.display = how
        self.order_board(f"display({how!r})")

    def _turn(self, board: BoardProcess, frame: Frame) -> None:
        """Let the world act, keep pace with real time, and answer the frame."""
        physics = self.physics
        self._listen()
        if self.world is not None:
            self.world()
        if self._lives.falls():
            return
        jump_us, self._jump_us = self._jump_us, 0
        if jump_us:
            physics.take_edges((), jump_us)
        self._pace(frame.elapsed_us + jump_us)
        data = self.link.take(frame.elapsed_us, LINK_RING - frame.waiting)
        physics.board_ms = (board.board_us + frame.elapsed_us + jump_us) // 1000
        order = "\n".join(self._orders)
        self._orders.clear()
        words, idle = physics.chip_words(), physics.harness.idle()
        if data or order or self.watcher.running or not self.scenario.naps:
            self._quiet_us = physics.now_us + QUIET_US
        naps = self.scenario.naps if physics.now_us > self._quiet_us else 0
        board.reply(frame.elapsed_us + jump_us, words, self.inputs(), data, self.link.room, order, idle, naps)
        self.figures.write(physics, self.link)
        self._look_for_end()
        physics.look_ahead()

    def _let_act(self, maker: Maker) -> None:
        for action in maker.act(self.physics.now_us / SECOND_US):
            self.do(*action)

    def inputs(self) -> int:
        """Return the input levels: high by their pull-ups, low where something pulls."""
        inputs = NO_PULL
        for pin, until_us in list(self._pressed.items()):
            if self.physics.now_us < until_us:
                inputs &= ~(1 << pin)
            else:
                del self._pressed[pin]
        for button, pin in self.scenario.buttons.items():
            if self.wires.get(button) == "closed":
                inputs &= ~(1 << pin)
        if self._feedback_pin is not None and self.physics.bench.feedback():
            inputs &= ~(1 << self._feedback_pin)
        return inputs

    def _hello(self, frame: Frame, board_pid: int) -> None:
        name, heap = frame.data.decode("ascii", "replace").split("\n")
        self.figures.heap_free_bytes = int(heap)
        if not self.figures.interpreter:
            self.figures.interpreter = name
            self.emit(
                {"port": self.link.port, "interpreter": name, "pid": os.getpid(), "board_pid": board_pid}
            )
        else:
            self.emit({"event": "started", "board_pid": board_pid, "at_s": self.physics.now_us / SECOND_US})

    def _listen_to_panel(self, frame: Frame) -> None:
        """Take what the board did with display and buzzer."""
        if frame.kind == WIRES:
            self.oled.take(frame.data)
        buzzer = self.scenario.panel.get("buzzer")
        for after_us, pin, level in frame.edges if buzzer is not None else ():
            if pin == buzzer:
                at_s = (self.physics.now_us - frame.elapsed_us + after_us) / SECOND_US
                self.emit({"event": "buzzer", "on": level, "at_s": at_s})

    def _told(self, data: bytes) -> None:
        self.link.send(data)
        for message in self.watcher.feed(data):
            if self.hear is not None:
                self.hear(message, self.physics.now_us / SECOND_US)

    def _pace(self, elapsed_us: int) -> None:
        """Hold virtual time back to the asked multiple of real time; the wish of a computer cuts an idle wait
        short.
        """
        scenario, maker, now_us = self.scenario, self.maker, self.physics.now_us
        # A computer that asks between the strips is not outrun by the board's looks at the link.
        changes = maker is not None and now_us > self._quiet_us and maker.changes_strips(now_us / SECOND_US)
        # One that outlives its commands waits in mid-run for whoever wants to look on.
        looked_at = scenario.linger_s is None or self.link.connected
        busy = (self.watcher.running and looked_at) or changes
        speed = scenario.speed or (0.0 if busy else scenario.idle_speed)
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
            elif not carry_out(self, command):
                self.emit({"event": "refused", "command": command})

    def _look_for_end(self) -> None:
        scenario = self.scenario
        if scenario.max_sim_s is not None and self.physics.now_us >= scenario.max_sim_s * SECOND_US:
            self.quit = f"virtual time reached {scenario.max_sim_s} s"
        linger_s = float("inf") if scenario.linger_s is None else scenario.linger_s
        # A run that waits for a press nobody gives would keep a processor busy for ever.
        linger_s *= IN_A_RUN if self.watcher.running else 1.0
        if not self.link.connected and time.monotonic() - self.link.last_seen_s > linger_s:
            self.quit = f"no computer for {linger_s:g} s"
