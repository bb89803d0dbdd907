"""A hold's target moved by hand: bounds, how long it lasts, the log, the maker's presence."""

from board.controller_bench import Bench
from board.samples import put
from ribwright_board.core.nudging import MOST_K, bounds_k, nudge

RAMP = {"kind": "ramp", "zones": ["waist"], "target": 100, "longest_min": 10}
HOLD = {"kind": "hold", "zones": ["waist"], "target": 100, "until": "maker", "longest_min": 30}
SAME = {"kind": "hold", "zones": ["waist"], "target": 100, "minutes": 5}
OTHER = {"kind": "hold", "zones": ["waist", "full"], "target": 100, "minutes": 5}


def holding(stages=None, change=None):
    """A bench whose first hold has begun."""
    bench = Bench(stages or [RAMP, HOLD, SAME, OTHER], change).running()
    bench.until(lambda: bench.controller.runner.index == 1)
    return bench


def events(bench):
    """Nudges told since the last asking, as (zone, tenths of a degree C, K)."""
    told = [event for event in bench.controller.events if event[1] == "nudge"]
    bench.controller.events = []
    return [(event[2], event[3], event[4]) for event in told]


def target_c(bench):
    bench.tick()
    return bench.controller.runner.targets_c[0]


def test_detent_moves_the_target_by_a_kelvin_and_is_logged():
    bench = holding()
    nudge(bench.controller, 1)
    assert events(bench) == [(0, 1010, 1)]
    assert target_c(bench) == 101.0
    nudge(bench.controller, 3)
    nudge(bench.controller, -6)
    assert events(bench) == [(0, 1040, 4), (0, 980, -2)]
    assert target_c(bench) == 98.0


def test_nudge_stays_within_ten_kelvin_and_says_nothing_at_the_end():
    bench = holding()
    nudge(bench.controller, 200)
    assert events(bench) == [(0, 1100, MOST_K)]
    nudge(bench.controller, 1)
    assert events(bench) == []
    nudge(bench.controller, -200)
    assert target_c(bench) == 90.0


def test_nudge_leaves_the_ceilings_room_alone():
    # A ceiling of 115 allows targets up to 105: core.rig's margin of 10 K.
    bench = holding(change=put("zones", 0, "ceiling", 115))
    nudge(bench.controller, 9)
    assert target_c(bench) == 105.0
    low = holding([dict(RAMP, target=44), dict(HOLD, target=44)])
    nudge(low.controller, -9)
    assert target_c(low) == 40.0


def test_only_what_holds_can_be_moved():
    bench = Bench([RAMP, HOLD]).running()
    stages = bench.controller.profile.stages
    assert bounds_k(stages[0], bench.rig) == (0, 0)
    assert bounds_k(stages[1], bench.rig) == (-10, 10)
    assert bounds_k(stages[2], bench.rig) == (0, 0)
    nudge(bench.controller, 5)
    assert (events(bench), bench.controller.runner.by_hand.nudge) == ([], None)
    assert target_c(bench) == 100.0


def test_nudge_goes_on_into_the_same_hold_and_no_farther():
    bench = holding()
    nudge(bench.controller, 4)
    bench.controller.next()
    assert bench.controller.runner.index == 2
    assert target_c(bench) == 104.0
    bench.controller.runner.begin(3)
    assert target_c(bench) == 100.0


def test_stack_follows_and_time_counts_within_the_band_about_the_moved_target():
    bench = holding([RAMP, SAME])
    nudge(bench.controller, 8)
    bench.until(lambda: abs(bench.blankets.temps_c[0] - 108.0) < 1.0)
    before_ms = bench.controller.runner.held_ms
    bench.ticks(100)
    assert bench.controller.runner.held_ms - before_ms > 8000


def test_nudge_shows_that_somebody_is_there_and_an_answer_is_no_nudge():
    bench = holding()
    attend = bench.controller.course.attend
    attend._alone_ms = 500000
    nudge(bench.controller, 1)
    assert attend._alone_ms == 0
    attend.asked = True
    nudge(bench.controller, 1)
    assert not attend.asked
    told = [event[1] for event in bench.controller.events]
    assert told == ["nudge", "presence_given"]


def test_nudge_outside_a_run_is_nothing():
    bench = Bench([RAMP, HOLD]).made_ready()
    nudge(bench.controller, 5)
    assert bench.controller.runner.by_hand.nudge is None
    tripped = holding()
    tripped.controller.guard.shut("memory", -1, 1.0, 2.0, "", tripped.now_ms)
    tripped.tick()
    nudge(tripped.controller, 5)
    assert events(tripped) == []


def test_nudge_that_memory_has_spoiled_shuts_down():
    bench = holding()
    nudge(bench.controller, 2)
    bench.controller.runner.by_hand.nudge.value = 40.0
    bench.tick()
    bench.tick()
    assert bench.trip() == ("memory", -1)
    assert bench.controller.outputs(bench.now_ms) == [False, False]
