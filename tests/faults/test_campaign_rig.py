"""The campaign's rig: the true core on a bench and a sheet, in exact time, and copies that go on alike."""

from dataclasses import replace

import pytest

from ribwright_sim.campaign.core_rig import BOOT_US, CoreRig
from ribwright_sim.campaign.mains_side import RELAY_PINS
from ribwright_sim.campaign.meter import GRACE_US, SECOND_US, Meter
from ribwright_sim.campaign.phases import PHASES, PhaseWatch, run_for, warm_states
from ribwright_sim.campaign.play import Play, fault_of
from ribwright_sim.campaign.replay import case_from, replay
from ribwright_sim.campaign.resets import reset_once
from ribwright_sim.campaign.rigs import Setting, draw_setting, rig_mapping

# A rig whose proof every version of the firmware has to pass: nominal mains, right clock, cold.
PLAIN = Setting(seed=1)


def laid_out(setting=PLAIN):
    rig = CoreRig(setting)
    run_for(rig, 2.0)
    rig.lay_out()
    return rig


def running(setting=PLAIN, seconds=10.0):
    """Proved, and heating for some seconds."""
    rig = laid_out(setting)
    for _ in range(1000):
        rig.tick()
        if rig.controller.mode == "running":
            break
    assert rig.controller.mode == "running"
    run_for(rig, seconds)
    return rig


def names(rig):
    return [entry[1] for entry in rig.told]


@pytest.fixture(scope="module")
def warm():
    """A rig that heats, as a copy."""
    return running().snapshot()


@pytest.fixture
def heating(warm):
    return CoreRig.from_snapshot(warm)


def test_run_begins_with_a_press_and_the_proof_and_then_heats(heating):
    assert names(heating)[:3] == ["press", "proving", "proved"]
    assert heating.bench.contactor
    assert heating.bench.powered()[0] == 1.0
    assert heating.flowed_s[0] > 5.0


def test_copies_go_on_alike_and_leave_the_first_alone(warm):
    one, other = CoreRig.from_snapshot(warm), CoreRig.from_snapshot(warm)
    run_for(one, 20.0)
    assert other.now_us < one.now_us
    run_for(other, 20.0)
    assert one.readings_c() == other.readings_c()
    assert one.shown_c == other.shown_c
    assert one.told == other.told
    assert one.meter == other.meter


def test_nothing_flows_before_the_press():
    rig = laid_out()
    rig.hands.starts = False
    rig.hands.plan = []
    run_for(rig, 30.0)
    assert rig.meter.flowed_us == 0
    assert rig.controller.mode == "ready"


def test_trip_drops_the_relays_at_once_and_the_contactor_820_ms_after_the_last_edge(heating):
    heating.converters[0].chip.state = "open"
    heating.meter.clear()
    run_for(heating, 5.0)
    assert heating.controller.guard.trip.code == "open"
    assert heating.meter.off_ms == 0.0
    # The last edge was given one tick before the decision.
    assert 700.0 <= heating.meter.contactor_ms <= 820.0
    assert not heating.bench.contactor
    assert heating.meter.half_cycles(heating.meter.strict_us) == 0


def test_welded_switch_flows_until_the_contactor_opens_and_that_is_counted(heating):
    heating.bench.stuck[0] = "on"
    heating.converters[0].chip.state = "open"
    heating.meter.clear()
    run_for(heating, 5.0)
    flowed_ms = heating.meter.strict_us / 1000.0
    assert flowed_ms == pytest.approx(heating.meter.contactor_ms, abs=1.0)
    assert heating.meter.half_cycles(heating.meter.strict_us) == pytest.approx(flowed_ms * 0.12, abs=1.0)
    assert heating.meter.unarmed_us == 0


def test_hang_is_ended_by_the_watchdog_which_boots_a_rig_that_is_off(heating):
    heating.told = []
    heating.hung = True
    at_us = heating.now_us
    run_for(heating, 2.5)
    told = {name: at for at, name, *_ in heating.told}
    assert names(heating)[0] == "watchdog"
    assert told["watchdog"] - at_us <= 2 * SECOND_US + BOOT_US
    run_for(heating, 3.0)
    assert "interrupted" in names(heating)
    assert heating.controller.mode == "idle"
    assert not any(heating.bench.powered())
    assert heating.boots == 1


def test_contactor_opens_long_before_the_watchdog_when_the_loop_stands_still(heating):
    heating.stall_us = 2 * SECOND_US - 300_000
    at_us = heating.now_us
    while heating.bench.contactor:
        heating.tick()
    assert heating.now_us - at_us <= 900_000
    assert heating.boots == 0


def test_reset_between_two_edges_leaves_every_pin_low(heating):
    heating.cut_us = 37_000
    heating.tick()
    assert heating.boots == 1
    assert heating.bench.commanded == [False, False]
    found = reset_once(running(), "a reset", 3)
    assert found.half_cycles == 0
    assert found.mode == "running"
    assert found.pressed_flows


def test_run_that_was_cut_off_is_remembered_until_it_ended():
    rig = running()
    rig.reset()
    run_for(rig, 1.0)
    assert [entry[3:5] for entry in rig.told if entry[1] == "interrupted"] == [(1, 1)]
    rig.reset()
    run_for(rig, 1.0)
    assert rig.controller.guard.trip.code == "resets"


@pytest.mark.parametrize("us_per_ms", [909, 1111])
def test_wrong_clock_stretches_the_firmwares_time_and_not_the_worlds(us_per_ms):
    rig = CoreRig(replace(PLAIN, us_per_ms=us_per_ms))
    start_ms, start_us = rig.now_ms, rig.now_us
    run_for(rig, 30.0)
    assert (rig.now_us - start_us) / (rig.now_ms - start_ms) == us_per_ms
    assert rig.plant.time_s == pytest.approx(rig.now_us / 1e6, abs=1e-6)


def test_counter_that_starts_before_its_wrap_changes_nothing_else():
    early, late = running(), running(replace(PLAIN, clock_start_ms=2**30 - 10_000))
    assert late.now_ms > 2**30
    assert early.readings_c() == late.readings_c()
    assert early.now_us == late.now_us


def test_branch_that_cannot_take_both_is_never_overloaded_and_the_meter_would_see_it():
    rig = running(draw_setting(3, 1.0, bare=False))
    assert rig.setting.tight
    assert rig.meter.over_us == 0
    assert all(share > 0.0 for share in rig.flowed_s)
    rig._levels = [True, True]
    rig.flow(100_000)
    assert rig.meter.over_us == 100_000


def test_pins_of_the_rigs_file_are_the_ones_of_the_bench():
    zones = rig_mapping(PLAIN)["zones"]
    assert tuple(zone["relay_pin"] for zone in zones) == RELAY_PINS


def test_warm_states_come_from_every_phase_and_are_what_they_are_called():
    warm = warm_states(draw_setting(1, 1.0, bare=True), keep=1)
    assert set(warm.by_phase) == set(PHASES)
    for phase, copies in warm.by_phase.items():
        rig = CoreRig.from_snapshot(copies[0])
        mode = {"proving": "proving", "resuming": "proving"}.get(phase.partition(".")[0], phase)
        wanted = (
            rig.controller.mode
            if rig.controller.mode in ("idle", "ready", "paused", "proving")
            else "running"
        )
        assert wanted == (mode if mode in ("idle", "ready", "paused", "proving") else "running")
        if mode in ("ramp", "hold", "set", "cool"):
            watch = PhaseWatch()
            assert watch.see(rig) == phase


def test_case_starts_acts_and_is_named_and_its_replay_says_so():
    name = "B1/ramp/z0/bare/1/1"
    said = []
    assert replay(name, said.append) == 0
    assert any("trip 0 2" in line and "open" in line for line in said)
    assert said[-1].startswith("named open by trip")


def test_case_from_a_warm_state_is_played_to_its_verdict_and_half_a_minute_on(warm):
    case = case_from("B10/ramp/z1/loaded/1/1")
    rig = CoreRig.from_snapshot(warm)
    outcome = Play(case, rig, fault_of(case)).run()
    assert outcome.named == "no_chip"
    assert outcome.how == "trip"
    assert 1.5 <= outcome.detect_s <= 2.2
    assert not outcome.wrong_cause
    assert rig.now_us / SECOND_US > outcome.detect_s + 30.0


def test_meter_counts_half_cycles_outside_armed_modes_after_the_grace():
    meter = Meter()
    meter.mode(0, "running")
    meter.flow(0, 500_000, flows=True, over=False, closed=True)
    meter.mode(500_000, "tripped")
    meter.decide(500_000)
    meter.act(500_000)
    meter.flow(500_000, 400_000, flows=True, over=False, closed=True)
    meter.flow(900_000, 100_000, flows=False, over=False, closed=False)
    meter.flow(500_000 + GRACE_US, 50_000, flows=True, over=False, closed=True)
    assert (meter.strict_us, meter.unarmed_us) == (450_000, 50_000)
    assert meter.half_cycles(meter.unarmed_us) == 6
    assert (meter.off_ms, meter.contactor_ms) == (0.0, 400.0)
