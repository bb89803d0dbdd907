"""The tick as a whole: what arms, what turns off, and that nothing but a finger does the first."""

from board.controller_bench import Bench
from board.samples import near, refused
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.sensing import Missing, Reading


def test_rig_rests_off_after_power_on():
    bench = Bench()
    for _ in range(50):
        assert bench.tick() == [False, False]
    assert bench.controller.mode == "idle"
    assert bench.controller.waiting() == ""


def test_laying_out_a_profile_gives_no_heat_by_itself():
    bench = Bench().made_ready()
    assert bench.controller.mode == "ready"
    assert bench.controller.waiting() == "start"
    for _ in range(300):
        assert bench.tick() == [False, False]
    assert bench.controller.mode == "ready"


def test_press_proves_the_rig_before_heat():
    bench = Bench().made_ready()
    assert bench.tick("start") == [False, False]
    assert bench.controller.mode == "proving"
    for _ in range(18):
        assert bench.tick() == [False, False]
    bench.ticks(3)
    assert bench.controller.mode == "running"
    assert bench.tick() == [True, True]
    assert bench.now_told() == ["press", "proving", "proved", "stage"]


def test_heat_begins_in_the_tick_that_proved_the_rig():
    bench = Bench().made_ready()
    bench.tick("start")
    while bench.controller.mode == "proving":
        states = bench.tick()
    assert states == [True, True]


def test_press_when_nothing_is_ready_does_nothing():
    bench = Bench()
    bench.ticks(10)
    for button in ("start", "next", "stop"):
        bench.tick(button)
        assert bench.controller.mode == "idle"
    bench = Bench().running()
    bench.now_told()
    bench.tick("start")
    assert bench.controller.mode == "running"
    assert bench.now_told() == ["press"]


def test_second_run_heats_like_the_first():
    bench = Bench().running()
    for step in range(120):
        bench.temps_c = [20.0 + step, 20.0 + step]
        bench.ticks(10)
    bench.tick("stop")
    assert bench.controller.mode == "idle"
    bench.temps_c = [40.0, 40.0]
    bench.running()
    bench.ticks(50)
    assert bench.tick() == [True, True]


def test_pause_takes_heat_away_and_only_a_press_gives_it_back():
    bench = Bench().running()
    bench.controller.pause()
    assert bench.tick() == [False, False]
    assert bench.controller.waiting() == "start"
    before_ms = bench.controller.runner.stage_ms
    bench.tick("next")
    for _ in range(600):
        assert bench.tick() == [False, False]
    assert bench.controller.mode == "paused"
    # The profile's time stood still.
    assert bench.controller.runner.stage_ms == before_ms
    refused(RefusedError, bench.controller.lay_out, bench.profile, 9)
    refused(RefusedError, bench.controller.pause)
    bench.now_told()
    bench.tick("start")
    assert bench.controller.mode == "running"
    bench.ticks(11)
    assert bench.tick() == [True, True]
    assert bench.now_told() == ["press", "resume"]


def test_pausing_without_a_run_is_refused():
    error = refused(RefusedError, Bench().controller.pause)
    assert error.code == "not_running"
    assert "idle" in error.text


def test_stop_ends_heat_in_the_same_tick_from_every_mode_that_has_a_run():
    for prepare in ("made_ready", "running"):
        bench = Bench()
        getattr(bench, prepare)()
        assert bench.tick("stop") == [False, False]
        assert bench.controller.mode == "idle"
        assert "stop" in bench.now_told()


def test_next_of_the_maker_acknowledges_a_cue_and_then_ends_the_hold():
    bench = Bench().running()
    assert bench.controller.waiting() == ""
    bench.temps_c = [150.0, 150.0]
    bench.ticks(2)
    assert bench.controller.waiting() == "next"
    bench.now_told()
    bench.tick("next")
    assert bench.now_told() == ["cue_done"]
    bench.tick("next")
    assert bench.now_told() == ["next", "stage"]
    assert bench.controller.runner.stage.kind == "cool"
    assert bench.tick() == [False, False]
    bench.temps_c = [40.0, 40.0]
    bench.tick()
    assert bench.controller.mode == "idle"
    assert bench.now_told() == ["done"]


def test_branch_limit_is_said_once_when_it_begins_to_bind():
    def narrow(values):
        values["mains"]["branch_limit_a"] = 3

    bench = Bench(change=narrow).running()
    bench.ticks(100)
    assert bench.now_told().count("branch_limited") == 1
    # Both want full power; each is on at its time, never both.
    for offset_ms in range(0, 1000, 10):
        assert list(bench.controller.outputs(bench.now_ms + offset_ms)) != [True, True]


def test_row_is_due_once_a_second_with_the_means_of_the_window():
    bench = Bench().running()
    bench.rows = 0
    bench.temps_c = [30.0, 30.0]
    bench.ticks(40)
    assert bench.rows == 4
    target, measured, duty, on_ms = bench.controller.figures.rows[0]
    assert (target, measured, duty) == (1500, 300, 1000)
    assert near(on_ms, 1000, 10)


def test_row_of_a_zone_without_a_reading_has_no_number():
    bench = Bench()
    bench.ticks(10)
    for _ in range(10):
        at_ms = bench.now_ms + 100
        bench.tick(items=[Missing("open", at_ms), Reading(20.0, 20.0, at_ms)])
    assert bench.controller.figures.rows[0][1] == -32768
    assert bench.controller.figures.rows[1][1] == 200


def test_relays_are_accounted_as_off_around_a_flash_write():
    bench = Bench().running()
    while bench.controller._row_ms != bench.now_ms:
        bench.tick()
    bench.controller.outputs(bench.now_ms)
    bench.controller.all_off(bench.now_ms + 50)
    assert not bench.controller.relay_on(0)
    bench.controller.outputs(bench.now_ms + 90)
    bench.ticks(10)
    assert bench.controller.figures.rows[0][3] == 960


def test_stage_change_at_a_window_border_does_not_interrupt_the_heat():
    # A hold of whole minutes can end in the very tick that opens a window.
    stages = [
        {"kind": "hold", "zones": ["waist"], "target": 150, "minutes": 0.25},
        {"kind": "hold", "zones": ["waist"], "target": 152, "minutes": 0.25},
    ]
    for late_ticks in range(10):
        bench = Bench(stages).running()
        bench.ticks(late_ticks)
        bench.temps_c = [149.0, 20.0]
        bench.ticks(50)
        loop = bench.controller.loops[0]
        while bench.controller.runner.stage.kind == "hold":
            assert loop.target_c in (150.0, 152.0)
            assert loop.duty > 0.0
            bench.tick()
        assert bench.now_told().count("stage") == 3


def test_event_flood_is_bounded():
    bench = Bench()
    for _ in range(500):
        bench.controller.note("press")
    assert len(bench.controller.events) == 40
    bench.controller.note("no such event")
    assert len(bench.controller.events) == 40
