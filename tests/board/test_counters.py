"""What a board counts in its life."""

from board.life import Life
from ribwright_board.core.counters import added


def test_runs_trips_heat_and_relay_operations_add_up():
    first = added({}, 1, False, [(10, 5400), (3, 499)])
    assert first == {"run": 1, "runs": 1, "trips": 0, "on_s": [5, 0], "switches": [10, 3]}
    second = added(first, 4, True, [(1, 1500), (0, 0)])
    assert second == {"run": 4, "runs": 2, "trips": 1, "on_s": [7, 0], "switches": [11, 3]}


def test_counters_that_make_no_sense_begin_anew():
    for odd in (None, "x", -5, True, 1.5, [], {}):
        counted = added(
            {"run": odd, "runs": odd, "trips": odd, "on_s": odd, "switches": odd}, 2, False, [(1, 1000)]
        )
        assert counted == {"run": 2, "runs": 1, "trips": 0, "on_s": [1], "switches": [1]}
    # Those of a rig with another number of zones, and single ones that are none.
    assert added({"on_s": [7, 8], "switches": [9]}, 1, False, [(1, 1000)])["on_s"] == [1]
    assert added({"switches": [9, "x"]}, 1, False, [(1, 0), (1, 0)])["switches"] == [10, 1]


def test_number_of_a_run_never_goes_back():
    assert added({"run": 9}, 3, False, [])["run"] == 9


def test_end_of_every_run_is_counted_once():
    life = Life().heating()
    life.steps(20000)
    life.controller.stop()
    life.steps(300)
    counted = life.board.store.counted
    assert (counted["run"], counted["runs"], counted["trips"]) == (1, 1, 0)
    # The waist was driven; the other one only by the proof's pulse, which comes before.
    assert counted["on_s"][0] >= 15
    assert counted["on_s"][0] == (life.board.zones[0].on_ms + 500) // 1000 or counted["on_s"][0] <= 25
    assert counted["switches"][0] >= 1
    before = dict(counted)
    life.steps(5000)
    assert life.board.store.counted == before


def test_trip_is_counted():
    life = Life().heating()
    life.board.sensors[0].read = lambda _: None
    life.steps(5000)
    assert life.controller.mode == "tripped"
    assert life.board.store.counted["trips"] == 1
