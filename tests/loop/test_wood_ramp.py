"""Heating for the wood against heating for the thermocouple, at one limit of the wood's face, on one rig."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from ribwright_board.core.wood_figures import BAND_K
from ribwright_board.core.wood_ramp import RISE_K
from ribwright_host.virtual import example_piece, example_rig
from ribwright_sim.plant import Plant
from ribwright_sim.scenario import Trace, run_core

# 1.7 mm sapele; the bend's temperature is both target and limit of the face.
TARGET_C = 150.0
MID_C = 130.0
# What is asked of the wood beyond that, so that the face comes to its limit before the ramp ends.
FACE_BINDS_C = 141.0
WATCHED_S = 330.0


@dataclass
class Seen:
    """What one run did to the wood at the zone's junction."""

    trace: Trace
    mid_at_s: float = float("inf")
    hot_c: float = 0.0
    reading_c: float = 0.0
    rows: list[tuple[int, float, float]] = field(default_factory=list)


def bend(ramp: dict[str, object], mid_c: float = MID_C, seed: int = 0) -> Seen:
    rig = example_rig().mapping
    zone = [one["name"] for one in rig["zones"]].index("full")
    stages = [
        {"kind": "ramp", "zones": ["full"], "target": TARGET_C, "longest_min": 12, **ramp},
        {"kind": "hold", "zones": ["full"], "target": TARGET_C, "minutes": 8, "longest_min": 20},
        {"kind": "cool", "below": 90},
    ]
    profile = {"schema": 1, "name": "bouts", "unit": "C", "piece": example_piece(), "stages": stages}
    plant = Plant.from_rig(rig, example_piece(), seed=seed)
    column = int(plant.stack.junction_column[zone])
    seen = Seen(Trace())

    def look(trace: Trace, at: Plant) -> bool:
        sample = at.sample()
        if sample.wood_mid_c[column] >= mid_c:
            seen.mid_at_s = min(seen.mid_at_s, trace.time_s[-1])
        seen.hot_c = max(seen.hot_c, sample.wood_hot_c[column])
        seen.reading_c = max(seen.reading_c, sample.thermocouple_c[zone])
        target_c = trace.target_c[-1][zone]
        if target_c is not None:
            seen.rows.append((trace.stage[-1], target_c, sample.thermocouple_c[zone]))
        return trace.time_s[-1] < WATCHED_S

    seen.trace = run_core(rig, profile, plant, seed=3, each_second=look)
    return seen


def for_the_wood(mid_c: float) -> dict[str, object]:
    return {"heat_for": "wood", "mid_wood": mid_c, "wood_face": TARGET_C}


@pytest.fixture(scope="module")
def plain():
    return bend({})


def test_wood_is_hot_sooner_at_the_same_limit_of_its_face(plain):
    ours = bend(for_the_wood(MID_C))
    assert ours.trace.trip == plain.trace.trip == ""
    assert "suspect" not in ours.trace.names()
    assert "wood_hot" in ours.trace.names()
    # A fifth of the time at least.
    assert ours.mid_at_s < 0.8 * plain.mid_at_s
    assert plain.mid_at_s < WATCHED_S
    assert ours.hot_c < TARGET_C + BAND_K
    assert ours.reading_c > TARGET_C + 10.0


@pytest.mark.parametrize("seed", [0, 41])
def test_thermocouple_gives_way_as_the_face_comes_to_its_limit(seed):
    ours = bend(for_the_wood(FACE_BINDS_C), FACE_BINDS_C, seed)
    assert ours.trace.trip == ""
    assert "suspect" not in ours.trace.names()
    ramp = [(target_c, seen_c) for stage, target_c, seen_c in ours.rows if stage == 0]
    targets_c = [target_c for target_c, _ in ramp]
    assert all(TARGET_C <= target_c <= TARGET_C + RISE_K for target_c in targets_c)
    top = max(range(len(ramp)), key=lambda at: ramp[at][1])
    # Down from its highest reading while the ramp is still on, and down with the target.
    assert ramp[-1][1] < ramp[top][1] - 3.0
    assert ramp[-1][1] == pytest.approx(targets_c[-1], abs=2.0)
    # The face comes to its limit, as far as an estimate can tell.
    assert TARGET_C - BAND_K < ours.hot_c < TARGET_C + BAND_K


def test_next_stage_comes_down_to_its_target():
    ours = bend(for_the_wood(MID_C))
    held = [seen_c for stage, _, seen_c in ours.rows if stage == 1]
    assert held[0] > TARGET_C + 5.0
    assert all(abs(seen_c - TARGET_C) < 3.0 for seen_c in held[60:])
