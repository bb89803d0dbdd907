"""The control channel by itself: faults at the bench, exact resets, a board struck from inside."""

import math
from itertools import pairwise

import pytest

from ribwright_sim import rig_scenario
from ribwright_sim.campaign.board_cable import ShortCable
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_orders import carry_out
from seam.rig_parts import ALIVE, RELAYS, RIG, scenario

WATCHDOG_US = 2_000_000


class Rig:
    """A virtual rig with the tiny firmware, driven frame by frame in this process."""

    def __init__(self, folder, kind="micropython", **more):
        self.events = []
        self.cable = ShortCable()
        settings = scenario(folder, kind, idle_speed=1e12, **more)
        self.loop = RigLoop(rig_scenario.from_mapping(settings), self.events.append, cable=self.cable)
        self.physics = self.loop.physics
        self.bench = self.physics.bench

    def order(self, **command):
        assert carry_out(self.loop, command), command

    def run(self, seconds):
        end_us = self.physics.now_us + int(seconds * 1e6)
        while self.physics.now_us < end_us and self.loop.quit is None:
            self.loop.step()

    def ask(self, line):
        self.cable.said.clear()
        self.cable.put(line + b"\n")
        for _ in range(30):
            self.loop.step()
            if self.cable.said.count(b"\n"):
                break
        return bytes(self.cable.said)

    def heat(self):
        """Contactor closed and the first zone's relay on."""
        self.run(2.0)
        self.ask(b"heat")
        assert self.bench.powered() == (1.0, 0.0)

    def told(self, name):
        return [event for event in self.events if event.get("event") == name]

    def until_told(self, name, seconds=30.0, look=lambda: None):
        """Frame by frame until an event is told; look is called after each."""
        end_us = self.physics.now_us + int(seconds * 1e6)
        while not self.told(name):
            assert self.physics.now_us < end_us, self.events
            assert self.loop.quit is None, self.loop.quit
            self.loop.step()
            look()


@pytest.fixture
def rig(tmp_path):
    rig = Rig(tmp_path)
    yield rig
    rig.loop.close()


@pytest.mark.parametrize(
    ("command", "share"),
    [
        ({"relay": 0, "stuck": "off"}, (0.0, 0.0)),
        ({"relay": 1, "stuck": "half"}, (1.0, 0.5)),
        ({"pin": RELAYS[0], "stuck": 0}, (0.0, 0.0)),
        ({"pin": RELAYS[1], "stuck": 1}, (1.0, 1.0)),
        ({"contactor": "open"}, (0.0, 0.0)),
        ({"crossed": [1, 0]}, (0.0, 1.0)),
    ],
)
def test_a_fault_at_the_bench_changes_what_flows_at_once(rig, command, share):
    rig.heat()
    rig.order(**command)
    assert rig.physics.bench.powered() == share


def test_the_emergency_button_takes_the_heat_away_while_the_board_lives_on(rig):
    rig.heat()
    rig.order(estop=True)
    rig.run(0.2)
    assert rig.bench.powered() == (0.0, 0.0)
    assert rig.bench.detector.on
    rig.order(estop=False)
    rig.run(0.2)
    assert rig.bench.powered() == (1.0, 0.0)


@pytest.mark.parametrize("level", [0, 1])
def test_a_stuck_alive_line_opens_the_contactor(rig, level):
    rig.heat()
    rig.order(pin=ALIVE, stuck=level)
    rig.run(1.0)
    assert not rig.bench.contactor
    rig.order(pin=ALIVE, stuck=None)
    rig.run(1.0)
    assert rig.bench.contactor


def test_an_alive_line_that_races_opens_the_contactor_until_it_stops(rig):
    rig.heat()
    rig.order(alive_races_us=5000)
    rig.run(1.0)
    assert not rig.bench.contactor
    rig.order(alive_races_us=0)
    rig.run(1.0)
    assert rig.bench.contactor


def test_strip_hands_and_mains_are_changed_by_orders_that_fit(tmp_path):
    rig = Rig(tmp_path, maker={})
    plant, changed = rig.physics.plant, []
    plant.take_out, plant.lay_in = (lambda: changed.append("out")), (lambda: changed.append("in"))
    plant.mains = 1.0
    try:
        rig.order(strip="out")
        rig.run(30.0)
        rig.order(strip="in")
        rig.order(hands={"next_after_s": 25})
        assert rig.loop.maker.next_after_s == 25.0
        rig.order(mains=0.97)
        assert plant.mains == 0.97
        assert changed == ["out", "in"]
        assert [event["which"] for event in rig.told("strip")] == ["out", "in"]
        for wrong in ({"strip": "away"}, {"hands": {"haste": 1}}, {"mains": -1}, {"mains": True}):
            assert not carry_out(rig.loop, wrong), wrong
    finally:
        rig.loop.close()


def test_a_plants_own_doings_are_called_by_name_when_they_fit(rig):
    done = []

    def detach(zone):
        done.append(zone)

    rig.physics.plant.detach = detach
    rig.order(plant="detach", **{"with": [1]})
    assert done == [1]
    assert not carry_out(rig.loop, {"plant": "detach", "with": [1, 2]})
    assert not carry_out(rig.loop, {"plant": "detach", "with": 1})
    assert done == [1]


def test_plugs_and_select_lines_show_on_the_bus(rig):
    rig.heat()
    rig.run(20.0)
    hot, cold = rig.ask(b"w").split()
    assert int(hot, 16) > int(cold, 16)
    rig.order(swap=[0, 1])
    rig.run(0.3)
    assert rig.ask(b"w").split()[0] == cold
    rig.order(swap=[0, 1])
    rig.order(select_low=1)
    rig.run(0.3)
    mixed, held = (int(word, 16) for word in rig.ask(b"w").split())
    assert held == int(cold, 16)
    assert mixed & held == mixed


@pytest.mark.parametrize(("how", "cause"), [("power", b"1"), ("pin", b"1"), ("watchdog", b"3")])
def test_a_reset_comes_at_its_microsecond_and_lets_every_pin_go(rig, how, cause):
    rig.ask(b"file")
    rig.heat()
    at_us = rig.physics.now_us + 123_457
    rig.order(reset=how, after_us=123_457, off_ms=40)
    seen = []
    rig.physics.watch = lambda: seen.append((rig.physics.now_us, rig.bench.levels, rig.bench.contactor))
    rig.until_told("started")
    assert rig.told("reset") == [{"event": "reset", "why": how, "at_s": at_us / 1e6}]
    assert rig.told("started")[0]["at_s"] == (at_us + 40_000) / 1e6
    assert all(levels == [False, False] for now_us, levels, _ in seen if now_us >= at_us)
    assert rig.ask(b"t").split()[1] == cause
    # What was written before lives on.
    rig.ask(b"file")
    rig.loop.close()


def test_without_supply_the_contactor_falls_by_itself_and_else_with_the_detector(rig):
    def falls_after_us(how):
        rig.run(2.0)
        at_us = rig.physics.now_us + 50_000
        rig.order(reset=how, after_us=50_000, off_ms=2000)
        opened = []
        rig.physics.watch = lambda: rig.bench.contactor or opened.append(rig.physics.now_us)
        rig.run(1.5)
        return opened[0] - at_us

    assert falls_after_us("power") == 100_000
    # 720 + 100 ms after the last good edge, which is the one the reset makes or one up to 100 ms older.
    assert 719_000 <= falls_after_us("pin") <= 820_000


def test_a_hung_board_keeps_its_outputs_until_the_watchdog_bites(rig):
    rig.ask(b"dog")
    rig.heat()
    rig.order(board="hang")
    began_us = rig.physics.now_us
    on = []
    rig.until_told("reset", look=lambda: on.append(rig.bench.commanded[0] or bool(rig.told("reset"))))
    assert all(on)
    assert rig.told("reset")[0]["why"] == "watchdog"
    # It was fed in the tick before the hang, which came with one of the next two wakings.
    assert WATCHDOG_US - 100_000 < rig.physics.now_us - began_us <= WATCHDOG_US + 200_000
    assert not rig.bench.contactor
    assert rig.bench.commanded == [False, False]


def test_an_exception_in_the_loop_ends_the_life_with_its_story(rig):
    rig.ask(b"dog")
    rig.order(board="fail")
    rig.until_told("crash")
    assert "an injected fault" in rig.told("crash")[0]["traceback"]


def test_a_blocked_loop_is_late_by_what_was_ordered(rig):
    rig.run(1.0)
    changes = []

    def watch():
        if not changes or rig.bench.alive != changes[-1][1]:
            changes.append((rig.physics.now_us, rig.bench.alive))

    rig.physics.watch = watch
    rig.order(board="block", ms=700)
    rig.run(2.0)
    gaps = [later[0] - earlier[0] for earlier, later in pairwise(changes)]
    # One tick comes 700 ms late; the ticks themselves are 100 ms apart.
    assert 795_000 <= max(gaps) <= 815_000
    assert sorted(gaps)[-2] < 120_000


def test_an_order_reaches_the_firmwares_loop_by_name_where_there_is_one(tmp_path):
    rig = Rig(tmp_path, reach=True)
    try:
        rig.run(1.0)
        # The tiny firmware has none.
        rig.order(board="poke", code="print(loop)")
        rig.run(0.5)
        assert b"None" in rig.cable.said
    finally:
        rig.loop.close()


def test_the_contactors_feedback_is_a_pin_that_is_low_while_it_is_closed(tmp_path):
    fitted = {**RIG, "pins": {**RIG["pins"], "feedback": 9}}
    rig = Rig(tmp_path, rig=fitted)
    try:
        rig.run(0.2)
        assert rig.loop.inputs() >> 9 & 1 == 1
        rig.run(2.0)
        assert rig.bench.contactor
        assert rig.loop.inputs() >> 9 & 1 == 0
    finally:
        rig.loop.close()


def test_a_blanket_off_its_terminals_or_with_an_open_cut_off_draws_nothing(rig):
    rig.heat()
    rig.order(blanket=0, plugged=False)
    assert rig.bench.powered() == (0.0, 0.0)
    rig.order(blanket=0, plugged=True)
    assert rig.bench.powered() == (1.0, 0.0)
    rig.order(cutoff=0, open=True)
    assert rig.bench.powered() == (0.0, 0.0)
    rig.order(cutoff=0, open=False)
    assert rig.bench.powered() == (1.0, 0.0)


def test_a_junction_goes_to_boiling_water_and_back_with_a_first_order_lag(rig):
    def junction_c():
        return rig.physics.hands.junction_c(0, rig.physics.now_us, rig.physics.plant.thermocouple_c(0))

    room_c = junction_c()
    rig.order(junction=0, at_c=100.0, lag_s=3.0)
    assert junction_c() == pytest.approx(room_c)
    start_us = rig.physics.now_us
    rig.run(3.0)
    left = math.exp(-(rig.physics.now_us - start_us) / 3e6)
    assert junction_c() == pytest.approx(100.0 + (room_c - 100.0) * left, abs=0.01)
    rig.order(junction=0, at_c=None)
    rig.run(30.0)
    assert junction_c() == pytest.approx(room_c, abs=0.1)


def test_a_thermocouple_of_another_type_is_a_converter_with_another_gain(rig):
    rig.order(chip=0, state="wrong_gain", gain=1.286)
    assert rig.physics.chips[0].gain == 1.286
    rig.order(chip=0, state="wrong_gain")
    assert rig.physics.chips[0].gain == 0.8


@pytest.mark.parametrize(
    "command",
    [
        {"relay": 0, "stuck": "sideways"},
        {"relay": 2, "stuck": "on"},
        {"relay": 0},
        {"pin": 19, "stuck": 0},
        {"pin": RELAYS[0], "stuck": 2},
        {"contactor": "ajar"},
        {"estop": 1},
        {"crossed": [0, 0]},
        {"crossed": [1]},
        {"swap": [0]},
        {"select_low": 5},
        {"plant": "from_rig"},
        {"plant": "press"},
        {"reset": "hammer"},
        {"reset": "power", "after_us": -1},
        {"reset": "power", "when": 3},
        {"board": "dance"},
        {"board": "block"},
        {"board": "poke", "code": 5},
        {"chip": 0, "state": "good", "more": 1},
        {"chip": 0, "state": "wrong_gain", "gain": -1},
        {"junction": 0},
        {"junction": 2, "at_c": 30},
        {"junction": 0, "at_c": float("nan")},
        {"junction": 0, "at_c": 30, "lag_s": 0},
        {"blanket": 0, "plugged": 1},
        {"cutoff": 0, "open": None},
        {"jump_ms": True},
        {"wires": "start", "are": "crossed"},
        {"wires": "kettle", "are": "cut"},
        {"wires": "start"},
        {"wires": ["start"], "are": "cut"},
        {"wires": "start", "are": ["cut"]},
        {"wires": "knob", "are": "cut"},  # this rig has none
        {"alive_races_us": -5},
        {},
    ],
)
def test_an_order_without_sense_is_refused_and_nothing_has_changed(rig, command):
    assert not carry_out(rig.loop, command)
    assert rig.loop.quit is None
    assert rig.loop.wires == {}
    assert rig.bench.stuck == [None, None]
    assert rig.bench.pin_stuck == {}


# Once nothing of this order is left but what it defines: fill the heap, then leave holes of 300 bytes in it.
HOLES = """
import board_time
sleep_ms = board_time.sleep_ms
board_time.full = 0
def fill(ms):
    kept = board_time.kept = [None] * 2000
    board_time.sleep_ms = sleep_ms
    try:
        for at in range(len(kept)):
            kept[at] = bytearray(300)
    except MemoryError:
        board_time.full = at
    for at in range(0, board_time.full, 2):
        kept[at] = None
    sleep_ms(ms)
board_time.sleep_ms = fill
"""


def test_order_is_obeyed_where_the_heap_has_no_whole_piece_left(rig):
    rig.run(1.0)
    rig.loop.order_board(HOLES)
    rig.run(1.0)
    rig.loop.order_board("import machine\nmachine.Pin(20, machine.Pin.OUT).value(1)")
    rig.run(1.0)
    assert rig.loop.quit is None
    assert rig.told("board_ended") == []
    assert rig.bench.powered() == (1.0, 0.0)
