"""MAX31855 frames and the type K function, against the data sheet, NIST and an independent library."""

import numpy as np
import pytest
from thermocouple_its90 import get

from ribwright_sim.chips import (
    OPEN,
    SHORT_GROUND,
    SHORT_SUPPLY,
    Harness,
    Max31855,
    frame,
    indicated_c,
)
from ribwright_sim.emf import type_k_mv

# NIST SRD 60, type_k.tab: degrees C and mV, printed to three decimals.
NIST_ROWS = [
    (-50, -1.889),
    (-10, -0.392),
    (25, 1.000),
    (100, 4.096),
    (127, 5.206),
    (177, 7.220),
    (250, 10.153),
    (300, 12.209),
]

# MAX31855 data sheet 19-5793 Rev 5, tables 4 and 5: thermocouple and cold junction in degrees C.
DATA_SHEET = [
    (1600.0, 127.0, 0x64007F00),
    (1000.0, 100.5625, 0x3E806490),
    (100.75, 25.0, 0x064C1900),
    (25.0, 0.0, 0x01900000),
    (0.0, -0.0625, 0x0000FFF0),
    (-0.25, -1.0, 0xFFFCFF00),
    (-1.0, -20.0, 0xFFF0EC00),
    (-250.0, -55.0, 0xF060C900),
]

# From true junction temperatures by the data sheet's straight line (0.041276 mV/K) and the ITS-90 function,
# computed outside this project with thermocouple-its90 1.0.2: hot, cold, indicated, word.
WORKED = [
    (-20, 20, -18.174, 0xFEDC1400),
    (0, 25, 0.767, 0x000C1900),
    (25, 60, 25.204, 0x01943C00),
    (60, 25, 59.796, 0x03BC1900),
    (100, 40, 100.191, 0x06442800),
    (150, 25, 149.482, 0x09581900),
    (177, 20, 175.590, 0x0AF81400),
    (177, 25, 175.693, 0x0AFC1900),
    (177, 35, 175.835, 0x0AFC2300),
    (177, 50, 175.913, 0x0B003200),
    (200, 25, 197.939, 0x0C601900),
    (300, 25, 296.546, 0x12881900),
]


@pytest.mark.parametrize(("hot_c", "emf_mv"), NIST_ROWS)
def test_type_k_agrees_with_the_printed_table(hot_c, emf_mv):
    assert round(type_k_mv(hot_c), 3) == emf_mv


def test_type_k_agrees_with_an_independent_library():
    reference = get("K")
    for hot_c in np.arange(-200.0, 400.0, 3.7):
        assert type_k_mv(float(hot_c)) == pytest.approx(reference.emf(float(hot_c)), abs=1e-6)


@pytest.mark.parametrize("hot_c", [-270.1, 1372.1])
def test_type_k_refuses_what_no_table_covers(hot_c):
    with pytest.raises(ValueError, match="-270 to 1372"):
        type_k_mv(hot_c)


@pytest.mark.parametrize(("reading_c", "cold_c", "word"), DATA_SHEET)
def test_frames_of_the_data_sheet(reading_c, cold_c, word):
    assert frame(reading_c, cold_c) == word


@pytest.mark.parametrize(("hot_c", "cold_c", "reading_c", "word"), WORKED)
def test_a_chip_shows_the_straight_line_not_the_temperature(hot_c, cold_c, reading_c, word):
    assert indicated_c(hot_c, cold_c) == pytest.approx(reading_c, abs=0.001)
    assert int.from_bytes(Max31855(noise_k=0.0).convert(hot_c, cold_c), "big") == word


@pytest.mark.parametrize(
    ("state", "word"),
    [
        ("open", 0x7FFD1901),
        ("short_ground", 0x01911902),
        ("short_supply", 0x01911904),
        ("bus_low", 0x00000000),
        ("bus_high", 0xFFFFFFFF),
    ],
)
def test_what_a_broken_chip_or_wire_shows_at_25_c(state, word):
    assert int.from_bytes(Max31855(noise_k=0.0, state=state).convert(25.0, 25.0), "big") == word


@pytest.mark.parametrize("faults", [OPEN, SHORT_GROUND, SHORT_SUPPLY, OPEN | SHORT_SUPPLY])
def test_a_frame_keeps_the_rules_of_its_bits(faults):
    word = frame(123.4, 31.7, faults)
    assert word & 7 == faults
    assert word >> 16 & 1 == 1
    assert word >> 17 & 1 == word >> 3 & 1 == 0


def test_a_frozen_chip_repeats_its_last_frame():
    chip = Max31855(noise_k=0.0)
    before = chip.convert(80.0, 25.0)
    chip.state = "frozen"
    assert chip.convert(180.0, 25.0) == before


def test_noise_is_seeded_and_of_the_stated_size():
    def readings(seed):
        chip = Max31855(seed=seed, noise_k=0.3)
        words = [int.from_bytes(chip.convert(100.0, 25.0), "big") for _ in range(4000)]
        return np.array([word >> 18 for word in words]) / 4.0

    first = readings(5)
    assert np.array_equal(first, readings(5))
    assert not np.array_equal(first, readings(6))
    # Rounding to 0.25 K adds a uniform error of variance 0.25 ** 2 / 12.
    assert first.std() == pytest.approx((0.3**2 + 0.25**2 / 12) ** 0.5, rel=0.05)
    assert first.mean() == pytest.approx(indicated_c(100.0, 25.0), abs=0.02)


def degrees(word):
    """The reading and the cold junction in a frame of four bytes, degrees C."""
    bits = int.from_bytes(word, "big")
    quarters = bits >> 18
    return (quarters - 16384 if quarters >= 8192 else quarters) / 4.0, (bits >> 4 & 0xFFF) / 16.0


def reading_c(state, hot_c, cold_c, **figures):
    """What a chip without noise reports in that state, and its cold junction, degrees C."""
    return degrees(Max31855(noise_k=0.0, state=state, **figures).convert(hot_c, cold_c))


def test_a_reversed_wire_falls_as_the_junction_rises():
    # By hand from the NIST rows above: type K at 25 C 1.000 mV, 127 C 5.206 mV; the chip adds
    # -(5.206 - 1.000) / 0.041276 to its own 25 C.
    assert reading_c("reversed", 127.0, 25.0)[0] == pytest.approx(25.0 - 4.206 / 0.041276, abs=0.15)
    assert reading_c("reversed", 25.0, 25.0)[0] == 25.0


def test_a_doubly_reversed_extension_reads_low_by_twice_what_its_ends_differ():
    # Type K between 20 and 40 C: 0.798 and 1.612 mV, NIST SRD 60 table; twice 0.814 mV is 39.4 K here.
    right_c = reading_c("good", 127.0, 20.0)[0]
    low_c = reading_c("double_reversed", 127.0, 20.0, head_rise_k=20.0)[0]
    assert right_c - low_c == pytest.approx(2 * 0.814 / 0.041276, abs=0.3)


def test_a_short_at_the_plug_reads_the_box_and_raises_no_flag():
    chip = Max31855(noise_k=0.0, state="short_at_plug")
    assert int.from_bytes(chip.convert(150.0, 28.0), "big") & 0x1000F == 0
    assert reading_c("short_at_plug", 150.0, 28.0) == (28.0, 28.0)


def test_a_wrong_gain_shrinks_the_difference_to_the_cold_junction():
    right_c = reading_c("good", 127.0, 25.0)[0]
    assert reading_c("wrong_gain", 127.0, 25.0, gain=0.8)[0] - 25.0 == pytest.approx(
        0.8 * (right_c - 25.0), abs=0.25
    )


def test_a_wrong_cold_junction_shifts_its_own_field_and_the_reading():
    right_c, cold_c = reading_c("good", 127.0, 25.0)
    assert reading_c("cold_off", 127.0, 25.0) == (right_c + 15.0, cold_c + 15.0)


def test_a_touch_of_the_steel_shifts_the_reading_alone():
    right_c, cold_c = reading_c("good", 127.0, 25.0)
    assert reading_c("offset", 127.0, 25.0, offset_k=40.0) == (right_c + 40.0, cold_c)


def test_bursts_spoil_the_stated_share_of_conversions_in_short_runs():
    chip = Max31855(seed=4, noise_k=0.0, state="noisy")
    right_c = reading_c("good", 100.0, 25.0)[0]
    errors_k = [degrees(chip.convert(100.0, 25.0))[0] - right_c for _ in range(6000)]
    spoilt = [error_k for error_k in errors_k if error_k != 0.0]
    # Runs of one to five are as long when spoilt as when good, so the share is that of the runs.
    assert len(spoilt) / len(errors_k) == pytest.approx(0.6, abs=0.03)
    assert np.std(spoilt) == pytest.approx(40.0, rel=0.05)
    runs = "".join("x" if error_k else "." for error_k in errors_k)
    # Five in a row is the longest single run; chance may join two of them.
    assert "xxxxx" in runs
    assert "....." in runs


@pytest.fixture
def harness():
    return Harness([Max31855(noise_k=0.0), Max31855(noise_k=0.0)])


def test_exchanged_plugs_show_the_other_junction_with_ones_own_cold_junction(harness):
    apart = harness.convert([100.0, 60.0], [25.0, 30.0])
    harness.swap(0, 1)
    crossed = harness.convert([100.0, 60.0], [25.0, 30.0])
    assert crossed == [
        frame(indicated_c(60.0, 25.0), 25.0).to_bytes(4, "big"),
        frame(indicated_c(100.0, 30.0), 30.0).to_bytes(4, "big"),
    ]
    harness.swap(0, 1)
    assert harness.convert([100.0, 60.0], [25.0, 30.0]) == apart


def test_a_select_stuck_low_freezes_its_chip_and_mixes_into_the_other(harness):
    before = harness.convert([100.0, 60.0], [25.0, 30.0])
    harness.select_low = 0
    assert harness.convert([100.0, 60.0], [25.0, 30.0])[0] == before[0]
    later = harness.convert([140.0, 80.0], [25.0, 30.0])
    assert later[0] == before[0]
    whole = int.from_bytes(before[0], "big") & frame(indicated_c(80.0, 30.0), 30.0)
    assert int.from_bytes(later[1], "big") == whole
    harness.select_low = None
    assert harness.convert([100.0, 60.0], [25.0, 30.0]) == before
