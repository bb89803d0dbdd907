"""Alive detector, contactor and relays in exact time."""

import pytest

from ribwright_sim.bench import AliveDetector, Bench

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
