"""Gain margin and sensitivity of a zone: against hand calculation and python-control; a zone too weak."""

import control
import numpy as np
import pytest

from ribwright_sim.layout import stack_for
from ribwright_sim.margins import Answer, TooWeakError, answer, law_response, margins, rule_gains
from ribwright_sim.plant import Plant
from sim.example_rig import PIECE, RIG

ONE = {**RIG, "zones": RIG["zones"][1:]}
P_LAW = {"kp": 1.0, "ki": 0.0, "kd": 0.0}


def sampled(b, a, late, window_s):
    """A first-order lag b / (z - a), `late` windows late."""

    def windows(rad_s):
        z = np.exp(1j * np.asarray(rad_s) * window_s)
        return b / (z - a) * z**-late

    return Answer(np.array([0.0]), np.array([0.0]), windows, 0.5, 1.0)


def test_gain_margin_of_a_sampled_lag_by_hand():
    # z - a + k b = 0 leaves the unit circle at z = -1: k = (1 + a) / b.
    assert margins(sampled(0.1, 0.9, 0, 1.0), P_LAW, 1.0).gain_margin == pytest.approx(19.0, rel=1e-6)


def test_gain_margin_of_a_lag_with_dead_time_by_hand():
    # One window late: z^2 - a z + k b = 0; a pair of roots on the unit circle has the product 1 = k b.
    found = margins(sampled(0.05, 0.9, 1, 2.0), P_LAW, 2.0)
    assert found.gain_margin == pytest.approx(20.0, rel=1e-6)
    twice = margins(sampled(0.05, 0.9, 1, 2.0), {**P_LAW, "kp": 2.0}, 2.0)
    assert twice.gain_margin == pytest.approx(10.0, rel=1e-6)


@pytest.mark.parametrize("gains", [{"kp": 1.5, "ki": 0.05, "kd": 2.0}, {"kp": 0.8, "ki": 0.02, "kd": 0.0}])
def test_margins_agree_with_python_control(gains):
    dt = 2.0
    plant = control.tf([0.05], [1.0, -0.9, 0.0], dt)
    law = (
        control.tf([gains["kp"]], [1.0], dt)
        + control.tf([gains["ki"] * dt, 0.0], [1.0, -1.0], dt)
        + control.tf([gains["kd"] / dt, -gains["kd"] / dt], [1.0, 0.0], dt)
    )
    rad_s = np.linspace(0.005, 0.999 * np.pi / dt, 4000)
    theirs = law(np.exp(1j * rad_s * dt))
    assert law_response(**gains, window_s=dt)(rad_s) == pytest.approx(theirs, rel=1e-9)
    found = margins(sampled(0.05, 0.9, 1, dt), gains, dt)
    gain_margin, _, _, _ = control.margin(plant * law)
    assert found.gain_margin == pytest.approx(gain_margin, rel=1e-4)
    sensitivity = np.abs(1.0 / (1.0 + (plant * law)(np.exp(1j * rad_s * dt)))).max()
    assert found.sensitivity == pytest.approx(sensitivity, rel=1e-4)


def test_a_loop_that_swings_has_no_sensitivity():
    found = margins(sampled(0.05, 0.9, 1, 2.0), {**P_LAW, "kp": 30.0}, 2.0)
    assert found.gain_margin < 1.0
    assert np.isnan(found.sensitivity)


@pytest.fixture(scope="module")
def seen():
    return answer(stack_for(ONE, PIECE), 0, 150.0, 1.0)


def test_the_duty_holds_the_target(seen):
    plant = Plant(stack_for(ONE, PIECE))
    while plant.thermocouple_c(0) < 150.0:
        plant.advance(1.0, [1.0])
    assert seen.reached_s == pytest.approx(plant.time_s, abs=2.0)
    plant.advance(900.0, [seen.duty])
    assert plant.thermocouple_c(0) == pytest.approx(150.0, abs=4.0)


def test_the_answer_is_that_of_a_step_of_duty(seen):
    # The slow end of the sampled response is what a step comes to in the end.
    steady_k = float(abs(seen.windows(np.array([1e-6]))[0]))
    assert steady_k > float(seen.rise_k[-1]) > 0.7 * steady_k
    assert np.all(np.diff(seen.rise_k) > -1e-6)


def test_every_rule_gives_gains_for_a_zone(seen):
    found = rule_gains(seen, 1.0)
    assert set(found) >= {"zn_loop_pid", "tyreus_luyben_pi", "simc_pid", "amigo_pid", "cohen_coon_pi"}
    # Ziegler and Nichols 1942, closed loop: PI 0.45 Ku, PID 0.6 Ku, so their ratio is 4 / 3.
    assert found["zn_loop_pid"]["kp"] == pytest.approx(found["zn_loop_pi"]["kp"] * 4.0 / 3.0)
    # 0.6 Ku leaves a proportional loop a margin of 1 / 0.6.
    alone = margins(seen, {**P_LAW, "kp": found["zn_loop_pid"]["kp"]}, 1.0)
    assert alone.gain_margin == pytest.approx(1.0 / 0.6, rel=1e-6)


def test_a_zone_too_weak_says_how_much_it_lacks():
    weak = {**ONE, "zones": [{**ONE["zones"][0], "power_w": 130.0}]}
    stack = stack_for(weak, PIECE)
    with pytest.raises(TooWeakError) as told:
        answer(stack, 0, 150.0, 1.0)
    assert told.value.zone == "full"
    # Full power for as long: no more than what it says.
    plant = Plant(stack)
    plant.advance(2400.0, [1.0])
    assert told.value.highest_c == pytest.approx(plant.thermocouple_c(0), abs=0.5)
    assert told.value.highest_c < 150.0
    above_k = plant.thermocouple_c(0) - stack.ambient_c
    assert told.value.duty == pytest.approx((150.0 - stack.ambient_c) / above_k, rel=0.01)
