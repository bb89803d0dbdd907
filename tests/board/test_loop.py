"""The loop on its board: what every tick does, in which order, and what it leaves alone."""

from board.life import Life
from board.samples import until

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
