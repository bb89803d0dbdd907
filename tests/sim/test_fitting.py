"""A fit against logs with a known answer, and its arithmetic against published regressions."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import curve_fit, least_squares

from ribwright_sim.fit_estimates import IDENTIFIED, PARTLY, fit
from ribwright_sim.fit_parameters import rig_parameters, run_parameters
from ribwright_sim.fit_problem import Problem
from ribwright_sim.fit_weights import posterior, worth_k
from ribwright_sim.layout import stack_for
from ribwright_sim.materials import StackError
from ribwright_sim.warmup import WoodReadings, means, white_noise_k
from sim.warmups import NOISE_K, ONE_ZONE, ROOM_C, SCRAP, problem_for, recorded

STRIP = {"species": "sapele", "thickness_mm": 1.7, "wetted": "misted"}
WARM = [(330, [150.0])]
SCRAP_PLAN = [(330, [135.0]), (120, [None])]
WOOD_NAMES = {"wood_conductivity", "wood_density", "moisture", "face_water", "wood_contact", "escape", "vent"}


def truth_steps(piece, *, wood, seed):
    """A rig somewhere within what is believed, at most 1.5 standard deviations off in anything."""
    slots = problem_for(ONE_ZONE, piece, wood=wood).slots
    return np.clip(0.8 * np.random.default_rng(seed).standard_normal(len(slots)), -1.5, 1.5)


def true_value(problem, steps, name, warmup):
    at = [slot.parameter.name for slot in problem.slots].index(name)
    value = problem.slots[at].parameter.value(steps[at])
    # The room is counted from the first reading, which the drawn log does not know.
    return value + ROOM_C - warmup.start_c if name == "room" else value


@pytest.fixture(scope="module", params=[3, 4])
def warm(request):
    """A warm-up with a damp strip, what is true of it, and its fit without any compiler."""
    steps = truth_steps(STRIP, wood=False, seed=request.param)
    warmup = recorded(ONE_ZONE, STRIP, steps, WARM, seed=request.param)
    return warmup, steps, fit(ONE_ZONE, [warmup], use_numba=False)


@pytest.fixture(scope="module")
def scrap():
    """A calibration run: the same log fitted without and with the second thermocouple."""
    steps = truth_steps(SCRAP, wood=True, seed=5)
    warmup = recorded(ONE_ZONE, SCRAP, steps, SCRAP_PLAN, wood=True, seed=5)
    blind = type(warmup)(warmup.name, SCRAP, warmup.row_s, warmup.measured_c, warmup.on_s)
    return warmup, steps, *(fit(ONE_ZONE, [one], use_numba=False) for one in (blind, warmup))


def test_residual_is_at_the_noise_of_the_readings(warm):
    _, _, found = warm
    assert found.fit_noise_k == pytest.approx(NOISE_K, rel=0.15)
    assert found.fit_residual_k <= 1.2 * NOISE_K
    assert found.fit_residual_k >= 0.8 * NOISE_K


def test_truth_lies_within_three_sigma(warm):
    warmup, steps, found = warm
    problem = problem_for(ONE_ZONE, STRIP, wood=False)
    away = {
        one.name: (one.value - true_value(problem, steps, one.name, warmup)) / one.sigma
        for one in found.estimates
    }
    assert {name: round(z, 1) for name, z in away.items() if abs(z) > 3.0} == {}


def test_a_log_tells_the_blanket_and_not_the_wood(warm):
    _, _, found = warm
    verdict = {one.name: one.verdict for one in found.estimates}
    assert {name for name in verdict if verdict[name] == "not identified"} >= WOOD_NAMES
    assert {one.name for one in found.estimates if one.wood} == WOOD_NAMES
    assert verdict["room"] == "identified"
    assert verdict["lag"] in ("identified", "partly")
    assert verdict["power"] in ("identified", "partly")
    # What is left unknown of the wood's middle is kelvins.
    assert all(band.sigma_k > 1.5 for band in found.bands)


def test_a_second_thermocouple_narrows_the_wood(scrap):
    _, _, blind, seeing = scrap
    left = [{one.name: one.left for one in found.estimates} for found in (blind, seeing)]
    for name in ("wood_conductivity", "wood_contact", "escape", "moisture"):
        assert left[1][name] <= 0.9 * left[0][name], name
    assert left[1]["moisture"] <= IDENTIFIED
    assert left[1]["escape"] <= 0.8 < left[0]["escape"]
    assert left[0]["wood_conductivity"] > PARTLY
    assert seeing.bands[0].sigma_k <= 0.5 * blind.bands[0].sigma_k
    assert seeing.wood_residual_k[0] <= 0.6
    assert blind.wood_residual_k == (None,)


def test_a_clock_that_began_late_is_found_out(scrap):
    warmup, steps, _, _ = scrap
    wood = warmup.wood
    late = WoodReadings(wood.time_s - 4.0, wood.wood_c, 0)
    seeing = fit(ONE_ZONE, [replace(warmup, wood=late)], use_numba=False)
    clock = next(one for one in seeing.estimates if one.name == "clock")
    true_s = true_value(problem_for(ONE_ZONE, SCRAP, wood=True), steps, "clock", warmup) + 4.0
    assert clock.value > 1.5
    assert abs(clock.value - true_s) <= 3.0 * clock.sigma
    assert seeing.wood_residual_k[0] <= 0.6


def test_truth_of_a_calibration_lies_within_three_sigma(scrap):
    warmup, steps, _, seeing = scrap
    problem = problem_for(ONE_ZONE, SCRAP, wood=True)
    for one in seeing.estimates:
        assert abs(one.value - true_value(problem, steps, one.name, warmup)) <= 3.0 * one.sigma, one.name


def test_two_logs_share_the_rig_and_keep_their_own_room_and_wood():
    slots = problem_for(ONE_ZONE, STRIP, wood=False).slots
    steps = np.zeros(len(slots))
    steps[[slot.parameter.name for slot in slots].index("lag")] = 1.0
    logs = [recorded(ONE_ZONE, STRIP, steps, [(130, [120.0])], seed=seed) for seed in (1, 2)]
    one, two = (fit(ONE_ZONE, some, use_numba=False) for some in (logs[:1], logs))
    assert two.fit_residual_k <= 1.2 * NOISE_K
    rig = [[e for e in found.estimates if e.run < 0] for found in (one, two)]
    assert [e.name for e in rig[0]] == [e.name for e in rig[1]]
    lags = [next(e for e in some if e.name == "lag") for some in rig]
    assert lags[1].sigma < lags[0].sigma
    own = [(e.name, e.run) for e in two.estimates if e.run >= 0]
    assert {("room", 0), ("room", 1), ("moisture", 0), ("moisture", 1)} <= set(own)
    assert len(own) == 2 * len({name for name, _ in own})


def test_no_log_is_refused():
    with pytest.raises(StackError, match="logs is none"):
        Problem(ONE_ZONE, [])


@pytest.mark.parametrize(
    ("values", "sigmas", "words"),
    [
        ({"los": 1.0}, {}, "fit.los"),
        ({"loss": 9.0}, {}, "allowed 0.2 to 4"),
        ({"loss": True}, {}, "fit.values.loss"),
        ({"power": [1.0, 1.0]}, {}, "must be 1 numbers"),
        ({"loss": 1.0}, {"loss": -0.1}, "fit.sigmas.loss"),
        ({"loss": 1.0}, 5, "fit.sigmas is int"),
    ],
)
def test_fit_with_a_mistake_is_refused_where_it_is_used(values, sigmas, words):
    with pytest.raises(StackError, match=words):
        stack_for({**ONE_ZONE, "fit": {"values": values, "sigmas": sigmas}}, STRIP)


def test_a_value_of_a_fit_replaces_what_was_drawn_and_leaves_the_rest():
    fitted = {**ONE_ZONE, "fit": {"values": {"contact": [1.2]}, "sigmas": {"contact": [0.0]}}}
    plain, found = (stack_for(rig, STRIP, seed=3) for rig in (ONE_ZONE, fitted))
    # Outer slat on the blanket: 1000 W/(m2 K) in materials.csv.
    assert found.contact_hanging_w_m2_k[0, -1] == pytest.approx(1200.0)
    assert plain.contact_hanging_w_m2_k[0, -1] != pytest.approx(1200.0, rel=0.01)
    assert found.gravity == pytest.approx(plain.gravity)
    assert found.emissivity == pytest.approx(plain.emissivity)
    assert stack_for(ONE_ZONE, STRIP).contact_hanging_w_m2_k[0, -1] == pytest.approx(1000.0)


def test_every_parameter_begins_within_its_limits_and_moves_both_ways():
    for one in (*rig_parameters(), *run_parameters(STRIP)):
        assert one.low <= one.value(-4.0) < one.value(0.0) < one.value(4.0) <= one.high, one.name
        assert one.value(0.0) == one.nominal


def test_noise_of_a_straight_rise_is_found_and_a_smooth_course_has_none():
    rng = np.random.default_rng(1)
    assert white_noise_k(np.arange(5000) * 0.7 + rng.normal(0.0, 0.2, 5000)) == pytest.approx(0.2, rel=0.05)
    assert white_noise_k(np.arange(300) * 0.7) == pytest.approx(0.0, abs=1e-9)


def test_mean_over_a_window_of_a_straight_trace():
    trace = np.arange(21.0)
    assert means(trace, np.array([10.0, 20.0]), 10.0) == pytest.approx([5.0, 15.0])
    assert means(trace, np.array([10.5]), 1.0) == pytest.approx([10.0])


def test_residuals_that_hang_together_count_for_more():
    rng = np.random.default_rng(2)
    white = rng.standard_normal(4000)
    assert worth_k(white) == pytest.approx(1.0, rel=0.06)
    # A first-order series with r = 0.8 holds (1 - 0.8) / (1 + 0.8) as many independent values.
    alike = np.zeros(20000)
    for i in range(1, len(alike)):
        alike[i] = 0.8 * alike[i - 1] + 0.6 * rng.standard_normal()
    assert worth_k(alike) == pytest.approx(3.0, rel=0.08)


# NIST Statistical Reference Datasets, nonlinear regression, Misra1a (data, certified values and standard
# deviations; from memory): y = b1 (1 - exp(-b2 x)).
MISRA_X = np.array(
    [77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0]
)
MISRA_Y = np.array(
    [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78]
)
MISRA = (238.94212918, 5.5015643181e-04)
MISRA_SIGMA = (2.7070075241, 7.2668688436e-06)


def misra(x, b1, b2):
    return b1 * (1.0 - np.exp(-b2 * x))


def test_sigmas_are_the_certified_ones_of_a_published_regression():
    found = least_squares(
        lambda b: misra(MISRA_X, *b) - MISRA_Y, (250.0, 5e-4), x_scale=(100.0, 1e-4), xtol=1e-12
    )
    assert found.x == pytest.approx(MISRA, rel=1e-6)
    left = np.sqrt(2.0 * found.cost / (len(MISRA_X) - 2))
    # A prior a thousand times as wide as the answer is no prior.
    prior = 1000.0 * np.array(MISRA_SIGMA)
    b1, b2 = found.x
    decay = np.exp(-b2 * MISRA_X)
    slopes = np.stack((1.0 - decay, b1 * MISRA_X * decay), axis=1) * prior / left
    sigma = prior * np.sqrt(np.diag(posterior(slopes)))
    assert sigma == pytest.approx(MISRA_SIGMA, rel=1e-4)
    # The same from another routine.
    _, covariance = curve_fit(misra, MISRA_X, MISRA_Y, p0=(250.0, 5e-4))
    assert sigma == pytest.approx(np.sqrt(np.diag(covariance)), rel=1e-3)


def test_a_prior_narrows_as_one_more_reading_does():
    # Nothing is recorded of the second unknown: its sigma stays. The first has two equal readings.
    covariance = posterior(np.array([[1.0, 0.0]]))
    assert np.diag(covariance) == pytest.approx([0.5, 1.0])
