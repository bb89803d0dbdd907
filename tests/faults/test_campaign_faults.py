"""The fault list: complete, and honest about what counts as the right name."""

import re
from pathlib import Path

import pytest

from ribwright_board.core.errors import FAULTS as CODES
from ribwright_sim.campaign.board_faults import BOARD_ONLY, board_cases
from ribwright_sim.campaign.faults import FAULTS, HARDWARE_ONLY, KINDS
from ribwright_sim.campaign.goals import GOALS
from ribwright_sim.campaign.outcome import Case
from ribwright_sim.campaign.phases import PHASES
from ribwright_sim.campaign.replay import case_from
from ribwright_sim.campaign.series import Series, all_series, cases_of
from ribwright_sim.campaign.work import NORMAL, QUICK, tasks

ROOT = Path(__file__).resolve().parents[2]
# Said by a reset instead of a trip.
TOLD = {"interrupted", "watchdog"}
# What the campaign has no part in: tests of their own play them (host and link) or they are no fault (mains
# tolerance, disturbances, plateau: every healthy run; clocks and wraps: every rig).
ELSEWHERE = {"C9", "C10", "C11", "C12", "C13", "D8", "D9", "D15", "D16"}


def test_every_id_of_the_list_is_there_or_said_to_be_elsewhere():
    wanted = {
        f"{table}{n}"
        for table, last in (("A", 10), ("B", 13), ("C", 14), ("D", 16))
        for n in range(1, last + 1)
    }
    played = {fault.id for fault in (*FAULTS.values(), *BOARD_ONLY.values())}
    assert played | set(HARDWARE_ONLY) | ELSEWHERE == wanted
    assert not played & ELSEWHERE


@pytest.mark.parametrize("key", FAULTS)
def test_right_names_are_codes_of_the_firmware_and_share_one_advice(key):
    fault = FAULTS[key]
    for accepted in (fault.accept, fault.accepted(feedback=True)):
        codes = [code for code in accepted if code not in TOLD]
        assert len(codes) <= 3
        assert len({CODES[code][1] for code in codes}) <= 1
    assert fault.accept or not fault.contained
    assert set(fault.phases) <= set(PHASES)
    assert fault.kind in KINDS


@pytest.mark.parametrize("key", [key for key, fault in FAULTS.items() if not fault.contained])
def test_what_only_hardware_contains_says_why(key):
    assert re.search(r"\(H\d+\)|cut-off|enclosure", FAULTS[key].why)


def test_whole_list_is_every_fault_in_each_of_its_phases_and_zones():
    cases = cases_of(Series(0, 1.0, bare=False))
    wanted = sum(len(f.phases) * (2 if f.each_zone else 1) for f in FAULTS.values() if not f.long)
    assert len(set(cases)) == len(cases) == wanted
    assert len(cases_of(Series(0, 1.0, bare=False), long=True)) == 3


def test_normal_campaign_has_ten_thousand_faults_and_covers_every_entry_on_every_kind_of_rig():
    seen = {}
    count = 0
    for series in all_series(NORMAL.rigs, NORMAL.bare_rigs, NORMAL.parts, 4):
        for case in cases_of(series):
            count += 1
            seen.setdefault((case.mains, case.bare), set()).add(
                (case.fault, case.variant, case.phase, case.zone)
            )
    assert count + NORMAL.board_faults >= 10_000
    assert NORMAL.board_faults >= 1000
    assert len(seen) == 6
    for (mains, bare), kinds in seen.items():
        assert kinds == {
            (case.fault, case.variant, case.phase, case.zone) for case in cases_of(Series(0, mains, bare))
        }


def test_normal_campaign_has_its_healthy_runs_and_resets():
    pieces = tasks(NORMAL, 4)
    assert sum(piece.shorts for piece in pieces) == 900
    assert sum(len(piece.wholes) for piece in pieces) == 100
    assert sum(piece.resets for piece in pieces) + NORMAL.board_resets == 1000


def test_quick_campaign_plays_every_fault_in_every_class_of_phases():
    cases = [
        case
        for series in all_series(QUICK.rigs, QUICK.bare_rigs, QUICK.parts, 4)
        for case in cases_of(series)
    ]
    assert {(case.fault, case.variant) for case in cases} == {
        (f.id, f.form) for f in FAULTS.values() if not f.long
    }
    assert {case.phase for case in cases} == set(PHASES)
    assert {case.zone for case in cases} == {-1, 0, 1}


def test_rigs_differ_in_what_the_guard_cannot_know():
    settings = [setting for piece in tasks(NORMAL, 4) for setting in piece.wholes]
    assert len({setting.seed for setting in settings}) == len(settings)
    assert {setting.window_ms for setting in settings} == {1000, 20_000}
    assert {5.0, 120.0, None} == {setting.start_c for setting in settings}
    assert min(s.mains for s in settings) < 0.92
    assert max(s.mains for s in settings) > 1.08


def test_name_of_a_case_is_enough_to_play_it_again():
    for case in cases_of(all_series(1, 1, 97, 4)[1]):
        assert case_from(case.name) == case
    for case in board_cases(1000, 4):
        assert case_from(case.name) == case
    assert isinstance(case_from("A4.high/proving.off/z1/bare/1.1/7"), Case)


@pytest.mark.parametrize(
    "name", ["A1", "A1/hold/z0/loaded/0.9", "Q9/hold/z0/loaded/0.9/1", "A1/hold/0/loaded/0.9/1"]
)
def test_a_name_that_is_none_is_refused(name):
    with pytest.raises(ValueError, match=re.escape(name)):
        case_from(name)


@pytest.mark.parametrize("name", GOALS)
def test_every_goal_names_tests_that_exist(name):
    assert GOALS[name].tests
    for test in GOALS[name].tests:
        place, _, function = test.partition("::")
        assert f"def {function}(" in (ROOT / place).read_text()
