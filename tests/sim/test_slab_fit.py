"""An estimator's numbers found back from what was read in the wood."""

import numpy as np
import pytest

from ribwright_board.core.wood_figures import ESCAPE_S, LEAD_S, LOSS_W_M2_K, RESISTANCE_M2_K_W
from ribwright_sim.slab_fit import fit_slab

# A strip of one temperature: 2 mm of 600 kg/m3 and 1.8 kJ/(kg K), with 60 g/m2 of water above 90 C.
CAPACITY_J_M2_K, WATER_KG_M2, LATENT_J_KG = 2160.0, 0.06, 2.4e6
TIMES_S = np.arange(600)
JUNCTION_C = np.minimum(21.0 + 0.9 * TIMES_S, 140.0)


def strip(resistance, loss, escape_s):
    """A slab of one cell driven by the thermocouple: heat in, heat lost, water leaving."""
    now_c, water, told = 21.0, WATER_KG_M2, []
    for junction_c in JUNCTION_C:
        leaving = water / escape_s * min(max((now_c - 90.0) / 20.0, 0.0), 1.0)
        flux = (junction_c - now_c) / resistance - loss * (now_c - 21.0) - leaving * LATENT_J_KG
        now_c += flux / CAPACITY_J_M2_K
        water -= leaving
        told.append(now_c)
    return np.array(told)[4::5]


def test_what_is_true_lies_within_three_sigma_and_is_narrowed():
    truth = (6.0e-3, 7.5, 28.0)
    noisy = strip(*truth) + 0.5 * np.random.default_rng(3).standard_normal(len(TIMES_S) // 5)
    found = fit_slab(strip, noisy, (4.5e-3, 5.6, 19.0))
    for value, sigma, true in zip(found.values, found.sigmas, truth, strict=True):
        assert abs(value - true) <= 3.0 * sigma
    assert found.residual_k == pytest.approx(0.5, rel=0.15)
    assert found.before_k > 4.0 * found.residual_k
    assert found.verdicts[0] == "identified"


def test_readings_that_say_nothing_leave_the_defaults():
    found = fit_slab(lambda *_: np.full(40, 50.0), np.full(40, 50.0))
    assert found.values == pytest.approx((RESISTANCE_M2_K_W, LOSS_W_M2_K, ESCAPE_S, LEAD_S))
    assert found.verdicts == ("not identified",) * 4
    assert found.left == pytest.approx((1.0, 1.0, 1.0, 1.0))


def test_an_estimator_of_another_shape_is_refused():
    with pytest.raises(ValueError, match="were read"):
        fit_slab(lambda *_: np.zeros(3), np.zeros(10))
    with pytest.raises(ValueError, match="3 readings"):
        fit_slab(lambda *_: np.zeros(3), np.zeros(3))
