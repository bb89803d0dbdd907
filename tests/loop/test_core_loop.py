"""Two whole runs on a stand-in rig: the same lines from both interpreters, and what they must say."""

import os
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from board.closed_loop import FIRST, SECOND

ROOT = Path(__file__).resolve().parents[2]
# Zones off, longer on the warm stack of the second run, and a pulse for each of two zones.
PROOF_CLOSED_S = {1: 5 + 2 * 8, 2: 8 + 2 * 8}
SCRIPT = ROOT / "tests" / "board" / "closed_loop.py"


@pytest.fixture(scope="module")
def lines():
    # A process of its own: the firmware collects garbage every second, and here pytest's would be in it.
    search = os.pathsep.join(str(ROOT / folder) for folder in ("tests", "firmware"))
    done = subprocess.run(
        [sys.executable, SCRIPT],
        env={**os.environ, "PYTHONPATH": search},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


def fields(lines, kind):
    """Lines of one kind, each as its words."""
    return [line.split() for line in lines if line.split()[0] == kind]


def events(lines, run):
    """Events of one run: seconds, name, stage, zone, a, b, text."""
    begins = [at for at, line in enumerate(lines) if line.startswith("run ")] + [len(lines)]
    found = fields(lines[begins[run - 1] : begins[run]], "event")
    return [
        (int(e[2]) / 1000, e[3], int(e[4]), int(e[5]), int(e[6]), int(e[7]), " ".join(e[8:])) for e in found
    ]


def rows(lines, run):
    """Rows of one run: seconds, stage, and per zone target, measured (C), duty, relay time (s)."""
    begins = [at for at, line in enumerate(lines) if line.startswith("run ")] + [len(lines)]
    found = []
    for line in lines[begins[run - 1] : begins[run]]:
        if line.startswith("row "):
            head, *zones = line.split(" | ")
            words = head.split()
            figures = [[int(figure) for figure in zone.split()] for zone in zones]
            found.append(
                (
                    int(words[2]) / 1000,
                    int(words[4]),
                    [(z[0] / 10, z[1] / 10, z[2] / 1000, z[3] / 1000) for z in figures],
                )
            )
    return found


def test_both_interpreters_give_the_same_lines(lines, run_micropython):
    said = run_micropython(SCRIPT, path=[SCRIPT.parent.parent], timeout=300).splitlines()
    for ours, theirs in zip(lines, said, strict=False):
        assert theirs == ours
    assert len(said) == len(lines)


@pytest.mark.parametrize(("run", "stages"), [(1, FIRST), (2, SECOND)])
def test_stages_follow_in_their_order_to_the_end(lines, run, stages):
    told = events(lines, run)
    begun = [event for event in told if event[1] == "stage"]
    assert [event[4] for event in begun] == list(range(1, len(stages) + 1))
    assert [event[6].split()[0] for event in begun] == [stage["kind"] for stage in stages]
    assert told[0][1] == "proved"
    assert told[-1][1] == "done"
    assert not [event for event in told if event[1] in ("trip", "zone_off", "hold_longest", "late")]
    assert lines[-1].endswith(" idle")


def test_cue_waits_for_the_maker_and_the_hold_for_the_next_press(lines):
    told = [(event[1], event[0]) for event in events(lines, 1) if event[1] in ("cue", "cue_done", "next")]
    assert [name for name, _ in told] == ["cue", "cue_done", "next"]
    # The maker of this script takes twenty seconds each time.
    assert all(20 <= later[1] - sooner[1] <= 24 for sooner, later in pairwise(told))


def test_plant_overshoots_little_in_every_stage(lines):
    for _, run, stage, zone, top in fields(lines, "top"):
        stages = FIRST if run == "1" else SECOND
        target_c = max(
            entry.get("target", 0) if run == "1" else (entry.get("target", 32) - 32) / 1.8
            for entry in stages[: int(stage) + 1]
        )
        assert int(top) / 10 <= target_c + 3.0, (run, stage, zone)


def test_rows_come_once_a_second_and_relay_time_follows_the_duty(lines):
    for run in (1, 2):
        found = rows(lines, run)
        times_s = [row[0] for row in found]
        assert all(later - sooner == 1.0 for sooner, later in pairwise(times_s))
        for zone in (0, 1):
            relay_s = sum(row[2][zone][3] for row in found)
            on_s = sum(row[2][zone][2] for row in found)
            # The branch takes some of what the duty wanted, never adds.
            assert relay_s <= on_s + 1.0


def test_hold_stays_near_its_target_once_it_is_there(lines):
    hold = [row for row in rows(lines, 1) if row[1] == 3]
    assert len(hold) >= 110
    for _, _, zones in hold[20:]:
        for target_c, measured_c, _, _ in zones:
            assert target_c == 150.0
            # A slow ramp is left with the duty that raised it: up to 2 K more is what that costs here.
            assert abs(measured_c - 150.0) <= 2.0


def test_nothing_heats_in_the_cool_stage_and_after(lines):
    for run, stages in ((1, FIRST), (2, SECOND)):
        cool = [row for row in rows(lines, run) if row[1] == len(stages) - 1]
        assert len(cool) > 60
        # The first row still holds the end of the stage before.
        assert all(zone[2:] == (0.0, 0.0) for row in cool[1:] for zone in row[2])
    assert all(words[1] == "0" for words in fields(lines, "relay"))


def test_branch_never_carries_two_zones_nor_changes_over_without_a_pause(lines):
    assert fields(lines, "clashes") == [["clashes", "0"]]


def test_binding_branch_is_said_and_not_repeated_every_window(lines):
    told = [event[0] for event in events(lines, 1) if event[1] == "branch_limited"]
    assert 1 <= len(told) <= 3


def test_one_alive_edge_a_tick_while_heat_may_flow_and_the_watchdog_from_the_press_on(lines):
    alive, watchdog, since = (int(fields(lines, "alive")[0][at]) for at in (1, 3, 5))
    end_ms = int(fields(lines, "end")[0][1])
    # From the step of the proof that wants the contactor closed to the stage that only cools.
    wanted = 0.0
    for run in (1, 2):
        cool_s = next(event[0] for event in events(lines, run) if event[1] == "stage" and "cool" in event[6])
        wanted += 10 * (cool_s + PROOF_CLOSED_S[run])
    assert abs(alive - wanted) <= 4
    assert alive < 0.7 * end_ms / 100
    assert watchdog >= end_ms // 100
    assert since >= 5000
