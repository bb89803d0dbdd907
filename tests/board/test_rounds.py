"""A second's work, a piece in each tick."""

from board.controller_bench import Bench


def test_no_tick_does_more_than_one_piece_of_a_second():
    bench = Bench().running()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    pieces = []
    jury, woods = bench.controller.jury, bench.controller.course.woods
    judge, follow = jury.judge, woods.zone_second
    jury.judge = lambda zone, *given: (pieces.append((bench.now_ms, "judge", zone)), judge(zone, *given))
    woods.zone_second = lambda zone, *given: (
        pieces.append((bench.now_ms, "wood", zone)),
        follow(zone, *given),
    )
    began_ms = bench.now_ms
    bench.ticks(10)
    done = [("judge", 0), ("judge", 1), ("wood", 0), ("wood", 1)]
    assert pieces == [(began_ms + 100 * (at + 1), done[at][0], done[at][1]) for at in range(4)]
    # Ticks that do not come leave nothing undone.
    bench.ticks(2)
    pieces.clear()
    bench.tick(step_ms=900)
    assert [piece[1:] for piece in pieces] == done[2:]


def test_what_ends_takes_its_last_second_along():
    bench = Bench().running()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    bench.rows = 0
    bench.tick()
    assert bench.rows == 0
    bench.tick("stop")
    assert bench.controller.mode != "running"
    assert bench.rows == 1


def test_a_second_that_ends_in_the_very_tick_of_the_end_is_told_with_it():
    bench = Bench().running()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    bench.ticks(9)
    bench.rows = 0
    bench.tick("stop")
    assert bench.controller.rounds.row_ms == bench.now_ms
    assert bench.rows == 1


def test_what_a_computer_ends_between_two_ticks_takes_its_last_second_along():
    bench = Bench().running()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    bench.tick()
    bench.controller.stop()
    assert bench.controller.rounds.row_due


def test_what_a_computer_ends_is_still_judged_and_only_in_a_tick():
    bench = Bench().running()
    bench.until(lambda: bench.controller.rounds.row_ms == bench.now_ms)
    judged = []
    judge = bench.controller.jury.judge
    bench.controller.jury.judge = lambda zone, *given: (judged.append(zone), judge(zone, *given))
    bench.controller.stop()
    assert bench.controller.rounds.row_due
    assert judged == []
    bench.rows = 0
    bench.ticks(5)
    assert judged == [0, 1]
    # Told once.
    assert bench.rows == 1
