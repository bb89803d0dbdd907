"""What the guard judges of the whole rig: contactor, converters, memory, and room below a ceiling."""

from board.guarding import Bench, good

NAN = float("nan")


def test_memory_that_changed_a_ceiling_trips_before_a_reading_is_judged_by_it():
    for spoiled in (900.0, 191.0, NAN, float("inf")):
        bench = Bench(2, 190.0)
        bench.feed(good())
        bench.guard._zones[1].ceiling.value = spoiled
        bench.guard.tick(bench.now_ms + 100)
        trip = bench.guard.trip
        assert (trip.code, trip.zone, trip.limit) == ("memory", 1, 190.0)
        assert bench.allow() == 0.0


def rig_rounds(bench, alive, contactor, rounds=100):
    """Rounds until the rig's own check trips; 0 for never."""
    for count in range(1, rounds + 1):
        bench.now_ms += 100
        bench.guard.judge_rig(alive, contactor, bench.now_ms, 100)
        if bench.guard.trip:
            return count
    return 0


def test_contactor_that_does_not_follow_trips_by_its_name():
    wanted = 15
    for alive, contactor, code in ((True, False, "contactor_open"), (False, True, "contactor_closed")):
        bench = Bench()
        bench.feed(good())
        assert rig_rounds(bench, alive, contactor) == wanted
        assert (bench.guard.trip.code, bench.guard.trip.zone) == (code, -1)


def test_contactor_that_follows_or_is_not_watched_is_no_fault():
    for alive, contactor in ((True, True), (False, False), (True, None), (False, None)):
        bench = Bench()
        bench.feed(good())
        assert rig_rounds(bench, alive, contactor) == 0
    # It takes 0.82 s to follow, twenty times over.
    bench = Bench()
    for _ in range(20):
        assert rig_rounds(bench, True, False, 9) == 0
        assert rig_rounds(bench, True, True, 1) == 0


def test_converters_that_drift_apart_while_heating_trip_after_five_seconds():
    bench = Bench(2)
    bench.feed(good())
    wanted = 50
    for apart_k, heating, rounds in (
        (11.0, True, wanted),
        (10.0, True, 0),
        (11.0, False, 0),
    ):
        bench = Bench(2)
        bench.feed(good())
        bench.guard.heating = heating
        bench.guard._zones[1].cold_c = 20.0 + apart_k
        assert rig_rounds(bench, False, None) == rounds


def test_heat_of_all_zones_fades_with_the_room_below_the_nearest_ceiling():
    # Straight from all of it at 8 K below to none at 3 K below.
    for below_k, share in (
        (9.0, 1.0),
        (8.0, 1.0),
        (5.5, 0.5),
        (3.0, 0.0),
        (1.0, 0.0),
    ):
        bench = Bench(2, 190.0)
        bench.feed(good(190.0 - below_k))
        assert abs(bench.allow(1.0, 1) - share) < 1e-6
        assert bench.allow(0.05, 1) == min(0.05, share)
