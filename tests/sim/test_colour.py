"""Colour index: the published activation energies, worked ratios, and the limits of the words."""

import numpy as np
import pytest

from ribwright_sim.colour import (
    ACTIVATION_HIGH_J_MOL,
    ACTIVATION_LOW_J_MOL,
    SHADES,
    minutes_so_far,
    rate,
    shade,
)
from ribwright_sim.materials import StackError


@pytest.mark.parametrize(
    # exp(-Ea/R (1/T2 - 1/T1)) worked by hand, R = 8.314 J/(mol K).
    ("from_c", "to_c", "activation_j_mol", "ratio", "digits"),
    [
        (150, 160, 110e3, 2.06, 0.005),
        (177, 187, 110e3, 1.89, 0.005),
        (150, 177, 110e3, 6.5, 0.05),
        (177, 200, 110e3, 4.2, 0.05),
        (177, 230, 110e3, 22, 0.5),
        (150, 177, 94.9e3, 5.0, 0.05),
        (150, 177, 126.4e3, 8.6, 0.05),
    ],
)
def test_ratios_of_the_law(from_c, to_c, activation_j_mol, ratio, digits):
    seen = float(rate(to_c, activation_j_mol) / rate(from_c, activation_j_mol))
    assert seen == pytest.approx(ratio, abs=digits)


def test_published_strength_loss_lies_in_the_range_drawn():
    # Shafizadeh and Chin 1977, as quoted in Navi and Sandberg: 10 % lost in one month at 120 C and in one
    # week at 140 C.
    ratio = 30.0 / 7.0
    slow, fast = (
        float(rate(140.0, energy) / rate(120.0, energy))
        for energy in (ACTIVATION_LOW_J_MOL, ACTIVATION_HIGH_J_MOL)
    )
    assert slow < ratio < fast


def test_time_at_the_reference_counts_as_itself():
    time_s = np.arange(0.0, 601.0)
    counted = minutes_so_far(time_s, np.full((601, 2), 177.0))
    assert counted.shape == (601, 2)
    assert counted[0].tolist() == [0.0, 0.0]
    assert counted[-1] == pytest.approx([10.0, 10.0])
    assert counted[300, 0] == pytest.approx(5.0)


def test_hotter_and_longer_colours_more_and_nothing_is_taken_back():
    time_s = np.linspace(0.0, 900.0, 200)
    at_c = 120.0 + 50.0 * np.sin(time_s / 300.0)
    counted = minutes_so_far(time_s, at_c)
    assert (np.diff(counted) > 0.0).all()
    assert (minutes_so_far(time_s, at_c + 5.0)[1:] > counted[1:]).all()


def test_trapezoid_rule_is_of_second_order():
    def end(points):
        time_s = np.linspace(0.0, 600.0, points)
        return float(minutes_so_far(time_s, 140.0 + 0.06 * time_s)[-1])

    fine = end(20001)
    coarse, half = end(21) - fine, end(41) - fine
    assert coarse / half == pytest.approx(4.0, rel=0.02)


@pytest.mark.parametrize(
    ("minutes", "hottest_c", "word"),
    [
        (0.0, 20.0, "none"),
        (0.99, 175.0, "none"),
        (1.0, 150.0, "faint"),
        (5.0, 160.0, "visible"),
        # Feher et al. 2014 (abstract): hardly visible below 160 C, however long within their trials.
        (29.0, 159.9, "faint"),
        (30.0, 175.0, "scorch"),
        # Lowden and Hull 2013, Table 1: from 225 C main breakdown begins.
        (0.2, 225.0, "scorch"),
    ],
)
def test_word_for_the_colour(minutes, hottest_c, word):
    assert shade(minutes, hottest_c).word == word


def test_every_word_says_its_limit_and_its_standing():
    limits = [one.from_minutes for one in SHADES]
    assert limits == sorted(limits)
    assert all(one.meaning and one.source and "proposal" in one.status for one in SHADES)


@pytest.mark.parametrize("activation_j_mol", [0.0, 31e3, 151e3, float("nan")])
def test_an_energy_no_wood_has_is_refused(activation_j_mol):
    with pytest.raises(StackError, match="activation_j_mol"):
        rate(150.0, activation_j_mol)
