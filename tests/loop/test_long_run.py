"""Half an hour of the long run on the shipped firmware, and the defects that it has to notice."""

import json
from dataclasses import replace

import pytest

from ribwright_board.core import record
from ribwright_board.core.events import event_number
from ribwright_sim.longrun import __main__ as command
from ribwright_sim.longrun.figures import broken, figures, flat, notes, slope_per_hour
from ribwright_sim.longrun.logs import read, times
from ribwright_sim.longrun.lumped import Lumped
from ribwright_sim.longrun.play import LongRun
from ribwright_sim.longrun.setting import PIECE, profile_mapping, rig_mapping
from ribwright_sim.longrun.tells import HeapLow, Told
from seam.rig_parts import need

# The least that leaves a set stage.
HEAT_MIN = 11.0
HALF_AN_HOUR = 0.5
EARLY_S, IN_THE_SET_S = 60.0, 620.0
ZONES = ["waist", "full"]


@pytest.fixture(scope="module")
def half_an_hour(tmp_path_factory):
    need("micropython")
    long = LongRun(tmp_path_factory.mktemp("long"), HALF_AN_HOUR, 3, heat_min=HEAT_MIN, say=lambda _: None)
    long.play()
    return long


def planted(folder, *orders, hours=0.1):
    """What a play finds when the board is given these orders."""
    need("micropython")
    long = LongRun(folder, hours, 3, heat_min=HEAT_MIN, orders=orders, say=lambda _: None)
    long.play()
    return figures([long])


def test_half_an_hour_holds_every_goal(half_an_hour):
    found = figures([half_an_hour])
    assert half_an_hour.lost == ""
    assert broken(found) == []
    assert found["longrun_hours"] >= HALF_AN_HOUR
    assert found["runs"] == 3
    assert found["stages_timed"] == 3 * found["runs"]
    assert found["log_records"] > 3600 * HALF_AN_HOUR
    assert [run.wrapped for run in half_an_hour.runs] == [True, False, False]
    assert found["heap_low_bytes"] > 30_000
    assert abs(found["energy_residual"]) < 1e-9


def test_notes_say_what_counts_as_heat_and_hold_every_span(half_an_hour):
    found = json.loads(json.dumps(notes([half_an_hour])))
    assert "end of each start's proof" in found["heating_time"]
    (board,) = found["boards"]
    assert len(board["heap_low_per_span_bytes"]) >= 8
    assert sum(run["heat_s"] for run in board["runs"]) == pytest.approx(half_an_hour.heat_s, abs=1.0)


def test_leak_a_hole_in_a_log_and_a_stage_that_lasts_too_long_are_each_noticed(tmp_path):
    leaks = [(at_s, f"loop.leak_{at_s} = bytearray(600)") for at_s in range(100, 700, 50)]
    hole = (IN_THE_SET_S, "loop._pending.take()")
    longer = (IN_THE_SET_S, "controller.runner.held_ms -= 3000")
    found = planted(tmp_path, *leaks, hole, longer)
    assert broken(found) == ["heap_flat", "stage_drift_s", "log_gaps"]
    assert found["heap_slope_bytes_per_hour"] < -20_000
    # As many rows as waited for the flash are missing, as seconds and as numbers.
    assert 2 <= found["log_gaps"] <= 62
    assert found["stage_drift_s"] == pytest.approx(3.0, abs=0.5)


def test_figures_of_several_boards_are_the_worst_of_them(half_an_hour):
    other = replace(half_an_hour, runs=[replace(half_an_hour.runs[0], wrapped=False, gaps=2)])
    other.heap.lows += [9000] * 8
    found = figures([half_an_hour, other])
    assert (found["boards"], found["runs"], found["log_gaps"]) == (2, 4, 2)
    assert found["heap_low_bytes"] == 9000
    assert broken(found) == ["longrun_hours", "log_gaps", "ticks_wrapped"]


@pytest.mark.parametrize(
    ("order", "goal"),
    [
        ("controller.guard.shut('memory', -1, 1, 0, 'as a sum', controller.now_ms)", "trips"),
        ("fail()", "resets"),
    ],
)
def test_trip_and_reset_end_the_play_and_are_counted(order, goal, tmp_path):
    found = planted(tmp_path, (EARLY_S, order))
    assert found[goal] == 1
    assert goal in broken(found)


def test_command_writes_both_files_and_fails_when_a_goal_is_missed(tmp_path, capsys, monkeypatch):
    need("micropython")
    monkeypatch.setattr(LongRun, "play", lambda _: None)
    monkeypatch.setattr(command, "figures", lambda boards: figures(boards) | {"log_gaps": 3})
    assert command.main([str(tmp_path), "--hours", "0.1"]) == 1
    assert "log_gaps" in json.loads((tmp_path / "longrun.json").read_text())["not_held"]
    assert (tmp_path / "longrun_notes.json").is_file()
    assert "log_gaps" in capsys.readouterr().out.splitlines()[-1]


# The checks by themselves ----------------------------------------------------------------------


def log_bytes(seconds, skip=()):
    """A log of so many seconds in a set stage, without some of its records, by number."""
    body = bytearray(record.header_bytes({"run": 1}))
    one = bytearray(record.record_size(2))
    zones = [[1320, 1320, 0, 0, 0]] * 2

    def row(seq):
        record.pack_row(one, 0, seq, 1000 * seq, 3, 0, 0, zones)

    def event(seq, at_ms, number):
        record.pack_event(one, 0, seq, at_ms, number, -1, 1, 1320, "set")

    for seq in range(seconds + 2):
        if seq == 0:
            event(seq, 0, event_number("stage"))
        elif seq <= seconds:
            row(seq)
        else:
            event(seq, 1000 * seconds + 400, event_number("done"))
        if seq not in skip:
            body += one
    return bytes(body)


def test_whole_log_has_no_gap():
    log = read(log_bytes(70), 2)
    assert (log.missing_seconds(), log.holes) == (0, 0)


@pytest.mark.parametrize(
    ("skip", "missing"), [((1,), 1), ((30,), 1), ((30, 31, 50), 3), ((69, 70), 2)], ids=str
)
def test_every_missing_second_is_counted_where_it_lies(skip, missing):
    log = read(log_bytes(70, skip), 2)
    assert (log.missing_seconds(), log.holes) == (missing, missing)


def test_damaged_and_cut_records_are_holes():
    whole = bytearray(log_bytes(70))
    whole[-100] ^= 1
    assert read(bytes(whole), 2).holes == 1
    assert read(bytes(log_bytes(70)[:-5]), 2).holes == 1
    assert read(b"nothing", 2).holes == 1


@pytest.mark.parametrize(
    ("told_s", "minutes", "drift_s"), [(30.4, None, 0.0), (33.0, None, 2.6), (30.4, 0.4, 6.4)]
)
def test_clocks_and_profile_are_held_together(told_s, minutes, drift_s):
    log = read(log_bytes(30), 2)
    told = [Told("stage", 0, 100.0, 1, "set"), Told("done", 0, 100.0 + told_s, 0, "")]
    stage = {
        "kind": "set" if minutes else "ramp",
        "zones": ZONES,
        "target": 132.0,
        "minutes": minutes,
        "band": 20.0,
    }
    found = times(log, told, {"stages": [stage]}, ZONES)
    assert found.drift_s == pytest.approx(drift_s)
    assert found.timed == bool(minutes)


def test_event_that_was_told_and_not_logged_is_unmatched():
    log = read(log_bytes(30), 2)
    told = [Told("stage", 0, 0.0, 1, ""), Told("stage", 0, 10.0, 2, ""), Told("done", 0, 30.4, 0, "")]
    assert times(log, told, {"stages": []}, ZONES).unmatched == 1


def test_heap_is_flat_within_two_percent_and_its_slope_is_least_squares():
    assert flat([1000] * 4 + [985] * 4)
    assert not flat([1000] * 4 + [975] * 4)
    assert not flat([1000, 900])
    assert slope_per_hour([100, 90, 80, 70], 1800.0) == pytest.approx(-20.0)


def test_lows_of_a_span_leave_out_what_was_told_of_the_one_before():
    heap = HeapLow(100.0)
    for second, told in ((1.0, 900), (2.0, 0), (3.0, 800), (4.0, 700), (5.0, 750)):
        heap.begun(second)
        heap.take(told)
    assert heap.lows == [700]
    assert heap.begun(101.0)
    for told in (700, 700, 700, 720):
        heap.take(told)
    assert heap.lows == [700, 720]


def test_lumped_stack_keeps_its_heat_and_warms_as_declared():
    stack = Lumped.from_rig(rig_mapping(), PIECE)
    for _ in range(600):
        stack.advance(0.1, (1.0, 0.5))
    assert abs(stack.energy().residual_fraction) < 1e-12
    # 7.8 kW/m2 into 6.2 kJ/m2/K for a minute, less what it loses on the way.
    assert 60.0 < stack.thermocouple_c(0) - 20.0 < 7800.0 / 6200.0 * 60.0
    assert stack.thermocouple_c(1) < stack.thermocouple_c(0)


def test_profile_is_one_the_board_takes_and_stays_under_a_session():
    from ribwright_board.core.attend import SESSION_MS
    from ribwright_board.core.profile import parse
    from ribwright_board.core.rig import parse as parse_rig

    profile = parse(profile_mapping(), parse_rig(rig_mapping()))
    held_ms = sum(stage.hold_ms or 0 for stage in profile.stages)
    assert 0.9 * SESSION_MS < held_ms < SESSION_MS
