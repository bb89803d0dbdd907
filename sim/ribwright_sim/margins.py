"""How far a zone's control is from swinging: gain margin and sensitivity, beside those of textbook rules.

The zone is taken as linear about the target it holds; its answer to a small step of duty comes from the
simulator, read as the board reads it: means of whole relay windows.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .control.rules import RULES, tell
from .layout import Stack
from .loop_models import C128, Response
from .plant import Plant
from .ultimate import maximum_sensitivity, sampled_response, sampled_ultimate_point

F64 = NDArray[np.float64]

FINE_S = 0.25
# A crude hold first, then a small step on a copy.
HOLD_S, CRUDE_S, CRUDE_KP, CRUDE_KI = 300.0, 2.0, 0.02, 0.0004
STEP_DUTY, RECORD_S = 0.05, 400.0
LONGEST_S = 2400.0
# Full power that comes to the target and sinks below it again, as water leaves or a neighbour takes its heat.
FULL, SHORT_K = 0.005, 1.0


@dataclass(frozen=True, slots=True)
class Margins:
    """Of one set of gains on one zone.

    gain_margin: the factor by which all gains may grow before the loop swings. sensitivity: the largest share
    of a disturbance that is left, Ms; below about 1.7 is called robust (common practice, no source).
    """

    gain_margin: float
    sensitivity: float


@dataclass(frozen=True, slots=True)
class Answer:
    """A zone's answer to a step of the whole duty, about a target.

    times_s, rise_k: (n,) read about every FINE_S. windows: as the sampled loop sees it. duty: what held the
    target. reached_s: when full power came to it.
    """

    times_s: F64
    rise_k: F64
    windows: Response
    duty: float
    reached_s: float


class TooWeakError(Exception):
    """A zone whose full power does not come to the target, or does not hold it.

    zone: its name. target_c: what is wanted. highest_c: what full power holds. duty: what holding the target
    would take, losses taken as linear.
    """

    def __init__(self, zone: str, target_c: float, highest_c: float, room_c: float) -> None:
        self.zone, self.target_c, self.highest_c = zone, target_c, highest_c
        self.duty = (target_c - room_c) / (highest_c - room_c) if highest_c > room_c else math.inf
        super().__init__(f"zone {zone} comes to {highest_c:.0f} C at full power, {target_c:.0f} C are wanted")


def _on(plant: Plant, zone: int, duty: float) -> list[float]:
    return [duty if other == zone else 0.0 for other in range(len(plant.zones))]


def answer(stack: Stack, zone: int, target_c: float, window_s: float) -> Answer:
    """A zone's answer to a small step about a target it holds.

    Args:
        stack: the side.
        zone: its place.
        target_c: what it holds.
        window_s: relay and control window.

    Raises TooWeakError for a zone that never gets there, or does not stay.
    """
    plant = Plant(stack)

    def weak(highest_c: float) -> TooWeakError:
        return TooWeakError(stack.zones[zone], target_c, highest_c, stack.ambient_c)

    while plant.thermocouple_c(zone) < target_c:
        plant.advance(CRUDE_S, _on(plant, zone, 1.0))
        if plant.time_s > LONGEST_S:
            raise weak(plant.thermocouple_c(zone))
    reached_s = plant.time_s
    integral, seen = 0.5, []
    for _ in range(round(HOLD_S / CRUDE_S)):
        error_k = target_c - plant.thermocouple_c(zone)
        integral = min(max(integral + CRUDE_KI * CRUDE_S * error_k, 0.0), 1.0)
        seen.append(min(max(CRUDE_KP * error_k + integral, 0.0), 1.0))
        plant.advance(CRUDE_S, _on(plant, zone, seen[-1]))
    duty = float(np.mean(seen[-30:]))
    if duty > 1.0 - FULL and plant.thermocouple_c(zone) < target_c - SHORT_K:
        raise weak(plant.thermocouple_c(zone))
    # Down where there is no room above.
    step = STEP_DUTY if duty + STEP_DUTY <= 1.0 else -STEP_DUTY
    traces = []
    per_window = max(1, round(window_s / FINE_S))
    fine_s = window_s / per_window
    for more in (0.0, step):
        one = copy.deepcopy(plant)
        on = _on(one, zone, duty + more)
        rows = [one.thermocouple_c(zone)]
        for _ in range(round(RECORD_S / fine_s)):
            one.advance(fine_s, on)
            rows.append(one.thermocouple_c(zone))
        traces.append(np.array(rows))
    rise_k = (traces[1] - traces[0]) / step
    whole = rise_k[1 : 1 + (len(rise_k) - 1) // per_window * per_window]
    means = np.concatenate([[0.0], whole.reshape(-1, per_window).mean(axis=1)])
    times_s: F64 = fine_s * np.arange(len(rise_k), dtype=np.float64)
    return Answer(times_s, rise_k, sampled_response(means, window_s), duty, reached_s)


def law_response(kp: float, ki: float, kd: float, window_s: float) -> Response:
    """Of the law as the board steps it, once a window: duty for each kelvin of error, by frequency [rad/s].

    Args:
        kp: gain [1/K].
        ki: of the integral [1/(K s)].
        kd: of the derivative [s/K].
        window_s: relay and control window [s].
    """

    def response(rad_s: F64) -> C128:
        z = np.exp(1j * np.asarray(rad_s, dtype=np.float64) * window_s)
        return np.asarray(kp + ki * window_s * z / (z - 1.0) + kd / window_s * (z - 1.0) / z)

    return response


def margins(seen: Answer, gains: Mapping[str, float], window_s: float) -> Margins:
    """Of fixed gains kp, ki, kd.

    Args:
        seen: the zone's answer.
        gains: with kp [1/K], ki [1/(K s)], kd [s/K].
        window_s: relay and control window.
    """
    law = law_response(gains["kp"], gains["ki"], gains["kd"], window_s)

    def loop(rad_s: F64) -> C128:
        return np.asarray(seen.windows(rad_s) * law(rad_s))

    top = math.pi / window_s
    gain_margin = sampled_ultimate_point(loop, window_s).gain
    stable = gain_margin > 1.0
    return Margins(gain_margin, maximum_sensitivity(loop, high_rad_s=top) if stable else math.nan)


def rule_gains(seen: Answer, window_s: float) -> dict[str, dict[str, float]]:
    """What each textbook rule would set: kp, ki, kd by name of the rule.

    Args:
        seen: the zone's answer.
        window_s: relay and control window.
    """
    gain_k = float(abs(seen.windows(np.array([1e-6]))[0]))
    ultimate = sampled_ultimate_point(seen.windows, window_s)
    told = tell(seen.times_s, seen.rise_k, gain_k, ultimate, ultimate, window_s)
    found: dict[str, dict[str, float]] = {}
    for name, rule in RULES.items():
        if name == "zn_relay_pid":
            # A simulated relay finds the ultimate point that is known here.
            continue
        settings = rule(told)
        found[name] = {
            "kp": settings.kc,
            "ki": settings.kc / settings.ti_s,
            "kd": settings.kc * settings.td_s,
        }
    return found
