"""All zones' judges at work."""

from board.samples import bench_rig, profile_of, until
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.guard import Guard
from ribwright_board.core.jury import NEAR_SHARE, Jury
from ribwright_board.core.sensing import Missing

STAGES = [{"kind": "ramp", "zones": ["waist", "full"], "target": 150}]


class Bench:
    """A jury with the guard it reports to."""

    def __init__(self):
        self.rig = bench_rig()
        self.guard = Guard([zone.ceiling_c for zone in self.rig.zones], 0)
        self.jury = Jury(self.rig, self.guard)
        self.now_ms = 0
        self.temps_c = [20.0, 20.0]
        self.told = []

    def second(self, rises_k=(0.0, 0.0), shares=(0.0, 0.0), targets_c=None):
        self.temps_c = [at_c + rise_k for at_c, rise_k in zip(self.temps_c, rises_k)]
        for _ in range(10):
            for zone in (0, 1):
                self.jury.take(zone, self.temps_c[zone])
        self.now_ms += 1000
        self.jury.second(targets_c, list(shares), True, self.now_ms, 1000)
        self.told += self.jury.events
        self.jury.events = []

    def trips_in(self, most_s, *args):
        for count in range(1, most_s + 1):
            self.second(*args)
            if self.guard.trip:
                return count
        return 0


def test_trip_names_zone_code_and_the_rules_own_figures():
    bench = Bench()
    assert bench.trips_in(60, (0.0, 1.0)) > 0
    trip = bench.guard.trip
    assert (trip.code, trip.zone, trip.unit, trip.at_ms) == ("heat_while_off", 1, "K", bench.now_ms)
    assert trip.seen > trip.limit


def test_mean_of_the_second_is_judged_not_its_last_reading():
    bench = Bench()
    for second in range(60):
        for count in range(10):
            bench.jury.take(0, 20.0 + second * 1.0 * (count == 9))
        bench.jury.second(None, [0.0, 0.0], False, 1000 * second, 1000)
    # A tenth of the rise of the last readings: a tenth of a kelvin in a second is no heat.
    assert bench.guard.trip is None


def test_zone_without_a_reading_is_not_judged():
    bench = Bench()
    for second in range(100):
        bench.jury.take(0, 20.0)
        bench.jury.second([150.0, 150.0], [0.0, 1.0], True, 1000 * second, 1000)
    assert bench.guard.trip is None


def test_neighbours_heat_explains_a_rise_and_no_more_than_it_brings():
    bench = Bench()
    near_k = NEAR_SHARE * bench.jury.expects[1].rate_k_per_s
    assert bench.trips_in(25, (0.9 * near_k, 0.9 * near_k), (0.0, 1.0), [None, 1000.0]) == 0
    bench = Bench()
    assert bench.trips_in(60, (1.5 * near_k + 1.0, 0.5), (0.0, 1.0), [None, 1000.0]) > 0
    assert bench.guard.trip.code == "heat_while_off"


def test_suspicion_and_its_end_are_told_once():
    bench = Bench()
    bench.temps_c = [60.0, 60.0]
    until(lambda: bench.told, lambda: bench.second((0.0, 1.0), (1.0, 1.0), [180.0, 180.0]))
    for _ in range(3):
        bench.second((0.0, 0.0), (1.0, 0.0), [180.0, 180.0])
    number = FAULTS["no_rise"][0]
    assert bench.told == [("suspect", 0, number, 0, "no_rise")]
    assert bench.guard.judges[0].cap < 1.0
    assert bench.guard.judges[1].cap == 1.0
    for _ in range(60):
        bench.second((1.0, 0.0), (1.0, 0.0), [180.0, 180.0])
    assert bench.told[1:] == [("suspect_over", 0, number, 0, "no_rise")]
    assert bench.guard.trip is None
    assert bench.guard.judges[0].cap == 1.0


def test_form_that_meets_a_zone_takes_heat_from_that_zone_alone():
    bench = Bench()
    bench.temps_c = [60.0, 60.0]
    bench.jury.meet_form([1])
    seconds = {}
    for second in range(120):
        bench.second((0.0, 0.0), (1.0, 1.0), [180.0, 180.0])
        for name, zone, *_ in bench.told:
            seconds.setdefault((name, zone), second)
    assert seconds["suspect", 0] + 10 <= seconds["suspect", 1]


def test_loading_a_profile_expects_its_load_and_ends_old_suspicion():
    bench = Bench()
    bench.temps_c = [60.0, 60.0]
    until(lambda: bench.told, lambda: bench.second((0.0, 1.0), (1.0, 1.0), [180.0, 180.0]))
    empty = bench.jury.expects[0].rate_k_per_s
    bench.jury.load(profile_of(STAGES, bench.rig))
    assert bench.jury.expects[0].rate_k_per_s < empty
    assert bench.guard.judges is bench.jury.judges
    bench.second()
    assert [event[0] for event in bench.told] == ["suspect", "suspect_over"]


def test_what_the_proof_has_shown_reaches_each_zone():
    bench = Bench()
    bench.jury.learn([0.8, 1.2], [22.0, 23.0])
    assert [expect.factor for expect in bench.jury.expects] == [0.8, 1.2]
    assert [expect.ambient_c for expect in bench.jury.expects] == [22.0, 23.0]


def test_first_zone_to_trip_stands_when_both_break_a_rule_in_one_second():
    bench = Bench()
    assert bench.trips_in(60, (1.0, 1.0)) > 0
    assert bench.guard.trip.zone == 0


def test_goal_9_heat_under_way_is_no_fault_of_the_next_run_and_evidence_is_not_reset_by_it():
    # Stopped in mid-ramp and laid out again at once: the reading climbs on by its lag.
    bench = Bench()
    profile = profile_of(STAGES, bench.rig)
    bench.jury.load(profile)
    for _ in range(20):
        bench.second((1.2, 1.2), (1.0, 1.0), [1000.0, 1000.0])
    bench.jury.load(profile)
    for second in range(40):
        late_k = 1.2 * 0.78**second
        bench.second((late_k, late_k))
    assert bench.guard.trip is None
    # A computer that lays out again and again does not blind the rig to a relay that stays on.
    bench = Bench()
    for _ in range(30):
        bench.jury.load(profile)
        bench.second((0.5, 0.0))
    assert bench.guard.trip.code == "heat_while_off"


def test_second_of_noise_is_not_judged():
    bench = Bench()
    bench.guard._zones[1].noisy_ms = 1500
    assert bench.trips_in(60, (0.0, 2.0)) == 0


def noise(bench, zone, ticks):
    """So many ticks of readings that cannot be meant."""
    now_ms = bench.now_ms
    for _ in range(ticks):
        now_ms += 100
        bench.guard.admit(zone, Missing("implausible", now_ms), now_ms, 100)


def test_second_with_noise_has_no_mean_worth_judging():
    for ticks, wanted in ((2, True), (3, False)):
        bench = Bench()
        noise(bench, 1, ticks)
        assert (bench.trips_in(60, (0.0, 1.0)) > 0) == wanted, ticks


def test_verdict_of_a_proof_on_noise_is_noise():
    bench = Bench()
    assert bench.jury.named("heat_while_off", 0) == "heat_while_off"
    noise(bench, 0, 4)
    for code in ("heat_while_off", "fast_rise", "no_rise", "weak_rise", "swapped", "contactor_closed"):
        assert bench.jury.named(code, 0) == "noisy"
        assert bench.jury.named(code, 1) == code
        assert bench.jury.named(code, -1) == code
    # A single step of a reading throws away as many.
    for code in ("leap", "stay", "proved", "ask", "open"):
        assert bench.jury.named(code, 0) == code
    noise(bench, 0, 2)
    assert bench.jury.named("leap", 0) == "noisy"
    assert bench.jury.named("open", 0) == "open"
