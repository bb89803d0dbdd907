"""A controller with its clock, fed by hand."""

from board.samples import bench_rig, profile_of, readings
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


class Bench:
    """A controller with its clock, fed by hand."""

    def __init__(self, stages=None, change=None, start_ms=5000):
        self.rig = bench_rig(change)
        self.now_ms = start_ms
        self.controller = Controller(self.rig, start_ms)
        self.profile = profile_of(stages or HOT_STAGES, self.rig)
        self.temps_c = [20.0, 20.0]
        self.told = []
        self.rows = 0

    def tick(self, *pressed, items=None, step_ms=100):
        self.now_ms += step_ms
        made = readings(self.temps_c, self.now_ms) if items is None else items
        self.controller.tick(self.now_ms, made, pressed)
        self.told += [event[1] for event in self.controller.events]
        self.controller.events = []
        if self.controller.row_due:
            self.rows += 1
            self.controller.row_due = False
        return list(self.controller.outputs(self.now_ms))

    def ticks(self, count, items=None):
        for _ in range(count):
            self.tick(items=items)

    def made_ready(self):
        self.ticks(10)
        self.controller.lay_out(self.profile, 7)
        return self

    def running(self):
        """Proved and heating."""
        self.made_ready()
        self.tick("start")
        self.ticks(25)
        assert self.controller.mode == "running"
        return self

    def tripped(self):
        self.running()
        for _ in range(25):
            self.tick(items=[Missing("open", self.now_ms), Reading(20.0, 20.0, self.now_ms + 100)])
        assert self.controller.mode == "tripped"
        return self

    def now_told(self):
        found = self.told
        self.told = []
        return found
