"""A reset of any kind comes up off, says what it cut off, and locks the rig when it comes again."""

from board.life import Life
from board.samples import Draws, profile_mapping, until
from ribwright_board.core import wire
from ribwright_board.core.profile import parse as parse_profile


def test_goal_4_no_restart_by_itself_after_a_reset_at_any_instant():
    draws = Draws(4)
    for _ in range(6):
        life = Life()
        life.steps(1000)
        life.controller.lay_out(parse_profile(profile_mapping(), life.controller.rig), 1)
        life.press("start")
        life.steps(100 * draws.below(600))
        after = life.reset()
        after.cold(3000)
        assert after.controller.mode == "idle"
        # What was laid out is gone: a press alone begins nothing.
        after.press("start")
        assert after.controller.mode == "idle"
        after.cold(1000)


def test_reset_in_a_run_is_told_with_its_number():
    after = Life().heating().reset()
    after.cold(1000)
    assert after.told() == ["interrupted"]
    assert after.controller.interrupted == 1
    answer = wire.decode(after.loop.service.feed(wire.encode("ask", 1, "status", {}))[0]).data
    assert answer["interrupted"] == 1
    assert answer["trip"] is None


def test_reset_while_nothing_was_under_way_is_not_worth_a_word():
    life = Life()
    life.steps(2000)
    after = life.reset()
    after.cold(1000)
    assert after.told() == []
    for ending in ("stop", "trip"):
        life = Life().heating()
        if ending == "stop":
            life.press("stop")
        else:
            life.board.sensors[0].read = lambda _: None
            life.steps(3000)
            assert life.controller.mode == "tripped"
        assert life.reset().told() == []
        assert life.board.store.mark == (0, 0)


def test_goal_6_two_resets_in_one_run_lock_out_and_further_ones_change_nothing():
    life = Life().heating().reset()
    for _ in range(3):
        life.steps(500)
        life = life.reset()
        life.cold(2000)
        assert life.controller.mode == "tripped"
        assert life.controller.guard.trip.code == "resets"
    # Neither the host nor the port nor the log clears it.
    for verb in ("hello", "status", "stop", "next", "pause", "ready"):
        life.loop.service.feed(wire.encode("ask", 7, verb, {"v": 1, "profile": "x", "from": 0}))
        life.steps(300)
        assert life.controller.mode == "tripped"
    life.press("start")
    assert life.controller.mode == "idle"
    # Acknowledged: the next reset finds nothing any more.
    after = life.reset()
    after.cold(1000)
    assert after.controller.mode == "idle"
    assert after.told() == []


def test_goal_6_trip_does_not_come_back_as_heat_after_a_reset():
    life = Life().heating()
    life.board.sensors[1].read = lambda _: None
    life.steps(3000)
    assert life.controller.mode == "tripped"
    after = life.reset()
    after.cold(3000)


def test_goal_5_trip_is_in_the_log_before_a_reset_can_take_it():
    life = Life().heating()
    life.board.sensors[0].read = lambda _: None
    until(lambda: life.controller.mode != "running", life.loop.step)
    # The tick that tripped has already committed it.
    log = bytes(life.board.store.logs[1])
    assert b"stale" in log


def test_run_that_follows_one_without_a_log_gets_its_own():
    life = Life()

    def full(*_):
        raise OSError(28)

    kept = life.board.store.open_run
    life.board.store.open_run = full
    life.heating()
    assert "log_lost" in life.told()
    life.press("stop")
    life.board.store.open_run = kept
    life.heating()
    assert life.board.store.logs[1]


def to_prompt(life):
    """The board's answer to the ask for its prompt, as (verb, values)."""
    (line,) = life.loop.service.feed(wire.encode("ask", 8, "to_prompt", {}))
    message = wire.decode(line)
    return message.verb, message.data


def test_planned_reset_comes_after_its_answer_with_every_relay_off():
    life = Life()
    life.steps(1000)
    assert to_prompt(life) == ("ok", {"mode": "idle"})
    assert life.board.restarts == 0
    life.steps(100)
    assert life.board.restarts == 0
    life.steps(400)
    # A stand-in goes on after a reset: it is one, not one a tick.
    assert life.board.restarts == 1
    life.cold(1000)
    assert life.board.restarts == 1


def test_nothing_leaves_for_the_prompt_while_a_run_is_laid_out_or_under_way():
    life = Life()
    life.steps(1000)
    life.controller.lay_out(parse_profile(profile_mapping(), life.controller.rig), 1)
    seen = []

    def refused():
        verb, values = to_prompt(life)
        assert (verb, values["code"]) == ("no", "busy")
        seen.append(life.controller.mode)

    refused()
    life.press("start")
    refused()
    until(lambda: life.controller.mode != "proving", lambda: life.steps(500))
    refused()
    life.controller.pause()
    refused()
    assert seen == ["ready", "proving", "running", "paused"]
    life.steps(1000)
    assert life.board.restarts == 0


def test_planned_reset_is_not_counted_and_does_not_pardon_the_others():
    life = Life().heating().reset()
    assert life.board.store.mark == (1, 1)
    assert to_prompt(life)[0] == "ok"
    for _ in range(2):
        # The first of these was planned; the second was not.
        life = life.reset()
        life.cold(500)
    assert life.board.store.mark == (1, 2)
    assert life.controller.guard.trip.code == "resets"
    # The lock outlives a planned reset.
    assert to_prompt(life) == ("ok", {"mode": "tripped"})
    life = life.reset()
    assert life.board.store.mark == (1, 2)
    life.cold(500)
    assert life.controller.guard.trip.code == "resets"


def test_a_trip_stands_again_after_a_planned_reset_until_it_is_acknowledged_at_the_rig():
    life = Life().heating()
    life.board.sensors[0].read = lambda _: None
    life.steps(3000)
    trip = life.controller.guard.trip
    assert to_prompt(life) == ("ok", {"mode": "tripped"})
    life = life.reset()
    life.cold(1000)
    again = life.controller.guard.trip
    assert (again.code, again.zone, again.limit, again.unit) == ("stale", trip.zone, trip.limit, trip.unit)
    assert life.controller.mode == "tripped"
    life.press("start")
    assert life.controller.mode == "idle"
    after = life.reset()
    after.cold(1000)
    assert after.controller.mode == "idle"


def test_a_trip_of_another_rig_or_firmware_still_stands():
    life = Life()
    life.board.store.plan_reset({"code": "nobody knows", "zone": 7, "seen": 1, "limit": 2, "unit": "K"})
    life = life.reset()
    life.cold(500)
    assert (life.controller.guard.trip.code, life.controller.guard.trip.zone) == ("software", -1)
    assert life.controller.mode == "tripped"
