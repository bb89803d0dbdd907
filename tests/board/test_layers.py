"""Where two layers keep the same promise, each is shown to keep it alone."""

from board.controller_bench import Bench
from board.samples import refused
from ribwright_board.core.errors import RefusedError


def heating():
    """A rig in its first ramp with every relay on."""
    bench = Bench().running()
    bench.ticks(30)
    assert bench.tick() == [True, True]
    return bench


def test_mode_alone_keeps_a_planned_window_off():
    for mode in ("idle", "ready", "paused"):
        bench = heating()
        bench.controller.mode = mode
        assert list(bench.controller.outputs(bench.now_ms + 10)) == [False, False]


def test_leaving_a_run_alone_empties_the_planned_window():
    bench = heating()
    bench.controller.pause()
    assert list(bench.controller.drive.outputs(True, bench.controller.guard, bench.now_ms + 10)) == [
        False,
        False,
    ]
    assert [loop.target_c for loop in bench.controller.drive.loops] == [None, None]


def test_converters_that_come_to_disagree_in_a_run_trip():
    bench = heating()
    ticks = 0
    while bench.controller.mode != "tripped" and ticks < 80:
        items = bench.readings(bench.now_ms + 100)
        items[1].cold_c += 12.0
        bench.tick(items=items)
        ticks += 1
    assert bench.trip() == ("cold_spread", -1)
    assert ticks >= 45
    # Nothing is asked of them while nothing heats.
    bench = Bench().made_ready()
    for _ in range(80):
        items = bench.readings(bench.now_ms + 100)
        items[1].cold_c += 12.0
        bench.tick(items=items)
    assert bench.trip() is None


def test_time_that_tripped_the_rig_is_none_of_the_stage():
    bench = heating()
    before_ms = bench.controller.runner.stage_ms
    bench.tick(step_ms=5000)
    assert bench.controller.mode == "tripped"
    assert bench.controller.runner.stage_ms == before_ms


def test_pause_counts_as_presence():
    bench = heating()
    attend = bench.controller.course.attend
    assert attend.step(590000) == ""
    bench.controller.pause()
    assert attend.step(20000) == ""
    assert attend.step(580000) == "presence"


def test_memory_that_changes_in_the_proof_refuses_it_before_anything_is_on():
    bench = Bench().proving()
    bench.until(lambda: bench.controller._proving._second_ms == 900)
    bench.ticks(10)
    bench.profile.stages[0].target_c += 8.0
    bench.tick()
    assert bench.refusal() == ("memory", -1)
    assert bench.controller.mode == "idle"
    assert bench.blankets.relays_ms == [0, 0]


def test_press_starts_nothing_that_was_not_laid_out():
    bench = Bench().running()
    bench.controller.stop()
    bench.tick("start")
    assert bench.controller.mode == "idle"
    bench = heating()
    proved = bench.controller._proving
    bench.tick("start")
    assert bench.controller._proving is proved
    refused(RefusedError, bench.controller.lay_out, bench.profile, 9)


def test_law_that_asks_for_heat_without_a_target_gets_none():
    bench = heating()
    drive = bench.controller.drive
    for loop in drive.loops:
        loop.window = lambda: 0.7
    drive.open_window(None, bench.controller.guard, bench.now_ms)
    assert list(drive.outputs(True, bench.controller.guard, bench.now_ms)) == [False, False]
    drive.open_window([150.0, 150.0], bench.controller.guard, bench.now_ms)
    assert True in drive.outputs(True, bench.controller.guard, bench.now_ms)
