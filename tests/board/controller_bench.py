"""A controller with its clock and stand-in blankets, or fed by hand."""

from board.samples import bench_rig, profile_of
from board.warm import DITHER_C, ROOM_C, Blankets, quick
from ribwright_board.core.controller import Controller
from ribwright_board.core.sensing import Missing, Reading

HOT_STAGES = [
    {"kind": "ramp", "zones": ["waist", "full"], "target": 150, "longest_min": 10},
    {
        "kind": "hold",
        "zones": ["waist", "full"],
        "target": 150,
        "until": "maker",
        "longest_min": 5,
        "cues": ["press the waist on"],
    },
]
# Settle, weld test and its watch, zones off, and a pulse for each of the two zones.
PROOF_S = 2 + 3 + 3 + 5 + 2 * 8
# A pause leaves out weld test and pulses.
SHORT_SETTLE_S = 4
SHORT_PROOF_S = SHORT_SETTLE_S + 1 + 5


class Bench:
    """A controller with its clock and blankets.

    shown_c: per zone what is read instead of the blanket's temperature, None for the truth.
    """

    def __init__(self, stages=None, change=None, start_ms=5000, off=None):
        self.rig = quick(bench_rig(change))
        self.now_ms = start_ms
        self.controller = Controller(self.rig, start_ms, off)
        self.profile = profile_of(stages or HOT_STAGES, self.rig)
        self.blankets = Blankets(len(self.rig.zones))
        self.shown_c = [None] * len(self.rig.zones)
        self.cold_c = ROOM_C
        self.contactor = None
        self.told = []
        self.rows = 0
        self._dither_c = DITHER_C

    def temps_c(self):
        """What the thermocouples show now."""
        pairs = zip(self.shown_c, self.blankets.temps_c)
        return [truth_c if shown_c is None else shown_c for shown_c, truth_c in pairs]

    def readings(self, at_ms):
        """Per zone a good reading."""
        self._dither_c = -self._dither_c
        return [Reading(seen_c + self._dither_c, self.cold_c, at_ms) for seen_c in self.temps_c()]

    def faulty(self, code, zone=0):
        """Per zone a good reading, but a named fault in one."""
        items = self.readings(self.now_ms + 100)
        items[zone] = Missing(code, self.now_ms + 100)
        return items

    def tick(self, *pressed, items=None, step_ms=100):
        controller = self.controller
        self.blankets.flow(controller, self.now_ms, self.now_ms + step_ms)
        self.now_ms += step_ms
        made = self.readings(self.now_ms) if items is None else items
        controller.tick(self.now_ms, made, pressed, self.contactor)
        self.told += [event[1] for event in controller.events]
        controller.events = []
        if controller.rounds.row_due:
            self.rows += 1
            controller.rounds.row_due = False
        return list(controller.outputs(self.now_ms))

    def ticks(self, count):
        for _ in range(count):
            self.tick()

    def until(self, condition, most_s=120):
        """Ticks until a condition holds; the seconds it took."""
        for count in range(most_s * 10):
            if condition():
                return count / 10.0
            self.tick()
        raise AssertionError("not within %d s; %s" % (most_s, self.controller.mode))

    def trips(self, most_s=120):
        """Ticks until the rig shuts down; the seconds it took."""
        return self.until(lambda: self.controller.mode == "tripped", most_s)

    def trip(self):
        """Code and zone of the trip that stands."""
        trip = self.controller.guard.trip
        return (trip.code, trip.zone) if trip else None

    def made_ready(self):
        self.ticks(10)
        self.controller.lay_out(self.profile, 7)
        return self

    def proving(self):
        """Pressed, and on the way to heat."""
        self.made_ready()
        self.tick("start")
        assert self.controller.mode == "proving"
        return self

    def running(self):
        """Proved and heating."""
        self.proving()
        self.until(lambda: self.controller.mode != "proving")
        assert self.controller.mode == "running", self.refusal()
        return self

    def hot(self, target_c=150.0):
        """Heated to a target by the run's own first stage, which wants it of both zones."""
        self.running()
        self.until(lambda: min(self.blankets.temps_c) >= target_c - 1.0)
        return self

    def tripped(self):
        self.running()
        for _ in range(25):
            self.tick(items=self.faulty("open"))
        assert self.controller.mode == "tripped"
        return self

    def refusal(self):
        """Code and zone of the refusal that stands."""
        refusal = self.controller.refusal
        return (refusal.code, refusal.zone) if refusal else None

    def now_told(self):
        found = self.told
        self.told = []
        return found
