"""The flash fails, tears or decays under the shipped firmware on a real littlefs; protection is the same."""

from dataclasses import replace

import pytest

from ribwright_board.core.errors import FAULTS as CODES
from ribwright_sim.campaign.board_faults import BOARD_ONLY, board_cases
from ribwright_sim.campaign.board_flash import LATE_MS
from ribwright_sim.campaign.board_runs import run_board_faults
from ribwright_sim.campaign.faults_flash import flash_faults
from ribwright_sim.campaign.goals import CONTACTOR_MS, OFF_MS, judged
from ribwright_sim.campaign.outcome import Outcome
from ribwright_sim.campaign.parts import Campaign
from ribwright_sim.campaign.phases import PHASES
from ribwright_sim.campaign.replay import case_from, replay
from ribwright_sim.campaign.work import NORMAL, QUICK
from seam.rig_parts import need

FLASH = {fault.form: fault for fault in flash_faults()}
# Words that are no codes of a trip.
SAID = {"log_lost", "no_room", "damaged", "stop", "interrupted", "off"}
UNPROVED = {"idle", "ready"}
PLAYED = {
    "C8.full.open/idle/z0/loaded/1/49": "no_room+open",
    "C8.full.open/ready/z1/bare/1/58": "log_lost+open",
    "C8.worn.open/proving.pulse/z0/loaded/1/55": "log_lost+open",
    "C8.torn.open/ramp/z1/bare/1/58": None,
    "C8.full.stop/hold/z-1/bare/1/52": None,
    "C8.torn.stop/paused/z-1/bare/1.1/53": None,
    "C8.worn.reset/set/z-1/bare/1/58": "log_lost+interrupted",
    "C8.worn.weld/ready/z0/bare/1/52": "heat_while_off",
    "C8.profile.start/idle/z0/bare/1/58": "damaged+open",
    "C8.profile.start/ready/z0/bare/1/58": "files+open",
    "C8.profile.open/hold/z1/bare/1/58": "open",
    "C8.profile.stop/cool/z-1/bare/1/58": "stop+damaged",
    "C8.rig.start/ready/z1/bare/1.1/53": "files+open",
    "C8.mark.reset/rest/z-1/bare/1/58": None,
    "C8.counters.reset/ramp/z-1/bare/1/58": "interrupted",
    "C8.log.open/set/z0/bare/1/52": "open",
}


@pytest.fixture(scope="module")
def outcomes():
    need("micropython")
    cases = [case_from(name) for name in (*PLAYED, "B1/hold/z1/bare/1/58")]
    return {outcome.case.name: outcome for outcome in run_board_faults(cases, workers=1)}


def test_table_of_the_flash_is_complete():
    for how in ("full", "worn", "torn"):
        assert set(FLASH[f"{how}.open"].phases) == set(PHASES)
        assert len(FLASH[f"{how}.stop"].phases) == len(FLASH[f"{how}.reset"].phases) == 5
    for what in ("profile", "rig"):
        phases = {phase for form, fault in FLASH.items() if form.startswith(what) for phase in fault.phases}
        # In a proof it is chance whether the files have been asked for.
        assert phases == {phase for phase in PHASES if not phase.startswith("proving")}
        assert set(FLASH[f"{what}.start"].phases) == UNPROVED
    assert {form.partition(".")[0] for form in FLASH} >= {"mark", "counters", "log"}
    assert {fault.key for fault in FLASH.values()} <= set(BOARD_ONLY)


@pytest.mark.parametrize("form", FLASH)
def test_every_flash_fault_says_what_is_right(form):
    fault = FLASH[form]
    assert fault.contained
    assert fault.accept
    assert fault.what
    for named in fault.accept:
        assert set(named.split("+")) <= SAID | set(CODES)
    # Whoever loses the log or reads a damaged file has to say so.
    silent = any(form.startswith(what) for what in ("log.", "counters.", "mark.")) or "weld" in form
    goes_on = form.endswith((".open", ".resume")) and form.startswith(("profile", "rig"))
    if not silent and not goes_on:
        assert all(
            set(named.split("+")) & {"log_lost", "no_room", "damaged", "files"} for named in fault.accept
        )


def test_normal_campaign_plays_each_in_each_of_its_phases_and_a_quick_one_a_few():
    played = {
        (case.variant, case.phase) for case in board_cases(NORMAL.board_faults, 4) if case.fault == "C8"
    }
    assert played == {(form, phase) for form, fault in FLASH.items() for phase in fault.phases}
    assert len(played) >= 100
    assert sum(case.fault == "C8" for case in board_cases(QUICK.board_faults, 4)) >= 3


@pytest.mark.parametrize("name", PLAYED)
def test_what_becomes_of_the_flash_is_told_and_what_follows_is_named(outcomes, name):
    outcome = outcomes[name]
    assert outcome.board
    assert outcome.note == ""
    assert outcome.named in outcome.case.expected
    assert PLAYED[name] in (None, outcome.named)
    assert not outcome.over_limit
    assert not outcome.cutoff_opened
    assert outcome.unarmed_half_cycles == 0
    assert outcome.figures["over_us"] == 0.0
    assert outcome.figures["late_ms"] <= LATE_MS
    assert (outcome.off_ms or 0.0) <= OFF_MS
    assert (outcome.contactor_ms or 0.0) <= CONTACTOR_MS
    if outcome.named.endswith("open"):
        assert outcome.off_ms is not None
        assert outcome.contactor_ms is not None


def test_protection_does_not_hang_on_the_flash(outcomes):
    well = outcomes["B1/hold/z1/bare/1/58"]
    assert well.named == "open"
    for name, outcome in outcomes.items():
        if outcome.case.fault == "C8" and outcome.named.endswith("open"):
            # Both moments fall on ticks of a tenth of a second, which are not the same ones.
            assert outcome.detect_s == pytest.approx(well.detect_s, abs=0.25), name


def test_a_flash_fault_that_nobody_names_breaks_a_goal():
    case = case_from("C8.worn.open/hold/z0/bare/1/58")
    right = Outcome(case, "log_lost+open", "trip", figures={"late_ms": 12.0})
    wrong = [Outcome(case), replace(right, named="open"), replace(right, named="stop+log_lost+open")]
    for outcomes, broken in (([right], 0), (wrong, 3)):
        figures = Campaign(board=outcomes).figures()
        assert figures["board_flash_faults"] == len(outcomes)
        assert figures["board_flash_wrong"] == broken
        assert (figures["board_undetected"], figures["board_wrong_cause"]) == ((1, 2) if broken else (0, 0))
        assert judged({**figures, "clocks_played": 4})["G13"]["held"] == (not broken)


def test_case_of_the_flash_is_played_again_by_its_name():
    need("micropython")
    said = []
    assert replay("C8.worn.stop/set/z-1/bare/1/58", said.append) == 0
    assert any("log_lost" in line for line in said[1:-1])
    assert said[-1].startswith("named ")
