"""Reference functions of all types, against printed tables and an independent library."""

import numpy as np
import pytest
from thermocouple_its90 import get

from ribwright_sim.chips import Max31855, indicated_c
from ribwright_sim.emf import TYPES, emf_mv, temperature_c

# NIST SRD 60, files type_j.tab, type_t.tab, type_n.tab: degrees C, and mV printed to three decimals.
NIST_ROWS = [
    (-50, -2.431, -1.819, -1.269),
    (-25, -1.239, -0.940, -0.646),
    (25, 1.277, 0.992, 0.659),
    (100, 5.269, 4.279, 2.774),
    (177, 9.503, 8.081, 5.162),
    (250, 13.555, 12.013, 7.597),
    (300, 16.327, 14.862, 9.341),
]
# How far the part's straight line is off, degrees C, cold junction 25 C: computed outside this project from
# the slopes of data sheet 19-5793 rev 5, table 1, and thermocouple-its90 1.0.2.
LINE_OFF_K = {"K": (-1.31, -2.06), "J": (-10.06, -11.05), "T": (-16.14, -16.01), "N": (-27.78, -30.06)}


@pytest.mark.parametrize("row", NIST_ROWS)
def test_types_agree_with_the_printed_tables(row):
    for kind, mv in zip("JTN", row[1:], strict=True):
        assert round(emf_mv(kind, row[0]), 3) == mv


@pytest.mark.parametrize("kind", TYPES)
def test_types_agree_with_an_independent_library(kind):
    reference = get(kind)
    for hot_c in np.arange(-200.0, 400.0, 3.7):
        assert emf_mv(kind, float(hot_c)) == pytest.approx(reference.emf(float(hot_c)), abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "low_c", "high_c"), [("J", -210, 1200), ("T", -270, 400), ("N", -270, 1300)]
)
def test_types_refuse_what_no_table_covers(kind, low_c, high_c):
    for hot_c in (low_c - 0.1, high_c + 0.1):
        with pytest.raises(ValueError, match=f"type {kind} is defined from {low_c} to {high_c}"):
            emf_mv(kind, hot_c)


@pytest.mark.parametrize("kind", TYPES)
def test_temperature_is_found_back(kind):
    for hot_c in (-40.0, 0.0, 20.0, 177.0, 399.0):
        assert temperature_c(kind, emf_mv(kind, hot_c), -200.0, 400.0) == pytest.approx(hot_c, abs=1e-4)


@pytest.mark.parametrize("kind", TYPES)
def test_straight_line_of_each_part_is_off_as_known(kind):
    for hot_c, off_k in zip((177.0, 200.0), LINE_OFF_K[kind], strict=True):
        assert indicated_c(hot_c, 25.0, kind) - hot_c == pytest.approx(off_k, abs=0.005)
        word = int.from_bytes(Max31855(noise_k=0.0, kind=kind).convert(hot_c, 25.0), "big")
        assert (word >> 18) / 4.0 == pytest.approx(hot_c + off_k, abs=0.13)
