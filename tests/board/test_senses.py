"""Readings on their way through the guard: who gets which."""

from board.samples import bench_rig
from ribwright_board.core.drive import Drive
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.guard import LEAP_OFF_MS, STALE_OFF_MS, Guard
from ribwright_board.core.jury import Jury
from ribwright_board.core.senses import DRIVEN_SHARE, Senses
from ribwright_board.core.sensing import Missing, Reading


class Bench:
    """Everything that readings reach."""

    def __init__(self):
        self.rig = bench_rig()
        self.guard = Guard([zone.ceiling_c for zone in self.rig.zones], 0)
        self.drive = Drive(self.rig, 0)
        self.jury = Jury(self.rig, self.guard)
        self.senses = Senses(self.rig.zones)
        self.now_ms = 0

    def take(self, *items):
        self.now_ms += 100
        made = []
        for item in items:
            if isinstance(item, str):
                made.append(Missing(item, self.now_ms))
            elif item is None or isinstance(item, Reading):
                made.append(item)
            else:
                made.append(Reading(item, 21.5, self.now_ms))
        self.senses.take(made, self.guard, self.jury, self.drive, self.now_ms, 100)
        return self.senses

    def told(self):
        found = list(self.senses.events)
        self.senses.events.clear()
        return found


def test_good_readings_reach_the_law_and_the_judges():
    bench = Bench()
    senses = bench.take(25.0, 30.0)
    assert senses.temps_c == [25.0, 30.0]
    assert senses.held == ["", ""]
    assert senses.cold_c == [21.5, 21.5]
    bench.take(26.0, 31.0)
    for loop, wanted_c in zip(bench.drive.loops, (25.5, 30.5)):
        loop.window()
        assert loop.mean_c == wanted_c
    assert bench.jury._samples == [2, 2]


def test_tick_that_finds_nothing_new_leaves_the_newest_reading_and_a_fault_does_not():
    bench = Bench()
    bench.take(25.0, 30.0)
    senses = bench.take(None, None)
    assert (senses.temps_c, senses.newest_c, senses.held) == ([None, None], [25.0, 30.0], ["", ""])
    senses = bench.take("open", 31.0)
    assert senses.newest_c == [None, 31.0]
    # A leap is no reading either, though nothing holds its zone yet.
    senses = bench.take("open", 90.0)
    assert (senses.newest_c, senses.held[1]) == ([None, None], "")


def test_fault_gives_no_number_and_is_told_once():
    bench = Bench()
    bench.take(25.0, 30.0)
    bench.told()
    senses = bench.take("open", 30.0)
    assert senses.temps_c == [None, 30.0]
    assert senses.held == ["open", ""]
    assert bench.told() == [("zone_off", 0, FAULTS["open"][0], 0, "open")]
    bench.take("open", 30.0)
    assert bench.told() == []
    bench.take(25.0, 30.0)
    assert bench.told() == [("zone_back", 0, 0, 0, "")]
    assert bench.jury._samples == [2, 4]


def test_nothing_at_all_is_no_number_and_no_fault_for_a_moment():
    bench = Bench()
    bench.take(25.0, 30.0)
    bench.told()
    for _ in range(STALE_OFF_MS // 100):
        senses = bench.take(None, 30.0)
        assert senses.temps_c[0] is None
        assert senses.held[0] == ""
    assert bench.take(None, 30.0).held[0] == "stale"


def test_spike_reaches_neither_law_nor_judges():
    bench = Bench()
    bench.take(25.0, 30.0)
    for _ in range(LEAP_OFF_MS // 100 - 1):
        senses = bench.take(125.0, 30.0)
        assert senses.temps_c == [None, 30.0]
        assert senses.held == ["", ""]
    bench.drive.loops[0].window()
    assert bench.drive.loops[0].mean_c == 25.0
    assert bench.jury._samples[0] == 1


def test_goal_8_reading_of_long_ago_is_never_used():
    bench = Bench()
    bench.take(25.0, 30.0)
    old = Reading(25.0, 21.5, bench.now_ms)
    for _ in range(STALE_OFF_MS // 100):
        assert bench.take(old, 30.0).temps_c[0] == 25.0
    assert bench.take(old, 30.0).temps_c[0] is None
    assert bench.senses.held[0] == "stale"


def test_goal_8_repeated_bits_count_while_heat_should_move_them():
    bench = Bench()
    judges = bench.jury.judges
    for _ in range(51):
        bench.take(25.0, 30.0)
    # They stand still, and nothing should have moved them.
    assert [judge.still_ms() for judge in judges] == [5000, 5000]
    assert [judge._same_ms for judge in judges] == [0, 0]
    bench.drive.shares = [DRIVEN_SHARE * 2.0, 0.0]
    for _ in range(50):
        bench.take(25.0, 30.0)
    assert [judge.still_ms() for judge in judges] == [10000, 10000]
    assert [judge._same_ms for judge in judges] == [5000, 5000]
    bench.take(25.25, 30.0)
    assert [judge.still_ms() for judge in judges] == [0, 10100]
    assert [judge._same_ms for judge in judges] == [0, 5100]


def test_frozen_bits_are_counted_on_readings_that_are_not_admitted_too():
    bench = Bench()
    bench.drive.shares = [1.0, 0.0]
    bench.take(25.0, 30.0)
    for _ in range(10):
        bench.take(125.0, 30.0)
    assert bench.jury.judges[0].still_ms() == 900


def test_offset_is_taken_off_before_anybody_sees_the_reading():
    bench = Bench()
    bench.rig.zones[0].offset_k = 1.5
    bench.rig.zones[1].offset_k = -2.0
    senses = bench.take(25.0, 30.0)
    assert senses.temps_c == [23.5, 32.0]
    assert senses.trail.last(0)[-1] == 235
    again = Reading(26.0, 21.5, bench.now_ms)
    assert bench.take(again, 30.0).temps_c[0] == 24.5
    # The answer of a slow converter comes in several ticks.
    assert bench.take(again, 30.0).temps_c[0] == 24.5
    bench.take("open", None)
    assert senses.temps_c == [None, None]
    bench.drive.loops[1].window()
    assert bench.drive.loops[1].mean_c == 32.0


def test_ceiling_holds_for_the_temperature_and_not_for_what_a_converter_shows():
    bench = Bench()
    ceiling_c = bench.rig.zones[0].ceiling_c
    bench.rig.zones[0].offset_k = -2.0
    for _ in range(40):
        # Shown is less than the ceiling; there is more.
        senses = bench.take(ceiling_c - 1.0, 30.0)
    assert bench.guard.trip is not None
    assert (bench.guard.trip.code, bench.guard.trip.zone) == ("ceiling", 0)
    assert senses.held[0] == "ceiling"
