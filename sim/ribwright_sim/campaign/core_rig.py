"""The true firmware core, wired to a simulated stack: the campaign's rig, as one object that can be copied.

Real time is in integer microseconds, the firmware's in its own milliseconds, and one need not be a thousand
times the other. The board's loop is played as the application plays it: readings, tick, relays, then one
alive edge when the check list allows it; between ticks the relays switch at the edges the firmware plans.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable

from ribwright_board.core.controller import TICK_MS, Controller
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.sensing import Missing, Reading

from .hands import Hands
from .mains_side import ALIVE_PIN, MainsSide
from .meter import SECOND_US
from .plants import Sheet
from .rigs import SLAT_MM, Setting, piece_mapping, profile_mapping, rig_mapping
from .signals import Converter, reading

# The watchdog of the board, and how long it takes to boot.
WATCHDOG_US = 2 * SECOND_US
BOOT_US = SECOND_US // 2
# As the application has it: after these no run is under way any more.
ENDINGS = ("trip", "stop", "done", "refused", "acknowledged")

# Called before every tick with the rig: a fault that changes with time, or a disturbance.
Driver = Callable[["CoreRig"], None]
Told = tuple[int, str, int, int, int, str]


class CoreRig(MainsSide):
    """Controller, converters and maker of one drawn rig, on its mains side.

    setting: what was drawn. plug: per converter the zone whose thermocouple is in it. select_low: a converter
    whose select line is stuck. told: every event as (now_us, name, zone, a, b, text). items: the last
    readings. stall_us: the loop stands still for this long before its next tick. hung: it never ticks again.
    cut_us: a reset so long after the next tick. boots: resets so far. run: number of the run. alive_us: when
    the last alive edge was given; alive_since_us: since when they have come, None while they do not.
    """

    def __init__(self, setting: Setting) -> None:
        """Args: what was drawn."""
        super().__init__(parse_rig(rig_mapping(setting)), draw_plant(setting))
        self.setting = setting
        self.profile = parse_profile(profile_mapping(setting), self.rig)
        self.now_ms = setting.clock_start_ms
        self.us_per_ms = setting.us_per_ms
        self.converters = [Converter(setting.seed * 16 + zone) for zone in range(self.zones)]
        self.plug = list(range(self.zones))
        self.select_low: int | None = None
        self.hands = Hands(setting.seed)
        self.drivers: list[Driver] = []
        self.told: list[Told] = []
        self.items: list[Reading | Missing | None] = []
        self.stall_us = 0
        self.hung = False
        self.cut_us: int | None = None
        self.boots = 0
        self.run = 0
        self.alive_us = 0
        self.alive_since_us: int | None = None
        self._alive = 0
        self._mark = (0, 0)
        self._opened = 0
        self._fed_us: int | None = None
        self.controller = self._boot()

    def _boot(self) -> Controller:
        """A firmware that has just come up, all pins low."""
        return Controller(self.rig, self.now_ms, self.relays_off)

    def reset(self) -> None:
        """Throw the firmware away, let its pins float, and boot a new one."""
        self.bench.release(self.now_us)
        self.meter.mode(self.now_us, "idle")
        self._levels = [False] * self.zones
        self._alive = 0
        self._fed_us = None
        self.alive_since_us = None
        self.hung = False
        self.stall_us = 0
        self.flow(BOOT_US)
        self.now_ms = self.setting.clock_start_ms
        self.boots += 1
        self.controller = self._boot()
        if self._mark[0]:
            self._mark = (self._mark[0], self._mark[1] + 1)
        self.controller.boot(*self._mark)

    def lay_out(self) -> None:
        """Make the profile ready, as a computer would by the link."""
        self.run += 1
        self.controller.lay_out(self.profile, self.run)

    def proved_ratios(self) -> list[float]:
        """Per zone, measured over expected answer of the last proof; 1 where there was none."""
        return [expect.factor for expect in self.controller.jury.expects]

    def tick(self) -> None:
        """One round of the board's loop, and the time until the next."""
        for driver in tuple(self.drivers):
            driver(self)
        if self.stall_us or self.hung:
            self._stand_still()
            return
        controller = self.controller
        pressed = self._touch()
        contactor = self.bench.feedback() if self.rig.feedback else None
        controller.tick(self.now_ms, self._read(), pressed, contactor)
        if controller.events:
            self._take_events(controller)
        mode = controller.mode
        self.meter.mode(self.now_us, mode)
        self._switch(controller.outputs(self.now_ms))
        if controller.alive_due():
            self.meter.act(self.now_us)
            self._alive ^= 1
            self.alive_us = self.now_us
            if self.alive_since_us is None:
                self.alive_since_us = self.now_us
            self.bench.set_pin(ALIVE_PIN, self._alive, self.now_us)
        else:
            self.alive_since_us = None
        if self._fed_us is not None or mode in ("proving", "running"):
            self._fed_us = self.now_us
        self.hands.wait(self.now_us, controller.waiting())
        end_ms = self.now_ms + TICK_MS
        while True:
            # An edge in the past means "at once"; the loop still breathes between two looks.
            edge_ms = min(end_ms, max(controller.next_edge_ms(self.now_ms), self.now_ms + 1))
            span_us = (edge_ms - self.now_ms) * self.us_per_ms
            if self.cut_us is not None:
                if span_us >= self.cut_us:
                    self.flow(self.cut_us)
                    self.cut_us = None
                    self.reset()
                    return
                self.cut_us -= span_us
            self.flow(span_us)
            self.now_ms = edge_ms
            if edge_ms >= end_ms:
                return
            self._switch(controller.outputs(edge_ms))

    def _stand_still(self) -> None:
        """The loop does nothing; pins stay, the watchdog waits."""
        left_us = SECOND_US // 10 if self.hung else min(self.stall_us, SECOND_US // 10)
        self.stall_us = max(0, self.stall_us - left_us)
        self.flow(left_us)
        self.now_ms += left_us // self.us_per_ms
        if self._fed_us is not None and self.now_us - self._fed_us >= WATCHDOG_US:
            self.reset()
            self.told.append((self.now_us, "watchdog", -1, 0, 0, ""))

    def _read(self) -> list[Reading | Missing | None]:
        plant = self.plant
        if self.select_low is not None:
            # The line is not quiet while nobody is asked: the application believes none of the answers.
            self.items = [Missing("bus", self.now_ms) for _ in self.converters]
            return self.items
        items: list[Reading | Missing | None] = []
        self.items = items
        for zone, converter in enumerate(self.converters):
            word = converter.convert(plant.thermocouple_c(self.plug[zone]), plant.cold_junction_c(zone))
            items.append(reading(word, self.now_ms))
        return items

    def _touch(self) -> tuple[str, ...]:
        pressed: tuple[str, ...] = ()
        for what, zone in self.hands.due(self.now_us):
            if what == "form":
                for place in range(self.zones) if zone < 0 else (zone,):
                    self.plant.press(place)
            else:
                pressed = (*pressed, what)
        return pressed

    def _take_events(self, controller: Controller) -> None:
        for _, name, zone, a, b, text in controller.events:
            self.told.append((self.now_us, name, zone, a, b, text))
            self.hands.see(self.now_us, name, zone)
            if name in ("trip", "refused"):
                self.meter.decide(self.now_us)
            # What the application keeps on its flash: the run that a reset would cut off.
            if name == "proved" and self._opened != self.run:
                self._opened = self.run
                self._mark = (self.run, 0)
            elif name in ENDINGS and text != "resets":
                self._mark = (0, 0)
        controller.events = []
        controller.rounds.row_due = False

    @property
    def shown_c(self) -> list[str]:
        """What the last tick read, in words: a temperature [C] or the code of what is missing."""
        return [
            format(item.temperature_c, ".2f") if isinstance(item, Reading) else item.code if item else "-"
            for item in self.items
        ]

    def snapshot(self) -> bytes:
        """Everything, to go on from later, here or in another process."""
        return pickle.dumps(self, pickle.HIGHEST_PROTOCOL)

    @staticmethod
    def from_snapshot(data: bytes) -> CoreRig:
        """The rig as it was; data: what `snapshot` gave."""
        found: CoreRig = pickle.loads(data)  # noqa: S301 - our own, made in this process
        return found

    @property
    def stage_kind(self) -> str:
        """Kind of the present stage, "" outside a run."""
        runner = self.controller.runner
        stage = None if runner is None else runner.stage
        return "" if stage is None else stage.kind

    def readings_c(self) -> list[float]:
        """What the junctions have, without wire and noise [C]."""
        return [self.plant.thermocouple_c(zone) for zone in range(self.zones)]


def draw_plant(setting: Setting, *, bare: bool = False) -> Sheet:
    """The stack of a setting; bare: with nothing on its blankets, whatever the setting says."""
    return Sheet.draw(
        # A bare sheet has no slats, but its reader wants to hear of some.
        rig_mapping(setting, slat_mm=SLAT_MM),
        piece_mapping(setting),
        seed=setting.seed,
        mains=setting.mains,
        ambient_c=setting.room_c,
        start_c=setting.start_c,
        bare=bare or setting.bare,
    )
