"""Two doors and one trip: what counts against a zone, for how long, and what stands."""

from board.guarding import Bench, bad, good, nothing, rounds_to_trip
from ribwright_board.core.sensing import Reading

# In plain numbers: a rule that has grown weaker shows here.
BAD_TRIP_MS = 2000
NAN = float("nan")


def test_good_reading_passes_and_heat_is_allowed():
    bench = Bench()
    assert bench.feed(good(150.0)) == 150.0
    assert bench.guard.held(0) == ""
    assert bench.allow(0.3) == 0.3
    assert bench.allow(1.7) == 1.0


def test_zone_never_seen_counts_as_stale_and_gets_no_heat():
    bench = Bench()
    assert bench.guard.held(0) == "stale"
    assert not bench.guard.seen(0)
    assert bench.allow() == 0.0
    assert rounds_to_trip(bench, nothing) == 20
    assert bench.guard.trip.code == "stale"


def test_named_fault_holds_the_zone_at_once_and_trips_after_two_seconds():
    for code in ("open", "short_ground", "short_supply", "no_chip", "bus", "implausible"):
        bench = Bench()
        bench.feed(good())
        assert bench.feed(bad(code)) is None
        assert bench.guard.held(0) == code
        assert bench.allow() == 0.0
        assert rounds_to_trip(bench, bad(code)) == BAD_TRIP_MS // 100 - 1
        assert bench.guard.trip.code == code
        assert (bench.guard.trip.zone, bench.guard.trip.unit) == (0, "s")


def test_silence_keeps_heat_for_one_second_and_trips_after_two():
    bench = Bench()
    bench.feed(good())
    bench.feed(nothing, 10)
    assert bench.guard.held(0) == ""
    assert bench.allow() == 0.5
    bench.feed(nothing)
    assert bench.guard.held(0) == "stale"
    assert bench.allow() == 0.0
    assert rounds_to_trip(bench, nothing) == 9
    trip = bench.guard.trip
    assert (trip.code, trip.limit, trip.unit) == ("stale", 2.0, "s")
    assert trip.seen >= 2.0


def test_reading_of_long_ago_is_not_fresh_however_often_it_is_shown():
    bench = Bench()
    bench.feed(good())
    stopped_ms = bench.now_ms

    def frozen(_now_ms):
        return Reading(150.0, 20.0, stopped_ms)

    assert bench.feed(frozen, 10) == 150.0
    assert bench.feed(frozen) is None
    assert bench.allow() == 0.0
    assert rounds_to_trip(bench, frozen) == 9
    assert bench.guard.trip.code == "stale"


def test_nan_and_the_infinite_are_never_admitted():
    for value in (NAN, float("inf"), float("-inf"), 1e9):
        bench = Bench()
        assert bench.feed(good(value)) is None
        assert bench.allow() == 0.0
        bench.feed(good())
        bench.feed(good(value), 11)
        assert bench.allow() == 0.0
        assert rounds_to_trip(bench, good(value)) == 9


def test_gaps_shorter_than_a_second_are_no_fault():
    bench = Bench()
    for _ in range(100):
        bench.feed(good())
        bench.feed(nothing, 9)
    assert bench.guard.trip is None
    assert bench.guard.held(0) == ""


def test_single_bad_frames_never_trip_because_evidence_decays():
    bench = Bench()
    for _ in range(200):
        bench.feed(bad("bus"))
        bench.feed(good(), 2)
    assert bench.guard.trip is None


def test_fault_that_is_there_more_than_it_is_not_trips_in_the_end():
    bench = Bench()
    for _ in range(60):
        bench.feed(bad("short_ground"), 2)
        bench.feed(good())
    assert bench.guard.trip.code == "short_ground"


def test_reading_above_the_ceiling_holds_at_once_and_trips_after_one_second():
    bench = Bench(1, 190.0)
    bench.feed(good(190.0), 50)
    assert bench.guard.held(0) == ""
    assert bench.feed(good(190.25)) == 190.25
    assert bench.guard.held(0) == "ceiling"
    assert bench.allow() == 0.0
    assert rounds_to_trip(bench, good(190.25)) == 9
    trip = bench.guard.trip
    assert (trip.code, trip.seen, trip.limit, trip.unit) == ("ceiling", 190.25, 190.0, "C")


def test_short_visits_above_the_ceiling_are_forgotten():
    bench = Bench(1, 190.0)
    for _ in range(50):
        bench.feed(good(191.0), 4)
        bench.feed(good(189.0), 4)
    assert bench.guard.trip is None


def test_first_cause_stands():
    bench = Bench(2)
    bench.feed(good(25.0))
    bench.feed(bad("open"), 25, 1)
    first = bench.guard.trip
    assert (first.code, first.zone) == ("open", 1)
    bench.feed(good(250.0), 30)
    bench.guard.shut("late_loop", -1, 9.0, 2.0, "s", bench.now_ms)
    assert bench.guard.trip is first


def test_trip_stands_when_the_cause_is_gone():
    bench = Bench()
    bench.feed(bad("open"), 30)
    bench.feed(good(), 600)
    assert bench.guard.trip.code == "open"
    assert bench.allow(1.0) == 0.0


def test_trip_of_one_zone_turns_every_zone_off():
    bench = Bench(2)
    bench.feed(good())
    assert bench.allow(0.5, 1) == 0.5
    bench.feed(bad("open"), 25)
    assert bench.guard.held(1) == ""
    assert bench.allow(0.5, 1) == 0.0


def test_trip_is_cleared_only_when_nothing_is_held_against_any_zone():
    bench = Bench(2)
    bench.feed(good())
    bench.feed(bad("open"), 25)
    assert not bench.guard.clear()
    assert bench.guard.trip is not None
    bench.feed(good())
    assert bench.guard.clear()
    assert bench.guard.trip is None
    assert bench.allow() == 0.5
    # Old evidence is forgotten with the trip: the full time counts again.
    assert rounds_to_trip(bench, bad("open")) == 20


def test_late_round_is_a_fault_of_the_rig():
    bench = Bench()
    bench.feed(good())
    assert bench.guard.tick(bench.now_ms + 2000) == 2000
    assert bench.guard.trip is None
    assert bench.guard.tick(bench.now_ms + 2000 + 2001) == 2001
    trip = bench.guard.trip
    assert (trip.code, trip.zone, trip.limit) == ("late_loop", -1, 2.0)


def test_heat_is_never_allowed_for_a_duty_that_is_no_number_or_not_positive():
    bench = Bench()
    bench.feed(good())
    for duty in (NAN, 0.0, -1.0, float("-inf")):
        assert bench.allow(duty) == 0.0
    assert bench.allow(float("inf")) == 1.0


def test_heat_ends_when_no_round_is_judged_any_more():
    bench = Bench()
    bench.feed(good())
    assert bench.guard.allow(0, 0.5, bench.now_ms + 1000) == 0.5
    assert bench.guard.allow(0, 0.5, bench.now_ms + 1001) == 0.0


def test_off_is_called_before_anything_is_decided_and_every_time():
    seen = []
    bench = Bench(1, off=lambda: seen.append(bench.guard.trip))
    bench.guard.shut("open", 0, 2.0, 2.0, "s", 1000)
    bench.guard.shut("late_loop", -1, 9.0, 2.0, "s", 1100)
    assert seen[0] is None
    assert [trip.code for trip in seen[1:]] == ["open"]


def test_goal_8_nothing_plausible_from_nothing():
    old_ms = 1000
    for make in (
        nothing,
        bad("no_chip"),
        bad("implausible"),
        good(NAN),
        good(float("inf")),
        good(-1e9),
        lambda _now_ms: Reading(60.0, 20.0, old_ms),
    ):
        bench = Bench()
        bench.feed(make, 11)
        for _ in range(30):
            bench.feed(make)
            assert bench.allow(1.0) == 0.0
        assert bench.guard.trip is not None
        assert not bench.guard.clear()


def test_zone_that_was_never_seen_is_held_from_its_first_round_on():
    bench = Bench()
    bench.feed(nothing)
    assert bench.guard.held(0) == "stale"


def test_heat_fades_out_where_a_zone_runs_far_above_all_that_is_wanted():
    for above_k, least, most in ((12.0, 0.5, 0.5), (22.5, 0.45, 0.5), (30.0, 0.05, 0.15), (32.0, 0.0, 0.0)):
        bench = Bench()
        bench.guard.hottest_c = 120.0
        bench.feed(good(120.0 + above_k))
        assert least <= bench.allow(0.5) <= most, above_k
    bench.guard.hottest_c = None
    assert bench.allow(0.5) == 0.5
