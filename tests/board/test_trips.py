"""The tick when something is wrong: off at once, one cause, and back only by hand."""

from board.controller_bench import Bench
from board.samples import readings, refused
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.sensing import Missing, Reading


def test_rig_with_a_fault_is_not_started():
    bench = Bench().made_ready()
    bench.tick("start")
    for _ in range(110):
        # Bad one tick in three: never enough for a trip, always too much for the proof.
        bench.tick()
        bench.tick()
        items = readings(bench.temps_c, bench.now_ms + 100)
        items[1] = Missing("bus", bench.now_ms + 100)
        assert bench.tick(items=items) == [False, False]
    assert bench.controller.mode == "idle"
    assert "refused" in bench.now_told()


def test_converters_that_disagree_refuse_the_start():
    bench = Bench().made_ready()
    bench.tick("start")
    for _ in range(105):
        at_ms = bench.now_ms + 100
        bench.tick(items=[Reading(20.0, 20.0, at_ms), Reading(20.0, 45.0, at_ms)])
    assert bench.controller.mode == "idle"
    assert "refused" in bench.now_told()


def test_trip_turns_every_output_off_in_the_same_tick():
    bench = Bench().running()
    assert bench.tick() == [True, True]
    last = [True, True]
    while bench.controller.mode == "running":
        at_ms = bench.now_ms + 100
        last = bench.tick(items=[Missing("open", at_ms), Reading(20.0, 20.0, at_ms)])
    assert last == [False, False]
    assert bench.controller.guard.trip.code == "open"
    assert bench.now_told().count("trip") == 1


def test_trip_decided_between_two_ticks_turns_off_at_the_next_edge():
    bench = Bench().running()
    assert bench.tick() == [True, True]
    bench.controller.guard.shut("software", -1, 0.0, 0.0, "", bench.now_ms)
    assert list(bench.controller.outputs(bench.now_ms + 10)) == [False, False]
    bench.tick()
    assert bench.controller.mode == "tripped"


def test_zone_with_a_bad_reading_is_off_at_once_while_the_other_goes_on():
    bench = Bench().running()
    at_ms = bench.now_ms + 100
    assert bench.tick(items=[Missing("bus", at_ms), Reading(20.0, 20.0, at_ms)]) == [False, True]
    assert "zone_off" in bench.now_told()
    bench.tick()
    assert "zone_back" in bench.now_told()
    assert bench.controller.mode == "running"


def test_zone_over_its_ceiling_is_off_at_once_and_trips():
    bench = Bench(change=lambda values: values["zones"][0].update({"ceiling": 170})).running()
    bench.temps_c = [170.5, 20.0]
    assert bench.tick()[0] is False
    bench.ticks(9)
    trip = bench.controller.guard.trip
    assert (trip.code, trip.zone, trip.limit) == ("ceiling", 0, 170.0)
    assert bench.controller.mode == "tripped"


def test_rig_is_judged_while_it_rests():
    bench = Bench()
    bench.ticks(5)
    bench.temps_c = [250.0, 20.0]
    bench.ticks(11)
    assert bench.controller.mode == "tripped"
    assert bench.controller.guard.trip.code == "ceiling"


def test_trip_is_acknowledged_only_by_a_press_when_the_cause_is_gone():
    bench = Bench().tripped()
    for _ in range(5):
        at_ms = bench.now_ms + 100
        bench.tick("start", items=[Missing("open", at_ms), Reading(20.0, 20.0, at_ms)])
        assert bench.controller.mode == "tripped"
    bench.ticks(50)
    assert bench.controller.mode == "tripped"
    for button in ("stop", "next"):
        bench.tick(button)
        assert bench.controller.mode == "tripped"
    refused(RefusedError, bench.controller.lay_out, bench.profile, 8)
    refused(RefusedError, bench.controller.pause)
    bench.controller.stop()
    bench.controller.next()
    assert bench.controller.mode == "tripped"
    bench.now_told()
    assert bench.tick("start") == [False, False]
    assert bench.controller.mode == "idle"
    assert bench.now_told() == ["press", "acknowledged"]
    bench.ticks(30)
    assert bench.controller.mode == "idle"


def test_run_after_an_acknowledged_trip_heats_again():
    bench = Bench().tripped()
    bench.ticks(2)
    bench.tick("start")
    bench.running()
    assert bench.tick() == [True, True]


def test_ramp_that_never_arrives_trips_with_the_zone_that_is_late():
    bench = Bench([{"kind": "ramp", "zones": ["waist", "full"], "target": 150, "longest_min": 1}]).running()
    bench.temps_c = [150.0, 80.0]
    last = bench.tick()
    while bench.controller.mode == "running":
        last = bench.tick()
    trip = bench.controller.guard.trip
    assert (trip.code, trip.zone, trip.seen, trip.limit, trip.unit) == ("ramp_late", 1, 80.0, 150.0, "C")
    assert last == [False, False]
    # Nothing is held against the rig any more: a press clears it.
    bench.tick("start")
    assert bench.controller.mode == "idle"


def test_stalled_loop_trips():
    bench = Bench().running()
    assert bench.tick(step_ms=2100) == [False, False]
    assert bench.controller.guard.trip.code == "late_loop"


def test_late_edge_does_not_join_two_zones_that_exclude_each_other():
    def narrow(values):
        values["mains"]["branch_limit_a"] = 3

    bench = Bench(change=narrow).running()
    controller = bench.controller
    while controller._window_ms != bench.now_ms:
        bench.tick()
    first_ms = controller.windows.on_ms[0]
    assert first_ms > 0
    assert list(controller.outputs(bench.now_ms + first_ms - 10)) == [True, False]
    # The loop comes back late, when the plan already has the second zone on: the relay of the first
    # one conducts until the next zero crossing, so the second one waits one grain more.
    late_ms = bench.now_ms + first_ms + 40
    assert list(controller.outputs(late_ms)) == [False, False]
    assert controller.next_edge_ms(late_ms) == late_ms + 10
    assert list(controller.outputs(late_ms + 10)) == [False, True]


def test_press_in_the_tick_of_a_trip_acknowledges_nothing():
    bench = Bench().running()
    # A stalled loop is over by the time it is noticed, so nothing is held any more.
    bench.tick("start", step_ms=2500)
    assert bench.controller.mode == "tripped"
    assert bench.controller.guard.trip.code == "late_loop"
    bench.tick("start")
    assert bench.controller.mode == "idle"
