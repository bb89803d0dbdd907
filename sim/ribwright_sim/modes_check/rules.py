"""What must hold at every moment, whatever happens: the invariants, each with its name, and who watches them.

The rules keep books of their own: when a zone's last good reading came, whether the run was armed by a press
and proved, how long each relay was on in a step of the proof. Nothing of that is asked of the firmware.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ribwright_board.core.modes import EVENTS, MODES, TRANSITIONS
from ribwright_board.core.proving import Proving
from ribwright_board.core.sensing import Missing, Reading
from ribwright_board.core.window import GRAIN_MS

from .stage_rules import StageWatch, stage_kind

if TYPE_CHECKING:
    from ribwright_board.core.trip import Trip

    from .world import World

FRESH_MS = 1000
PROOF_WINDOW_MS = 1000
# Step of the proof -> share of a window each relay may be on, how many at a time, and whether the contactor
# may close. A step that is not named here may do nothing.
PROOF_STEPS = {
    "weld": (1.0, 4, False),
    "off": (0.0, 0, True),
    "answer": (0.3, 1, True),
    "fast": (0.0, 0, True),
}
QUIET = (0.0, 0, False)

RULES = {
    "table": "the table itself: a trip from everywhere, left only by acknowledgement, heat only by proof",
    "mode": "a mode is entered only by an event that this call can bring",
    "still": "an event that the table does not know in a mode changes nothing",
    "relay_trip": "no relay is on with a trip",
    "relay_mode": "a relay is on only in a running stage that heats, or in a step of the proof that pulses",
    "relay_fresh": "no relay is on without a good reading of its zone in the last second, nor on a held zone",
    "relay_armed": "no relay is on in a run that was not armed by a press and proved since power-on",
    "relay_pulse": "in the proof no relay is on longer than its step's share, nor more of them than it names",
    "relay_alone": "a relay is on while the contactor is withheld only in the weld test",
    "branch": "the relays that are on fit the branch",
    "alive": "the contactor is held only in the proof's later steps and in running stages that heat",
    "off_first": "a trip switches everything off",
    "first_cause": "the first cause of a trip stands until it is acknowledged",
    "trip_left": "a trip is left only by a start press, with nothing held against any zone",
    "one_press": "a press at rest lays out at most; it takes another one to arm",
    "list": "while the list at the knob is open no turn moves a target",
    "longest": "a hold or set ends by its longest time, as much again, or 15 min more if that is less",
    "back_off": "backing off leads to set or cool, and no target is higher than before",
    "target": "in a run no target is above its zone's ceiling less 10 K, or more than 10 K off the profile's",
    "host": "no ask of the host arms, acknowledges or switches anything on",
}


def reachable(mode: str, events: tuple[str, ...]) -> set[str]:
    """Modes that the table reaches from `mode`, itself included, by `events`, in any order and number."""
    found = {mode}
    while True:
        more = {TRANSITIONS[pair] for pair in TRANSITIONS if pair[0] in found and pair[1] in events}
        if more <= found:
            return found
        found |= more


def table_faults(table: dict[tuple[str, str], str]) -> list[str]:
    """What is wrong with a table of (mode, event) -> mode, one sentence each."""
    found = [f"{mode} is not left by a trip" for mode in MODES if table.get((mode, "trip")) != "tripped"]
    for (mode, event), after in table.items():
        if mode not in MODES or event not in EVENTS or after not in MODES:
            found.append(f"({mode}, {event}) -> {after} names something unknown")
        elif mode == "tripped" and event not in ("trip", "acknowledge"):
            found.append(f"tripped is left by {event}")
        elif after == "running" and (mode, event) != ("proving", "proved"):
            found.append(f"running is reached by {event} from {mode}")
        elif after == "proving" and event != "press":
            found.append(f"proving is reached by {event} from {mode}")
        elif event in ("stop", "refused", "finish", "acknowledge") and after != "idle":
            found.append(f"{event} in {mode} leads to {after}, not to rest")
    return found


class Watch:
    """The rules' own books, and what was broken.

    zones: how many. broken: list of (rule, what was seen). offs: how often everything was switched off.
    world: the rig that is watched, as it is when something is told of it.
    """

    def __init__(self, zones: int) -> None:
        self.broken: list[tuple[str, str]] = []
        self.offs = 0
        self.armed = False
        self.good_ms: list[int | None] = [None] * zones
        self._tick_ms = 0
        self._mode = "idle"
        self._trip: Trip | None = None
        self._offs = 0
        self._relays: list[bool] = [False] * zones
        self._step: tuple[str, int] = ("", -1)
        self._step_ms = 0
        self._on_ms = [0] * zones
        self._stages = StageWatch(self.say)

    def say(self, rule: str, seen: str) -> None:
        """A rule was broken; rule: key of RULES. seen: what was seen, in words."""
        self.broken.append((rule, seen))

    def booted(self, world: World) -> None:
        """Nothing of before the reset counts."""
        self.armed = False
        self.good_ms = [None] * world.zones
        self._tick_ms = world.now_ms
        self._leave_step()
        if world.controller.mode != "idle" or any(world.relays):
            self.say("relay_armed", f"after power-on the mode is {world.controller.mode}")

    def before(self, world: World) -> None:
        """Remember what a call finds."""
        self._mode = world.controller.mode
        self._trip = world.controller.guard.trip
        self._offs = self.offs
        self._relays = list(world.relays)
        self._stages.before(world)

    # After a call -----------------------------------------------------------------------------

    def ticked(self, world: World, items: list[Reading | Missing | None], pressed: tuple[str, ...]) -> None:
        """A tick is over, the relays are not switched yet.

        items: what it got of each zone's converter, None for nothing new. pressed: the buttons it got.
        """
        controller = world.controller
        self._stages.ticked(world, world.now_ms - self._tick_ms)
        self._tick_ms = world.now_ms
        for zone, item in enumerate(items):
            if (
                isinstance(item, Reading)
                and item.temperature_c <= world.rig.zones[zone].ceiling_c
                and abs(item.temperature_c - world.temps_c[zone]) < 40.0
                and world.now_ms - item.at_ms <= FRESH_MS
                and controller.senses.temps_c[zone] is not None
            ):
                self.good_ms[zone] = item.at_ms
        events = ["proved", "refused", "finish", "trip"]
        if "start" in pressed:
            events += ["press", "acknowledge"]
        if "stop" in pressed:
            events.append("stop")
        self._moved(world, tuple(events))
        trip, mode = controller.guard.trip, controller.mode
        if (trip is None) == (mode == "tripped"):
            self.say("mode", f"{mode} with {'no trip' if trip is None else trip.code} after a tick")
        if trip is not None and self._trip is None and self.offs == self._offs:
            self.say("off_first", f"{trip.code} did not switch off")
        if self._trip is not None and trip is None:
            held = [controller.guard.held(zone) for zone in range(world.zones)]
            if "start" not in pressed or self._mode != "tripped" or any(held):
                self.say("trip_left", f"{self._trip.code} in {self._mode}, pressed {pressed}, held {held}")
        self._alive(world)

    def asked(self, world: World, verb: str) -> None:
        """The host's ask was answered, or the panel's act is over; verb: the word of the link for it."""
        events = {"ready": ("lay_out",), "stop": ("stop",), "pause": ("pause",)}.get(verb, ())
        self._moved(world, events)
        controller = world.controller
        if controller.guard.trip is not self._trip:
            self.say("host", f"{verb} changed the trip")
        now = controller.outputs(world.now_ms)
        if any(on and not was for on, was in zip(now, self._relays, strict=True)):
            self.say("host", f"{verb} switched on")
        self._alive(world)
        if verb == "back_off":
            self._stages.backed_off(world)

    def _moved(self, world: World, events: tuple[str, ...]) -> None:
        before, mode = self._mode, world.controller.mode
        if mode not in reachable(before, events):
            self.say("mode", f"{before} -> {mode} by one of {events}")
        if mode == "running" and before in ("ready", "paused"):
            self.say("mode", f"{before} -> running without a proof")
        if mode == "proving" and before != "proving":
            self.armed = "press" in events
        elif mode not in ("proving", "running"):
            self.armed = False
        trip = world.controller.guard.trip
        # An acknowledged trip may be followed by the next one within the same tick.
        left = "acknowledge" in events and before == "tripped"
        if self._trip is not None and trip is not None and trip is not self._trip and not left:
            self.say("first_cause", f"{self._trip.code} became {trip.code}")

    def _alive(self, world: World) -> None:
        controller = world.controller
        allowed = False
        if controller.guard.trip is None and controller.mode == "proving":
            allowed = PROOF_STEPS.get(_step_of(world)[0], QUIET)[2]
        elif controller.guard.trip is None and controller.mode == "running":
            allowed = stage_kind(world) not in ("", "cool")
        if controller.alive_due() and not allowed:
            trip = controller.guard.trip
            where = _step_of(world)[0] if controller.mode == "proving" else stage_kind(world)
            self.say("alive", f"in {controller.mode} {where}, trip {None if trip is None else trip.code}")

    # While time passes ------------------------------------------------------------------------

    def flowed(self, world: World, dt_ms: int) -> None:
        """Relays stood as they are for a time that has just passed."""
        if world.controller.mode != "proving":
            self._leave_step()
            return
        self._step_ms += dt_ms
        for zone, on in enumerate(world.relays):
            self._on_ms[zone] += dt_ms if on else 0

    def _leave_step(self) -> None:
        self._step, self._step_ms, self._on_ms = ("", -1), 0, [0] * len(self.good_ms)

    def switched(self, world: World) -> None:
        """The relays have just been set."""
        controller = world.controller
        mode = controller.mode
        proving = mode == "proving"
        if proving and _step_of(world) != self._step:
            self._leave_step()
            self._step = _step_of(world)
        if proving:
            self._judge_pulse(world)
        on = [zone for zone, state in enumerate(world.relays) if state]
        if not on:
            return
        if controller.guard.trip is not None:
            self.say("relay_trip", f"zones {on} on, trip {controller.guard.trip.code}")
        if not proving and (mode != "running" or stage_kind(world) in ("", "cool")):
            self.say("relay_mode", f"zones {on} on in {mode} {stage_kind(world)}")
        if not self.armed:
            self.say("relay_armed", f"zones {on} on in {mode}")
        if not controller.alive_due() and not (proving and self._step[0] == "weld"):
            self.say("relay_alone", f"zones {on} on in {mode} {self._step[0]}{stage_kind(world)}")
        for zone in on:
            good_ms = self.good_ms[zone]
            if good_ms is None or self._tick_ms - good_ms > FRESH_MS or controller.guard.held(zone):
                self.say("relay_fresh", f"zone {zone} on in {mode}, held {controller.guard.held(zone)!r}")
        if sum(world.rig.zones[zone].current_a for zone in on) > world.rig.branch_limit_a:
            self.say("branch", f"zones {on} on")

    def _judge_pulse(self, world: World) -> None:
        share, most, _ = PROOF_STEPS.get(self._step[0], QUIET)
        on = sum(world.relays)
        if on > most:
            self.say("relay_pulse", f"{on} relays on in {self._step[0]}")
        windows = self._step_ms // PROOF_WINDOW_MS + 1
        for on_ms in self._on_ms:
            if on_ms > windows * (share * PROOF_WINDOW_MS + GRAIN_MS):
                self.say("relay_pulse", f"on for {on_ms} ms in {windows} windows of {self._step[0]}")


def _step_of(world: World) -> tuple[str, int]:
    proving = world.controller._proving
    return (proving._step, proving._pulsed) if isinstance(proving, Proving) else ("settle", -1)
