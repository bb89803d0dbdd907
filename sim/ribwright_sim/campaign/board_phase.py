"""Brings the shipped firmware on a board into any phase of a run within seconds of the simulation.

The stack is warmed to where the phase begins before the board starts; the profile begins with the phase's
own kind of stage.

phase: one of phases.PHASES. setting: the drawn rig.
"""

from __future__ import annotations

from functools import lru_cache
from random import Random
from typing import Any

from ribwright_sim.interpreter import RigError

from .board_rig import BoardRig
from .core_rig import draw_plant
from .meter import SECOND_US
from .plants import Sheet
from .rigs import Setting, piece_mapping

BOTH = ["waist", "full"]
COOL = {"kind": "cool", "below": 40}
TARGET_C = 125.0
# Per phase: where the stack begins [C], None as it lies in the room, and the stage the run begins with.
_RAMP = {"kind": "ramp", "zones": BOTH, "target": 165, "longest_min": 20}
_HOLD = {"kind": "hold", "zones": BOTH, "target": TARGET_C, "minutes": 20, "longest_min": 30}
BEGINS: dict[str, tuple[float | None, dict[str, Any]]] = {
    "idle": (None, _RAMP),
    "ready": (None, _RAMP),
    "proving": (None, _RAMP),
    "ramp": (130.0, _RAMP),
    "plateau": (92.0, _RAMP),
    "hold": (TARGET_C + 8.0, _HOLD),
    "rest": (165.0, {"kind": "ramp", "zones": BOTH, "target": 100, "longest_min": 20}),
    "set": (TARGET_C + 8.0, {"kind": "set", "zones": BOTH, "target": TARGET_C, "minutes": 10}),
    "cool": (125.0, COOL),
    "paused": (TARGET_C + 8.0, _HOLD),
    "resuming": (TARGET_C + 8.0, _HOLD),
}
# Seconds from the press: first and last moment of a proof's steps, without and with contactor feedback.
PROOF_S = {
    "settle": ((0.2, 1.8), (0.2, 1.8)),
    "weld": ((2.2, 7.5), (2.2, 3.8)),
    "off": ((8.2, 12.8), (4.2, 8.8)),
    "pulse": ((13.2, 28.0), (9.2, 24.0)),
}
WARM_STEP_S = 0.5
WARM_LONGEST_S = 900.0
GENTLE_K = 30.0
NEAR_K = 3.0
SETTLED_S = 120.0
# In a stack that was heated a moment ago the blanket is hotter than the rest, and a proof that falls into
# the levelling takes it for a missing answer.
REST_S = 25.0
REACH_S = 90.0
STARTS = 4
AGAIN_S = 20.0


def profile_for(phase: str, setting: Setting) -> dict[str, Any]:
    """The profile that begins with a phase."""
    stage = BEGINS[phase.partition(".")[0]][1]
    stages = [stage] if stage is COOL else [stage, COOL]
    return {
        "schema": 1,
        "name": f"campaign {phase}"[:40],
        "unit": "C",
        "piece": piece_mapping(setting),
        "stages": stages,
    }


def plant_for(phase: str, setting: Setting) -> Sheet:
    """A stack of its own, as warm as the phase begins."""
    warm_c = BEGINS[phase.partition(".")[0]][0]
    return draw_plant(setting) if warm_c is None else _warmed(setting, warm_c).copy()


@lru_cache(maxsize=16)
def _warmed(setting: Setting, warm_c: float) -> Sheet:
    """A stack that has been held at a temperature for a while by a plain proportional law in every zone."""
    plant = draw_plant(setting)
    zones = range(len(plant.zones))
    end_s = WARM_LONGEST_S
    while plant.time_s < end_s:
        below_k = [warm_c - plant.thermocouple_c(zone) for zone in zones]
        plant.advance(WARM_STEP_S, [min(max(0.3 + k / GENTLE_K, 0.0), 1.0) for k in below_k])
        if max(below_k) < NEAR_K:
            end_s = min(end_s, plant.time_s + SETTLED_S)
    plant.advance(REST_S, [0.0 for _ in zones])
    return plant


def reach(rig: BoardRig, phase: str, draw: Random) -> int:
    """Bring a rig that has just come up into a phase, at a moment of it that is taken from draw.

    Returns how often a start was refused on the way, which a maker answers by waiting and pressing again.
    Raises RigError when it does not get there.
    """
    rig.hands.starts = False
    _run(rig, draw.uniform(0.5, 1.0))
    name, _, step = phase.partition(".")
    if name == "idle":
        return 0
    rig.lay_out()
    if name == "ready":
        _run(rig, draw.uniform(0.5, 2.0))
        return 0
    refusals = 0
    _press(rig)
    if name == "proving":
        _run(rig, draw.uniform(*PROOF_S[step][rig.setting.feedback]))
        return 0
    while not _until(rig, "running"):
        refusals += 1
        if refusals == STARTS:
            raise _never(rig, "running")
        _run(rig, AGAIN_S)
        rig.lay_out()
        _press(rig)
    _run(rig, draw.uniform(1.0, 8.0))
    if name in ("paused", "resuming"):
        rig.ask("pause", {})
        _until(rig, "paused")
        _run(rig, draw.uniform(2.0, 15.0))
    if name == "resuming":
        _press(rig)
        _run(rig, draw.uniform(0.3, 6.0))
    return refusals


def _run(rig: BoardRig, seconds: float) -> None:
    end_us = rig.now_us + int(seconds * SECOND_US)
    while rig.now_us < end_us:
        rig.tick()


def _press(rig: BoardRig) -> None:
    rig.hands.do(rig.now_us, "start")
    if not _until(rig, "proving"):
        raise RigError(f"board: start was pressed and nothing is proved, it is {rig.controller.mode}")


def _until(rig: BoardRig, mode: str) -> bool:
    """Wait for a mode; return whether it came, and not a refusal or a trip in its place."""
    end_us = rig.now_us + int(REACH_S * SECOND_US)
    told = len(rig.told)
    while rig.controller.mode != mode:
        rig.tick()
        if rig.controller.mode == mode:
            break
        if any(entry[1] in ("trip", "refused") for entry in rig.told[told:]):
            return False
        if rig.now_us > end_us:
            raise _never(rig, mode)
    return True


def _never(rig: BoardRig, mode: str) -> RigError:
    told = "; ".join(f"{entry[1]} {entry[5]}".strip() for entry in rig.told[-4:])
    return RigError(f"board: never came to {mode}; it told: {told}")
