"""The quick campaign: a sample of every fault on rigs the guard was never tuned on, goal by goal."""

from dataclasses import replace

import pytest

from ribwright_sim.campaign.faults import FAULTS, KINDS
from ribwright_sim.campaign.goals import GOALS, judged
from ribwright_sim.campaign.outcome import BLANKET_LIMIT_C
from ribwright_sim.campaign.parts import play
from ribwright_sim.campaign.play import fault_of
from ribwright_sim.campaign.spread import here
from ribwright_sim.campaign.work import QUICK

SEED = 4
# The first of them plays it all, minutes of a quiet machine.
pytestmark = pytest.mark.timeout(1800)


@pytest.fixture(scope="module")
def campaign():
    # The walk through the modes and the real interpreter have tests of their own.
    return play(replace(QUICK, walk="", board_faults=0, board_resets=0), SEED, 1, here)


@pytest.fixture(scope="module")
def figures(campaign):
    return campaign.figures()


def names(outcomes):
    """Cases to play again: python -m ribwright_sim.campaign replay NAME."""
    return [f"{outcome.case.name}: {outcome.named}" for outcome in outcomes]


def of(campaign, *ids):
    found = [outcome for outcome in campaign.core.outcomes if outcome.case.fault in ids]
    assert found
    return found


def test_goal_1_no_blanket_passes_its_limit(campaign, figures):
    assert names(campaign.core.over_limit()) == []
    assert max(outcome.hottest_c for outcome in campaign.core.outcomes) > 150.0
    assert figures["cutoff_needed"] <= 0.05
    assert [run.name for run in campaign.core.healthy if run.hottest_c > BLANKET_LIMIT_C] == []


def test_goal_2_off_is_fast_and_total(campaign, figures):
    assert figures["worst_off_ms"] <= 200.0
    assert figures["worst_contactor_ms"] <= 1000.0
    never_open = [o for o in campaign.core.outcomes if o.how == "trip" and o.contactor_ms is None]
    assert {outcome.case.fault for outcome in never_open} <= {"A7"}


def test_goal_3_every_class_is_named_in_its_time(campaign, figures):
    assert names(campaign.core.undetected()) == []
    late = [
        f"{outcome.case.name}: {outcome.detect_s}"
        for outcome in campaign.core.outcomes
        if fault_of(outcome.case).contained
        and (outcome.detect_s or 0.0) > KINDS[fault_of(outcome.case).kind].clock_s
    ]
    assert late == []
    kinds = {fault.kind for fault in FAULTS.values()} - {"hardware"}
    assert {kind for kind in kinds if f"worst_detect_s_{kind}" in figures} == kinds


def test_goal_4_nothing_flows_before_a_deliberate_press(campaign, figures):
    assert figures["resets"] == QUICK.resets
    assert figures["unarmed_energised_half_cycles"] == 0
    # The same rigs heat when start is pressed, so the count could have been another one.
    assert all(reset.pressed_flows or reset.code for reset in campaign.core.resets)
    assert sum(reset.pressed_flows for reset in campaign.core.resets) > 0.8 * QUICK.resets
    assert {reset.mode for reset in campaign.core.resets} >= {"idle", "ready", "proving", "running", "paused"}


def test_goal_5_the_cause_is_the_right_one(campaign):
    assert names(campaign.core.wrong_cause()) == []


def test_goal_7_healthy_runs_are_never_interrupted(campaign):
    assert campaign.core.nuisances() == []
    stages = {stage for run in campaign.core.healthy for stage in run.stages}
    assert stages >= {"idle", "ready", "proving", "ramp", "hold", "set", "cool", "paused"}
    assert any(run.ended for run in campaign.core.healthy)


def test_goal_10_stuck_means_off(campaign, figures):
    stuck = of(campaign, "A4")
    assert {outcome.case.variant for outcome in stuck} == {"high", "low", "alive0", "alive1", "racing"}
    assert names([outcome for outcome in stuck if not outcome.detected or outcome.contactor_ms is None]) == []
    assert figures["stuck_not_open"] == 0


def test_goal_11_right_sensor_right_zone(campaign):
    plugs = of(campaign, "B5", "B7", "C14")
    assert names([outcome for outcome in plugs if outcome.wrong_cause or not outcome.detected]) == []
    assert max(outcome.detect_s for outcome in plugs if outcome.detect_s is not None) <= 60.0


def test_goal_13_clocks_wrap_and_are_wrong(campaign, figures):
    assert figures["clocks_played"] >= 4
    settings = [warm.setting for warm in campaign.core.warm] + [run.setting for run in campaign.core.healthy]
    assert {setting.us_per_ms for setting in settings} == {909, 1000, 1111}
    assert any(setting.clock_start_ms == 2**30 - 10_000 for setting in settings)


def test_goal_14_a_welded_contactor_refuses_the_next_start(campaign):
    welded = [outcome for outcome in of(campaign, "A7") if outcome.case.variant == "closed"]
    assert welded
    assert names([outcome for outcome in welded if outcome.named != "contactor_closed"]) == []


def test_goal_15_exposure_is_bounded(campaign, figures):
    assert figures["over_branch_limit_ms"] == 0.0
    alone = of(campaign, "D1")
    assert {outcome.named for outcome in alone} == {"unattended", "session_over"}
    assert figures["worst_detect_s_presence"] <= 840.0
    assert figures["worst_detect_s_session"] <= 7200.0


def test_goals_are_judged_by_the_figures_alone(figures):
    found = judged(figures)
    assert set(found) == set(GOALS) == {f"G{number}" for number in range(1, 16)}
    worse = {**figures, "over_limit": 1}
    assert not judged(worse)["G1"]["held"]
