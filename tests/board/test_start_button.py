"""Arming takes a press: a button seen released, then down. A stuck or held one never arms."""

from board.controller_bench import Bench
from board.samples import Draws, until
from ribwright_board.drivers.panel import Panel


class Pin:
    """A button to ground; level 0 is pressed."""

    def __init__(self, level=1):
        self.level = level

    def value(self):
        return self.level


def ticks(panel, pin, levels):
    """Per tick what the panel said."""
    said = []
    for level in levels:
        pin.level = level
        said.append(panel.presses())
    return said


def test_press_counts_once_and_after_two_ticks_down():
    pin = Pin()
    panel = Panel({"start": pin})
    assert ticks(panel, pin, [1, 1, 0, 0, 0, 0, 1]) == [(), (), (), ("start",), (), (), ()]
    assert ticks(panel, pin, [1, 0, 1, 0, 1, 0, 1]) == [()] * 7


def test_one_tick_up_while_it_is_held_is_no_release_and_one_down_in_a_release_no_press():
    # What a contactor's coil sends into a long wire: a level that is wrong in one tick.
    pin = Pin()
    panel = Panel({"start": pin})
    assert ticks(panel, pin, [1, 1, 0, 0])[3] == ("start",)
    assert ticks(panel, pin, [0, 1, 0, 0, 0, 1, 0, 0]) == [()] * 8
    assert ticks(panel, pin, [1, 0, 1, 0, 0, 1, 1]) == [()] * 7
    assert ticks(panel, pin, [0, 0]) == [(), ("start",)]


def test_glitches_of_one_tick_make_no_press_and_no_release_however_many():
    draws = Draws(31)
    for rest in (1, 0):
        pin = Pin()
        panel = Panel({"stop": pin})
        ticks(panel, pin, [1, 1, 0, 0, rest, rest])
        levels = []
        for _ in range(500):
            levels += [1 - rest] + [rest] * (2 + draws.below(5))
        assert [said for said in ticks(panel, pin, levels) if said] == []


def test_goal_4_button_that_is_held_or_stuck_since_power_on_never_arms():
    pin = Pin(0)
    panel = Panel({"start": pin})
    bench = Bench().made_ready()
    for _ in range(600):
        assert bench.tick(*panel.presses()) == [False, False]
    assert bench.controller.mode == "ready"
    # Let go and pressed again it does.
    ticks(panel, pin, [1, 1])
    pin.level = 0
    until(lambda: bench.controller.mode != "ready", lambda: bench.tick(*panel.presses()))
    assert bench.controller.mode == "proving"


def test_goal_4_button_that_sticks_after_a_press_starts_one_run_and_no_second():
    pin = Pin()
    panel = Panel({"start": pin})
    bench = Bench().made_ready()
    ticks(panel, pin, [1, 1])
    pin.level = 0
    for _ in range(10):
        bench.tick(*panel.presses())
    assert bench.controller.mode == "proving"
    bench.tick("stop")
    bench.controller.lay_out(bench.profile, 8)
    for _ in range(300):
        assert bench.tick(*panel.presses()) == [False, False]
    assert bench.controller.mode == "ready"


def test_goal_6_button_that_sticks_does_not_acknowledge_a_trip():
    pin = Pin(0)
    panel = Panel({"start": pin})
    bench = Bench().tripped()
    for _ in range(100):
        bench.tick(*panel.presses())
    assert bench.controller.mode == "tripped"


def test_bouncing_contact_makes_at_most_one_press_for_each_time_it_was_let_go():
    draws = Draws(77)
    pin = Pin()
    panel = Panel({"start": pin})
    levels = [draws.below(2) for _ in range(4000)]
    presses = sum(len(said) for said in ticks(panel, pin, levels))
    falls = sum(levels[i - 1] == 1 and levels[i] == 0 for i in range(1, len(levels)))
    assert 0 < presses <= falls
