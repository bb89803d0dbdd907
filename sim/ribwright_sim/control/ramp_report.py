"""What a ramp that heats for the wood does on the example rig and on others drawn around it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ribwright_sim.measure.ours import PIECE
from ribwright_sim.plant import Plant
from ribwright_sim.scenario import Trace, run_core

from .tune_report import RIG

# Nominal, then drawn.
SEEDS = (0, *range(20240602, 20240610))
ZONE, PLACE = "full", 1
TARGET_C, MIDDLE_C, WATCHED_S = 150.0, 130.0, 700.0


class Bend(NamedTuple):
    """When the true middle of the bouts is at MIDDLE_C [s], infinite for never; hottest face by then [C]."""

    hot_s: float
    face_c: float


def bend(ramp: dict[str, object], seed: int) -> Bend:
    """One run on one rig.

    Args:
        ramp: keys of the ramp beyond those every ramp has.
        seed: of the rig, 0 for the one its file says.
    """
    stages = [
        {"kind": "ramp", "zones": [ZONE], "target": TARGET_C, "longest_min": 12, **ramp},
        {"kind": "hold", "zones": [ZONE], "target": TARGET_C, "minutes": 10, "longest_min": 20},
        {"kind": "cool", "below": 90},
    ]
    profile = {
        "schema": 1,
        "name": "bouts",
        "unit": "C",
        "piece": {"kind": "side", **PIECE},
        "stages": stages,
    }
    plant = Plant.from_rig(RIG, PIECE, seed=seed)
    column = int(plant.stack.junction_column[PLACE])
    hot_s, face_c = float("inf"), 0.0

    def look(trace: Trace, at: Plant) -> bool:
        nonlocal hot_s, face_c
        sample = at.sample()
        face_c = max(face_c, sample.wood_hot_c[column])
        if sample.wood_mid_c[column] >= MIDDLE_C:
            hot_s = trace.time_s[-1]
        return not np.isfinite(hot_s) and trace.time_s[-1] < WATCHED_S

    run_core(RIG, profile, plant, seed=3, each_second=look)
    return Bend(hot_s, face_c)


def ramp_figures() -> dict[str, float]:
    """The part of control.json that speaks of the ramp style; the target is the limit of the face."""
    by_wood = {"heat_for": "wood", "mid_wood": MIDDLE_C, "wood_face": TARGET_C}
    plain = [bend({}, seed) for seed in SEEDS]
    heeded = [bend(dict(by_wood), seed) for seed in SEEDS]
    share = [one.hot_s / other.hot_s for one, other in zip(heeded, plain, strict=True)]
    return {
        "example_plain_hot_s": plain[0].hot_s,
        "example_wood_ramp_hot_s": heeded[0].hot_s,
        "wood_ramp_share_of_time_min": float(np.nanmin(share)),
        "wood_ramp_share_of_time_p50": float(np.nanmedian(share)),
        "wood_ramp_share_of_time_max": float(np.nanmax(share)),
        "wood_ramp_face_over_limit_k_max": max(one.face_c for one in heeded) - TARGET_C,
    }
