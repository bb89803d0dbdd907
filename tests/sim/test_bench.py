"""Alive detector, contactor, relays and cut-offs in exact time, whole and broken."""

import math

import pytest

from ribwright_sim.bench import AliveDetector, Bench
from ribwright_sim.cutoff import CutOff

MS = 1000


def edges(detector, gap_ms, count, start_ms=0):
    """Feed edges a fixed gap apart; the moment of the last one in us."""
    at_us = start_ms * MS
    for n in range(count):
        at_us = (start_ms + n * gap_ms) * MS
        detector.edge(at_us)
    return at_us


@pytest.mark.parametrize(
    ("gap_ms", "accepted"), [(59, False), (60, True), (100, True), (600, True), (601, False), (900, False)]
)
def test_only_gaps_of_60_to_600_ms_hold_the_detector(gap_ms, accepted):
    detector = AliveDetector()
    edges(detector, gap_ms, 8)
    assert detector.on is accepted


def test_two_good_gaps_are_not_enough():
    detector = AliveDetector()
    edges(detector, 100, 3)
    assert not detector.on
    edges(detector, 100, 1, start_ms=300)
    assert detector.on


def test_the_detector_drops_720_ms_after_the_last_good_edge_whatever_races_after_it():
    detector = AliveDetector()
    last_us = edges(detector, 100, 10)
    for n in range(1, 30):
        detector.edge(last_us + n * 20 * MS)
    assert detector.drop_us == last_us + 720 * MS


def run(bench, until_ms):
    """Settle everything due, one moment after the other; the moments in ms at which the power changed."""
    moments = []
    while (due_us := bench.next_us()) is not None and due_us <= until_ms * MS:
        before = bench.powered()
        bench.settle(due_us)
        if bench.powered() != before:
            moments.append(due_us // MS)
    return moments


def alive_for(bench, ticks):
    """Tick at 10 Hz, settling in between; the moment of the last edge in ms."""
    for n in range(ticks):
        run(bench, n * 100)
        bench.set_pin(22, (n + 1) % 2, n * 100 * MS)
    return (ticks - 1) * 100


def test_power_needs_relay_and_contactor_and_ends_820_ms_after_the_last_edge():
    bench = Bench((20, 21), 22)
    bench.set_pin(20, 1, 0)
    last_ms = alive_for(bench, 4)
    assert bench.powered() == (False, False)
    assert run(bench, last_ms + 99) == []
    assert run(bench, last_ms + 100) == [last_ms + 100]
    assert bench.powered() == (True, False)
    assert run(bench, 60_000) == [last_ms + 820]
    assert bench.powered() == (False, False)
    assert bench.next_us() is None


def test_a_welded_relay_heats_only_behind_a_closed_contactor():
    bench = Bench((20, 21), 22)
    bench.stuck[1] = "on"
    assert bench.powered() == (False, False)
    alive_for(bench, 8)
    assert bench.powered() == (False, True)
    bench.stuck[1] = "off"
    bench.set_pin(21, 1, 800 * MS)
    assert bench.powered() == (False, False)


def test_a_reset_lets_every_relay_go():
    bench = Bench((20, 21), 22)
    bench.set_pin(20, 1, 0)
    alive_for(bench, 8)
    bench.release(750 * MS)
    assert bench.levels == [False, False]
    assert bench.powered() == (False, False)


def closed_bench(**faults):
    """A bench with two relays whose contactor was closed by eight ticks, then the faults."""
    bench = Bench((20, 21), 22)
    alive_for(bench, 8)
    for name, value in faults.items():
        setattr(bench, name, value)
    bench.settle(700 * MS)
    return bench


@pytest.mark.parametrize(
    ("stuck", "off", "on"),
    [(None, 0.0, 1.0), ("on", 1.0, 1.0), ("off", 0.0, 0.0), ("half", 0.5, 1.0)],
)
def test_share_of_power_through_a_broken_relay(stuck, off, on):
    bench = closed_bench(stuck=[stuck, None])
    assert bench.powered() == (off, 0.0)
    bench.set_pin(20, 1, 710 * MS)
    assert bench.powered() == (on, 0.0)


def test_a_stuck_pin_is_seen_by_the_hardware_and_not_by_the_board():
    bench = closed_bench(pin_stuck={20: 1, 21: 0})
    bench.set_pin(21, 1, 710 * MS)
    assert bench.levels == [True, False]
    assert bench.commanded == [False, True]
    assert bench.powered() == (1.0, 0.0)
    bench.pin_stuck.clear()
    assert bench.powered() == (0.0, 1.0)


@pytest.mark.parametrize("level", [0, 1])
def test_an_alive_line_that_sticks_ends_the_power(level):
    bench = closed_bench(pin_stuck={22: level})
    bench.set_pin(20, 1, 710 * MS)
    for n in range(8, 30):
        run(bench, n * 100)
        bench.set_pin(22, (n + 1) % 2, n * 100 * MS)
    assert not bench.contactor
    assert bench.powered() == (0.0, 0.0)


def test_a_welded_contactor_stays_closed_without_any_sign_of_life_and_its_feedback_says_so():
    bench = closed_bench(contactor_stuck="closed")
    run(bench, 60_000)
    assert not bench.detector.on
    assert bench.feedback()
    bench.set_pin(20, 1, 60_000 * MS)
    assert bench.powered() == (1.0, 0.0)
    bench.contactor_stuck = None
    assert not bench.feedback()


def test_a_dead_contactor_lets_nothing_through_however_alive_the_board_is():
    bench = closed_bench(contactor_stuck="open")
    bench.set_pin(20, 1, 710 * MS)
    assert bench.detector.on
    assert not bench.feedback()
    assert bench.powered() == (0.0, 0.0)


def test_the_emergency_button_opens_the_contactor_within_its_own_time_without_the_board():
    bench = closed_bench()
    bench.set_pin(20, 1, 710 * MS)
    bench.estop = True
    bench.settle(720 * MS)
    assert bench.powered() == (1.0, 0.0)
    assert run(bench, 830) == [820]
    assert bench.detector.on
    assert bench.powered() == (0.0, 0.0)


def test_crossed_relays_heat_each_others_blanket():
    bench = closed_bench(crossed=(1, 0))
    bench.set_pin(20, 1, 710 * MS)
    assert bench.powered() == (0.0, 1.0)
    bench.stuck[1] = "half"
    assert bench.powered() == (0.5, 1.0)


def test_without_supply_the_contactor_falls_in_its_own_time_not_in_the_detectors():
    bench = closed_bench()
    bench.stuck[0] = "on"
    bench.lose_supply(710 * MS)
    assert bench.commanded == [False, False]
    assert run(bench, 60_000) == [810]
    assert bench.powered() == (0.0, 0.0)


def test_a_cut_off_lags_a_ramp_by_its_time_constant_whatever_the_steps():
    # Closed form of a first-order lag behind a ramp of r K/s from rest: r * (t - lag * (1 - exp(-t / lag))).
    rate, lag_s, end_s = 3.0, 20.0, 60.0
    exact_c = 20.0 + rate * (end_s - lag_s * (1.0 - math.exp(-end_s / lag_s)))
    for steps in (1, 7, 600):
        cutoff = CutOff(lag_s=lag_s)
        for n in range(steps + 1):
            cutoff.feed(20.0 + rate * end_s * n / steps, end_s / steps)
        assert cutoff.sensor_c == pytest.approx(exact_c, abs=1e-9)


def test_a_cut_off_opens_at_215_c_and_stays_open_when_all_is_cold_again():
    bench = closed_bench()
    bench.set_pin(20, 1, 710 * MS)
    assert not bench.feed(0, 214.9, 0.0)
    assert not bench.feed(0, 214.9, 600.0)
    assert bench.powered() == (1.0, 0.0)
    assert bench.feed(0, 230.0, 600.0)
    assert bench.powered() == (0.0, 0.0)
    bench.feed(0, 20.0, 6000.0)
    bench.release(800 * MS)
    alive_for(bench, 8)
    bench.set_pin(20, 1, 1600 * MS)
    bench.set_pin(21, 1, 1600 * MS)
    assert bench.powered() == (0.0, 1.0)


def test_a_driver_that_inverts_heats_while_its_pin_says_off():
    bench = closed_bench(inverted=[True, False])
    assert bench.commanded == [False, False]
    assert bench.powered() == (1.0, 0.0)
    bench.set_pin(20, 1, 710 * MS)
    assert bench.powered() == (0.0, 0.0)


@pytest.mark.parametrize(("gap_ms", "closed"), [(5, False), (40, False), (100, True), (900, False)])
def test_an_alive_line_that_runs_by_itself_is_judged_by_its_own_gaps(gap_ms, closed):
    bench = closed_bench(race_us=gap_ms * MS)
    run(bench, 3000)
    assert bench.contactor is closed
    assert bench.alive == 0
