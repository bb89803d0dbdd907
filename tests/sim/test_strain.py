"""Stretch at the tightest radius: exact geometry, published limits, the bridge between them."""

import math

import pytest

from ribwright_sim.materials import StackError
from ribwright_sim.softening import margin_k
from ribwright_sim.strain import (
    LIMITS,
    outer_strain_percent,
    strap_compression_percent,
    tension_limit_percent,
    tightest_radius_in_thicknesses,
)


@pytest.mark.parametrize(
    # t / (2 R + t) and t / (R + t) worked by hand.
    ("thickness_mm", "radius_mm", "middle_percent", "strap_percent"),
    [
        (1.6, 40, 1.961, 3.846),
        (2.0, 50, 1.961, 3.846),
        (2.0, 120, 0.826, 1.639),
        (2.2, 60, 1.800, 3.537),
        (2.2, 75, 1.445, 2.850),
        (2.5, 60, 2.041, 4.000),
        (4.0, 100, 1.961, 3.846),
    ],
)
def test_worked_table(thickness_mm, radius_mm, middle_percent, strap_percent):
    assert outer_strain_percent(thickness_mm, radius_mm) == pytest.approx(middle_percent, abs=0.0006)
    assert strap_compression_percent(thickness_mm, radius_mm) == pytest.approx(strap_percent, abs=0.0006)


def test_strain_is_the_difference_of_two_arcs():
    # A strip of 1.7 mm around 45 mm: outer arc over the arc at mid-thickness, of the same angle.
    angle, radius_mm, thickness_mm = 1.1, 45.0, 1.7
    middle, outer, inner = (angle * (radius_mm + part * thickness_mm) for part in (0.5, 1.0, 0.0))
    assert outer_strain_percent(thickness_mm, radius_mm) == pytest.approx(100 * (outer / middle - 1))
    assert strap_compression_percent(thickness_mm, radius_mm) == pytest.approx(100 * (1 - inner / outer))


@pytest.mark.parametrize(
    # The relation of Stevens and Turner, (1 - e_c) / (e_t + e_c), worked by hand.
    ("tension_percent", "compression_percent", "ratio"),
    [(1, 1, 49.5), (1.5, 1.5, 32.83), (2, 2, 24.5), (2, 4, 16.0), (0, 25, 3.0), (0, 30, 2.333)],
)
def test_tightest_radius(tension_percent, compression_percent, ratio):
    seen = tightest_radius_in_thicknesses(tension_percent, compression_percent)
    assert seen == pytest.approx(ratio, abs=0.005)


def test_geometry_and_relation_agree():
    ratio = tightest_radius_in_thicknesses(2.0, 2.0)
    assert outer_strain_percent(1.0, ratio) == pytest.approx(2.0)
    ratio = tightest_radius_in_thicknesses(0.0, 25.0)
    assert strap_compression_percent(1.0, ratio) == pytest.approx(25.0)


def test_bridge_gives_the_two_published_states():
    # Summary of wood-forming tests: about 1 % at room temperature and 17 %, about 2 % at 100 C and 33 %.
    assert float(tension_limit_percent(margin_k(20.0, 17.0))) == 1.0
    assert float(tension_limit_percent(margin_k(100.0, 33.0))) == 2.0
    # Peck 1957 (from memory): hot moist hardwood stretches 1-2 %.
    assert all(1.0 <= float(tension_limit_percent(k)) <= 2.0 for k in (-300.0, -5.0, 0.0, 5.0, 300.0))


def test_every_limit_has_its_source_and_standing():
    assert LIMITS
    for limit in LIMITS:
        assert 0.0 < limit.tension_percent < limit.compression_percent
        assert limit.source
        assert "seen" in limit.status or "memory" in limit.status


@pytest.mark.parametrize("length_mm", [0.0, -1.0, math.nan])
def test_a_length_not_above_zero_is_refused(length_mm):
    for function in (outer_strain_percent, strap_compression_percent):
        with pytest.raises(StackError, match="thickness_mm"):
            function(length_mm, 45.0)
        with pytest.raises(StackError, match="inner_radius_mm"):
            function(1.7, length_mm)


def test_limits_of_nothing_are_refused():
    with pytest.raises(StackError, match="strain limits"):
        tightest_radius_in_thicknesses(0.0, 0.0)
