"""The panel's parts together: each may be missing, fail or come back, and none holds up the loop."""

import gc

from board.panel_bench import Rig
from board.wires import Bus, Pin
from ribwright_board.drivers.buzzer import Buzzer
from ribwright_board.drivers.display import Display
from ribwright_board.drivers.fitting import fitted
from ribwright_board.drivers.front import FACE_MS, RETRY_MS, Front
from ribwright_board.drivers.knob import Knob
from ribwright_board.drivers.panel import Panel
from ribwright_board.drivers.push import MOST_TICKS, Push

BUTTONS = ("start", "next", "stop")


class Board(Rig):
    """A rig whose presses and pictures go through the shipped drivers.

    parts: of "display", "knob", "buzzer", "push".
    """

    def __init__(self, parts=("display", "knob", "buzzer"), fails=None):
        super().__init__()
        self.buttons = {name: Pin(number) for number, name in enumerate(BUTTONS)}
        self.bus, self.a, self.b, self.switch = Bus(), Pin(6), Pin(7), Pin(9)
        self.bus.fails = fails
        self.front = Front(
            Panel(self.buttons),
            Display(self.bus) if "display" in parts else None,
            Knob(self.a, self.b) if "knob" in parts else None,
            Buzzer(8, False) if "buzzer" in parts else None,
            Push(self.switch) if "push" in parts else None,
        )
        self.front.begin(self.service)
        self.told = []
        self.bus.take()

    def ticks(self, count):
        """So many ticks; writes to the bus in the fullest of them."""
        most = 0
        for _ in range(count):
            self.tick(*self.front.presses())
            self.front.show(self.now_ms)
            self.told += [event[1] for event in self.controller.events]
            self.controller.events = []
            most = max(most, sum([1 + len(body) for _, body in self.bus.take()]))
        return most

    def press(self, name, ticks=20):
        self.buttons[name].level = 0
        self.ticks(4)
        self.buttons[name].level = 1
        self.ticks(ticks)

    def push(self, ticks=3, after=3):
        self.switch.level = 0
        self.ticks(ticks)
        self.switch.level = 1
        self.ticks(after)

    def holding(self):
        """A run whose first hold is on."""
        self.ticks(10)
        self.press("start")
        self.press("start")
        while self.controller.runner.index < 1:
            self.ticks(1)
        return self

    def turn(self, detents):
        cycle = ((0, 1), (0, 0), (1, 0), (1, 1)) if detents > 0 else ((1, 0), (0, 0), (0, 1), (1, 1))
        for _ in range(abs(detents)):
            for level_a, level_b in cycle:
                self.a.drive(level_a)
                self.b.drive(level_b)


def test_knob_chooses_two_presses_heat_and_the_knob_moves_the_hold():
    board = Board()
    board.ticks(10)
    board.turn(2)
    board.ticks(2)
    chosen = board.front._alone.name
    board.press("start")
    assert (board.controller.mode, board.controller.profile.name) == ("ready", chosen)
    board.press("start")
    assert board.controller.mode == "proving"
    while board.controller.mode == "proving":
        board.ticks(1)
    while board.controller.runner.index == 0:
        board.ticks(1)
    board.turn(-4)
    board.ticks(2)
    assert board.controller.runner.by_hand.nudge.value == -4.0
    assert board.told.count("nudge") == 1


def test_goal_4_start_held_down_lays_out_and_never_arms():
    board = Board()
    board.ticks(10)
    board.buttons["start"].level = 0
    board.ticks(600)
    assert board.controller.mode == "ready"
    assert "press" not in board.told


def test_start_held_since_power_on_lays_nothing_out():
    board = Board()
    board.buttons["start"].level = 0
    board.ticks(100)
    assert board.controller.mode == "idle"


def test_a_tick_sends_no_more_than_one_piece():
    board = Board()
    # Address, control byte and 128 bytes of picture, and six commands of three bytes.
    assert board.ticks(100) <= 130 + 6 * 3
    board.turn(1)
    assert 0 < board.ticks(30) <= 148


def test_face_is_made_twice_a_second_at_most():
    board = Board()
    made = []
    plain = board.front._display.take
    board.front._display.take = lambda new: made.append(board.now_ms) or plain(new)
    board.ticks(100)
    assert 15 <= len(made) <= 20
    assert min([made[at] - made[at - 1] for at in range(1, len(made))]) >= FACE_MS


def test_display_that_is_not_there_is_told_once_asked_again_at_rest_and_then_shows():
    board = Board(fails=OSError(5))
    board.ticks(200)
    assert board.told == ["no_display"]
    assert not board.front._alone.shows
    board.bus.fails = None
    assert board.ticks(RETRY_MS // 100 + 12) > 130
    assert board.front._alone.shows
    assert board.told == ["no_display"]


def test_display_that_fails_in_a_run_costs_nothing_and_is_left_alone_until_the_run_is_over():
    board = Board()
    board.ticks(10)
    board.press("start")
    board.press("start")
    while board.controller.mode == "proving":
        board.ticks(1)
    tries = []
    board.bus.fails = OSError(110)
    plain = board.bus.writeto
    board.bus.writeto = lambda addr, buf: tries.append(board.now_ms) or plain(addr, buf)
    heat_before = board.blankets.temps_c[0]
    board.ticks(200)
    assert (board.controller.mode, len(tries)) == ("running", 1)
    assert board.blankets.temps_c[0] > heat_before + 10.0
    assert board.told.count("no_display") == 1
    board.press("stop")
    assert board.controller.mode == "idle"
    board.ticks(RETRY_MS // 100 + 1)
    assert len(tries) > 1


def test_memory_that_runs_out_for_a_face_costs_the_face_alone():
    board = Board()
    board.ticks(20)

    def full(*_):
        raise MemoryError

    plain, board.front._display.take = board.front._display.take, full
    board.ticks(20)
    board.front._display.take = plain
    board.turn(1)
    assert board.ticks(20) > 0


def test_every_part_alone_does_its_work():
    for parts in ((), ("display",), ("knob",), ("buzzer",), ("knob", "buzzer")):
        board = Board(parts)
        board.ticks(10)
        board.press("start")
        told = "display" in parts or "buzzer" in parts
        assert board.controller.mode == ("ready" if told else "idle"), parts
        assert board.controller.outputs(board.now_ms) == [False, False]


def test_buzzer_sounds_what_the_rig_has_to_say():
    board = Board(("buzzer",))
    pin = board.front._buzzer._pin
    board.ticks(10)
    assert pin.level == 0
    board.controller.guard.shut("memory", -1, 1.0, 2.0, "", board.now_ms)
    board.ticks(3)
    assert pin.level == 1


def test_passive_buzzer_gets_a_tone():
    tone = Buzzer(8, True)
    assert (tone._tone.duty, tone._pin.level) == (0, 0)
    tone.set(True)
    assert (tone._tone.duty, tone._tone.freq) == (32768, 2700)
    tone.set(False)
    assert tone._tone.duty == 0


def test_parts_are_made_as_the_rig_states_them():
    pins = {"display": "SSD1306", "sda": 4, "scl": 5, "knob_a": 6, "knob_b": 7, "buzzer": 8}
    whole = fitted(Panel({}), pins, "pico")
    assert None not in (whole._display, whole._knob)
    assert whole._buzzer._tone is None
    assert whole._push is None
    pushed = fitted(Panel({}), dict(pins, knob_push=9), "pico")
    assert pushed._push._pin.number == 9
    loud = fitted(Panel({}), {"buzzer": 8, "buzzer_type": "passive"}, "esp32")
    assert (loud._display, loud._knob, loud._buzzer._tone.freq) == (None, None, 2700)


def test_tick_of_the_panel_leaves_little_on_the_heap():
    if not hasattr(gc, "mem_alloc"):
        return
    board = Board()
    board.ticks(30)
    show, presses = board.front.show, board.front.presses
    # The bus of this bench keeps copies; a board's keeps nothing.
    board.bus.writeto = board.bus.writevto = lambda *_: None
    worst = 0
    for tick in range(100):
        board.turn(1 if tick % 20 == 0 else 0)
        board.tick()
        now_ms = board.now_ms
        gc.collect()
        before = gc.mem_alloc()
        presses()
        show(now_ms)
        spent = gc.mem_alloc() - before
        if tick % 20:
            worst = max(worst, spent)
    # Of a 64-bit computer, where values take twice the room: a face is made in some of these ticks.
    assert 0 < worst < 1500, worst
    print("panel_bytes_per_tick", worst)


WITH_PUSH = ("display", "knob", "buzzer", "push")


def test_push_opens_the_list_a_turn_goes_through_it_and_a_push_does_it():
    board = Board(WITH_PUSH).holding()
    acts = board.front._alone.acts
    board.push()
    assert acts.open
    board.turn(3)
    board.ticks(2)
    # It is on its way to the display at once, and what comes of it is heard.
    assert board.front._display._face[4] == ("> steam", "  steam eased")
    board.push()
    assert (acts.open, acts.said) == (False, ("steam", "noted"))
    assert (board.told.count("mark"), board.told.count("nudge")) == (1, 0)
    board.ticks(30)
    board.turn(1)
    board.ticks(1)
    assert board.controller.runner.by_hand.moved_k() == 1.0


def test_choice_is_shown_in_the_tick_of_the_turn_and_heard():
    board = Board(WITH_PUSH).holding()
    board.push()
    for _ in range(5):
        board.turn(1)
        board.ticks(1)
        assert board.front._display._face[4] == board.front._alone.acts.low()
    board.ticks(40)
    sounds = []
    plain = board.front._buzzer.set
    board.front._buzzer.set = lambda on: sounds.append(on) or plain(on)
    board.push(after=8)
    assert board.told.count("extend") == 1
    assert sum(sounds) == 2


def test_knob_turned_by_the_hand_that_pushes_moves_nothing():
    board = Board(WITH_PUSH).holding()
    board.switch.level = 0
    for _ in range(3):
        board.turn(1)
        board.ticks(1)
    board.switch.level = 1
    board.turn(-1)
    board.ticks(3)
    assert board.front._alone.acts.open
    assert board.front._alone.acts.low()[0] == "> gave way"
    assert board.controller.runner.by_hand.moved_k() == 0.0


def test_switch_that_is_stuck_or_leant_on_does_nothing_and_the_knob_still_turns():
    for held_from_power_on in (True, False):
        board = Board(WITH_PUSH)
        if held_from_power_on:
            board.switch.level = 0
        board.holding()
        board.switch.level = 0
        board.ticks(MOST_TICKS + 5)
        board.turn(2)
        board.ticks(2)
        assert board.controller.runner.by_hand.moved_k() == 2.0
        board.switch.level = 1
        board.ticks(10)
        assert not board.front._alone.acts.open, held_from_power_on
        # Let go of, it works again.
        board.push()
        assert board.front._alone.acts.open


def test_one_tick_of_a_level_is_neither_push_nor_its_end():
    pin = Pin(9)
    push = Push(pin)
    levels = [1, 1, 1, 0, 1, 1, 1, 0, 0, 1, 0, 0, 1, 1, 1]
    seen = []
    for level in levels:
        pin.level = level
        seen.append(push.step())
    assert seen == [False] * 13 + [True, False]
    assert not push.held()


def test_push_is_short_or_none():
    for ticks, counts in ((2, True), (MOST_TICKS - 2, True), (MOST_TICKS, False), (600, False)):
        pin = Pin(9)
        push = Push(pin)
        seen = []
        for level in [1] * 4 + [0] * ticks + [1] * 4:
            pin.level = level
            seen.append(push.step())
        assert sum(seen) == counts, ticks


def test_push_without_a_display_opens_nothing_and_display_that_fails_closes_it():
    board = Board(("knob", "buzzer", "push")).holding()
    assert board.front._alone.acts is None
    board.push()
    board.push()
    assert board.told.count("mark") == 0
    board = Board(WITH_PUSH).holding()
    board.push()
    board.bus.fails = OSError(5)
    board.ticks(10)
    assert not board.front._alone.acts.open
    board.push()
    assert not board.front._alone.acts.open
