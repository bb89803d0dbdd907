"""Readings that cannot be meant: a lone spike, a step that stays, and noise."""

from board.guarding import Bench, good, rounds_to_trip

# In plain numbers: a rule that has grown weaker shows here.
LEAP_OFF_MS = 1000
LEAP_TRIP_MS = 2000
NOISY_TRIP_MS = 3000


def test_lone_spike_is_passed_over():
    bench = Bench()
    bench.guard.heating = True
    bench.feed(good(150.0), 5)
    for spike_c in (150.0 + 80.0, 150.0 - 120.0, 150.0 + 7.0):
        assert bench.feed(good(spike_c)) is None
        assert bench.guard.held(0) == ""
        assert bench.feed(good(150.0)) == 150.0
    assert bench.allow() == 0.5


def test_fastest_rise_that_a_bare_blanket_can_make_is_no_leap():
    # 15.5 kW/m2 on 2340 J/m2K are 6.6 K/s, with mains 10 % high 8 K/s.
    bench = Bench(1, 200.0)
    bench.guard.heating = True
    at_c = 20.0
    while at_c < 190.0:
        at_c += 0.8
        assert bench.feed(good(at_c)) == at_c


def test_leap_that_stays_holds_the_zone_after_one_second_and_trips_after_two():
    bench = Bench()
    bench.guard.heating = True
    bench.feed(good(150.0), 5)
    bench.feed(good(25.0), LEAP_OFF_MS // 100 - 1)
    assert bench.guard.held(0) == ""
    bench.feed(good(25.0))
    assert bench.guard.held(0) == "leap"
    assert bench.allow() == 0.0
    left = (LEAP_TRIP_MS - LEAP_OFF_MS) // 100
    assert rounds_to_trip(bench, good(25.0)) == left
    trip = bench.guard.trip
    assert (trip.code, trip.seen, trip.limit, trip.unit) == ("leap", 25.0, 150.0, "C")


def test_leap_within_what_the_time_allows_is_believed_in_the_end():
    # A cold form takes 30 K from the reading: 5 K at once and 15 K/s, so it counts after 1.7 s.
    bench = Bench()
    bench.guard.heating = True
    bench.feed(good(150.0), 5)
    count = 1
    while count < 20 and bench.feed(good(120.0)) is None:
        count += 1
    assert count == 17
    assert bench.guard.trip is None
    assert bench.guard.held(0) == ""


def test_goal_9_leap_is_judged_while_nothing_heats_and_the_new_level_can_be_acknowledged():
    bench = Bench()
    bench.feed(good(25.0), 5)
    assert rounds_to_trip(bench, good(120.0)) == LEAP_TRIP_MS // 100
    assert bench.guard.trip.code == "leap"
    assert not bench.guard.clear()
    # From here on the new level is what is seen.
    assert bench.feed(good(120.0)) == 120.0
    assert bench.guard.clear()
    assert bench.feed(good(120.5)) == 120.5


def test_readings_that_land_anywhere_are_noise_and_no_leap():
    bench = Bench()
    bench.feed(good(60.0), 5)
    rounds = 0
    while bench.guard.trip is None and rounds < 100:
        bench.feed(good((160.0, 220.0, 300.0)[rounds % 3]))
        rounds += 1
    assert bench.guard.trip.code == "noisy"
    assert rounds == NOISY_TRIP_MS // 100


def rounds_of_noise_to_trip(of_ten, rounds=1000):
    """Rounds until a reading that jumps in so many of ten rounds trips; 0 for never."""
    bench = Bench()
    bench.guard.heating = True
    bench.feed(good(150.0), 5)
    for count in range(rounds):
        bench.feed(good(200.0 if count * of_ten % 10 < of_ten else 150.0))
        if bench.guard.trip:
            assert bench.guard.trip.code == "noisy"
            return count + 1
    return 0


def test_reading_that_jumps_in_three_rounds_of_ten_is_noisy_in_the_end():
    # Every jump counts one round and every good reading gives back three sevenths of one.
    assert rounds_of_noise_to_trip(2) == 0
    assert 0 < rounds_of_noise_to_trip(4) < rounds_of_noise_to_trip(3, 6000)
    assert rounds_of_noise_to_trip(5) < 120


def test_noise_holds_the_zone_after_one_second_of_it_and_is_forgotten():
    bench = Bench()
    bench.feed(good(25.0), 5)
    for spike_c in (90.0, 130.0) * 5:
        assert not bench.guard.noisy(0)
        bench.feed(good(spike_c))
    assert bench.guard.held(0) == "noisy"
    assert bench.guard.noisy(0)
    assert bench.allow() == 0.0
    bench.feed(good(25.0))
    assert bench.guard.held(0) == ""
    # A good round gives back three sevenths of a bad one.
    bench.feed(good(25.0), 30)
    assert not bench.guard.noisy(0)


def test_two_levels_fifteen_kelvin_apart_are_noise_and_no_leap():
    bench = Bench()
    bench.guard.heating = True
    bench.feed(good(150.0), 5)
    for count in range(60):
        bench.feed(good(25.0 if count % 2 else 40.0))
        if bench.guard.trip:
            break
    assert bench.guard.trip.code == "noisy"
