"""A rig that only watches: it runs stages and cues beside heat from elsewhere, and switches nothing, ever."""

from board.controller_bench import Bench
from ribwright_board.core.jury import Jury
from ribwright_board.core.proving import COLD_SPREAD_K, LIMIT_S
from ribwright_board.core.watching import Watching

STAGES = [
    {"kind": "ramp", "zones": ["waist"], "target": 120},
    {
        "kind": "hold",
        "zones": ["waist"],
        "target": 120,
        "until": "maker",
        "longest_min": 40,
        "cues": ["press the waist on"],
    },
    {"kind": "set", "zones": ["waist", "full"], "target": 110, "minutes": 1},
]


def without_relays(values):
    for zone in values["zones"]:
        zone["relay"] = "none"
        del zone["relay_pin"]


class Beside(Bench):
    """A rig without relays whose blankets something else keeps at heat_c."""

    def __init__(self, stages=None):
        super().__init__(stages or STAGES, without_relays)
        self.heat_c = [None, None]
        self.switched = False
        self.alive = False

    def tick(self, *pressed, items=None, step_ms=100):
        for zone in range(2):
            wanted_c = self.heat_c[zone]
            if wanted_c is not None:
                # 4 K a second at most, as a blanket may, less what it loses.
                gap_k = wanted_c - self.blankets.temps_c[zone]
                self.blankets.temps_c[zone] += max(-0.05, min(0.4, gap_k))
        out = super().tick(*pressed, items=items, step_ms=step_ms)
        self.switched = self.switched or True in out
        self.alive = self.alive or self.controller.alive_due()
        return out


def test_a_bend_beside_heat_from_elsewhere_runs_its_stages_and_nothing_is_ever_switched():
    bench = Beside()
    bench.running()
    assert bench.told.count("proved") == 1
    bench.heat_c = [120.0, 60.0]
    bench.until(lambda: bench.controller.runner.index == 1)
    assert bench.controller.waiting() == "next"
    # Longer than presence is waited for where the rig heats: nothing to be switched off here.
    bench.ticks(18000)
    assert bench.controller.mode == "running"
    assert "presence" not in bench.told
    bench.tick("next")
    bench.tick("next")
    assert bench.controller.runner.index == 2
    bench.heat_c = [110.0, 110.0]
    bench.until(lambda: bench.controller.runner.index == 3, 400)
    bench.heat_c = [20.0, 20.0]
    bench.until(lambda: bench.controller.mode == "idle", 400)
    assert bench.told[-1] == "done"
    assert not bench.switched
    assert not bench.alive
    assert bench.controller.guard.trip is None
    assert bench.controller.drive.take_worked() == [(0, 0), (0, 0)]


def test_figures_show_no_heat_though_targets_are_wanted():
    bench = Beside()
    bench.running()
    bench.heat_c = [120.0, 120.0]
    bench.ticks(300)
    rows = bench.controller.drive.figures.rows
    assert [row[2] for row in rows] == [0, 0]
    assert [row[3] for row in rows] == [0, 0]
    assert rows[0][0] == 1200


def test_heat_at_rest_is_nobodys_fault_here():
    bench = Beside()
    bench.heat_c = [150.0, 150.0]
    bench.ticks(2000)
    assert min(bench.blankets.temps_c) > 140.0
    assert bench.controller.mode == "idle"


def test_ceiling_lost_readings_and_frozen_ones_are_still_said():
    bench = Beside()
    bench.running()
    bench.heat_c = [bench.rig.zones[0].ceiling_c + 5.0, 60.0]
    bench.trips(300)
    assert bench.trip() == ("ceiling", 0)
    bench = Beside()
    bench.running()
    for _ in range(25):
        bench.tick(items=bench.faulty("open", 1))
    assert bench.trip() == ("open", 1)
    bench = Beside()
    bench.running()
    bench.heat_c = [100.0, 100.0]
    bench.until(lambda: bench.controller.runner.stage_ms > 60000)
    stuck = bench.readings(0)
    for _ in range(400):
        fresh = bench.readings(bench.now_ms + 100)
        fresh[0].temperature_c, fresh[0].cold_c = stuck[0].temperature_c, stuck[0].cold_c
        bench.tick(items=fresh)
    assert bench.trip() == ("frozen", 0)


def test_pause_and_going_on_need_no_more_than_a_look():
    bench = Beside()
    bench.running()
    bench.controller.pause()
    bench.heat_c = [90.0, 90.0]
    bench.ticks(600)
    bench.tick("start")
    assert bench.until(lambda: bench.controller.mode == "running") <= 3.0
    assert "resume" in bench.told


def looked(held=("", ""), temps_c=(21.0, 22.0), cold_c=(20.0, 21.0), most_s=20):
    """What a look ends with, and after how many seconds."""
    look = Watching(2)
    for tick in range(most_s * 10):
        verdict = look.step(list(held), list(temps_c), list(cold_c), None, [0, 0], 100)
        if verdict != "stay":
            return look, verdict, (tick + 1) / 10.0
    return look, "stay", most_s


def test_look_wants_good_readings_for_a_while_then_files_and_memory():
    look, verdict, after_s = looked()
    assert (verdict, after_s) == ("ask", 2.0)
    assert look.step(["", ""], [21.0, 22.0], [20.0, 21.0], None, [0, 0], 100) == "proved"
    assert look.duties == [0.0, 0.0]
    assert not look.alive


def test_look_refuses_with_the_fault_and_the_zone():
    look, verdict, after_s = looked(held=("", "open"), temps_c=(21.0, None))
    assert (verdict, look.zone, after_s) == ("open", 1, LIMIT_S)
    assert looked(temps_c=(None, 22.0))[1] == "stale"
    look, verdict, _ = looked(cold_c=(20.0, 20.5 + COLD_SPREAD_K))
    refusal = look.refusal(verdict, 5)
    assert (refusal.code, refusal.zone, refusal.seen) == ("cold_spread", -1, COLD_SPREAD_K + 0.5)


def test_changed_memory_refuses_here_as_well():
    bench = Beside()
    bench.proving()
    bench.controller.course.memory.limit += 1
    bench.until(lambda: bench.controller.mode != "proving")
    assert bench.controller.mode == "tripped"
    assert bench.trip() == ("memory", -1)


def test_judges_of_a_rig_with_relays_go_on_judging_heat():
    assert not Jury(Bench().rig, Bench().controller.guard).rig.watches
    bench = Bench()
    bench.ticks(50)
    for zone in range(2):
        bench.blankets.temps_c[zone] = 150.0
    bench.trips(60)
    assert bench.trip()[0] in ("heat_while_off", "leap", "fast_rise", "too_hot")
