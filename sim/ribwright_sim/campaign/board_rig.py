"""The shipped firmware in the board's own interpreter, wired to a campaign's stack: core_rig.CoreRig's twin.

What strikes and watches a CoreRig does so here as well: the same names, with the board in a process of its
own. Its flash, its boot, its link and its watchdog are the virtual rig's. Times are integer microseconds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any, cast

from ribwright_board.core import wire
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.rig import parse as parse_rig
from ribwright_sim.bench import Bench
from ribwright_sim.interpreter import RigError
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_physics import PlantLike
from ribwright_sim.rig_scenario import from_mapping

from .board_cable import CLOCK, AskRefusedError, ShortCable, Talk, upload
from .board_meter import BoardMeter, Books
from .board_parts import Firmware, Wires
from .board_reach import Reach
from .core_rig import Driver, Told
from .hands import Hands
from .meter import SECOND_US
from .plants import Sheet
from .rigs import Setting, piece_mapping, rig_mapping
from .signals import Converter

TICK_US = SECOND_US // 10
# What a campaign asks of a board's memory is measured elsewhere, with every collection made.
COLLECT_EVERY = 4
LOOK_US = SECOND_US // 2
PATIENCE_US = 10 * SECOND_US
MOST_LIVES = 1000
# A press shows in what the board tells only so much later.
DEAF_US = SECOND_US // 2
HEATS = ("proving", "running")


class BoardRig:
    """Firmware on a board, bench, stack, converters, maker and meter of one drawn rig.

    setting: what was drawn; its clock must be right. plant: the stack, which is used up. image: folder with
    the board's flash. profile: what is to be bent. heap: of the board, "" for the
    scenario's own. Attributes as of CoreRig; falls: how often the board came down, fell_us: when last,
    at_fall: called then; crashes: last lines of what its program said then; late_ms: worst lateness of the
    loop it told of. Raises RigError when the board does not come up.
    """

    def __init__(
        self, setting: Setting, plant: Sheet, image: Path, profile: Mapping[str, Any], heap: str = ""
    ) -> None:
        self.setting = setting
        mapping = rig_mapping(setting)
        self.rig = parse_rig(mapping)
        self.zones = len(self.rig.zones)
        self.converters = [Converter(setting.seed * 16 + zone) for zone in range(self.zones)]
        self.plug = list(range(self.zones))
        self.select_low: int | None = None
        self.hands = Hands(setting.seed)
        self.meter = BoardMeter()
        self.drivers: list[Driver] = []
        self.told: list[Told] = []
        self.mains_lost_us = 0
        self.run = self.late_ms = 0
        self._talk = Talk(ShortCable())
        scenario = {"image": image, "rig": mapping, "piece": piece_mapping(setting), "reach": True}
        scenario |= {"start_ticks_ms": setting.clock_start_ms % (1 << 30), "idle_speed": 1e12}
        scenario |= {"collect_every": COLLECT_EVERY}
        scenario |= {"heap": heap} if heap else {}
        self.loop = RigLoop(
            from_mapping(scenario),
            self._event,
            plant=cast("PlantLike", plant),
            cable=self._talk.cable,
            most_lives=MOST_LIVES,
        )
        physics = self.physics = self.loop.physics
        physics.harness = Wires(self)
        self.books = Books(physics, self.meter, self.rig)
        self.flowed_s = self.books.flowed_s
        physics.watch = self.books.account
        self.loop.hear = self._hear
        self._looked_us = 0
        self._lives = 0
        self._clock_us: int | None = None
        self._stalled_us = self._deaf_us = 0
        self.fell_us: int | None = None
        self.falls = 0
        self.at_fall: Callable[[], None] | None = None
        self.crashes: list[str] = []
        self._flowed_then_us = 0
        self.values = dict(profile)
        self.controller = Firmware(self)
        self.profile = Reach(
            "controller.profile", parse_profile(self.values, self.rig), self.loop.order_board
        )
        try:
            self.key = upload(self.ask, self.values)
        except RigError:
            self.close()
            raise

    # The board ------------------------------------------------------------------------------

    @property
    def now_us(self) -> int:
        """Return the moment of the simulation."""
        return self.physics.now_us

    @property
    def bench(self) -> Bench:
        """Return what hangs on the board's pins."""
        return self.physics.bench

    @property
    def inverted(self) -> list[bool]:
        """Return the zones whose driver turns its pin's level over."""
        return self.bench.inverted

    @property
    def plant(self) -> Sheet:
        """Return the stack."""
        return cast("Sheet", self.physics.plant)

    @plant.setter
    def plant(self, plant: Sheet) -> None:
        """Put another stack on the rig."""
        self.physics.put_plant(cast("PlantLike", plant))

    @property
    def wanted(self) -> list[bool]:
        """Return the level the board gives each relay's pin."""
        return self.bench.commanded

    @property
    def race_us(self) -> int:
        """Return the gap between the edges of an alive line that runs by itself, 0 while it does not."""
        return self.bench.race_us

    @race_us.setter
    def race_us(self, us: int) -> None:
        """Let the alive line toggle by itself, once in so many us; 0, no more."""
        self.bench.race_us = us

    @property
    def boots(self) -> int:
        """Return how often the board was started again."""
        return self.falls

    @property
    def alive_us(self) -> int:
        """Return when the alive line last changed."""
        return self.books.alive_us

    @property
    def alive_since_us(self) -> int | None:
        """Return since when alive edges have come, None while they do not."""
        return self.books.alive_since_us

    @property
    def hung(self) -> bool:
        """Return False: a board that hangs is started again by its watchdog."""
        return False

    @hung.setter
    def hung(self, hangs: bool) -> None:
        """Let the processor stand still from its next waking on; hangs: False changes nothing."""
        if hangs:
            self.loop.order_board("hang()")

    @property
    def stall_us(self) -> int:
        """Return for how long the loop will still be blocked."""
        return max(0, self._stalled_us - self.now_us)

    @stall_us.setter
    def stall_us(self, us: int) -> None:
        """Let one step of the loop take so many us longer, as whole ms."""
        self._stalled_us = self.now_us + us
        self.loop.order_board(f"block({us // 1000})")

    def reset(self, how: str = "pin", off_us: int = SECOND_US // 10) -> None:
        """Reset the board now; how and off_us as of rig_lives.PlannedReset."""
        self.loop.reset_at(how, self.now_us, off_us)

    def _event(self, event: Mapping[str, object]) -> None:
        """Take what the virtual rig tells: a board that has just come down."""
        if event.get("event") in ("reset", "crash", "hang"):
            self.books.account()
            self.falls += 1
            self.fell_us = self.now_us
            story = str(event.get("traceback", "")).strip().splitlines()
            self.crashes += story[-1:]
            if self.at_fall is not None:
                self.at_fall()
            self._flowed_then_us = self.meter.flowed_us

    @property
    def flowed_since_us(self) -> int:
        """Return for how long any blanket has carried current since the board last came down."""
        self.books.account()
        return self.meter.flowed_us - self._flowed_then_us

    def flow(self, span_us: int) -> None:
        """Let the world live for a time in which the board does nothing."""
        self.physics.take_edges((), span_us)

    def tick(self) -> None:
        """Let about a tenth of a second pass."""
        for driver in tuple(self.drivers):
            driver(cast("Any", self))
        for what, zone in self.hands.due(self.now_us):
            if what == "form":
                for place in range(self.zones) if zone < 0 else (zone,):
                    self.physics.act(partial(self.plant.press, place))
            else:
                self.loop.do("press", what)
                self.controller.wish = ""
                self._deaf_us = self.now_us + DEAF_US
        end_us = self.now_us + TICK_US - 1000
        while self.now_us < end_us:
            self._step()
        self.hands.wait(self.now_us, self.controller.waiting())
        self.books.account()
        if self.now_us - self._looked_us >= LOOK_US:
            self._looked_us = self.now_us
            self.look()

    def _step(self) -> None:
        """One frame of the board; what it wrote is read."""
        loop = self.loop
        loop.step()
        if loop.quit is not None:
            raise RigError(f"board: {loop.quit}; {' '.join(self.crashes[-1:])}")
        if loop.figures.lives != self._lives:
            self._lives = loop.figures.lives
            self._clock_us = None
            self.controller.mode = "idle"
            self.meter.leave(self.now_us)
            loop.order_board(CLOCK)
        for board_us, clock_ms in self._talk.read():
            self._clock_us = board_us - clock_ms * 1000 + loop.ahead_us

    def _hear(self, message: wire.Message, _second: float) -> None:
        data = message.data
        mode = str(data["mode"])
        self.controller.mode = mode
        if message.verb == "row":
            self.late_ms = max(self.late_ms, int(data["late_ms"]))
            if self.now_us >= self._deaf_us:
                self.controller.wish = data["waiting"] or ""
            return
        at_us = self.now_us if self._clock_us is None else int(data["ms"]) * 1000 + self._clock_us
        at_us = min(at_us, self.now_us)
        name, zone, text = str(data["code"]), int(data["zone"]), str(data["text"])
        self.told.append((at_us, name, zone, int(data["a"]), int(data["b"]), text))
        self.hands.see(self.now_us, name, zone)
        if name in ("trip", "refused"):
            self.meter.decide(at_us)
        elif mode in HEATS:
            self.meter.mode(at_us, mode)
        else:
            self.meter.leave(at_us)

    # The link -------------------------------------------------------------------------------

    def ask(self, verb: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Ask the board, verb and data as of Talk, and wait; give the values of its answer. Raises
        AskRefusedError when it refuses, RigError when it stays silent.
        """
        seq = self._talk.ask(verb, data)
        end_us = self.now_us + PATIENCE_US
        while (answer := self._talk.answer(seq)) is None:
            if self.now_us > end_us:
                raise RigError(f"board: no answer to {verb} within {PATIENCE_US // SECOND_US} s")
            self._step()
        if answer.verb != "ok":
            raise AskRefusedError(verb, answer.data)
        return dict(answer.data)

    def lay_out(self) -> None:
        """Make the profile ready, as a computer does by the link."""
        self.run = int(self.ask("ready", {"profile": self.key})["run"])
        self.controller.mode = "ready"

    def close(self) -> None:
        """End the board."""
        self.loop.close()

    def look(self) -> None:
        """Take the hottest part of every blanket."""
        hottest_c = max(self.plant.hottest_blanket_c(zone) for zone in range(self.zones))
        self.meter.hottest_c = max(self.meter.hottest_c, hottest_c)
