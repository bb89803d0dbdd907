"""The controller with its link, clock, stack and contactor: one object that can be copied and looked at."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, cast

from ribwright_board.core import wire
from ribwright_board.core.alone import Alone
from ribwright_board.core.controller import TICK_MS, Controller
from ribwright_board.core.knob_list import BACK_OFF, PAUSE, KnobList
from ribwright_board.core.rig import parse as parse_rig
from ribwright_board.core.rig_values import Rig
from ribwright_board.core.sensing import Missing, Reading
from ribwright_board.core.service import Service

from .rigs import PROFILE, Files, Variant
from .rules import Watch
from .surroundings import MISSING, WELL, Surroundings

ROOM_C = 20.0
COLD_C = 22.0
# Loses as much as the firmware's own balance expects of still air on both faces.
LOSS_W_M2_K = 25.0
ALWAYS_K_PER_S = 8.0
# From the last alive edge to the open contactor, and the edges it takes to close it.
DROP_MS = 820
EDGES_TO_CLOSE = 2
LEAP_K = 150.0
AGE_MS = 5000
SIX_DAYS_MS = 500_000_000

Build = Callable[[Rig, int, Callable[[], None]], Controller]


class World:
    """One rig under the real controller.

    variant: which rig. build: makes the controller, Controller itself or one changed by a test.

    relays: as the firmware last set them. watch: what the rules have seen. closed: the contactor is.
    """

    def __init__(self, variant: Variant, build: Build = Controller) -> None:
        self.variant = variant
        self.build = build
        self.rig = parse_rig(variant.mapping())
        self.zones = len(self.rig.zones)
        self.files = Files()
        self.profile_name = self.files.lay_in(PROFILE)
        self.now_ms = SIX_DAYS_MS
        self.temps_c = [ROOM_C] * self.zones
        self.relays = [False] * self.zones
        self.closed = False
        self.watch = Watch(self.zones)
        self._sequence = 0
        self._odd = False
        self.boot(0, 0)

    def boot(self, interrupted: int, resets: int) -> None:
        """Power comes, or a reset: nothing of before is remembered but the mark on the flash.

        interrupted: number of the run that was under way, 0 for none. resets: how often in that run.
        """
        self.relays = [False] * self.zones
        self._edges = 0
        self._edge_ms = self.now_ms - DROP_MS
        self.controller = self.build(self.rig, self.now_ms, self.all_off)
        self.controller.boot(interrupted, resets)
        identity = {"board": "00", "fw": "0", "python": "-", "rig": "rig", "rig_name": self.rig.name}
        self.service = Service(self.controller, cast("Any", self.files), identity)
        self.alone = Alone(self.service)
        self.alone.shows = True
        self.alone.acts = KnobList(self.controller) if self.variant.panel else None
        # What it shows first is what it has shown before: a frozen converter has no other bits.
        self._shown_c = list(self.temps_c)
        self.watch.booted(self)

    def all_off(self) -> None:
        """What the board does first of all in a trip."""
        self.relays = [False] * self.zones
        self.watch.offs += 1

    # What can happen ------------------------------------------------------------------------

    def tick(
        self,
        around: Surroundings = WELL,
        pressed: tuple[str, ...] = (),
        dt_ms: int = TICK_MS,
        *,
        hung: bool = False,
        turned: int = 0,
        pushed: bool = False,
    ) -> None:
        """Time passes, then one tick as the board's loop makes it.

        around: what the converters say and where heat goes. pressed: "start", "next" and "stop", as pressed.
        dt_ms: time that passes before it. hung: the loop stood still meanwhile, so that no edge was switched.
        turned: detents of the knob. pushed: a push of it has ended.
        """
        self._pass(around, dt_ms, hung=hung)
        controller = self.controller
        self.files.whole = around.files
        at_rest = controller.mode == "idle"
        goes_on = self._through_panel(pressed, turned, pushed=pushed) if self.variant.panel else pressed
        items = self._items(around)
        contactor = self.closed if self.rig.feedback else None
        self.watch.before(self)
        controller.tick(self.now_ms, items, goes_on, contactor)
        self.watch.ticked(self, items, goes_on)
        if at_rest and controller.mode not in ("idle", "ready", "tripped"):
            self.watch.say("one_press", f"{pressed} at rest led to {controller.mode}")
        controller.events = []
        controller.rounds.row_due = False
        self._switch()
        if controller.alive_due():
            self._edges += 1
            self._edge_ms = self.now_ms
        else:
            self._edges = 0

    def _through_panel(self, pressed: tuple[str, ...], turned: int, *, pushed: bool) -> tuple[str, ...]:
        """What the panel leaves of presses; its laying out, and its list, may do no more than a computer."""
        self.watch.before(self)
        acts, runner, verb = self.alone.acts, self.controller.runner, "ready"
        opened = acts is not None and acts.open
        moved_k = 0.0 if runner is None else runner.by_hand.moved_k()
        if acts is not None and acts.open and pushed:
            verb = {BACK_OFF: "back_off", PAUSE: "pause"}.get(acts._there[acts._at], "next")
        goes_on = self.alone.take(pressed, turned, self.now_ms, pushed)
        self.watch.asked(self, verb)
        if opened and turned and runner is not None and runner.by_hand.moved_k() != moved_k:
            self.watch.say("list", f"{turned} detents moved the target")
        return goes_on

    def ask(self, verb: str, **data: object) -> None:
        """The host asks for something over the link; verb: one word, known or not. data: its values."""
        self._sequence += 1
        line = wire.encode("ask", self._sequence, verb, data)
        self.watch.before(self)
        self.service.answer(line.rstrip(b"\n"))
        self.watch.asked(self, verb)
        self._switch()

    def ask_everything(self) -> None:
        """The host sends every ask that lays out nothing and ends nothing, and some that are none."""
        for verb in ("hello", "status", "trip", "put_close", "runs", "get", "start", "acknowledge", "prove"):
            self.ask(verb, v=wire.PROTOCOL, run=1, at=0)

    # How it goes on -------------------------------------------------------------------------

    def _pass(self, around: Surroundings, dt_ms: int, *, hung: bool) -> None:
        """Time until the next tick, with the edges the firmware planned."""
        end_ms = self.now_ms + dt_ms
        while self.now_ms < end_ms:
            edge_ms = end_ms if hung else self.controller.next_edge_ms(self.now_ms)
            # A window that is over waits for the tick that opens the next.
            until_ms = edge_ms if self.now_ms < edge_ms < end_ms else end_ms
            self._flow(around, until_ms - self.now_ms, hung=hung)
            if self.now_ms < end_ms:
                self._switch()

    def _switch(self) -> None:
        self.relays = list(self.controller.outputs(self.now_ms))
        self.watch.switched(self)

    def _flow(self, around: Surroundings, dt_ms: int, *, hung: bool) -> None:
        """Heat moves; the contactor follows the alive signal."""
        self.now_ms += dt_ms
        dt_s = dt_ms / 1000.0
        if not hung:
            self.watch.flowed(self, dt_ms)
        if around.contactor is not None:
            self.closed = around.contactor == "closed"
        elif self.now_ms - self._edge_ms >= DROP_MS:
            self.closed = False
        elif self._edges >= EDGES_TO_CLOSE:
            self.closed = True
        for zone in range(self.zones):
            rise_k = 0.0
            part = self.rig.zones[zone]
            areal_w_m2 = part.power_w / (part.length_mm * part.width_mm * 1e-6)
            rate_k_per_s = self.controller.jury.expects[zone].rate_k_per_s
            loss_k = LOSS_W_M2_K * (self.temps_c[zone] - ROOM_C) / areal_w_m2 * rate_k_per_s * dt_s
            heated = around.heated(zone)
            source = zone if heated != "other" else self.zones - 1 - zone
            if heated == "always":
                rise_k = ALWAYS_K_PER_S * dt_s
            elif self.relays[source] and self.closed and heated != "nowhere":
                rise_k = rate_k_per_s * dt_s * {"backwards": -1.0, "fast": 3.0}.get(heated, 1.0)
            self.temps_c[zone] += rise_k - loss_k

    def _items(self, around: Surroundings) -> list[Reading | Missing | None]:
        self._odd = not self._odd
        items: list[Reading | Missing | None] = []
        for zone in range(self.zones):
            shows = around.shown(zone)
            at_ms, shown_c = self.now_ms, self.temps_c[zone]
            # The last bit moves, as a real one does.
            shown_c += 0.25 if self._odd else 0.0
            cold_c = COLD_C + (around.cold_k if around.zone in (-1, zone) else 0.0)
            if shows in MISSING:
                items.append(Missing(shows, at_ms))
                continue
            if shows == "nothing":
                items.append(None)
                continue
            if shows == "frozen":
                shown_c = self._shown_c[zone]
            elif shows == "leap" or (shows == "spikes" and self._odd):
                shown_c += LEAP_K
            elif shows == "wild":
                shown_c += LEAP_K + (self.now_ms // TICK_MS * 37) % 100
            elif shows == "replayed":
                at_ms -= AGE_MS
            elif shows in ("nan", "huge"):
                shown_c = float("nan") if shows == "nan" else 1.0e30
            else:
                self._shown_c[zone] = shown_c
            items.append(Reading(shown_c, cold_c, at_ms))
        return items
