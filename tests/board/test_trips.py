"""The tick when something is wrong: off at once, one cause, and back only by hand."""

from board.controller_bench import Bench
from board.samples import put, refused
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.sensing import Reading

# In plain numbers: a rule that has grown weaker shows here.
BAD_TRIP_MS = 2000
FADE_TO_K = 3.0
NARROW = put("mains", "branch_limit_a", 3)


def test_rig_with_a_fault_is_not_started():
    bench = Bench().proving()
    for _ in range(110):
        # Bad one tick in three: never enough for a trip, always too much for the proof.
        bench.tick()
        bench.tick()
        assert bench.tick(items=bench.faulty("bus", 1)) == [False, False]
    assert bench.controller.mode == "idle"
    assert bench.refusal() == ("bus", 1)
    assert "refused" in bench.now_told()


def test_converters_that_disagree_refuse_the_start():
    bench = Bench().proving()
    for _ in range(105):
        at_ms = bench.now_ms + 100
        bench.tick(items=[Reading(20.0, 20.0, at_ms), Reading(20.0, 29.0, at_ms)])
    assert bench.controller.mode == "idle"
    assert bench.refusal() == ("cold_spread", -1)
    assert "refused" in bench.now_told()


def test_trip_turns_every_output_off_in_the_same_tick():
    bench = Bench().running()
    assert bench.tick() == [True, True]
    last = [True, True]
    while bench.controller.mode == "running":
        last = bench.tick(items=bench.faulty("open"))
    assert last == [False, False]
    assert not bench.controller.alive_due()
    assert bench.trip() == ("open", 0)
    assert bench.now_told().count("trip") == 1


def test_first_act_of_a_trip_is_to_switch_off():
    calls = []

    def off():
        # Nothing has been decided or noted yet: whatever comes after may fail, the relays are off.
        calls.append(bench.controller.guard.trip)

    bench = Bench(off=off).running()
    while bench.controller.mode == "running":
        bench.tick(items=bench.faulty("open"))
    assert calls[0] is None


def test_trip_decided_between_two_ticks_turns_off_at_the_next_edge():
    bench = Bench().running()
    assert bench.tick() == [True, True]
    bench.controller.guard.shut("software", -1, 0.0, 0.0, "", bench.now_ms)
    assert list(bench.controller.outputs(bench.now_ms + 10)) == [False, False]
    assert not bench.controller.alive_due()
    bench.tick()
    assert bench.controller.mode == "tripped"


def test_zone_with_a_bad_reading_is_off_at_once_while_the_other_goes_on():
    bench = Bench().running()
    assert bench.tick(items=bench.faulty("bus")) == [False, True]
    assert "zone_off" in bench.now_told()
    bench.tick()
    assert "zone_back" in bench.now_told()
    assert bench.controller.mode == "running"


def test_zone_over_its_ceiling_is_off_at_once_and_trips_within_a_second():
    bench = Bench(change=put("zones", 0, "ceiling", 170)).running()
    bench.until(lambda: bench.blankets.temps_c[0] >= 140.0)
    for shown_c in range(140, 170, 5):
        bench.shown_c = [float(shown_c), None]
        bench.tick()
    bench.shown_c = [170.5, None]
    assert bench.tick()[0] is False
    bench.ticks(9)
    trip = bench.controller.guard.trip
    assert (trip.code, trip.zone, trip.limit) == ("ceiling", 0, 170.0)
    assert bench.controller.mode == "tripped"


def test_heat_of_every_zone_fades_out_below_a_ceiling():
    bench = Bench(change=put("zones", 0, "ceiling", 170)).running()
    bench.until(lambda: bench.blankets.temps_c[0] >= 140.0)
    for shown_c in (145, 150, 155, 160, 165):
        bench.shown_c = [float(shown_c), 140.0]
        bench.tick()
    # Blankets may lie over one another: the other zone's heat would come here as well.
    bench.shown_c = [170.0 - FADE_TO_K, 140.0]
    bench.ticks(12)
    assert bench.controller.mode == "running"
    assert bench.tick() == [False, False]


def test_ramp_that_never_arrives_trips_with_the_zone_that_is_late():
    stages = [{"kind": "ramp", "zones": ["waist", "full"], "target": 60, "band": 2, "longest_min": 1}]
    bench = Bench(stages).running()
    bench.until(lambda: min(bench.blankets.temps_c) >= 55.0)
    # So near that no answer is missed, and yet not there.
    bench.shown_c = [57.0, 59.0]
    assert bench.trips() > 40.0
    trip = bench.controller.guard.trip
    assert (trip.code, trip.zone, trip.limit, trip.unit) == ("ramp_late", 0, 60.0, "C")
    assert abs(trip.seen - 57.0) < 0.2
    # Nothing is held against the rig any more: a press clears it.
    bench.tick("start")
    assert bench.controller.mode == "idle"


def test_stalled_loop_trips():
    bench = Bench().running()
    assert bench.tick(step_ms=2100) == [False, False]
    assert bench.trip() == ("late_loop", -1)


def test_late_edge_does_not_join_two_zones_that_exclude_each_other():
    bench = Bench(change=NARROW).running()
    controller = bench.controller
    drive = controller.drive
    bench.until(lambda: drive._window_ms == bench.now_ms)
    first_ms = drive._windows.on_ms[0]
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
    assert bench.trip() == ("late_loop", -1)
    bench.tick("start")
    assert bench.controller.mode == "idle"


def test_goal_5_first_cause_stands_when_two_come_within_a_second():
    for first, second in (("open", "bus"), ("bus", "short_ground")):
        bench = Bench().running()
        while bench.controller.mode == "running":
            bench.tick(items=bench.faulty(first, 1))
        for _ in range(40):
            items = bench.faulty(second, 0)
            items[1] = bench.faulty(first, 1)[1]
            bench.tick(items=items)
        assert bench.trip() == (first, 1)
        assert bench.now_told().count("trip") == 1


def test_goal_5_trip_has_one_cause_zone_figure_limit_and_time():
    bench = Bench().tripped()
    trip = bench.controller.guard.trip
    assert (trip.code, trip.zone, trip.unit, trip.limit) == ("open", 0, "s", BAD_TRIP_MS / 1000.0)
    assert trip.seen >= trip.limit
    assert bench.now_ms - 1000 < trip.at_ms <= bench.now_ms


def test_goal_6_trip_is_acknowledged_only_by_a_press_when_the_cause_is_gone():
    bench = Bench().tripped()
    for _ in range(5):
        bench.tick("start", items=bench.faulty("open"))
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


def test_goal_6_cause_that_comes_again_trips_again():
    bench = Bench().tripped()
    bench.ticks(2)
    bench.tick("start")
    assert bench.controller.mode == "idle"
    while bench.controller.mode == "idle":
        bench.tick(items=bench.faulty("bus", 1))
    assert bench.trip() == ("bus", 1)


def test_goal_6_two_resets_in_one_run_lock_out_until_a_press():
    for resets in (2, 3, 7):
        bench = Bench()
        bench.controller.boot(41, resets)
        bench.ticks(20)
        assert bench.controller.mode == "tripped"
        assert bench.trip() == ("resets", -1)
        assert bench.now_told().count("interrupted") == 1
        bench.tick("start")
        assert bench.controller.mode == "idle"


def test_goal_4_one_reset_is_told_and_heats_nothing():
    bench = Bench()
    bench.controller.boot(41, 1)
    for _ in range(300):
        assert bench.tick() == [False, False]
        assert not bench.controller.alive_due()
    assert bench.controller.mode == "idle"
    assert bench.controller.interrupted == 41
    assert bench.now_told() == ["interrupted"]
    # Whoever lays out the next run has read it.
    bench.made_ready()
    assert bench.controller.interrupted == 0


def test_run_after_an_acknowledged_trip_heats_again():
    bench = Bench().tripped()
    bench.ticks(2)
    bench.tick("start")
    bench.running()
    assert bench.tick() == [True, True]
