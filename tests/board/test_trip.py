"""A named cause, for people, for the link and for the log."""

from board.samples import bench_rig
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.trip import Trip, trip_words
from ribwright_board.core.units import TENTHS_MISSING


def test_trip_for_people_says_zone_figures_unit_and_advice():
    words = trip_words(Trip("ceiling", 0, 195.5, 190.0, "C", 5000), bench_rig())
    assert words.startswith("ceiling: waist: seen 195.50, limit 190.00 C; ")
    assert words.endswith(FAULTS["ceiling"][1])


def test_trip_of_the_whole_rig_names_no_zone():
    words = trip_words(Trip("late_loop", -1, 2.5, 2.0, "s", 5000), bench_rig())
    assert words.startswith("late_loop: rig: seen 2.50, limit 2.00 s; ")


def test_cause_without_figures_shows_none():
    words = trip_words(Trip("files", -1, 0.0, 0.0, "", 5000), bench_rig())
    assert words == "files: rig: " + FAULTS["files"][1]


def test_every_fault_has_words_of_one_line():
    rig = bench_rig()
    for code in FAULTS:
        words = trip_words(Trip(code, 1, 1.0, 2.0, "K", 0), rig)
        assert words.startswith(code + ": full: ")
        assert "\n" not in words


def test_faults_that_share_an_advice_are_those_that_look_alike_to_a_thermocouple():
    alike = {}
    for code in FAULTS:
        alike.setdefault(FAULTS[code][1], []).append(code)
    together = sorted(sorted(codes) for codes in alike.values() if len(codes) > 1)
    assert together == [
        ["ceiling", "fast_rise", "heat_while_off", "too_hot"],
        ["detached", "leap", "no_rise", "ramp_late", "weak_rise"],
        ["implausible", "noisy", "reversed"],
    ]


def test_log_shows_a_temperature_only_when_it_was_one():
    assert Trip("ceiling", 0, 195.25, 190.0, "C", 0).reading() == 1953
    for unit in ("s", "K", "", "resets"):
        assert Trip("open", 0, 2.0, 2.0, unit, 0).reading() == TENTHS_MISSING


def test_link_gets_every_figure():
    values = Trip("no_rise", 1, 1.239, 4.0, "K", 7000).values()
    assert values == {"code": "no_rise", "zone": 1, "seen": 1.23, "limit": 4.0, "unit": "K", "ms": 7000}


def test_figure_that_memory_has_spoiled_is_still_a_trip_that_can_be_told():
    for spoiled in (float("nan"), float("inf"), float("-inf")):
        trip = Trip("memory", 0, spoiled, 190.0, "C", 0)
        assert trip.reading() == 0
        assert trip.values()["seen"] == 0.0
        assert "memory" in trip_words(trip, bench_rig())
