"""A whole bend without a computer: chosen with the knob, two presses of start, bent, on the flash."""

import zlib
from itertools import pairwise

import pytest

from ribwright_host.logbook import read_log
from ribwright_sim.interpreter import read_files
from sim.panel_rig import NAMES, PANEL, Rig

MAKER = {"start_after_s": 3, "next_after_s": 10, "alone_detents": 2}
OVER = ("done", "stop", "trip", "refused")


@pytest.fixture(scope="module")
def bent(tmp_path_factory):
    """The rig after one bend in the board's interpreter, the files of its flash, and how the run ended."""
    with Rig(tmp_path_factory.mktemp("alone"), maker=MAKER) as rig:
        ended = rig.until(*OVER)
        rig.run(5.0)
    return rig, read_files(rig.image), ended


def test_bend_is_chosen_armed_and_finished_at_the_rig_alone(bent):
    rig, _, ended = bent
    assert ended == "done"
    acts = [event for event in rig.events if event.get("event") in ("knob", "press")]
    told = [(event["event"], event["which"]) for event in acts]
    assert told[:3] == [("knob", 2), ("press", "start"), ("press", "start")]
    assert {"cue", "cue_done", "proved"} <= set(rig.codes())
    # Nothing was asked over the link.
    assert rig.loop.link.bytes_in == 0
    assert rig.codes().count("stage") == 6


def test_first_press_lays_out_and_only_the_second_leads_to_heat(bent):
    rig, _, _ = bent
    modes = rig.modes()
    assert modes.index("idle") < modes.index("ready") < modes.index("proving") < modes.index("running")
    presses = [event["at_s"] for event in rig.events if event.get("event") == "press"]
    proving_s = next(at_s for at_s, verb, data in rig.heard if verb == "event" and data["code"] == "proving")
    assert presses[0] < presses[1] <= proving_s < presses[1] + 1.0


def test_log_is_on_the_flash_with_the_chosen_profile(bent):
    _, files, _ = bent
    run = read_log(files["runs/00001.rlg"])
    assert run.problems == []
    # Stored files are told in the order of their names, the last one first: two detents go to the first.
    stored = sorted(name for name in files if name.startswith("profiles/"))
    assert len(stored) == len(NAMES)
    assert run.header["profile_hash"] == stored[0][9:21]
    assert run.header["profile"]["name"] in NAMES
    assert run.header["unix"] is None
    assert run.events[-1].name == "done"
    assert all(900 <= later.at_ms - earlier.at_ms <= 1100 for earlier, later in pairwise(run.rows))


def test_loop_is_never_late_and_the_picture_costs_what_it_may(bent):
    rig, _, _ = bent
    figures = rig.loop.figures
    rows = [data for _, verb, data in rig.heard if verb == "row" and data["mode"] == "running"]
    assert max(row["late_ms"] for row in rows) < 50
    pieces = figures.counted("display_piece")
    # Two or three digits, a time and now and then a line in each second, at most ten.
    assert len(rows) < pieces < 10 * (rig.now_s + 1)
    assert figures.counted("i2c_byte") == rig.loop.oled.bytes_taken


def test_buzzer_was_heard_for_the_cue_and_at_the_end(bent):
    rig, _, _ = bent
    edges = [(event["at_s"], event["on"]) for event in rig.events if event.get("event") == "buzzer"]
    sounds = [round(off_s - on_s, 1) for (on_s, on), (off_s, _) in pairwise(edges) if on]
    assert sounds[-3:] == pytest.approx([0.2, 0.2, 0.8], abs=0.11)
    first_s = edges[0][0]
    proved_s = next(at_s for at_s, verb, data in rig.heard if verb == "event" and data["code"] == "proved")
    assert first_s > proved_s


def test_outcome_is_on_the_display_until_a_press(tmp_path):
    with Rig(tmp_path) as rig:
        rig.run(5.0)
        resting = zlib.crc32(rig.loop.oled.memory[768:])
        for _ in range(2):
            rig.order(press="start")
            rig.run(4.0)
        rig.order(press="stop")
        rig.run(30.0)
        told = zlib.crc32(rig.loop.oled.memory[768:])
        assert (told != resting, rig.modes()[-1]) == (True, "idle")
        rig.order(press="next")
        rig.run(3.0)
        assert zlib.crc32(rig.loop.oled.memory[768:]) == resting


def test_display_that_vanishes_in_a_run_stops_nothing(tmp_path):
    with Rig(tmp_path, maker={**MAKER, "alone_detents": 0}) as rig:
        rig.until("proved")
        rig.run(20.0)
        rig.order(display="holds")
        rig.run(60.0)
        assert rig.modes()[-1] == "running"
        assert rig.codes().count("no_display") == 1
        rows = [data for at_s, verb, data in rig.heard if verb == "row"]
        assert max(row["late_ms"] for row in rows[-50:]) < 50
        before = rig.loop.oled.bytes_taken
        rig.run(20.0)
        assert rig.loop.oled.bytes_taken == before
        rig.order(display="answers")
        rig.order(press="stop")
        rig.run(10.0)
        assert rig.loop.oled.bytes_taken > before


@pytest.mark.parametrize("how", ["absent", "holds"])
def test_rig_without_its_display_still_starts_and_warns(tmp_path, how):
    with Rig(tmp_path, panel={**PANEL}) as rig:
        rig.loop.show_display(how)
        rig.loop._lives.display = how
        rig.run(20.0)
        assert rig.modes()[-1] == "idle"
        assert rig.codes().count("no_display") == 1
        # The buzzer tells that the one that arrived last was laid out.
        rig.order(press="start")
        rig.run(3.0)
        assert rig.modes()[-1] == "ready"


def test_knob_moves_the_target_of_a_hold_in_the_log_and_at_the_stack(tmp_path):
    with Rig(tmp_path, maker={**MAKER, "next_after_s": 200}) as rig:
        rig.until("cue")
        rig.run(20.0)
        rig.order(knob=6)
        rig.run(60.0)
        nudges = [data for _, verb, data in rig.heard if verb == "event" and data["code"] == "nudge"]
        assert [(data["zone"], data["a"], data["b"]) for data in nudges] == [(0, 1260, 6)]
        row = [data for _, verb, data in rig.heard if verb == "row"][-1]
        assert row["zones"][0][0] == 1260
        assert abs(row["zones"][0][1] - 1260) < 15


def test_presence_is_answered_by_a_turn_of_the_knob_which_then_moves_nothing(tmp_path):
    with Rig(tmp_path, reach=True, maker={**MAKER, "next_after_s": 5000, "answer_after_s": 5000}) as rig:
        rig.until("cue")
        rig.order(board="poke", code="controller.course.attend._alone_ms = 599000")
        rig.until("presence")
        rig.order(knob=3)
        rig.until("presence_given")
        rig.run(2.0)
        assert rig.modes()[-1] == "running"
        assert "nudge" not in rig.codes()


def test_target_moved_to_and_fro_by_all_that_is_allowed_is_no_fault(tmp_path):
    with Rig(tmp_path, maker={**MAKER, "next_after_s": 5000}) as rig:
        rig.until("cue")
        for detents in (10, -20, 20, -20, 10):
            rig.order(knob=detents)
            rig.run(35.0)
        assert rig.codes().count("nudge") == 5
        assert not {"trip", "suspect"} & set(rig.codes())
        assert rig.modes()[-1] == "running"
