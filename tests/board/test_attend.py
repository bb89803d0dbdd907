"""Presence and the longest time of heat."""

from board.controller_bench import Bench
from ribwright_board.core import attend as attend_module
from ribwright_board.core.attend import GRACE_MS, PROMPT_MS, SESSION_MS, Attend

# A run that asks for nothing and ends by itself only after hours.
LONG = [{"kind": "hold", "zones": ["waist", "full"], "target": 60, "minutes": 120, "longest_min": 240}]


def stepped(attend, ms, dt_ms=100):
    """What was said in so many ms, without the silence."""
    said = [attend.step(dt_ms) for _ in range(ms // dt_ms)]
    return [word for word in said if word]


def test_question_comes_after_ten_minutes_of_heat_and_once():
    attend = Attend()
    assert stepped(attend, PROMPT_MS - 100) == []
    assert attend.step(100) == "presence"
    assert attend.asked
    assert stepped(attend, GRACE_MS - 100) == []


def test_unanswered_question_ends_the_heat_two_minutes_later():
    attend = Attend()
    stepped(attend, PROMPT_MS + GRACE_MS - 100)
    assert attend.step(100) == "unattended"
    assert attend.limit_ms == PROMPT_MS + GRACE_MS
    assert (PROMPT_MS, GRACE_MS) == (600000, 120000)


def test_press_answers_and_the_time_begins_anew():
    attend = Attend()
    stepped(attend, PROMPT_MS)
    assert attend.touch()
    assert not attend.asked
    assert stepped(attend, PROMPT_MS - 100) == []
    assert attend.step(100) == "presence"


def test_press_that_nobody_asked_for_counts_as_presence_too():
    attend = Attend()
    for _ in range(3):
        stepped(attend, PROMPT_MS - 100)
        assert not attend.touch()
    assert not attend.asked


def test_session_ends_whatever_is_answered():
    attend = Attend()
    said = []
    for _ in range(SESSION_MS // 100):
        word = attend.step(100)
        said += [word] if word else []
        attend.touch()
    assert said == ["session_over"]
    assert attend.limit_ms == SESSION_MS
    assert attend.step(100) == "session_over"


def fast_until(bench, condition, most_s, step_ms=500):
    """As bench.until(), in longer ticks: hours would take too long otherwise."""
    for count in range(most_s * 1000 // step_ms):
        if condition():
            return count * step_ms / 1000.0
        bench.tick(step_ms=step_ms)
    raise AssertionError("not within %d s; %s" % (most_s, bench.controller.mode))


def alone(bench):
    """Heating, and the maker has just gone away."""
    bench.running()
    bench.tick("next")
    return bench


def test_goal_15_missed_question_ends_the_heat_two_minutes_later():
    bench = alone(Bench(LONG))
    controller = bench.controller
    asked_s = fast_until(bench, lambda: controller.waiting() == "presence", 700)
    assert abs(asked_s - PROMPT_MS / 1000.0) <= 1.0
    assert "presence" in bench.now_told()
    ended_s = fast_until(bench, lambda: controller.mode == "tripped", 200)
    assert abs(ended_s - GRACE_MS / 1000.0) <= 1.0
    assert bench.trip() == ("unattended", -1)
    assert bench.tick() == [False, False]
    assert not controller.alive_due()


def test_goal_15_question_is_answered_by_any_button_and_by_nothing_else():
    for button in ("start", "next"):
        bench = alone(Bench(LONG))
        controller = bench.controller
        fast_until(bench, lambda controller=controller: controller.waiting() == "presence", 700)
        # A message of the link is no presence.
        controller.next()
        assert controller.waiting() == "presence"
        bench.now_told()
        bench.tick(button)
        assert controller.waiting() == ""
        assert bench.now_told() == ["presence_given"]
        assert controller.mode == "running"


def test_answer_to_a_question_ends_no_hold_that_waits_for_the_maker():
    hold = {"kind": "hold", "zones": ["waist", "full"], "target": 60, "until": "maker", "longest_min": 240}
    bench = Bench([hold]).running()
    controller = bench.controller
    fast_until(bench, lambda: controller.waiting() == "presence", 700)
    bench.tick("next")
    assert controller.runner.stage.kind == "hold"
    bench.tick("next")
    assert controller.runner.stage.kind == "cool"


def test_stop_stops_even_when_a_question_stands():
    bench = alone(Bench(LONG))
    fast_until(bench, lambda: bench.controller.waiting() == "presence", 700)
    assert bench.tick("stop") == [False, False]
    assert bench.controller.mode == "idle"


def test_goal_15_session_limit_ends_the_heat_of_an_attended_run():
    bench = Bench(LONG).running()
    controller = bench.controller
    attend = controller.course.attend
    # Two hours in five-minute strides of the counter, so that the test need not wait for them.
    for _ in range(SESSION_MS // 300000 - 1):
        assert attend.step(300000) in ("", "presence")
        bench.tick("next")
    left_s = fast_until(bench, lambda: controller.mode == "tripped", 400)
    assert left_s <= 300.5
    assert bench.trip() == ("session_over", -1)
    assert attend_module.SESSION_MS == 7200000


def test_time_without_heat_is_no_time_alone():
    bench = Bench(LONG).running()
    bench.controller.pause()
    for _ in range(1300):
        bench.tick(step_ms=1000)
    assert bench.controller.mode == "paused"
    assert not bench.controller.course.attend.asked


def test_cooling_asks_nobody():
    stages = [{"kind": "ramp", "zones": ["waist", "full"], "target": 60}]
    bench = Bench(stages).running()
    bench.until(lambda: bench.controller.runner.stage.kind == "cool")
    # Nothing cools below the end of the stage in this test, so that it lasts.
    bench.shown_c = [None, 55.0]
    for _ in range(800):
        bench.tick(step_ms=1000)
    assert bench.controller.mode == "running"
    assert "presence" not in bench.now_told()
