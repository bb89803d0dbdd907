"""The campaign through the board's own interpreter: faults and resets whole, and its parts by themselves."""

from types import SimpleNamespace

import pytest

from ribwright_board.core import wire
from ribwright_sim.campaign.board_cable import ShortCable, Talk, upload
from ribwright_sim.campaign.board_faults import BOARD_ONLY, board_cases, board_fault
from ribwright_sim.campaign.board_meter import BoardMeter
from ribwright_sim.campaign.board_phase import BEGINS, plant_for, profile_for
from ribwright_sim.campaign.board_reach import Reach
from ribwright_sim.campaign.board_resets import HOWS, run_board_resets
from ribwright_sim.campaign.board_runs import board_setting, play_on_board, run_board_faults
from ribwright_sim.campaign.faults import FAULTS
from ribwright_sim.campaign.outcome import Case
from ribwright_sim.campaign.phases import PHASES
from seam.rig_parts import need

# Safety goals of the project: every output off, and the contactor open, so long after the decision.
OFF_MS, CONTACTOR_MS = 200.0, 1000.0


def case(fault, phase, zone=-1, variant="", **more):
    found = Case(fault, phase, (), variant, zone, **more)
    feedback = board_setting(found.seed, found.mains, bare=found.bare).feedback
    return Case(fault, phase, board_fault(found).accepted(feedback=feedback), variant, zone, **more)


@pytest.fixture(scope="module")
def interpreter():
    return need("micropython")


# An open and a shorted wire, a dead bus, a changed limit in memory, a hung loop, a dip of the supply, a
# contactor that does not close: what is named at once, in every kind of phase.
WHOLE = [
    case("B1", "ramp", 0),
    case("B10", "hold", 1, seed=2),
    case("B1", "idle", 1, seed=3),
    case("C7", "set", 0, "ceiling", seed=4),
    case("C7", "proving.pulse", -1, "branch", seed=4),
    case("C1", "rest", seed=5, mains=1.1),
    case("C2", "hold", seed=5),
    case("C4", "plateau", seed=6, mains=0.9),
    case("C5", "paused", seed=7),
    case("A7", "ready", -1, "open", seed=1),
    case("A4", "resuming", 0, "high", seed=8),
]


@pytest.fixture(scope="module")
def outcomes(interpreter):
    assert interpreter
    return run_board_faults(WHOLE, workers=1)


def test_outcomes_come_in_the_order_of_their_cases(outcomes):
    assert [outcome.case for outcome in outcomes] == WHOLE
    assert all(outcome.board for outcome in outcomes)
    assert [outcome.note for outcome in outcomes] == [""] * len(WHOLE)


def test_every_fault_is_named_rightly_by_the_shipped_firmware(outcomes):
    named = {outcome.case.name: (outcome.named, outcome.case.expected) for outcome in outcomes}
    assert {name: pair for name, pair in named.items() if pair[0] not in pair[1]} == {}


def test_off_means_off_at_the_pins_and_at_the_contactor(outcomes):
    tripped = [outcome for outcome in outcomes if outcome.how in ("trip", "refused")]
    assert len(tripped) >= 6
    for outcome in tripped:
        assert outcome.off_ms is not None
        assert 0.0 <= outcome.off_ms <= OFF_MS, outcome
        assert outcome.contactor_ms is not None
        assert 0.0 <= outcome.contactor_ms <= CONTACTOR_MS, outcome
    assert all(outcome.unarmed_half_cycles == 0 for outcome in outcomes)
    assert not any(outcome.over_limit or outcome.cutoff_opened for outcome in outcomes)


def test_a_case_is_the_same_whenever_it_is_played(outcomes, tmp_path):
    assert play_on_board(WHOLE[0], tmp_path) == outcomes[0]


def test_a_board_that_cannot_be_brought_into_the_phase_says_so(interpreter, tmp_path, monkeypatch):
    assert interpreter
    monkeypatch.setattr("ribwright_sim.campaign.board_phase.REACH_S", 1.0)
    outcome = play_on_board(case("B1", "hold", 0), tmp_path)
    assert outcome.named is None
    assert "never came to running" in outcome.note


def test_no_reset_lets_a_blanket_carry_current(interpreter):
    assert interpreter
    resets = run_board_resets(16, 3, workers=1)
    assert len(resets) == 16
    assert [reset.note for reset in resets] == [""] * 16
    assert sum(reset.half_cycles for reset in resets) == 0
    assert not any(reset.alive_edges or reset.wrong for reset in resets)
    assert {reset.how for reset in resets} <= set(HOWS)
    # Some of them cut a run off, and were told.
    assert any(reset.told for reset in resets)


def test_cases_for_boards_cover_every_fault_in_every_phase_and_are_drawn_by_the_seed():
    cases = board_cases(1000, 4)
    assert len(cases) == 1000
    assert cases == board_cases(1000, 4)
    assert cases != board_cases(1000, 5)
    played = {(case.fault, case.variant, case.phase) for case in cases}
    listed = [fault for fault in (*FAULTS.values(), *BOARD_ONLY.values()) if not fault.long]
    assert played == {(fault.id, fault.form, phase) for fault in listed for phase in fault.phases}
    assert {(case.mains, case.bare) for case in cases} == {
        (m, b) for m in (0.9, 1.0, 1.1) for b in (False, True)
    }


def test_every_phase_of_the_campaign_has_a_beginning_on_a_board():
    assert {phase.partition(".")[0] for phase in PHASES} == set(BEGINS)


@pytest.mark.parametrize("phase", ["plateau", "rest"])
def test_a_stack_begins_as_warm_as_its_phase_and_is_ones_own(phase):
    setting = board_setting(2, 1.0, bare=False)
    warm_c = BEGINS[phase][0]
    plant = plant_for(phase, setting)
    # Held there by a gentle law, then left to itself for the time a start takes.
    assert warm_c - 30.0 < plant.thermocouple_c(0) < warm_c + 10.0
    plant.advance(60.0, [1.0, 1.0])
    assert plant_for(phase, setting).thermocouple_c(0) < plant.thermocouple_c(0) - 5.0


def test_profiles_of_all_phases_fit_a_board():
    setting = board_setting(2, 1.0, bare=False)
    for phase in PHASES:
        profile = profile_for(phase, setting)
        assert profile["stages"][-1]["kind"] == "cool"
        assert len(profile["name"]) <= 40


def test_a_decision_told_late_is_measured_from_its_own_moment():
    meter = BoardMeter()
    meter.mode(0, "running")
    meter.flow(0, 1_000_000, flows=True, over=False, closed=True)
    # A relay's pin is high until 1.00 s; the firmware decided at 0.98 s and tells of it at 1.10 s.
    meter.act(1_000_000)
    meter.flow(1_000_000, 100_000, flows=False, over=False, closed=True)
    meter.decide(980_000)
    meter.flow(1_100_000, 500_000, flows=False, over=False, closed=True)
    meter.flow(1_600_000, 500_000, flows=False, over=False, closed=False)
    assert meter.off_ms == pytest.approx(20.0)
    assert meter.contactor_ms == pytest.approx(620.0)
    assert meter.unarmed_us == 0


def test_a_contactor_that_was_open_before_the_decision_took_no_time():
    meter = BoardMeter()
    meter.flow(4_000_000, 100_000, flows=False, over=False, closed=True)
    meter.flow(4_100_000, 1_500_000, flows=False, over=False, closed=False)
    meter.decide(5_000_000)
    assert meter.contactor_ms == 0.0
    # One that opened between the decision and its being told.
    meter = BoardMeter()
    meter.flow(4_000_000, 1_300_000, flows=False, over=False, closed=True)
    meter.flow(5_300_000, 400_000, flows=False, over=False, closed=False)
    meter.decide(5_000_000)
    assert meter.contactor_ms == 300.0


def test_current_long_after_a_decision_counts_as_unarmed():
    meter = BoardMeter()
    meter.mode(0, "running")
    meter.decide(1_000_000)
    meter.flow(1_500_000, 100_000, flows=True, over=False, closed=True)
    assert meter.unarmed_us == 0
    meter.flow(2_500_000, 100_000, flows=True, over=False, closed=True)
    # Twelve half cycles of 60 Hz in a tenth of a second.
    assert meter.half_cycles(meter.unarmed_us) == 12


def test_reaching_into_the_board_writes_by_name_and_reads_from_the_twin():
    said = []
    zones = [SimpleNamespace(gains={"c_gain": 2.0}), SimpleNamespace(gains={"c_gain": 3.0})]
    reach = Reach("controller.rig", SimpleNamespace(zones=zones, name="x"), said.append)
    reach.zones[1].gains["c_gain"] *= 10.0
    reach.name = "it's"
    assert said == ["controller.rig.zones[1].gains['c_gain'] = 30.0", 'controller.rig.name = "it\'s"']
    assert [zone.gains["c_gain"] for zone in reach.zones] == [2.0, 30.0]
    assert len(reach.zones) == 2


def test_a_short_cable_gives_no_more_than_there_is_room_for():
    cable = ShortCable()
    cable.put(b"abcdef")
    assert cable.waiting == 6
    assert cable.wait(1.0)
    assert cable.take(100, 4) == b"abcd"
    assert cable.take(100, 4) == b"ef"
    assert not cable.wait(1.0)


def test_answers_and_clocks_are_found_among_tells_and_in_pieces():
    talk = Talk(ShortCable())
    seq = talk.ask("status", {})
    said = (
        wire.encode("tell", 1, "row", {})
        + b"clock 5000 4\n"
        + wire.encode("ans", seq, "ok", {"mode": "idle"})
    )
    talk.cable.send(said[:30])
    assert talk.read() == []
    talk.cable.send(said[30:])
    assert talk.read() == [(5000, 4)]
    assert talk.answer(seq).data == {"mode": "idle"}
    assert talk.answer(seq) is None


def test_a_profile_goes_up_in_pieces_the_wire_can_carry():
    asked = []

    def ask(verb, data):
        asked.append((verb, data))
        return {"hash": "0123456789ab"}

    assert upload(ask, {"name": "x" * 600}) == "0123456789ab"
    assert [verb for verb, _ in asked] == ["put_open", *["put_piece"] * 3, "put_close"]
    assert asked[0][1]["size"] == len('{"name": ""}') + 600
    assert all(len(wire.encode("ask", 1, verb, data)) <= wire.MAX_LINE for verb, data in asked)
