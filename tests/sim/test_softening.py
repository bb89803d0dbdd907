"""Softening against moisture: the published anchors, the worked table, and what the margin says."""

import numpy as np
import pytest

from ribwright_sim.materials import StackError
from ribwright_sim.softening import SPREAD_K, margin_k, softens_at_c, softness

# Gordon-Taylor worked by hand between the two anchors: moisture %, softening C.
WORKED = (
    (0, 170.0),
    (2, 159.0),
    (4, 148.7),
    (6, 139.2),
    (8, 130.2),
    (10, 121.8),
    (12, 114.0),
    (15, 103.0),
    (20, 86.7),
    (25, 72.5),
    (30, 60.0),
)


@pytest.mark.parametrize(("moisture_percent", "expected_c"), WORKED)
def test_curve_follows_the_worked_table(moisture_percent, expected_c):
    assert float(softens_at_c(moisture_percent)) == pytest.approx(expected_c, abs=0.06)


def test_curve_passes_its_published_anchors_and_near_a_third():
    # Wood Handbook, FPL-GTR-190, p. 19-1: matrix lignin about 170 C (338 F) dry.
    assert float(softens_at_c(0.0)) == pytest.approx((338 - 32) / 1.8, abs=0.1)
    # Hamdan et al. 2000, Holzforschung 54 (abstract): wet hardwood about 60 C.
    assert float(softens_at_c(30.0)) == pytest.approx(60.0, abs=0.1)
    # Borcsok and Pasztory 2021 (abstract): moist lignin in wood about 100 C, here taken at 15 %.
    assert float(softens_at_c(15.0)) == pytest.approx(100.0, abs=5.0)


def test_spread_holds_most_of_what_was_found():
    # Goring 1965 (abstract): birch xylan 167 C and pine glucomannan 181 C, dry; wet down to 54 C.
    assert abs(float(softens_at_c(0.0)) - 167.0) <= SPREAD_K
    assert abs(float(softens_at_c(0.0)) - 181.0) <= SPREAD_K
    assert float(softens_at_c(30.0, -SPREAD_K)) <= 54.0 <= float(softens_at_c(30.0, SPREAD_K))


def test_free_water_softens_no_further():
    assert float(softens_at_c(38.0)) == float(softens_at_c(30.0))


def test_margin_rises_with_heat_and_with_water():
    moisture = np.linspace(0.0, 30.0, 31)
    assert (np.diff(margin_k(120.0, moisture)) > 0.0).all()
    assert float(margin_k(121.0, 8.0) - margin_k(120.0, 8.0)) == pytest.approx(1.0)
    assert float(margin_k(softens_at_c(9.0, 7.0), 9.0, 7.0)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("low_k", "high_k", "word"),
    [(0.0, 5.0, "soft"), (-0.1, 5.0, "partly soft"), (-9.0, 0.0, "partly soft"), (-9.0, -0.1, "stiff")],
)
def test_word_follows_both_ends_of_the_band(low_k, high_k, word):
    assert softness(low_k, high_k) == word


@pytest.mark.parametrize(("moisture_percent", "shift_k"), [(-0.1, 0.0), (float("nan"), 0.0), (8.0, 20.1)])
def test_values_outside_are_refused(moisture_percent, shift_k):
    with pytest.raises(StackError, match="range"):
        softens_at_c(moisture_percent, shift_k)
