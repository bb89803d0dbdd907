"""Wood on the drawn stacks: what is told against what is true, and two ways up that keep one limit."""

import numpy as np
import pytest

from ribwright_sim.control import drawn, wood_report
from ribwright_sim.control.stack import BLANKET, FORM, STATES, WATER, WOOD, WOOD_CELLS, WORK, begin, refresh
from ribwright_sim.control.wood_runs import (
    FACE_C,
    HIGHEST_C,
    WOOD_C,
    Warming,
    estimate_for,
    heeding,
    hottest_face_c,
    plain,
    ramp_error_k,
    soonest_s,
    warm,
)

NOMINAL = wood_report.NOMINAL


def test_hottest_face_lies_between_the_wood_and_what_heats_it():
    plant, state, work = drawn.nominal(), np.zeros(STATES), np.zeros(WORK)
    begin(plant, state)
    state[WOOD : WOOD + WOOD_CELLS] = np.linspace(80.0, 120.0, WOOD_CELLS)
    state[BLANKET] = 160.0
    refresh(plant, state, work)
    face_c = hottest_face_c(plant, state, work)
    assert 120.0 < face_c < 160.0
    # Half a cell of 0.25 mm and 0.5 of the joint's 1/450 m2 K/W: by hand, two resistances in a row.
    half = 0.125e-3 / 0.15
    total = half + 1.0 / 450.0 + 0.125e-3 / 0.30
    assert face_c == pytest.approx(120.0 + 40.0 * half / total, abs=3.0)
    assert state[WATER] == plant[drawn.AT["moisture_percent"]]
    assert work[FORM + WOOD_CELLS] > 0.0


def test_estimate_is_near_the_truth_on_the_nominal_stack():
    run = warm(drawn.nominal(), 0, 5, NOMINAL, plain(150.0), 150, 999.0)
    assert len(run.mid_c) == 150
    assert ramp_error_k(run, 140.0) < 6.0
    # The thermocouple itself would be far off.
    assert np.sqrt(np.mean((run.bead_c[1:] - run.mid_c[1:]) ** 2)) > 20.0


def test_heeding_lets_the_thermocouple_stand_higher_and_the_wood_arrive_sooner():
    plant = drawn.nominal()
    plainly = warm(plant, 0, 5, NOMINAL, plain(150.0), 1200, WOOD_C)
    heeded = warm(plant, 0, 5, NOMINAL, heeding(150.0), 1200, WOOD_C)
    assert heeded.hot_s() < plainly.hot_s()
    assert 152.0 < heeded.bead_c.max() < HIGHEST_C + 2.0
    assert plainly.bead_c.max() < 152.0
    soonest = soonest_s(plant, FACE_C, WOOD_C, 1200)
    assert soonest < heeded.hot_s()


def test_nobody_reaches_bending_heat_without_power():
    plant = drawn.nominal()
    plant[drawn.AT["power_w_m2"]] = 1200.0
    assert soonest_s(plant, FACE_C, WOOD_C, 300) == np.inf
    run = warm(plant, 0, 5, NOMINAL, plain(150.0), 60, WOOD_C)
    assert run.hot_s() == np.inf
    assert run.hottest_face_c(minute_after=False) == pytest.approx(run.face_c.max())


def test_limit_counts_to_bending_heat_or_a_minute_longer():
    mid_c = np.array([100.0, 120.0, 131.0, 132.0])
    face_c = np.array([110.0, 140.0, 150.0, 155.0])
    run = Warming(mid_c, mid_c, mid_c, face_c, mid_c)
    assert run.hot_s() == 3.0
    assert run.hottest_face_c(minute_after=False) == 150.0
    assert run.hottest_face_c(minute_after=True) == 155.0


def test_other_piece_keeps_the_rig_and_changes_the_wood():
    plant = drawn.draw(3, 1)[0]
    other = wood_report.other_piece(plant, 3, 0)
    changed = {name for name, at in drawn.AT.items() if other[at] != plant[at]}
    assert changed == {"wood_m", "density_kg_m3", "moisture_percent", "wood_k_factor"}


def test_estimate_is_told_what_the_maker_knows():
    plant = drawn.nominal()
    thin = estimate_for(plant, NOMINAL)
    plant[drawn.AT["wood_m"]] = 3.0e-3
    thick = estimate_for(plant, NOMINAL)
    for second in range(90):
        thin.second(20.0 + 1.4 * second)
        thick.second(20.0 + 1.4 * second)
    assert thick.mid_c < thin.mid_c - 5.0
