"""A plant in states: exact steps against a general library, and refusals."""

import math

import control
import numpy as np
import pytest
from scipy.linalg import expm

from ribwright_sim.lag_model import LagModel
from ribwright_sim.linear_plant import LinearPlant, hold
from ribwright_sim.loop_models import FirstOrder, Integrating, SecondOrder
from ribwright_sim.materials import StackError
from sim.published_loops import CASES


@pytest.mark.parametrize("dt_s", [0.0, 1e-6, 0.3, 5.0, 400.0])
def test_hold_is_the_matrix_exponential(dt_s):
    # scipy.linalg.expm of the same block matrix (Pade, another method); repeated and far-apart lags.
    a = np.array([[-1.0, 0.0, 0.0], [1.0, -1.0, 0.0], [0.0, 0.005, -0.005]])
    b = np.array([1.0, 0.0, 0.0])
    block = np.zeros((4, 4))
    block[:3, :3], block[:3, 3] = a, b
    whole = expm(block * dt_s)
    phi, gamma = hold(a, b, dt_s)
    assert phi == pytest.approx(whole[:3, :3], abs=1e-12)
    assert gamma == pytest.approx(whole[:3, 3], abs=1e-12)


def fraction_of(process):
    s = control.tf("s")
    fraction = process.gain * (1.0 / s if process.integrating else control.tf([1.0], [1.0]))
    for zero_s in process.zeros_s:
        fraction *= zero_s * s + 1.0
    for lag_s in process.lags_s:
        fraction *= 1.0 / (lag_s * s + 1.0)
    return fraction


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_step_is_the_one_of_a_general_library(case):
    # python-control 0.10, step_response of the fraction; the dead time shifts it by whole points.
    process = case.process
    plant = LinearPlant.from_lags(process)
    times_s = np.linspace(0.0, 30.0, 121)
    expected = np.asarray(control.step_response(fraction_of(process), times_s).outputs)
    shifted = np.interp(times_s - process.dead_s, times_s, expected, left=0.0)
    seen = plant.step(times_s)
    later = times_s > process.dead_s
    assert seen[later] == pytest.approx(shifted[later], abs=2e-7 * max(1.0, np.abs(expected).max()))
    assert not seen[times_s < process.dead_s].any()


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_states_and_fraction_have_one_response(case):
    rad_s = np.geomspace(1e-3, 1e2, 31)
    plant = LinearPlant.from_lags(case.process)
    assert plant.response(rad_s) == pytest.approx(case.process.response(rad_s), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(
    "model",
    [
        FirstOrder(2.0, 9.0, 1.5),
        SecondOrder(2.0, 9.0, 3.0, 1.5),
        SecondOrder(2.0, 9.0, 0.0, 1.5),
        Integrating(2.0, 1.5),
        Integrating(2.0, 1.5, 3.0),
    ],
)
def test_small_models_in_states(model):
    rad_s = np.geomspace(1e-3, 1e1, 9)
    assert LinearPlant.from_lags(model).response(rad_s) == pytest.approx(model.response(rad_s), rel=1e-10)


def test_steps_by_hand():
    # K (1 - exp(-(t - L) / T)) and k' (t - L - T (1 - exp(-(t - L) / T))).
    times_s = np.array([0.0, 1.0, 3.0, 8.0])
    lag = LinearPlant.from_lags(FirstOrder(2.0, 5.0, 3.0)).step(times_s)
    assert lag == pytest.approx([0.0, 0.0, 0.0, 2.0 * (1.0 - math.exp(-1.0))])
    ramp = LinearPlant.from_lags(Integrating(2.0, 3.0, 5.0)).step(times_s)
    assert ramp == pytest.approx([0.0, 0.0, 0.0, 2.0 * (5.0 - 5.0 * (1.0 - math.exp(-1.0)))])


def test_times_in_any_order_give_the_same_readings():
    plant = LinearPlant.from_lags(LagModel(3.0, (6.0, 2.0), (1.0,), 1.3))
    times_s = np.arange(0.0, 40.0, 0.25)
    even = plant.step(times_s)
    mixed = np.random.default_rng(3).permutation(len(times_s))
    assert plant.step(times_s[mixed]) == pytest.approx(even[mixed], rel=1e-9)
    some = np.array([9, 10, 30, 31, 120])
    assert plant.step(times_s[some]) == pytest.approx(even[some], rel=1e-9)
    assert plant.step(np.array([20.0])) == pytest.approx(even[80], rel=1e-9)
    assert plant.step(times_s[::-1]) == pytest.approx(even[::-1], rel=1e-9)


@pytest.mark.parametrize("dead_s", [0.0, 0.4, 1.0, 2.7])
def test_sampled_response_is_the_sum_of_what_each_sample_adds(dead_s):
    # Definition of the z-transform: the rises of the step response times z^-k, to where they are nil.
    plant = LinearPlant.from_lags(LagModel(3.0, (6.0, 2.0), (), dead_s))
    rises = np.diff(plant.step(np.arange(0.0, 260.0)))
    rad_s = np.array([0.05, 0.4, 1.5, math.pi])
    back = np.exp(-1j * rad_s[:, None] * np.arange(1, len(rises) + 1))
    assert plant.sampled(1.0)(rad_s) == pytest.approx(back @ rises, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: LinearPlant(np.eye(2), np.ones(3), np.ones(2)), r"a, b, c is \(\(2, 2\), \(3,\), \(2,\)\)"),
        (lambda: LinearPlant(np.full((1, 1), math.nan), np.ones(1), np.ones(1)), "must be finite"),
        (lambda: LinearPlant(-np.eye(1), np.ones(1), np.ones(1), math.inf), "must be finite"),
        (lambda: LinearPlant(-np.eye(1), np.ones(1), np.ones(1), 0.0, -1.0), "dead_s is -1.0"),
        (lambda: LinearPlant.from_lags(LagModel(1.0)), "a, b, c"),
        (lambda: LinearPlant(-np.eye(1), np.ones(1), np.ones(1)).sampled(0.0), "sample_s is 0.0"),
    ],
)
def test_what_is_no_plant_is_refused(call, words):
    with pytest.raises(StackError, match=words):
        call()
