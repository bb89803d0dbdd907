"""The half rule against the examples of its paper and small cases worked by hand."""

import math

import control
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from ribwright_sim.lag_model import LagModel, first_order, second_order
from ribwright_sim.loop_models import FirstOrder, Integrating, SecondOrder
from ribwright_sim.materials import StackError
from sim.published_loops import CASES, E6, as_typed


def figures(model):
    """Gain, lags from the largest, dead time; an integrator is no lag."""
    match model:
        case FirstOrder():
            return model.gain, (model.lag_s,), model.dead_s
        case SecondOrder():
            return model.gain, (model.lag_s, model.second_lag_s), model.dead_s
        case Integrating():
            return model.slope_per_s, (model.lag_s,) if model.lag_s else (), model.dead_s


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_reductions_of_the_paper(case):
    # Skogestad 2003: E2 seen in print, the others from memory (see published_loops.py).
    gain, lags_s, dead_s = figures((first_order if case.order == 1 else second_order)(case.process))
    assert as_typed(gain, case.gain)
    assert len(lags_s) == len(case.lags_s)
    assert all(map(as_typed, lags_s, case.lags_s))
    assert as_typed(dead_s, case.dead_s)


def test_two_zeros_against_one_lag_then_the_half_rule():
    # E6 by hand: 0.17 twice against the same lag of 1 leaves 0.66; half of 1, all of 0.66 and 0.028.
    # The paper is remembered with 1.69, all of 1 instead of half; that is not asserted.
    assert first_order(E6).dead_s == pytest.approx(0.5 + 0.66 + 0.028)


@pytest.mark.parametrize(
    # The rules for positive zeros as the docstring of lag_model._without_lead() states them (from memory),
    # worked by hand: zero T0, its lag t0, dead time L.
    ("process", "expected"),
    [
        # T0 = 8 above t0 = 5 above L = 0.5: factor 8/5.
        (LagModel(1.0, (5.0, 1.0, 1.0), (8.0,)), (1.6, 1.5, 0.5)),
        # T0 = 8 above L = 3 above t0 = 1: factor 8/3.
        (LagModel(1.0, (1.0, 0.5), (8.0,), 3.0), (8.0 / 3.0, 0.5, 3.0)),
        # L = 3 above both: no factor.
        (LagModel(1.0, (1.0, 0.5), (2.0,), 3.0), (1.0, 0.5, 3.0)),
        # T0 = 10 below t0 = 20, above 5 L = 2.5: factor 10/20; the lag of 2 is left.
        (LagModel(1.0, (20.0, 2.0), (10.0,), 0.5), (0.5, 2.0, 0.5)),
        # T0 = 2 below 5 L = 2.5 below t0 = 20: factor 2.5/20, lag 2.5 - 2.
        (LagModel(1.0, (20.0,), (2.0,), 0.5), (0.125, 0.5, 0.5)),
        # T0 = 1.5 is nearer to 2 than to 1, by ratio: a lag of 2 - 1.5 is left beside 1.
        (LagModel(1.0, (20.0, 2.0, 1.0), (1.5,), 0.05), (1.0, 20.5, 1.05)),
        # T0 = 1.1 is nearer to the smaller lag of 1 than to 10: factor 1.1.
        (LagModel(1.0, (10.0, 1.0), (1.1,), 0.1), (1.1, 10.0, 0.1)),
    ],
)
def test_positive_zeros(process, expected):
    gain, lags_s, dead_s = figures(first_order(process))
    assert (gain, *lags_s, dead_s) == pytest.approx(expected)


def test_a_wrong_way_zero_counts_as_dead_time():
    model = second_order(LagModel(3.0, (9.0, 4.0), (-0.7,), 0.3))
    assert figures(model) == (3.0, (9.0, 4.0), pytest.approx(1.0))


def test_a_plant_that_has_the_form_stays_as_it_is():
    assert first_order(LagModel(2.0, (7.0,), (), 1.5)) == FirstOrder(2.0, 7.0, 1.5)
    assert second_order(LagModel(2.0, (7.0,), (), 1.5)) == SecondOrder(2.0, 7.0, 0.0, 1.5)
    assert second_order(LagModel(2.0, (3.0, 7.0), (), 1.5)) == SecondOrder(2.0, 7.0, 3.0, 1.5)
    assert first_order(LagModel(2.0, (), (), 1.5, integrating=True)) == Integrating(2.0, 1.5)
    assert second_order(LagModel(2.0, (7.0,), (), 1.5, integrating=True)) == Integrating(2.0, 1.5, 7.0)


LAGS = some.lists(some.floats(0.05, 50.0), min_size=1, max_size=6)


@settings(deadline=None, derandomize=True)
@given(lags_s=LAGS, dead_s=some.floats(0.0, 5.0), slower=some.floats(0.1, 10.0), integrating=some.booleans())
@pytest.mark.parametrize("reduce", [first_order, second_order])
def test_time_is_kept_and_scales(reduce, lags_s, dead_s, slower, integrating):
    # Lags and dead time together are the area between step and answer; the half rule moves it, no more.
    gain, kept_s, late_s = figures(reduce(LagModel(2.0, tuple(lags_s), (), dead_s, integrating)))
    # The half that would go to the integrator is lost in it.
    lost_s = 0.5 * max(lags_s) if integrating and reduce is first_order else 0.0
    assert gain == 2.0
    assert sum(kept_s) + late_s + lost_s == pytest.approx(sum(lags_s) + dead_s)
    slow = LagModel(2.0, tuple(slower * lag_s for lag_s in lags_s), (), slower * dead_s, integrating)
    _, slow_kept_s, slow_late_s = figures(reduce(slow))
    assert slow_kept_s == pytest.approx([slower * lag_s for lag_s in kept_s])
    assert slow_late_s == pytest.approx(slower * late_s)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_response_is_the_one_of_a_general_library(case):
    # python-control 0.10 evaluates the same fraction; the dead time is put in by its definition.
    process = case.process
    s = control.tf("s")
    fraction = process.gain * (1.0 / s if process.integrating else control.tf([1.0], [1.0]))
    for zero_s in process.zeros_s:
        fraction *= zero_s * s + 1.0
    for lag_s in process.lags_s:
        fraction *= 1.0 / (lag_s * s + 1.0)
    rad_s = np.geomspace(0.01, 30.0, 25)
    late = np.exp(-1j * rad_s * process.dead_s)
    assert process.response(rad_s) == pytest.approx(fraction(1j * rad_s) * late, rel=1e-9)


@pytest.mark.parametrize("bad", [-1.0, 0.0, math.nan, math.inf])
@pytest.mark.parametrize(
    ("make", "where"),
    [
        (lambda bad: LagModel(bad, (1.0,)), "gain"),
        (lambda bad: LagModel(1.0, (1.0, bad)), "lags_s"),
    ],
)
def test_a_number_that_cannot_be_is_refused(make, where, bad):
    with pytest.raises(StackError, match=where):
        make(bad)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: LagModel(1.0, (1.0,), (), -0.1), "dead_s is -0.1"),
        (lambda: LagModel(1.0, (1.0,), (0.0,)), "zeros_s is 0.0"),
        (lambda: LagModel(1.0, (1.0,), (math.nan,)), "zeros_s is nan"),
        (lambda: LagModel(1.0, (1.0,), (0.1, 0.1)), "must be 1 or fewer zeros"),
        (lambda: first_order(LagModel(1.0)), "lags_s is none left"),
        (lambda: first_order(LagModel(1.0, (1.0,), (0.9,), 0.1)), "lags_s is none left"),
        (lambda: first_order(LagModel(1.0, (), (0.5,), 0.0, integrating=True)), "zero of 0.5"),
    ],
)
def test_what_cannot_be_reduced_is_refused(make, words):
    with pytest.raises(StackError, match=words):
        make()
