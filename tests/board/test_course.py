"""One run from its laying out to its end: stages, presence and limits handed on."""

from board.samples import bench_rig, profile_of
from ribwright_board.core.attend import GRACE_MS, PROMPT_MS, SESSION_MS
from ribwright_board.core.course import Course
from ribwright_board.core.guard import Guard

HOLD = {
    "kind": "hold",
    "zones": ["full"],
    "target": 150,
    "until": "maker",
    "longest_min": 240,
    "cues": ["lower bout on"],
}
AT_TARGET_C = [150.0, 150.0]


class Bench:
    """A course with the guard that it may trip."""

    def __init__(self, stages):
        self.rig = bench_rig()
        self.course = Course(self.rig, profile_of(stages, self.rig))
        self.guard = Guard([zone.ceiling_c for zone in self.rig.zones], 0)
        self.now_ms = 0

    def step(self, temps_c, dt_ms=100, count=1):
        for _ in range(count):
            self.now_ms += dt_ms
            self.course.step(temps_c, self.guard, self.now_ms, dt_ms)

    def told(self):
        names = [event[0] for event in self.course.events]
        self.course.events = []
        return names


def test_first_begin_enters_the_first_stage_and_later_ones_go_on():
    bench = Bench([HOLD])
    assert not bench.course.heats()
    assert bench.course.begin(AT_TARGET_C)
    assert bench.told() == ["stage", "cue"]
    assert bench.course.heats()
    assert bench.course.runner.targets_c == [None, 150.0]
    bench.step(AT_TARGET_C, count=10)
    held_ms = bench.course.runner.held_ms
    assert not bench.course.begin(AT_TARGET_C)
    assert bench.course.runner.held_ms == held_ms
    assert bench.told() == []


def test_acknowledged_cue_names_the_zones_that_meet_the_form():
    bench = Bench([HOLD])
    bench.course.begin(AT_TARGET_C)
    assert bench.course.take_met() == []
    bench.course.next()
    assert bench.course.take_met() == [1]
    assert bench.told()[-1] == "cue_done"
    # Told once.
    assert bench.course.take_met() == []
    bench.course.next()
    assert bench.course.take_met() == []


def test_last_stage_does_not_heat():
    bench = Bench([{"kind": "ramp", "zones": ["waist"], "target": 60}])
    bench.course.begin([20.0, 20.0])
    assert bench.course.heats()
    bench.step([60.0, 20.0])
    assert not bench.course.heats()
    bench.step([40.0, 20.0])
    assert bench.course.runner.finished
    assert not bench.course.heats()


def test_what_a_running_run_waits_for():
    bench = Bench([HOLD, {"kind": "hold", "zones": ["full"], "target": 150, "minutes": 30}])
    bench.course.begin(AT_TARGET_C)
    assert bench.course.waiting() == "next"
    bench.course.attend.asked = True
    assert bench.course.waiting() == "presence"
    bench.course.attend.touch()
    bench.course.next()
    bench.course.next()
    assert bench.course.waiting() == ""


def test_ramp_that_is_late_trips_with_its_zone():
    bench = Bench([{"kind": "ramp", "zones": ["waist", "full"], "target": 150, "longest_min": 1}])
    bench.course.begin([20.0, 20.0])
    bench.step([150.0, 90.0], 1000, 59)
    assert bench.guard.trip is None
    bench.step([150.0, 90.0], 1000)
    trip = bench.guard.trip
    assert (trip.code, trip.zone, trip.seen, trip.limit, trip.unit) == ("ramp_late", 1, 90.0, 150.0, "C")


def test_late_ramp_of_a_zone_without_a_reading_shows_its_time():
    bench = Bench([{"kind": "ramp", "zones": ["waist"], "target": 150, "longest_min": 1}])
    bench.course.begin([20.0, 20.0])
    bench.step([None, 20.0], 1000, 60)
    trip = bench.guard.trip
    assert (trip.code, trip.seen, trip.unit) == ("ramp_late", 60.0, "s")


def test_goal_15_presence_is_asked_told_and_ends_the_heat():
    bench = Bench([HOLD])
    bench.course.begin(AT_TARGET_C)
    bench.told()
    bench.step(AT_TARGET_C, 1000, PROMPT_MS // 1000 - 1)
    assert bench.told() == []
    bench.step(AT_TARGET_C, 1000)
    name, zone, seconds, _, _ = bench.course.events[0]
    assert (name, zone, seconds) == ("presence", -1, GRACE_MS // 1000)
    bench.step(AT_TARGET_C, 1000, GRACE_MS // 1000 - 1)
    assert bench.guard.trip is None
    bench.step(AT_TARGET_C, 1000)
    trip = bench.guard.trip
    assert (trip.code, trip.seen, trip.unit) == ("unattended", (PROMPT_MS + GRACE_MS) / 1000.0, "s")


def test_goal_15_session_limit_trips_though_somebody_is_there():
    bench = Bench([HOLD])
    bench.course.begin(AT_TARGET_C)
    for second in range(SESSION_MS // 1000):
        assert bench.guard.trip is None, second
        bench.step(AT_TARGET_C, 1000)
        bench.course.attend.touch()
    assert bench.guard.trip.code == "session_over"


def test_limits_of_the_run_are_kept_from_its_laying_out():
    bench = Bench([HOLD])
    assert bench.course.memory.whole()
    bench.rig.zones[0].ceiling_c = 230.0
    assert not bench.course.memory.whole()
