"""The loop on its board: what every tick does, in which order, and what it leaves alone."""

from board.life import Life
from board.samples import profile_mapping, until
from ribwright_board.core import wire
from ribwright_board.core.profile import parse

TICK_MS = 100


class Rig(Life):
    """The loop with everything it does to its board, in order.

    done: names of what was called, emptied by ticks().
    """

    def __init__(self):
        super().__init__()
        self.done = []
        for part, names in (
            (self.board.alive, ("edge",)),
            (self.board.watchdog, ("feed", "start")),
            (self.board.sensors[0], ("read",)),
        ):
            for name in names:
                self.noted(part, name)

    def noted(self, part, name):
        plain = getattr(part, name)

        def call(*given):
            self.done.append(name)
            return plain(*given)

        setattr(part, name, call)

    def ticks(self, count):
        """So many ticks; what was done in them."""
        self.done = []
        self.steps(TICK_MS * count)
        return self.done


def test_tick_reads_gives_one_edge_where_heat_may_flow_and_feeds_the_watchdog_last():
    rig = Rig()
    assert rig.ticks(3) == ["read", "feed"] * 3
    rig.heating()
    assert rig.ticks(3) == ["read", "start", "edge", "feed"] * 3
    rig.controller.stop()
    assert rig.ticks(1)[:2] == ["read", "feed"]


def test_watchdog_runs_from_the_press_on():
    rig = Rig()
    rig.ticks(20)
    assert rig.board.watchdog.started_ms == -1
    rig.heating()
    assert 0 < rig.board.watchdog.started_ms < 3300


def test_missed_ticks_are_skipped_and_the_grid_is_kept():
    rig = Rig()
    rig.ticks(10)
    rig.done = []
    rig.board.clock.sleep_until(rig.board.clock.now_ms() + 730)
    rig.loop.step()
    assert rig.done == ["read", "feed"]
    # The next one is due where it always was.
    assert rig.loop._tick_ms % TICK_MS == 0
    assert rig.ticks(1).count("read") <= 1
    assert rig.ticks(10).count("read") == 10
    assert rig.controller.late_ms <= 700


def test_readings_beside_a_second_converter_that_answers_are_none():
    rig = Rig()
    rig.ticks(10)
    rig.board.bus.is_quiet = False
    assert "read" not in rig.ticks(2)
    assert [rig.controller.guard.held(zone) for zone in (0, 1)] == ["bus", "bus"]


def test_trip_switches_the_relays_off_by_itself():
    rig = Rig().heating()
    until(lambda: any(zone.on for zone in rig.board.zones), rig.loop.step)
    rig.controller.guard.shut("memory", -1, 1.0, 2.0, "", rig.board.clock.now_ms())
    # Before any tick, edge or output has been asked for.
    assert not any(zone.on for zone in rig.board.zones)


def test_memory_that_runs_out_while_serving_is_no_end_of_the_loop():
    rig = Rig().heating()

    def full(*_):
        raise MemoryError

    plain = rig.loop.service.answer
    rig.loop.service.answer = full
    rig.board.link.asks += wire.encode("ask", 1, "status", {}) * 3
    assert rig.ticks(3) == ["read", "start", "edge", "feed"] * 3
    rig.loop.service.answer = plain
    assert not rig.loop.service.waiting()
    assert rig.controller.mode == "running"
    # What was asked is lost, and asked again it is answered.
    rig.board.link.lines = []
    rig.board.link.asks += wire.encode("ask", 2, "status", {})
    rig.ticks(1)
    assert [line[:6] for line in rig.board.link.lines if line.startswith(b"ans")] == [b"ans 2 "]


def test_memory_that_runs_out_for_the_log_costs_the_log_alone():
    rig = Rig().heating()

    def full(*_):
        raise MemoryError

    rig.board.store.append = full
    rig.ticks(320)
    assert rig.controller.mode == "running"
    lines = [wire.decode(line) for line in rig.board.link.lines]
    assert "log_lost" in [line.data["code"] for line in lines if line.verb == "event"]


def test_memory_that_runs_out_for_a_tell_leaves_it_untold_and_the_bend_goes_on():
    rig = Rig().heating()

    def no_memory(*_of):
        raise MemoryError

    service = rig.loop.service
    plain = service.row_line, service.event_line
    service.row_line = service.event_line = no_memory
    rig.controller.pause()
    rig.ticks(30)
    assert rig.controller.mode == "paused"
    service.row_line, service.event_line = plain
    lines = len(rig.board.link.lines)
    rig.ticks(20)
    assert len(rig.board.link.lines) > lines


def test_values_of_a_profile_are_let_go_of_once_the_log_has_them():
    rig = Rig()
    rig.ticks(10)
    rig.loop.service.profile_values = {"schema": 1}
    rig.controller.lay_out(parse(profile_mapping(), rig.controller.rig), 1)
    rig.ticks(10)
    assert rig.loop.service.profile_values is not None
    rig.press("start")
    until(lambda: rig.controller.mode != "proving", lambda: rig.ticks(5))
    assert rig.controller.mode == "running"
    rig.ticks(5)
    assert rig.loop.service.profile_values is None
