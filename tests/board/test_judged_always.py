"""Heat is judged in every mode, from power-on."""

from board.controller_bench import Bench
from ribwright_board.core import guard
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.modes import MODES


def in_mode(mode):
    """A bench in one of the modes; cooling is running in its last stage."""
    if mode == "cool":
        bench = Bench([{"kind": "ramp", "zones": ["waist", "full"], "target": 60}]).running()
        bench.until(lambda: bench.controller.runner.stage.kind == "cool")
        return bench
    prepare = {"ready": "made_ready", "paused": "running", "idle": "now_told"}
    bench = Bench()
    getattr(bench, prepare.get(mode, mode))()
    if mode == "paused":
        bench.controller.pause()
    bench.tick()
    assert bench.controller.mode == mode
    return bench


def climb(bench, to_c, step_k):
    """The reading of the first zone climbs; nothing the firmware does stops it."""
    at_c = bench.temps_c()[0]
    while at_c < to_c and bench.trip() is None:
        at_c = min(at_c + step_k, to_c)
        bench.shown_c = [at_c, None]
        bench.tick()
    bench.shown_c = [to_c, None]


def test_goal_9_ceiling_is_judged_in_every_mode():
    for mode in tuple(MODES) + ("cool",):
        bench = in_mode(mode)
        if mode == "tripped":
            # The first cause stands; what matters is that this one is seen: no press clears it.
            bench.shown_c = [205.0, None]
            bench.ticks(35)
            bench.tick("start")
            assert bench.trip() == ("open", 0)
            assert bench.controller.guard.held(0) == "ceiling"
            continue
        climb(bench, 205.0, 5.0)
        bench.ticks(11)
        code, zone = bench.trip()
        # Heat that nobody asked for may be noticed before the ceiling; all three share one advice.
        assert code in ("ceiling", "too_hot", "heat_while_off"), mode
        assert FAULTS[code][1] == FAULTS["ceiling"][1]
        assert zone == 0
        assert bench.tick() == [False, False]


def test_goal_9_rising_while_off_is_judged_in_every_mode_without_heat():
    for mode in ("idle", "ready", "paused", "cool"):
        bench = in_mode(mode)
        bench.ticks(150)
        # 1 K/s that nobody asked for.
        begin_ms = bench.now_ms
        climb(bench, bench.temps_c()[0] + 30.0, 0.1)
        assert bench.trip() == ("heat_while_off", 0), mode
        # Eight seconds of evidence after the first three kelvin and the first five seconds.
        assert bench.now_ms - begin_ms <= 15000, mode


def test_goal_9_judging_begins_with_the_first_second_after_power_on():
    bench = Bench()
    bench.shown_c = [230.0, None]
    assert bench.trips(3) <= 1.1
    assert bench.trip() == ("ceiling", 0)
    bench = Bench()
    climb(bench, 60.0, 0.1)
    assert bench.trip() == ("heat_while_off", 0)
    # What was heated before power-on is allowed for at first, and an open contactor takes twice the evidence.
    assert bench.now_ms - 5000 <= 25000


def test_hot_reading_from_one_moment_to_the_next_is_no_temperature_but_a_cause():
    bench = Bench()
    bench.ticks(10)
    bench.shown_c = [250.0, None]
    bench.ticks(guard.LEAP_TRIP_MS // 100 - 2)
    assert bench.controller.mode == "idle"
    assert bench.trips(1) <= 0.3
    assert bench.trip() == ("leap", 0)
    # It stays: from here on it is a reading above the ceiling, and no press clears that.
    bench.ticks(3)
    bench.tick("start")
    assert bench.controller.mode == "tripped"
    assert bench.controller.guard.held(0) == "ceiling"
