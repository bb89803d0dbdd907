"""Gains found by the fast solver, run through the code that the board will run.

Twice: the zone's own loop without noise, where both must tell the same; and the whole controller with its
converter, its start checks and its guards.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from .layout import Stack
from .plant import Plant
from .scenario import run_core
from .step_trial import SETTLE_BAND_K, StepFigures, step_trial
from .tuning import HOLD_S, LONGEST_S, RigBench

# They read the same plant in different ways: steps of a second or of a tenth, noise of its own for each, one
# window that the controller waits at the start. On the example rig they were 0.23 K apart at most with noise,
# 0.07 K without, at windows of 1, 4 and 20 s.
AGREE_K, AGREE_SHARE = 0.4, 0.2


@dataclass(frozen=True, slots=True)
class Core:
    """One zone on the nominal rig, by the solver and by the firmware's own code; overshoot and ripple [K].

    solver, loop: without noise. noisy, controller: with it.
    """

    solver: tuple[float, float]
    loop: tuple[float, float]
    noisy: tuple[float, float]
    controller: tuple[float, float]

    def pairs(self) -> list[tuple[str, str, float, float]]:
        """What is held against each other: what, by whom, what the search saw, what the core did."""
        found = []
        for who, search, core in (
            ("the zone's own loop", self.solver, self.loop),
            ("the whole controller", self.noisy, self.controller),
        ):
            for place, what in enumerate(("overshoot", "ripple")):
                found.append((what, who, search[place], core[place]))
        return found


class DisagreeError(Exception):
    """The firmware's own code does otherwise than the search; seen: one sentence with figures."""

    def __init__(self, seen: str) -> None:
        super().__init__(seen)
        self.seen = seen


def limit_k(search_k: float, core_k: float) -> float:
    """How far two figures may be apart."""
    return AGREE_K + AGREE_SHARE * min(search_k, core_k)


def taught(
    stack: Stack, zone: int, gains: Mapping[str, float], target_c: float, window_ms: int
) -> StepFigures:
    """The zone's own loop on a rig without noise: how it does and what it learns.

    Args:
        stack: of the rig.
        zone: position of the one that is heated, by itself.
        gains: keys as core.gains.GAIN_NAMES.
        target_c: to be reached and held [C].
        window_ms: relay window, a multiple of 100.
    """
    return step_trial(
        Plant(stack),
        [gains] * len(stack.zones),
        target_c,
        window_ms=window_ms,
        hold_s=HOLD_S,
        limit_s=LONGEST_S,
        noise_k=0.0,
        step_k=0.0,
        only=zone,
    )[0]


def controller(
    rig: Mapping[str, object],
    piece: Mapping[str, object],
    stack: Stack,
    zone: int,
    gains: Mapping[str, float],
    target_c: float,
    seed: int,
) -> tuple[float, float]:
    """Overshoot and ripple [K] of the same step by the whole controller, on the junction's true temperature.

    Args:
        rig: mapping of the rig file; the gains are put in place of all zones' own.
        piece: a profile's [piece].
        stack: of the rig.
        zone: position of the one that is heated, by itself.
        gains: keys as core.gains.GAIN_NAMES.
        target_c: to be reached and held [C].
        seed: of the converter's noise.

    Raises DisagreeError when the run does not come to its end.
    """
    given = {**gains, "for_rig": "sim", "tuned_by": "under test"}
    zones = [{**one, "gains": given} for one in rig["zones"]]  # type: ignore[attr-defined]
    name = zones[zone]["name"]
    hold = {"kind": "hold", "zones": [name], "target": target_c, "band": 5, "minutes": HOLD_S / 60.0}
    profile = {
        "schema": 1,
        "name": "step",
        "unit": "C",
        "piece": dict(piece),
        "stages": [{**hold, "longest_min": 60}, {"kind": "cool", "below": 90}],
    }
    trace = run_core({**rig, "zones": zones}, profile, Plant(stack), seed=seed, each_second=_heating)
    rows = [row[zone] - target_c for row, stage in zip(trace.true_c, trace.stage, strict=True) if stage == 0]
    error_k = np.array(rows)
    near = np.flatnonzero(error_k >= -SETTLE_BAND_K)
    if trace.trip or not len(near):
        why = trace.trip or "it never arrived"
        raise DisagreeError(f"zone {name} at {target_c:.0f} C: the controller ends its run ({why})")
    return max(float(error_k.max()), 0.0), float(np.sqrt(np.mean(error_k[near[0] :] ** 2)))


def _heating(trace: object, _: Plant) -> bool:
    """Whether the hold still goes on; what cools afterwards is of no use here."""
    return trace.stage[-1] == 0  # type: ignore[attr-defined,no-any-return]


def verify(
    bench: RigBench,
    rig: Mapping[str, object],
    piece: Mapping[str, object],
    zone: int,
    gains: Mapping[str, float],
    window_ms: int,
    seed: int,
) -> Core:
    """Hold the solver and the firmware's own code against each other on the nominal rig.

    Args:
        bench: whose first rig is the nominal one.
        rig: mapping of the rig file.
        piece: a profile's [piece].
        zone: its place.
        gains: to be verified.
        window_ms: relay window.
        seed: of the converter's noise.

    Raises DisagreeError when they are farther apart than limit_k().
    """
    stack, target_c, length_s = bench.stacks[0], bench.target_c, bench.length_s(zone)
    loop = taught(stack, zone, gains, target_c, window_ms)
    core_k = controller(rig, piece, stack, zone, gains, target_c, seed)
    arrive_s = loop.arrive_s if np.isfinite(loop.arrive_s) else LONGEST_S
    bench.last(zone, arrive_s + HOLD_S)
    # Twice the same rig: a single lane would be compiled anew.
    plain, noisy = (bench.warmups(zone, [gains], noise=noise, rigs=(0, 0))[0] for noise in (False, True))
    bench.last(zone, length_s)
    core = Core(
        (float(plain.overshoot_k[0]), float(plain.ripple_k[0])),
        (loop.overshoot_k, loop.ripple_k),
        (float(noisy.overshoot_k[0]), float(noisy.ripple_k[0])),
        core_k,
    )
    for what, who, search_k, is_k in core.pairs():
        limit = limit_k(search_k, is_k)
        # Not a number, from a zone that never arrives, is no agreement either.
        if not abs(search_k - is_k) <= limit:
            raise DisagreeError(
                f"zone {stack.zones[zone]}: {what} is {is_k:.2f} K by {who}, the search saw {search_k:.2f} K"
                f"; they may be {limit:.2f} K apart"
            )
    return core
