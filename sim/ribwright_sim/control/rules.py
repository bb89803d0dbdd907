"""Every textbook rule on a stack, each told what it asks for without noise and without error.

Half a window is added to every dead time: that is how late a relay's window answers on average.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribwright_sim import tuning_rules as rule
from ribwright_sim.identification import early_model, relay_experiment, two_point_model
from ribwright_sim.linear_plant import LinearPlant, hold
from ribwright_sim.loop_models import (
    C128,
    FirstOrder,
    Integrating,
    PidSettings,
    Response,
    UltimatePoint,
    with_window,
)
from ribwright_sim.materials import StackError
from ribwright_sim.ultimate import relay_point, sampled_ultimate_point

from . import laws
from .linear import linear

F64 = NDArray[np.float64]

FINE_S, FINE_END_S = 0.25, 60.0
EARLY_S = 30.0
# An experiment with a relay swings the duty this much to either side of what holds.
RELAY_DUTY = 0.25


@dataclass(frozen=True, slots=True)
class Learned:
    """What the rules are told of one stack: tangent, first half minute, ultimate point, relay experiment."""

    tangent: FirstOrder
    early: Integrating
    ultimate: UltimatePoint
    relay: UltimatePoint


def _step_response(model: LinearPlant) -> tuple[F64, F64]:
    """After a step of the whole duty: finely at first, and what it comes to in the end [s, K]."""
    phi, gamma = hold(model.a, model.b, FINE_S)
    x, rows = np.zeros(len(model.b)), [0.0]
    for _ in range(round(FINE_END_S / FINE_S)):
        x = phi @ x + gamma
        rows.append(float(model.c @ x))
    times_s: F64 = FINE_S * np.arange(len(rows), dtype=np.float64)
    return times_s, np.array(rows)


def _sampled(model: LinearPlant, window_s: float) -> Response:
    """What LinearPlant.sampled() says, a sum over the model's own modes: no two of a stack's are alike."""
    phi, gamma = hold(model.a, model.b, window_s)
    poles, modes = np.linalg.eig(phi)
    weights = (model.c @ modes) * np.linalg.solve(modes, gamma.astype(np.complex128))

    def response(rad_s: F64) -> C128:
        z = np.exp(1j * np.asarray(rad_s, dtype=np.float64) * window_s)
        return np.asarray((weights / (z[..., None] - poles)).sum(axis=-1))

    return response


def _relay(model: LinearPlant, window_s: float) -> UltimatePoint:
    phi, gamma = hold(model.a, model.b, window_s)
    x = np.zeros(len(model.b))

    def advance(duty: float) -> float:
        nonlocal x
        x = phi @ x + gamma * duty
        return float(model.c @ x)

    seen = relay_experiment(advance, 0.0, (-RELAY_DUTY, RELAY_DUTY), sample_s=window_s)
    return relay_point(seen.half_swing, seen.half_peak_to_peak, seen.period_s)


def tell(
    times_s: F64, rise_k: F64, gain_k: float, ultimate: UltimatePoint, relay: UltimatePoint, window_s: float
) -> Learned:
    """What the rules ask for, from a step response read finely.

    Args:
        times_s: (n,) even times from the step on.
        rise_k: (n,) what the whole duty made of the reading.
        gain_k: what it comes to in the end.
        ultimate: of the sampled loop.
        relay: what an experiment with a relay finds.
        window_s: relay and control window.
    """
    every_s, half_s = float(times_s[1]), window_s / 2.0
    steep = int(np.argmax(np.diff(rise_k)))
    slope = float(rise_k[steep + 1] - rise_k[steep]) / every_s
    middle_s = float(times_s[steep]) + 0.5 * every_s
    dead_s = max(middle_s - 0.5 * float(rise_k[steep] + rise_k[steep + 1]) / slope, 0.0)
    return Learned(
        FirstOrder(gain_k, gain_k / slope, dead_s + half_s),
        with_window(early_model(times_s, rise_k, until_s=EARLY_S), window_s),
        ultimate,
        relay,
    )


def learn(plant: F64, target_c: float, window_s: float) -> Learned:
    """Tell the rules about a stack.

    Args:
        plant: one row of drawn.NAMES.
        target_c: about which it is linear.
        window_s: relay and control window.
    """
    model, _ = linear(plant, target_c)
    times_s, rise_k = _step_response(model)
    gain_k = float(model.c @ -np.linalg.solve(model.a, model.b))
    ultimate = sampled_ultimate_point(_sampled(model, window_s), window_s)
    return tell(times_s, rise_k, gain_k, ultimate, _relay(model, window_s), window_s)


def two_point_refused(plant: F64, target_c: float) -> bool:
    """Whether the method by two points finds no dead time it may use on this stack.

    Args:
        plant: one row of drawn.NAMES.
        target_c: about which it is linear.
    """
    model, _ = linear(plant, target_c)
    slowest_s = -1.0 / float(np.linalg.eigvals(model.a).real.max())
    times_s = np.linspace(0.0, 8.0 * slowest_s, 4001)
    phi, gamma = hold(model.a, model.b, float(times_s[1]))
    x, rows = np.zeros(len(model.b)), [0.0]
    for _ in times_s[1:]:
        x = phi @ x + gamma
        rows.append(float(model.c @ x))
    try:
        two_point_model(times_s, np.array(rows))
    except StackError:
        return True
    return False


RULES: dict[str, Callable[[Learned], PidSettings]] = {
    "zn_loop_pi": lambda seen: rule.ziegler_nichols_pi(seen.ultimate),
    "zn_loop_pid": lambda seen: rule.ziegler_nichols_pid(seen.ultimate),
    "zn_relay_pid": lambda seen: rule.ziegler_nichols_pid(seen.relay),
    "zn_step_pi": lambda seen: rule.ziegler_nichols_step_pi(seen.tangent),
    "zn_step_pid": lambda seen: rule.ziegler_nichols_step_pid(seen.tangent),
    "cohen_coon_pi": lambda seen: rule.cohen_coon_pi(seen.tangent),
    "cohen_coon_pid": lambda seen: rule.cohen_coon_pid(seen.tangent),
    "tyreus_luyben_pi": lambda seen: rule.tyreus_luyben_pi(seen.ultimate),
    "tyreus_luyben_pid": lambda seen: rule.tyreus_luyben_pid(seen.ultimate),
    "simc_pi": lambda seen: rule.simc_pi(Integrating(seen.early.slope_per_s, seen.early.dead_s)),
    "simc_pid": lambda seen: rule.simc_pid(seen.early),
    "amigo_pi": lambda seen: rule.amigo_pi(seen.tangent),
    "amigo_pid": lambda seen: rule.amigo_pid(seen.tangent),
}


def parameters(settings: PidSettings, kappa: float) -> F64:
    """Of laws.py, for a rule's settings with fixed gains.

    Args:
        settings: of the rule.
        kappa: of the preload, for the law that has one.
    """
    row = np.zeros(laws.PARAMETERS)
    row[laws.KP] = settings.kc
    row[laws.KI] = 0.0 if math.isinf(settings.ti_s) else settings.kc / settings.ti_s
    row[laws.KD] = settings.kc * settings.td_s
    row[laws.KAPPA] = kappa
    return row
