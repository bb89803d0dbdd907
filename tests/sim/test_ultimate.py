"""Where loops oscillate and how robust they are: closed forms, and a general control library."""

import math

import control
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from ribwright_sim.lag_model import LagModel
from ribwright_sim.linear_plant import LinearPlant
from ribwright_sim.loop_models import FirstOrder, Integrating, PidSettings, SeriesSettings
from ribwright_sim.materials import StackError
from ribwright_sim.tuning_rules import cohen_coon_pid, series_to_ideal, simc_pi, ziegler_nichols_step_pid
from ribwright_sim.ultimate import (
    loop_response,
    maximum_sensitivity,
    relay_point,
    sampled_response,
    sampled_ultimate_point,
    ultimate_point,
)
from sim.published_loops import CASES, E6, E6_PI, E9, E10, as_typed


@pytest.mark.parametrize(
    # Routh's array by hand: (s+1)^3 + K turns unstable at K = 8, w = sqrt 3; (s+1)^4 at K = 4, w = 1;
    # s(s+1)(s+5) + K at K = 30, w = sqrt 5 (a textbook classic, from memory); s(s+1)^2 + K at K = 2, w = 1.
    ("process", "gain", "rad_s"),
    [
        (LagModel(1.0, (1.0,) * 3), 8.0, math.sqrt(3.0)),
        (LagModel(1.0, (1.0,) * 4), 4.0, 1.0),
        (LagModel(0.2, (1.0, 0.2), integrating=True), 30.0, math.sqrt(5.0)),
        (LagModel(1.0, (1.0, 1.0), integrating=True), 2.0, 1.0),
    ],
)
def test_ultimate_point_by_rouths_array(process, gain, rad_s):
    for response in (process.response, LinearPlant.from_lags(process).response):
        point = ultimate_point(response)
        assert point.gain == pytest.approx(gain, rel=1e-9)
        assert point.period_s == pytest.approx(2.0 * math.pi / rad_s, rel=1e-9)


def test_ultimate_point_of_first_order_with_dead_time():
    # Gain 1, lag 10 s, dead time 1 s: 16.3506, 3.8500 s (recomputed by a separate program).
    point = ultimate_point(FirstOrder(1.0, 10.0, 1.0).response)
    assert as_typed(point.gain, "16.3506")
    assert as_typed(point.period_s, "3.8500")
    # The condition itself: w L + atan(w T) = pi.
    rad_s = 2.0 * math.pi / point.period_s
    assert rad_s + math.atan(10.0 * rad_s) == pytest.approx(math.pi)
    assert point.gain == pytest.approx(math.hypot(1.0, 10.0 * rad_s))


def test_ultimate_point_of_an_integrator_with_dead_time():
    # By hand: |G| = k'/w and w L = pi/2, so Ku = pi / (2 k' L) and Tu = 4 L.
    point = ultimate_point(Integrating(1.4, 2.5).response)
    assert point.gain == pytest.approx(math.pi / 7.0)
    assert point.period_s == pytest.approx(10.0)


@settings(deadline=None, derandomize=True, max_examples=20)
@given(gain=some.floats(0.1, 500.0), lag_s=some.floats(1.0, 500.0), dead_s=some.floats(0.5, 30.0))
def test_ultimate_point_agrees_with_a_general_library(gain, lag_s, dead_s):
    # python-control 0.10: gain margin of the same fraction; dead time by Pade's approximation of order 8.
    loop = control.tf([gain], [lag_s, 1.0]) * control.tf(*control.pade(dead_s, 8))
    margins, _, _, crossings_rad_s, _, _ = control.stability_margins(loop, returnall=True)
    first = np.argmin(margins)
    point = ultimate_point(FirstOrder(gain, lag_s, dead_s).response)
    assert point.gain == pytest.approx(margins[first], rel=1e-6)
    assert point.period_s == pytest.approx(2.0 * math.pi / crossings_rad_s[first], rel=1e-6)


@pytest.mark.parametrize("rule", [ziegler_nichols_step_pid, cohen_coon_pid, simc_pi])
def test_gain_margin_of_a_whole_loop_agrees_with_a_general_library(rule):
    # python-control 0.10: smallest gain margin above 1 of plant and controller in a row; Pade of order 6.
    model = FirstOrder(3.0, 20.0, 1.0)
    pid = rule(model)
    loop = control.tf([pid.kd, pid.kc, pid.ki], [1.0, 0.0]) * control.tf([3.0], [20.0, 1.0])
    loop *= control.tf(*control.pade(1.0, 6))
    margins = control.stability_margins(loop, returnall=True)[0]
    point = ultimate_point(loop_response(model.response, pid))
    assert point.gain == pytest.approx(min(margins), rel=1e-4)
    assert point.gain > 1.0


def test_gain_margin_of_simc_by_hand():
    # Lag below 8 dead times, tight: the loop is exp(-L s) / (2 L s), so the gain margin is pi.
    model = FirstOrder(2.0, 10.0, 2.0)
    margin = ultimate_point(loop_response(model.response, simc_pi(model)))
    assert margin.gain == pytest.approx(math.pi)
    assert margin.period_s == pytest.approx(8.0)


@pytest.mark.parametrize("case", [*CASES, E6_PI], ids=lambda case: case.name)
def test_maximum_sensitivity_of_the_published_loops(case):
    pid = series_to_ideal(SeriesSettings(float(case.kc), float(case.ti_s), float(case.td_s)))
    ms = maximum_sensitivity(loop_response(case.process.response, pid))
    assert ms == pytest.approx(float(case.ms), abs=0.006)
    # python-control 0.10: the disk margin of the sensitivity is 1 / Ms; dead time by Pade of order 10.
    s = control.tf("s")
    loop = control.tf([pid.kd, pid.kc, pid.ki], [1.0, 0.0]) * case.process.gain
    for zero_s in case.process.zeros_s:
        loop *= zero_s * s + 1.0
    for lag_s in case.process.lags_s:
        loop *= 1.0 / (lag_s * s + 1.0)
    loop *= (1.0 / s) if case.process.integrating else 1.0
    if case.process in (E9, E10):
        loop *= control.tf(*control.pade(case.process.dead_s, 10))
    disk, _, _ = control.disk_margins(loop, np.geomspace(1e-3, 1e3, 4000), skew=1.0)
    assert ms == pytest.approx(1.0 / disk, rel=1e-4)


def test_maximum_sensitivity_of_a_first_order_loop():
    # Gain 1, lag 10 s, dead time 1 s under SIMC's PI: 1.609 (recomputed by a separate program).
    model = FirstOrder(1.0, 10.0, 1.0)
    assert as_typed(maximum_sensitivity(loop_response(model.response, simc_pi(model))), "1.609")
    # By hand: a gain of 1 around an integrator 1/s has 1 / (1 + L) = s / (s + 1), never above 1.
    integrator = loop_response(Integrating(1.0, 0.0).response, PidSettings(1.0))
    assert maximum_sensitivity(integrator) == pytest.approx(1.0)


def test_maximum_sensitivity_finds_a_narrow_peak():
    # 1 / (s (s + 2 z)) closed has 1 / (1 + L) = s (s + 2 z) / (s^2 + 2 z s + 1); at 1 rad/s 1 / (2 z).
    z = 1e-4
    process = LagModel(0.5 / z, (0.5 / z,), integrating=True)
    assert maximum_sensitivity(process.response) == pytest.approx(0.5 / z, rel=1e-5)


@settings(deadline=None, derandomize=True, max_examples=25)
@given(
    gain=some.floats(0.1, 500.0),
    lag_s=some.floats(1.0, 300.0),
    dead_s=some.floats(0.0, 12.0),
    sample_s=some.sampled_from([0.5, 1.0, 2.0]),
)
def test_sampled_loop_has_a_root_on_the_unit_circle(gain, lag_s, dead_s, sample_s):
    # Modified z-transform of a lag by hand: p and q are left after a sample, and after what of it follows
    # the dead time; G = z^-m K ((1 - q) z + q - p) / (z - p).
    point = sampled_ultimate_point(
        LinearPlant.from_lags(FirstOrder(gain, lag_s, dead_s)).sampled(sample_s), sample_s
    )
    m = math.floor(dead_s / sample_s) + 1
    p, q = math.exp(-sample_s / lag_s), math.exp(-(m * sample_s - dead_s) / lag_s)
    polynomial = np.zeros(m + 2)
    polynomial[0], polynomial[1] = 1.0, -p
    polynomial[-2:] += point.gain * gain * np.array([1.0 - q, q - p])
    roots = np.roots(polynomial)
    outermost = roots[np.argmax(np.abs(roots))]
    assert abs(outermost) == pytest.approx(1.0, abs=1e-6)
    assert abs(np.angle(outermost)) == pytest.approx(2.0 * math.pi * sample_s / point.period_s, rel=1e-5)


@pytest.mark.parametrize("sample_s", [0.2, 1.0, 5.0])
@pytest.mark.parametrize("lags_s", [(40.0,), (40.0, 3.0), (1.0, 1.0, 1.0), (200.0, 20.0, 5.0, 2.0)])
def test_sampled_loop_agrees_with_a_general_library(lags_s, sample_s):
    # python-control 0.10 samples the plant; closed with the gain found, its outermost pole has size 1.
    process = LagModel(3.0, lags_s)
    point = sampled_ultimate_point(LinearPlant.from_lags(process).sampled(sample_s), sample_s)
    fraction = control.tf([3.0], np.poly1d([1.0]).coeffs)
    for lag_s in lags_s:
        fraction *= control.tf([1.0], [lag_s, 1.0])
    states = control.sample_system(control.ss(control.tf2ss(fraction)), sample_s, "zoh")
    poles = control.feedback(point.gain * states, 1.0).poles()
    assert max(abs(poles)) == pytest.approx(1.0, abs=2e-6)
    calmer = control.feedback(0.98 * point.gain * states, 1.0).poles()
    assert max(abs(calmer)) < 1.0


def test_sampling_a_single_lag_by_hand():
    # One lag without dead time, sampled: z - p + K Ku (1 - p) = 0 at z = -1, an oscillation of two samples.
    p = math.exp(-0.1)
    point = sampled_ultimate_point(LinearPlant.from_lags(FirstOrder(2.0, 10.0, 0.0)).sampled(1.0), 1.0)
    assert point.gain == pytest.approx((1.0 + p) / (2.0 * (1.0 - p)))
    assert point.period_s == pytest.approx(2.0)


def test_sampling_costs_half_a_sample_of_dead_time():
    # For slow plants: the idea behind with_window().
    slow = FirstOrder(337.0, 183.0, 4.4)
    exact = sampled_ultimate_point(LinearPlant.from_lags(slow).sampled(1.0), 1.0)
    roughly = ultimate_point(FirstOrder(337.0, 183.0, 4.9).response)
    assert exact.gain == pytest.approx(roughly.gain, rel=0.02)
    assert exact.period_s == pytest.approx(roughly.period_s, rel=0.02)


@pytest.mark.parametrize(
    ("process", "seconds"),
    [
        (LagModel(2.0, (9.0, 3.0), (), 1.3), 400),
        (LagModel(2.0, (90.0, 3.0), (), 1.3), 60),
        (LagModel(0.1, (3.0,), (), 1.3, integrating=True), 60),
        (LagModel(300.0, (90.0, 9.0), (20.0,), 2.0), 150),
    ],
)
def test_a_recorded_step_gives_the_same_ultimate_point(process, seconds):
    plant = LinearPlant.from_lags(process)
    exact = sampled_ultimate_point(plant.sampled(1.0), 1.0)
    record = plant.step(np.arange(float(seconds)))
    found = sampled_ultimate_point(sampled_response(record, 1.0), 1.0)
    assert found.gain == pytest.approx(exact.gain, rel=1e-6)
    assert found.period_s == pytest.approx(exact.period_s, rel=1e-6)


def test_relay_formula():
    # 4 d / (pi a) with d = 0.5, a = 2: 0.31831 by hand; a band of 1.2 leaves sqrt(4 - 1.44) = 1.6: 0.39789.
    assert as_typed(relay_point(0.5, 2.0, 30.0).gain, "0.31831")
    assert as_typed(relay_point(0.5, 2.0, 30.0, 1.2).gain, "0.39789")
    assert relay_point(0.5, 2.0, 30.0, 1.2).period_s == 30.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: ultimate_point(FirstOrder(1.0, 10.0, 0.0).response), "ultimate gain is no oscillation"),
        (lambda: ultimate_point(LagModel(1.0, (1.0, 5.0)).response), "must turn by half a period"),
        (lambda: ultimate_point(FirstOrder(1.0, 10.0, 1.0).response, 10.0, 1.0), "high_rad_s is 1.0"),
        (lambda: ultimate_point(FirstOrder(1.0, 10.0, 1.0).response, 0.0), "low_rad_s is 0.0"),
        (lambda: sampled_ultimate_point(FirstOrder(1.0, 10.0, 1.0).response, 0.0), "sample_s is 0.0"),
        (lambda: sampled_response(np.zeros(20), 1.0), "20 readings"),
        (lambda: sampled_response(np.full(30, math.nan), 1.0), "all finite"),
        (lambda: sampled_response(np.zeros(30), -1.0), "sample_s is -1.0"),
        (lambda: relay_point(0.0, 2.0, 30.0), "half_swing is 0.0"),
        (lambda: relay_point(0.5, math.nan, 30.0), "half_peak_to_peak is nan"),
        (lambda: relay_point(0.5, 2.0, 30.0, 2.0), "must be below 2.0 K"),
        (lambda: relay_point(0.5, 2.0, 30.0, -0.1), "hysteresis is -0.1"),
        (lambda: relay_point(0.5, 2.0, 0.0), "period_s is 0.0"),
    ],
)
def test_what_has_no_answer_is_refused(call, words):
    with pytest.raises(StackError, match=words):
        call()


def test_remembered_settings_of_e6_are_calm():
    # Whatever its reduction is: the half rule's own PI is a little less robust than the remembered one.
    own = maximum_sensitivity(loop_response(E6.response, simc_pi(Integrating(1.0, 1.188))))
    assert float(E6_PI.ms) < own < 1.8
