"""The campaign's quick readings against the converter they stand for, and what broken wires show."""

import statistics

import pytest

from ribwright_board.core.sensing import Missing, Reading
from ribwright_sim.campaign.signals import HIGHEST_C, LOWEST_C, Converter, Wire, quick_mv, reading
from ribwright_sim.chips import Max31855, indicated_c
from ribwright_sim.emf import type_k_mv


def seen_c(converter, hot_c, cold_c=25.0):
    item = reading(converter.convert(hot_c, cold_c), 0)
    assert isinstance(item, Reading)
    return item.temperature_c


@pytest.mark.parametrize("hot_c", [-39.7, -0.4, 0.0, 0.5, 21.3, 126.97, 150.5, 199.99, 349.2, 777.7])
def test_quick_curve_is_the_reference_function_within_a_thousandth_of_a_degree(hot_c):
    assert abs(quick_mv(hot_c) - type_k_mv(hot_c)) < 0.04e-3


def test_quick_curve_stops_at_its_ends():
    assert quick_mv(5000.0) == quick_mv(HIGHEST_C)
    assert quick_mv(-5000.0) == quick_mv(LOWEST_C)


def test_quick_frames_are_the_frames_of_the_chip():
    converter = Converter(3, noise_k=0.0)
    slow = Max31855(seed=3, noise_k=0.0)
    for tenth in range(200, 2000, 7):
        quick = converter.convert(tenth / 10.0, 24.5)
        assert quick == int.from_bytes(slow.convert(tenth / 10.0, 24.5), "big")


def test_firmware_gets_the_junctions_temperature_back_from_a_quick_frame():
    converter = Converter(4, noise_k=0.0)
    for hot_c in (20.0, 100.0, 150.0, 180.0):
        # A quarter of a degree of quantisation, and the straight lines of the firmware's table.
        assert abs(seen_c(converter, hot_c) - hot_c) <= 0.2


def test_noise_has_the_spread_asked_for_and_is_the_same_for_the_same_seed():
    one, other = Converter(5, noise_k=0.4), Converter(5, noise_k=0.4)
    shown = [seen_c(one, 150.0) for _ in range(2000)]
    assert shown == [seen_c(other, 150.0) for _ in range(2000)]
    assert 0.36 < statistics.stdev(shown) < 0.46


def test_spike_is_there_once():
    converter = Converter(6, noise_k=0.0)
    converter.spike_k = 30.0
    assert seen_c(converter, 100.0) > 125.0
    assert abs(seen_c(converter, 100.0) - 100.0) < 0.5


@pytest.mark.parametrize(
    ("wire", "expected_c"),
    [
        (Wire(gain=-1.0), -50.0),
        (Wire(gain=0.0), 25.0),
        (Wire(gain=0.0, offset_k=6.0), 31.0),
        (Wire(gain=0.5), 62.5),
    ],
    ids=["reversed", "shorted at the box", "shorted at a warmer place", "leaking"],
)
def test_broken_wires_show_what_arrives(wire, expected_c):
    converter = Converter(7, noise_k=0.0)
    converter.wire = wire
    word = converter.convert(100.0, 25.0)
    quarters = (word >> 18) - (16384 if word & 0x80000000 else 0)
    assert abs(quarters / 4.0 - indicated_c(expected_c, 25.0)) <= 0.13
    assert converter.wrong_k(100.0, 25.0) == pytest.approx(abs(expected_c - 100.0))


def test_broken_wire_is_flagged_by_the_chip():
    converter = Converter(8)
    converter.wire.open = True
    item = reading(converter.convert(100.0, 25.0), 0)
    assert isinstance(item, Missing)
    assert item.code == "open"
    assert converter.wrong_k(100.0, 25.0) == float("inf")
