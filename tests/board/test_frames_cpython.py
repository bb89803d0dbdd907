"""Any bits are a reading or a named fault; types against an independent library, 0 to 300 C."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from thermocouple_its90 import get

from ribwright_board.core import sensing
from ribwright_board.core.curves import curve_of
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.max6675 import COLD_C, CURVE, read_max6675
from ribwright_board.core.max31856 import FRAME_SIZE, read_max31856, set_up_of
from ribwright_board.core.sensing import COLD_MAX_C, COLD_MIN_C, Missing, Reading, read_max31855
from ribwright_board.core.units import READING_MAX_C, READING_MIN_C

KINDS = ("K", "J", "T", "N")
HALVES = st.integers(0, 0xFFFF)


def fair(item):
    """Whether an answer is a reading of a possible rig, or a fault with a number and advice."""
    if isinstance(item, Missing):
        return item.code in FAULTS
    whole = READING_MIN_C <= item.temperature_c <= READING_MAX_C
    return isinstance(item, Reading) and whole and COLD_MIN_C <= item.cold_c <= COLD_MAX_C


@given(HALVES, HALVES, st.sampled_from(KINDS))
def test_any_32_bits_are_a_reading_or_a_named_fault(hi, lo, kind):
    assert fair(read_max31855(hi, lo, 0, curve_of(kind)))


@given(HALVES)
def test_any_16_bits_are_a_reading_or_a_named_fault(word):
    assert fair(read_max6675(word, 20.0, 0))


@given(st.binary(min_size=FRAME_SIZE, max_size=FRAME_SIZE), st.sampled_from(KINDS), st.sampled_from((50, 60)))
def test_any_registers_are_a_reading_or_a_named_fault(frame, kind, hertz):
    assert fair(read_max31856(frame, set_up_of(kind, hertz), 0))


@given(st.binary(min_size=6, max_size=6), st.sampled_from(KINDS))
def test_any_measured_registers_of_a_chip_that_is_set_up_are_a_reading_or_a_named_fault(measured, kind):
    told = set_up_of(kind, 50)
    frame = b"\xff" + bytes((told[1] | 0x80,)) + told[2:] + measured
    assert fair(read_max31856(frame, told, 0))


@pytest.mark.parametrize("kind", KINDS)
def test_every_type_lies_within_a_twentieth_of_a_degree_of_the_reference_function(kind):
    # ITS-90 functions as thermocouple-its90 1.0.2 has them, converter from -5 to 70 C, junction 0 to 300 C.
    reference, curve = get(kind), curve_of(kind)
    worst_k = 0.0
    for cold_c in np.arange(-5.0, 70.1, 2.5):
        cold_mv = reference.emf(float(cold_c))
        for hot_c in np.arange(0.0, 300.1, 1.3):
            line_c = (reference.emf(float(hot_c)) - cold_mv) * 1000.0 / curve[0] + float(cold_c)
            worst_k = max(worst_k, abs(sensing.corrected_c(line_c, float(cold_c), curve) - hot_c))
    # Measured: K 0.029, J 0.024, T 0.042, N 0.038.
    assert 0.01 < worst_k < 0.05


def test_what_is_left_of_a_max6675_is_what_its_module_says():
    reference = get("K")

    def left_k(box_c):
        for hot_c in np.arange(20.0, 300.1, 5.0):
            mv = reference.emf(float(hot_c)) - reference.emf(float(box_c))
            yield sensing.corrected_c(mv / 0.041 + box_c, COLD_C, CURVE) - hot_c

    found = [away_k for box_c in range(10, 61, 5) for away_k in left_k(float(box_c))]
    assert -0.25 < min(found) < -0.2
    assert 0.15 < max(found) < 0.18
    assert min(left_k(0.0)) == pytest.approx(-0.56, abs=0.01)
