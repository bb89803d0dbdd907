"""The tick as a whole: what arms, what turns off, and that nothing but a finger does the first."""

from board.controller_bench import PROOF_S, SHORT_PROOF_S, Bench
from board.samples import near, refused
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.proving import PULSE_DUTY, PULSE_S, WELD_S


def test_rig_rests_off_after_power_on():
    bench = Bench()
    for _ in range(50):
        assert bench.tick() == [False, False]
        assert not bench.controller.alive_due()
    assert bench.controller.mode == "idle"
    assert bench.controller.waiting() == ""


def test_laying_out_a_profile_gives_no_heat_by_itself():
    bench = Bench().made_ready()
    assert bench.controller.mode == "ready"
    assert bench.controller.waiting() == "start"
    for _ in range(300):
        assert bench.tick() == [False, False]
        assert not bench.controller.alive_due()
    assert bench.controller.mode == "ready"


def test_press_proves_the_rig_before_heat():
    bench = Bench().proving()
    assert near(bench.until(lambda: bench.controller.mode == "running"), PROOF_S, 0.11)
    assert bench.now_told() == ["press", "proving", "proved", "stage"]
    # All that reached a blanket was its own pulse; the weld test ran into an open contactor.
    pulse_ms = int(PULSE_DUTY * PULSE_S * 1000)
    assert [near(on_ms, pulse_ms, 20) for on_ms in bench.blankets.on_ms] == [True, True]
    weld_ms = [relays - on for relays, on in zip(bench.blankets.relays_ms, bench.blankets.on_ms)]
    assert [near(on_ms, WELD_S * 1000, 110) for on_ms in weld_ms] == [True, True]
    assert bench.tick() == [True, True]
    assert bench.controller.alive_due()


def test_heat_begins_in_the_tick_that_proved_the_rig():
    bench = Bench().proving()
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


def test_press_during_the_proof_neither_shortens_nor_repeats_it():
    bench = Bench().proving()
    for _ in range(10 * PROOF_S - 3):
        bench.tick("start")
    assert bench.controller.mode == "proving"
    bench.ticks(3)
    assert bench.controller.mode == "running"
    assert bench.now_told().count("proving") == 1


def test_second_run_heats_like_the_first():
    bench = Bench().hot()
    bench.tick("stop")
    assert bench.controller.mode == "idle"
    bench.until(lambda: max(bench.blankets.temps_c) < 40.0, 240)
    bench.running()
    bench.ticks(50)
    assert bench.tick() == [True, True]


def test_pause_takes_heat_away_and_a_press_gives_it_back_after_a_short_proof():
    bench = Bench().running()
    bench.controller.pause()
    assert bench.tick() == [False, False]
    assert not bench.controller.alive_due()
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
    heated_ms = list(bench.blankets.on_ms)
    bench.tick("start")
    assert bench.controller.mode == "proving"
    assert near(bench.until(lambda: bench.controller.mode == "running"), SHORT_PROOF_S, 0.11)
    assert bench.blankets.on_ms == heated_ms
    # The run goes on in its stage and under its number.
    assert bench.controller.runner.index == 0
    assert bench.now_told() == ["press", "proving", "proved", "resume"]
    assert bench.tick() == [True, True]


def test_pausing_without_a_run_is_refused():
    for prepare in ("made_ready", "proving"):
        bench = getattr(Bench(), prepare)()
        assert refused(RefusedError, bench.controller.pause).code == "not_running"
    error = refused(RefusedError, Bench().controller.pause)
    assert error.code == "not_running"
    assert "idle" in error.text


def test_stop_ends_heat_in_the_same_tick_from_every_mode_that_has_a_run():
    for prepare in ("made_ready", "proving", "running"):
        bench = Bench()
        getattr(bench, prepare)()
        assert bench.tick("stop") == [False, False]
        assert bench.controller.mode == "idle"
        assert not bench.controller.alive_due()
        assert "stop" in bench.now_told()


def test_stop_in_any_second_of_the_proof_leaves_nothing_on():
    for seconds in range(PROOF_S):
        bench = Bench().proving()
        bench.ticks(10 * seconds)
        assert bench.tick("stop") == [False, False]
        for _ in range(30):
            assert bench.tick() == [False, False]
            assert not bench.controller.alive_due()


def test_alive_signal_is_given_only_while_heat_may_flow():
    bench = Bench([{"kind": "ramp", "zones": ["waist", "full"], "target": 60}]).running()
    assert bench.controller.alive_due()
    bench.controller.pause()
    assert not bench.controller.alive_due()
    bench.tick("start")
    assert not bench.controller.alive_due()
    bench.until(lambda: bench.controller.mode == "running")
    bench.until(lambda: bench.controller.runner.stage.kind == "cool")
    # Nothing may heat in the last stage, so the contactor opens before the run ends.
    assert bench.controller.mode == "running"
    assert not bench.controller.alive_due()


def test_next_of_the_maker_acknowledges_a_cue_and_then_ends_the_hold():
    bench = Bench().running()
    assert bench.controller.waiting() == ""
    bench.until(lambda: bench.controller.runner.stage.kind == "hold")
    assert bench.controller.waiting() == "next"
    bench.now_told()
    bench.tick("next")
    assert bench.now_told() == ["cue_done"]
    bench.tick("next")
    assert bench.now_told() == ["next", "stage"]
    assert bench.controller.runner.stage.kind == "cool"
    assert bench.tick() == [False, False]
    bench.until(lambda: bench.controller.mode == "idle", 180)
    assert max(bench.blankets.temps_c) < 51.0
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
    bench.shown_c = [30.0, 30.0]
    # Told five ticks after the second has ended: two judges, two woods, then the row.
    bench.ticks(45)
    assert bench.rows == 4
    assert bench.controller.rounds.row_ms == bench.now_ms - 500
    target, measured, duty, on_ms, _ = bench.controller.drive.figures.rows[0]
    assert (target, measured, duty) == (1500, 300, 1000)
    assert near(on_ms, 1000, 10)


def test_row_of_a_zone_without_a_reading_has_no_number():
    bench = Bench()
    bench.ticks(10)
    for _ in range(10):
        bench.tick(items=bench.faulty("open"))
    rows = bench.controller.drive.figures.rows
    assert rows[0][1] == -32768
    assert near(rows[1][1], 200, 2)


def test_row_of_a_tick_that_came_too_early_for_a_new_reading_tells_the_one_before():
    bench = Bench()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    bench.ticks(9)
    bench.tick(items=[None, None])
    bench.ticks(4)
    assert all(near(row[1], 200, 2) for row in bench.controller.drive.figures.rows)


def test_row_of_a_silent_zone_has_no_number_once_its_reading_is_old():
    bench = Bench()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    for _ in range(25):
        bench.tick(items=[None] + bench.readings(bench.now_ms + 100)[1:])
    rows = bench.controller.drive.figures.rows
    assert rows[0][1] == -32768
    assert near(rows[1][1], 200, 2)


def test_relays_are_accounted_as_off_around_a_flash_write():
    bench = Bench().running()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    # A write of 40 ms in the middle of a tick, and the loop's switching after it.
    controller = bench.controller
    controller.drive.all_off(bench.now_ms + 50)
    controller.outputs(bench.now_ms + 90)
    bench.now_ms += 90
    bench.tick(step_ms=10)
    bench.ticks(9)
    assert controller.drive.figures.rows[0][3] == 960


def test_stage_change_at_a_window_border_does_not_interrupt_the_heat():
    # A hold of whole minutes can end in the very tick that opens a window.
    stages = [
        {"kind": "ramp", "zones": ["waist"], "target": 60},
        {"kind": "hold", "zones": ["waist"], "target": 60, "minutes": 0.25},
        {"kind": "hold", "zones": ["waist"], "target": 62, "minutes": 0.25},
    ]
    for late_ticks in range(10):
        bench = Bench(stages).running()
        while bench.blankets.temps_c[0] < 56.0:
            bench.tick()
        bench.ticks(late_ticks)
        bench.shown_c = [59.0, None]
        bench.ticks(50)
        loop = bench.controller.drive.loops[0]
        while bench.controller.runner.stage.kind == "hold":
            assert loop.target_c in (60.0, 62.0)
            assert loop.duty > 0.0
            bench.tick()
        assert bench.now_told().count("stage") == 4


def test_event_flood_is_bounded():
    bench = Bench()
    for _ in range(500):
        bench.controller.note("press")
    assert len(bench.controller.events) == 40
    bench.controller.note("no such event")
    assert len(bench.controller.events) == 40


def test_zones_that_are_on_behind_an_open_contactor_count_as_off():
    bench = Bench().proving()
    judged = []
    plain = bench.controller.jury.begin
    bench.controller.jury.begin = lambda *given: (judged.append(list(given[1])), plain(*given))
    # Through the weld test and its watch, not to the pulses.
    bench.ticks(10 * (PROOF_S - 20))
    assert min(bench.blankets.relays_ms) >= 2000
    assert bench.blankets.on_ms == [0, 0]
    assert max(max(shares) for shares in judged) == 0.0
    bench.ticks(100)
    assert max(max(shares) for shares in judged) > 0.1


def test_what_a_proof_has_shown_is_what_the_run_expects():
    bench = Bench()
    bench.blankets.response = [4.0, 5.0]
    bench.running()
    factors = [expect.factor for expect in bench.controller.jury.expects]
    assert near(factors[0] / factors[1], 0.8, 0.05)
    assert factors[1] != 1.0
    bench = Bench()
    bench.cold_c = 23.0
    bench.running()
    assert [expect.ambient_c for expect in bench.controller.jury.expects] == [23.0, 23.0]
