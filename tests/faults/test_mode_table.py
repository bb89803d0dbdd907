"""Every order of events on the real controller, and what must hold at every moment; and that it can fail."""

from pathlib import Path

import pytest

from ribwright_board.core.controller import Controller
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.guard import Guard
from ribwright_board.core.knob_list import KnobList
from ribwright_board.core.modes import EVENTS, HEAT_MODES, MODES, TRANSITIONS
from ribwright_board.core.stages import StageRunner
from ribwright_sim.modes_check import diagram, explore
from ribwright_sim.modes_check.__main__ import main as modes_command
from ribwright_sim.modes_check.rigs import Variant
from ribwright_sim.modes_check.rules import RULES, reachable, table_faults

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def walked():
    return explore(quick=True)


def test_no_order_of_events_breaks_a_rule(walked):
    assert [violation.sentence() for violation in walked.violations] == []
    assert walked.broken == 0


def test_walk_is_whole_and_reaches_every_mode(walked):
    assert walked.whole
    assert walked.modes == set(MODES)
    assert walked.states > 200
    assert walked.moves > 20 * walked.states


def test_walk_meets_faults_of_every_kind(walked):
    assert {
        "open",
        "stale",
        "leap",
        "ceiling",
        "heat_while_off",
        "late_loop",
        "memory",
        "resets",
    } <= walked.trips
    assert {"unattended", "no_rise"} <= walked.trips
    assert {"contactor_closed", "swapped", "files", "no_rise"} <= walked.refusals
    assert (walked.trips | walked.refusals) <= set(FAULTS)


class AliveAlways(Controller):
    def alive_due(self):
        return True


class HeatsInCool(Controller):
    def alive_due(self):
        return Controller.alive_due(self) or (self.guard.trip is None and self.mode == "running")


class HeatsInATrip(Controller):
    def outputs(self, now_ms):
        return self.drive.outputs(self.mode in (*HEAT_MODES, "tripped"), self.guard, now_ms)

    def _follow_trip(self):
        """Goes nowhere."""


class HeatsWhenHeld(Controller):
    def outputs(self, now_ms):
        heat = self.guard.trip is None and (self.mode == "proving" or self.alive_due())
        return [heat and self.drive._windows.on(zone, now_ms - self.drive._window_ms) for zone in range(2)]


class HostStarts(Controller):
    def lay_out(self, profile, run, first=0):
        Controller.lay_out(self, profile, run, first)
        self._press("start")


class StopClears(Controller):
    def stop(self):
        if self.mode == "tripped" and self.guard.clear():
            self._move("acknowledge")
        Controller.stop(self)


class TimeClears(Controller):
    def _follow_trip(self):
        trip = self.guard.trip
        if trip is not None and self.now_ms - trip.at_ms > 3000 and self.guard.clear():
            self._move("acknowledge")
        Controller._follow_trip(self)


class SkipsTheProof(Controller):
    def _press(self, button):
        Controller._press(self, button)
        if self.mode == "proving":
            self.mode = "running"
            self._begin_run(self._proving, self.course)


class LastCause(Controller):
    def __init__(self, rig, now_ms, off=None):
        Controller.__init__(self, rig, now_ms, off)
        self.guard.__class__ = LastCauseGuard


class LastCauseGuard(Guard):
    def shut(self, code, zone, seen, limit, unit, at_ms):
        self.trip = None
        Guard.shut(self, code, zone, seen, limit, unit, at_ms)


class NeverSwitchesOff(Controller):
    def __init__(self, rig, now_ms, off=None):
        Controller.__init__(self, rig, now_ms, None)


class FullPowerProof(Controller):
    def _open_window(self, now_ms):
        if self.mode == "proving":
            self._proving.duties[:] = [1.0 if duty else 0.0 for duty in self._proving.duties]
        Controller._open_window(self, now_ms)


class EventsAnywhere(Controller):
    def _move(self, event):
        if event == "finish" and self.mode == "paused":
            self.mode = "idle"
            return True
        return Controller._move(self, event)


@pytest.mark.parametrize(
    ("broken", "rules"),
    [
        (AliveAlways, {"alive"}),
        (HeatsInCool, {"alive"}),
        (HeatsInATrip, {"relay_trip", "mode"}),
        (HeatsWhenHeld, {"relay_fresh"}),
        (HostStarts, {"mode"}),
        (StopClears, {"trip_left", "mode", "host"}),
        (TimeClears, {"trip_left", "mode"}),
        (SkipsTheProof, {"mode"}),
        (LastCause, {"first_cause"}),
        (NeverSwitchesOff, {"off_first"}),
        (FullPowerProof, {"relay_pulse"}),
        (EventsAnywhere, {"still"}),
    ],
)
def test_a_broken_controller_is_found_with_the_way_there(broken, rules):
    result = explore(quick=True, build=broken, enough=1)
    found = {violation.rule for violation in result.violations}
    assert found & rules
    assert found <= set(RULES)
    assert result.violations[0].path


WITH_PANEL = (Variant("with a panel", panel=True),)


def test_panel_whose_press_lays_out_and_arms_is_found(monkeypatch):
    def take(alone, pressed, *_):
        if alone.service.controller.mode == "idle" and "start" in pressed:
            alone.service.lay_out(alone.service.store.profile_keys()[-1])
        return pressed

    monkeypatch.setattr("ribwright_board.core.alone.Alone.take", take)
    result = explore(quick=True, variants=WITH_PANEL, enough=1)
    assert {violation.rule for violation in result.violations} == {"one_press"}
    assert "press start" in result.violations[0].path[-1]


def test_target_that_is_moved_without_bounds_is_found(monkeypatch):
    monkeypatch.setattr("ribwright_board.core.nudging.bounds_k", lambda *_: (-50, 50))
    result = explore(quick=True, variants=WITH_PANEL, enough=1)
    assert {violation.rule for violation in result.violations} == {"target"}


def test_knob_that_moves_the_target_under_its_open_list_is_found(monkeypatch):
    take = KnobList.take

    def through(acts, pressed, detents, *rest):
        take(acts, pressed, detents, *rest)
        return detents

    monkeypatch.setattr(KnobList, "take", through)
    result = explore(quick=True, variants=WITH_PANEL, enough=1)
    assert {violation.rule for violation in result.violations} == {"list"}


def test_choice_at_the_knob_that_goes_on_from_a_pause_is_found(monkeypatch):
    def ask(acts, _entry):
        acts._controller._press("start")

    monkeypatch.setattr(KnobList, "_ask", ask)
    result = explore(quick=True, variants=WITH_PANEL, enough=1)
    assert "mode" in {violation.rule for violation in result.violations}
    assert result.violations[0].path[-1].startswith(("chosen at the knob", "knob pushed"))


BY_HAND = (Variant("by hand", by_hand=True),)


def test_backing_off_to_a_hotter_set_is_found(monkeypatch):
    after_longest = StageRunner.after_longest
    monkeypatch.setattr(StageRunner, "after_longest", lambda runner, _most_c=None: after_longest(runner))
    result = explore(quick=True, enough=1)
    assert {violation.rule for violation in result.violations} == {"back_off"}
    assert result.violations[0].path[-1] == "host asks to back off"


def test_stage_that_is_extended_without_bounds_is_found(monkeypatch):
    monkeypatch.setattr("ribwright_board.core.acts.Extension.left_min", lambda *_: 30)
    result = explore(quick=True, variants=BY_HAND, enough=1)
    assert {violation.rule for violation in result.violations} == {"longest"}


class BeginsLate(Controller):
    def lay_out(self, profile, run, first=0):
        Controller.lay_out(self, profile, run, first)
        if first:
            self._press("start")


def test_later_stage_that_begins_without_its_press_is_found():
    result = explore(quick=True, variants=BY_HAND, build=BeginsLate, enough=1)
    assert "mode" in {violation.rule for violation in result.violations}


def test_table_rules_see_a_wrong_table():
    assert table_faults(TRANSITIONS) == []
    for mode, event, after in (
        ("ready", "lay_out", "running"),
        ("paused", "proved", "running"),
        ("idle", "lay_out", "proving"),
        ("tripped", "stop", "idle"),
        ("running", "stop", "ready"),
        ("running", "melt", "idle"),
    ):
        assert len(table_faults({**TRANSITIONS, (mode, event): after})) == 1
    for mode in MODES[:-1]:
        assert table_faults({pair: TRANSITIONS[pair] for pair in TRANSITIONS if pair != (mode, "trip")})


def test_modes_reachable_without_a_press_never_heat():
    unpressed = tuple(event for event in EVENTS if event not in ("press", "acknowledge"))
    for mode in ("idle", "ready", "paused", "tripped"):
        assert not reachable(mode, unpressed) & set(HEAT_MODES)
    assert reachable("tripped", unpressed) == {"tripped"}


def test_diagram_in_the_document_is_the_table():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert diagram.written(text) == text, "write it anew: python -m ribwright_sim.modes_check --write"


def test_a_diagram_that_is_not_says_how_to_write_it_again(tmp_path, capsys):
    assert modes_command(["--written", str(ROOT / "DEVELOPERS.md")]) == 0
    document = tmp_path / "DEVELOPERS.md"
    document.write_text(f"{diagram.BEGIN}\nold\n{diagram.END}\n")
    assert modes_command(["--written", str(document)]) == 1
    assert "modes_check --write" in capsys.readouterr().err
    assert modes_command(["--write", str(document)]) == modes_command(["--written", str(document)]) == 0


def test_diagram_follows_the_table_and_asks_for_its_marks(tmp_path):
    assert "    proving --> idle: refused, stop\n" in diagram.mermaid()
    shorter = {pair: TRANSITIONS[pair] for pair in TRANSITIONS if pair != ("proving", "stop")}
    assert "    proving --> idle: refused\n" in diagram.mermaid(shorter)
    document = tmp_path / "DEVELOPERS.md"
    document.write_text(f"before\n{diagram.BEGIN}\nold\n{diagram.END}\nafter\n")
    assert diagram.write(document)
    assert not diagram.write(document)
    assert document.read_text() == f"before\n{diagram.block()}\nafter\n"
    with pytest.raises(ValueError, match="once and in this order"):
        diagram.written("no marks")
