"""The scripted person at the rig."""

import pytest

from ribwright_board.core.wire import encode
from ribwright_sim.maker import Maker, TellWatcher


def told(verb, data):
    (message,) = TellWatcher().feed(encode("tell", 1, verb, data))
    return message


def row(mode, waiting=None, zones=((None, 200, 0, 0), (None, 200, 0, 0))):
    return told("row", {"ms": 0, "mode": mode, "waiting": waiting, "zones": [list(zone) for zone in zones]})


def everything(maker, until_s):
    done = []
    for tenth in range(int(until_s * 10)):
        done += [(tenth / 10, *action) for action in maker.act(tenth / 10)]
    return done


def test_start_is_pressed_once_some_seconds_after_it_is_asked_for():
    maker = Maker(2, seed=3)
    for second in range(4):
        maker.see(row("ready", "start"), float(second))
    done = everything(maker, 30.0)
    assert [(what, which) for _, what, which in done] == [("press", "start")]
    assert 4.0 <= done[0][0] <= 5.1


def test_a_start_that_came_to_nothing_is_tried_again():
    maker = Maker(2, seed=3)
    maker.see(row("ready", "start"), 0.0)
    everything(maker, 10.0)
    maker.see(row("ready", "start"), 40.0)
    assert [(what, which) for _, what, which in everything(maker, 60.0)] == [("press", "start")]


def test_pause_is_ended_by_another_press_of_start():
    maker = Maker(2, seed=3)
    maker.see(row("ready", "start"), 0.0)
    everything(maker, 10.0)
    maker.see(row("running"), 30.0)
    maker.see(row("paused", "start"), 200.0)
    done = everything(maker, 220.0)
    assert [(what, which) for _, what, which in done] == [("press", "start")]
    assert 204.0 <= done[0][0] <= 205.1


def test_question_whether_anybody_is_there_is_answered_once_and_within_its_two_minutes():
    maker = Maker(2, seed=3)
    for second in range(600, 630):
        maker.see(row("running", "presence"), float(second))
    done = everything(maker, 720.0)
    assert [(what, which) for _, what, which in done] == [("press", "next")]
    assert 620.0 <= done[0][0] <= 621.1


@pytest.mark.parametrize(("zone", "forms"), [(1, [1]), (-1, [0])])
def test_a_cue_presses_the_strip_on_and_then_next(zone, forms):
    maker = Maker(2, seed=1)
    maker.see(row("running", zones=((1500, 1490, 300, 1), (None, 900, 0, 0))), 99.0)
    maker.see(
        told("event", {"ms": 0, "code": "cue", "zone": zone, "a": 0, "b": 0, "text": "waist home"}), 100.0
    )
    done = everything(maker, 120.0)
    assert [which for _, what, which in done if what == "form"] == forms
    (press,) = [(at, which) for at, what, which in done if what == "press"]
    assert press[1] == "next"
    assert 108.0 <= press[0] <= 109.1


def test_the_same_seed_acts_at_the_same_moments_and_another_does_not():
    def moments(seed):
        maker = Maker(2, seed=seed, hesitation_s=5.0)
        maker.see(row("ready", "start"), 0.0)
        return everything(maker, 20.0)

    assert moments(7) == moments(7)
    assert moments(7) != moments(8)


@pytest.mark.parametrize(("key", "value"), [("haste", 1), ("start_after_s", "soon"), ("next_after_s", -1)])
def test_a_wrong_setting_is_named(key, value):
    with pytest.raises(ValueError, match=f"maker.{key}"):
        Maker.from_mapping(2, {key: value}, 0)


def test_the_watcher_reads_the_mode_through_noise_and_split_lines():
    watcher = TellWatcher()
    line = encode("tell", 4, "row", {"mode": "running"})
    watcher.feed(b"Traceback (most recent call last):\nasd" + b"\n" + line[:9])
    assert not watcher.running
    watcher.feed(line[9:])
    assert watcher.running
    watcher.feed(line.replace(b"running", b"tripped"))
    assert watcher.running
    watcher.feed(encode("tell", 5, "row", {"mode": "tripped"}))
    assert not watcher.running


def test_a_done_side_comes_off_and_no_start_is_pressed_before_the_next_strip_lies_there():
    maker = Maker(2, seed=3, off_after_s=60.0, open_s=180.0)
    maker.see(told("event", {"ms": 0, "code": "done", "zone": -1, "a": 0, "b": 0}), 100.0)
    maker.see(row("ready", "start"), 110.0)
    assert maker.changes_strips(339.0)
    assert not maker.changes_strips(340.0)
    done = everything(maker, 400.0)
    assert [(what, which) for _, what, which in done] == [
        ("strip", "out"),
        ("strip", "in"),
        ("press", "start"),
    ]
    assert [at for at, _, _ in done[:2]] == [160.0, 340.0]
    assert 344.0 <= done[2][0] <= 345.1


def test_a_side_that_was_stopped_stays_for_the_bend_to_be_taken_up_again():
    maker = Maker(2, seed=3, off_after_s=60.0)
    maker.see(told("event", {"ms": 0, "code": "stop", "zone": -1, "a": 0, "b": 0}), 100.0)
    assert everything(maker, 400.0) == []


def test_habits_change_while_the_person_stays():
    maker = Maker(2, seed=1, next_after_s=40.0)
    maker.change({"next_after_s": 5})
    maker.see(told("event", {"ms": 0, "code": "cue", "zone": 0, "a": 0, "b": 0, "text": "home"}), 10.0)
    (press,) = [at for at, what, _ in everything(maker, 60.0) if what == "press"]
    assert 15.0 <= press <= 16.1
    with pytest.raises(ValueError, match=r"maker\.haste"):
        maker.change({"haste": 1})
