"""A bend steered wholly from the panel: everything that may be asked of a run is asked at the knob."""

import pytest

from ribwright_board.core.knob_list import EXTEND, words
from ribwright_host.logbook import read_log
from ribwright_host.report import build
from ribwright_sim.interpreter import read_files
from sim.panel_rig import PANEL, Rig

OVER = ("done", "stop", "trip", "refused")
WITH_PUSH = {**PANEL, "knob_push": 9}
MAKER = {"start_after_s": 3, "alone_detents": 0, "next_after_s": 5000}
MARKS = [words(entry) for entry in range(EXTEND)]
IN_A_HOLD = [*MARKS, "1 min longer", "5 min longer", "back off", "pause", "leave list"]
IN_A_RAMP = [*MARKS, "back off", "pause", "leave list"]
# Backing off leads nowhere from here.
IN_A_SET = [word for word in IN_A_HOLD if word != "back off"]
IN_A_PAUSE = [*MARKS, "leave list"]


def choose(rig, word, offered):
    """Push, turn to a word, push; a hand takes its time."""
    rig.order(press="push")
    rig.run(1.0)
    if offered.index(word):
        rig.order(knob=offered.index(word))
        rig.run(0.5)
    rig.order(press="push")
    rig.run(1.0)


@pytest.fixture(scope="module")
def bent(tmp_path_factory):
    """The rig after the bend in the board's interpreter, the files of its flash, and how the run ended."""
    with Rig(tmp_path_factory.mktemp("knob"), panel=WITH_PUSH) as rig:
        rig.run(5.0)
        for _ in range(2):
            rig.order(press="start")
            rig.run(4.0)
        rig.until("cue")
        choose(rig, "steam", IN_A_HOLD)
        rig.order(form=0)
        rig.order(press="next")
        rig.run(5.0)
        choose(rig, "stiff", IN_A_HOLD)
        choose(rig, "1 min longer", IN_A_HOLD)
        rig.run(5.0)
        choose(rig, "gave way", IN_A_HOLD)
        rig.order(press="next")
        rig.until("stage")
        choose(rig, "back off", IN_A_RAMP)
        rig.run(5.0)
        choose(rig, "pause", IN_A_SET)
        assert rig.modes()[-1] == "paused", rig.codes()[-5:]
        choose(rig, "cracked", IN_A_PAUSE)
        rig.order(press="start")
        rig.until("resume")
        rig.run(5.0)
        choose(rig, "steam eased", IN_A_SET)
        ended = rig.until(*OVER)
        rig.run(5.0)
    return rig, read_files(rig.image), ended


def test_nothing_was_asked_over_the_link_and_the_loop_was_never_late(bent):
    rig, _, ended = bent
    assert ended == "done"
    assert rig.loop.link.bytes_in == 0
    rows = [data for _, verb, data in rig.heard if verb == "row" and data["mode"] == "running"]
    assert max(row["late_ms"] for row in rows) < 50
    assert min(row["heap"] for row in rows) > 40_000


def test_every_act_is_in_the_log_as_a_computers_would_be(bent):
    _, files, _ = bent
    log = read_log(files["runs/00001.rlg"])
    assert log.problems == []
    kinds = ("nudge", "extend", "mark", "back_off", "pause", "resume")
    told = [(event.name, event.stage + 1, event.a, event.b) for event in log.events if event.name in kinds]
    left_s = next(event.b for event in log.events if event.name == "extend")
    assert 300 < left_s <= 360
    assert told == [
        ("mark", 2, 4, 0),
        ("mark", 2, 2, 0),
        ("extend", 2, 1, left_s),
        ("mark", 2, 1, 0),
        ("back_off", 5, 3, 5),
        ("pause", 5, 0, 0),
        ("mark", 5, 3, 0),
        ("resume", 5, 0, 0),
        ("mark", 5, 5, 0),
    ]
    # The knob was turned some thirty detents, and none of them moved a target.
    assert {row.zones[0].target_c for row in log.rows if row.stage == 1} == {120.0}


def test_report_tells_the_acts_in_words(bent, tmp_path):
    log = read_log(bent[1]["runs/00001.rlg"])
    page = build(log, tmp_path, "C").read_text(encoding="utf-8").replace("&#39;", "'")
    for told in (
        "The maker noted: steam came.",
        "The maker noted: the wood gave way.",
        "The stage was given 1 min more",
        "The maker backed off from stage 3 to stage 5.",
    ):
        assert told in page


def test_switch_that_sticks_in_a_run_opens_nothing_and_the_knob_moves_the_hold(tmp_path):
    with Rig(tmp_path, panel=WITH_PUSH, maker=MAKER) as rig:
        rig.until("cue")
        rig.run(3.0)
        before = bytes(rig.loop.oled.memory[768:])
        rig.order(wires="push", are="closed")
        rig.run(12.0)
        assert bytes(rig.loop.oled.memory[768:]) == before
        rig.order(knob=3)
        rig.until("nudge", most_s=5.0)
        rig.order(wires="push", are="whole")
        rig.run(3.0)
        assert bytes(rig.loop.oled.memory[768:]) == before
        assert not {"mark", "pause", "extend", "back_off"} & set(rig.codes())


def test_stop_is_at_once_with_the_list_open(tmp_path):
    with Rig(tmp_path, panel=WITH_PUSH, maker=MAKER) as rig:
        rig.until("cue")
        rig.run(3.0)
        shown = bytes(rig.loop.oled.memory[768:])
        rig.order(press="push")
        rig.run(2.0)
        assert bytes(rig.loop.oled.memory[768:]) != shown
        pressed_s = rig.now_s
        rig.order(press="stop")
        rig.until("stop")
        assert rig.now_s - pressed_s < 0.5
        assert "mark" not in rig.codes()
