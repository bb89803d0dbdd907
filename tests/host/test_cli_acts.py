"""Commands for a run under way: what they ask, what they say, and what they refuse before they ask."""

import json

import pytest

from host.commands import one_line, run
from host.peer import BOARD_ID, Peer, on_socket
from ribwright_board.core.acts import MARKS
from ribwright_board.core.service import Service
from ribwright_host.acts import HAD_TOO_MUCH, MARK_WORDS, again_words, stage_again


def bend(peer, port, profile, stage):
    """The board's controller as if it were bending, at a stage counted from 1."""
    assert run("upload", profile, "--port", port).exit_code == 0
    assert run("start", profile, "--port", port, "--yes").exit_code == 0
    peer.controller.mode = "running"
    peer.controller.runner.begin(stage - 1)
    peer.controller.events.clear()


def events(peer):
    return [event[1:] for event in peer.controller.events]


def test_nudge_takes_the_makers_unit_in_whole_kelvin_and_says_so(peer, port, profile):
    bend(peer, port, profile, 3)
    up = run("nudge", "up", "5", "--unit", "F", "--port", port)
    # 5 degrees F are 2.8 K, by the definition of the scale; the hold's 155 C and 3 K are 316.4 F.
    assert up.stdout == "Asked for 3 K (5.4 degrees F) up; the target is 316 F now.\n"
    down = run("nudge", "down", "4", "--port", port, "--json")
    values = json.loads(down.stdout)
    assert (values["asked_k"], values["target_c"], values["board"]) == (-4, 154.0, BOARD_ID)
    assert [event[2:4] for event in events(peer)] == [(1580, 3), (1540, -1)]


def test_nudge_beyond_what_may_be_asked_never_reaches_the_board(peer, port):
    for amount, unit in (("11", "C"), ("19", "F"), ("0.4", "C"), ("0.8", "F")):
        line = one_line(run("nudge", "up", amount, "--unit", unit, "--port", port), "amount", 2)
        assert "whole kelvin, 1 to 10" in line
    assert run("nudge", "up", "0", "--port", port).exit_code == 2
    assert run("nudge", "left", "3", "--port", port).exit_code == 2
    assert "nudge" not in peer.verbs


def test_nudge_at_its_bound_is_refused_with_the_bound(peer, port, profile):
    bend(peer, port, profile, 3)
    assert run("nudge", "up", "10", "--port", port).exit_code == 0
    line = one_line(run("nudge", "up", "1", "--port", port), "bound", 7)
    assert "from -10 to +10 K" in line
    one_line(run("nudge", "up", "1", "--port", "socket://127.0.0.1:9"), "no_board", 4)


def test_extend_says_what_is_left_and_a_refusal_how_much_may_be_asked(peer, port, profile):
    bend(peer, port, profile, 3)
    said = run("extend", "3", "--port", port)
    assert said.stdout == "The stage lasts 3 min longer, 11:00 of its longest time are left.\n"
    assert json.loads(run("extend", "2", "--port", port, "--json").stdout)["left_s"] == 780
    assert "3 are left" in one_line(run("extend", "4", "--port", port), "bound", 7)
    for minutes in ("0", "31", "1.5"):
        assert run("extend", minutes, "--port", port).exit_code == 2


def test_back_off_names_the_stage_it_leads_to(peer, port, profile):
    bend(peer, port, profile, 3)
    assert run("back-off", "--port", port).stdout == "Backed off to stage 7.\n"
    assert "is set already" in one_line(run("back-off", "--port", port), "stage_kind", 7)


def test_marks_are_taken_either_way_they_are_written(peer, port, profile):
    bend(peer, port, profile, 3)
    assert run("mark", "gave-way", "--port", port).stdout == "Noted: gave way.\n"
    assert json.loads(run("mark", "steam_eased", "--port", port, "--json").stdout)["mark"] == "steam_eased"
    assert [event[4] for event in events(peer)] == ["gave_way", "steam_eased"]
    line = one_line(run("mark", "melted", "--port", port), "mark", 2)
    assert all(word in line for word in MARK_WORDS)
    assert [word.replace("-", "_") for word in MARK_WORDS] == list(MARKS)


COMMANDS = [["nudge", "up", "2"], ["extend", "2"], ["back-off"], ["mark", "steam"]]


@pytest.mark.parametrize("words", COMMANDS, ids=[words[0] for words in COMMANDS])
def test_act_without_a_run_is_refused_and_says_so_in_json(peer, port, words):
    one_line(run(*words, "--port", port), "not_running", 7)
    said = json.loads(run(*words, "--port", port, "--json").stdout)
    assert (said["error"], said["exit_code"]) == ("not_running", 7)
    assert peer.controller.mode == "idle"


def test_simulated_act_says_so(profile):
    peer = Peer(board=b"ribsim".hex() + "0001")
    with on_socket(peer) as port:
        bend(peer, port, profile, 3)
        assert run("mark", "stiff", "--port", port).stdout == "Noted: stiff (SIMULATED).\n"


def test_act_that_may_heat_asks_for_the_same_version():
    with on_socket(Peer(firmware="0.0.9")) as port:
        one_line(run("nudge", "up", "2", "--port", port), "version", 6)
        one_line(run("extend", "2", "--port", port), "version", 6)
        one_line(run("back-off", "--port", port), "not_running", 7)


def test_start_from_a_later_stage_says_what_is_left_out(peer, port, profile):
    run("upload", profile, "--port", port)
    result = run("start", profile, "--port", port, "--yes", "--from-stage", "4")
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert [line.startswith("  left out: ") for line in lines if ". " in line[:18]].count(True) == 3
    assert "It begins with stage 4, a ramp; stages 1 to 3 are left out." in lines
    assert "not cooked twice" in result.stdout
    assert (peer.controller.mode, peer.controller.course.first) == ("ready", 3)
    hold = run("start", profile, "--port", port, "--yes", "--from-stage", "2")
    assert "a hold; stage 1 is left out. Its longest time runs from the start" in hold.stdout
    values = json.loads(run("start", profile, "--port", port, "--yes", "--from-stage", "4", "--json").stdout)
    assert values["from_stage"] == 4
    plain = run("start", profile, "--port", port, "--yes")
    assert "left out" not in plain.stdout
    assert peer.controller.course.first == 0


def test_stage_that_cannot_be_begun_with_never_reaches_the_board(peer, port, profile):
    for stage, words in ((8, "only cools"), (9, "has 8 stages")):
        line = one_line(run("start", profile, "--port", port, "--yes", "--from-stage", stage), "stage", 2)
        assert words in line
    assert run("start", profile, "--port", port, "--from-stage", "0").exit_code == 2
    one_line(run("start", "--port", port, "--yes", "--from-stage", "2"), "stage", 2)
    assert peer.verbs == []


def test_board_that_would_begin_with_the_first_stage_is_stopped(peer, port, profile, monkeypatch):
    def older(service, data):
        return {"run": service.lay_out(data["profile"])}

    monkeypatch.setattr(Service, "_ask_ready", older)
    run("upload", profile, "--port", port)
    line = one_line(run("start", profile, "--port", port, "--yes", "--from-stage", "3"), "version", 6)
    assert "no later stage" in line
    assert peer.controller.mode == "idle"
    assert run("start", profile, "--port", port, "--yes").exit_code == 0


def test_bend_is_taken_up_with_the_stage_that_heats_for_it():
    kinds = {1: "ramp", 2: "hold", 3: "hold", 4: "set", 5: "cool"}
    assert [stage_again(kinds, stage) for stage in range(7)] == [None, 1, 1, 3, 4, None, None]
    assert [stage_again(kinds, 2, code) for code in HAD_TOO_MUCH] == [None] * len(HAD_TOO_MUCH)
    assert stage_again(kinds, 2, "open") == 1
    # A stage whose ramp nobody saw is begun with itself.
    assert stage_again({2: "hold"}, 2) == 2
    assert again_words(None) == ""
    assert "--from-stage 4" in again_words(4)
