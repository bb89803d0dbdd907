"""Relay windows: one second for solid-state relays, what their life allows for mechanical ones."""

from board.samples import near, rig_mapping
from ribwright_board.core import rig
from ribwright_board.core.gains import BY_WINDOW, GAIN_NAMES, gains_for
from ribwright_board.core.relay_life import shortest_window_ms


def mechanical(**more):
    values = rig_mapping()
    for zone in values["zones"]:
        zone["relay"] = "mechanical"
        zone.update(more)
    values.pop("control", None)
    return values


def first_problem(values):
    problems = rig.check(values)
    return (problems[0].code, problems[0].where, problems[0].sentence()) if problems else None


def test_solid_state_relays_get_windows_of_a_second():
    values = rig_mapping()
    values.pop("control", None)
    assert rig.parse(values).window_ms == 1000


def test_mechanical_relay_of_unknown_life_gets_the_longest_window():
    assert rig.parse(mechanical()).window_ms == 20000
    values = mechanical()
    values["control"] = {"window_ms": 8000}
    assert rig.parse(values).window_ms == 8000


def test_stated_life_sets_the_window():
    # 100 000 operations in 100 h: one in 3.6 s.
    assert shortest_window_ms(100000, 100) == 3600
    # 30 000 operations in 25 h: one in 3.0 s; in 26 h: one in 3.12 s, rounded up.
    assert shortest_window_ms(30000, 25) == 3000
    assert shortest_window_ms(30000, 26) == 3200
    assert rig.parse(mechanical(relay_operations=100000, relay_hours=100)).window_ms == 3600
    # A long life allows what solid-state relays get.
    assert rig.parse(mechanical(relay_operations=10000000, relay_hours=100)).window_ms == 1000


def test_relay_with_the_shortest_life_counts():
    values = mechanical(relay_operations=100000, relay_hours=100)
    values["zones"][1]["relay_hours"] = 200
    assert rig.parse(values).window_ms == 7200
    del values["zones"][1]["relay_hours"], values["zones"][1]["relay_operations"]
    assert rig.parse(values).window_ms == 20000


def test_shorter_window_than_the_life_allows_is_refused():
    values = mechanical(relay_operations=100000, relay_hours=100)
    values["control"] = {"window_ms": 3500}
    code, where, sentence = first_problem(values)
    assert (code, where) == ("range", ("control", "window_ms"))
    assert "3500 ms" in sentence
    assert "3600 ms" in sentence
    values["control"] = {"window_ms": 3600}
    assert rig.check(values) == []
    values = mechanical(relay_operations=1000000, relay_hours=200)
    values["control"] = {"window_ms": 700}
    assert first_problem(values)[1] == ("control", "window_ms")


def test_life_no_window_can_give_is_refused():
    code, where, sentence = first_problem(mechanical(relay_operations=1000, relay_hours=100))
    assert (code, where) == ("range", ("zones", 0, "relay_hours"))
    # 1000 operations at one in 20 s are 5.6 h.
    assert "last 5 h" in sentence


def test_half_a_life_is_no_life():
    for key, missing in (("relay_operations", "relay_hours"), ("relay_hours", "relay_operations")):
        code, where, _ = first_problem(mechanical(**{key: 5000}))
        assert (code, where) == ("missing", ("zones", 0, missing))


def test_solid_state_relay_has_no_operations_to_count():
    values = rig_mapping()
    values["zones"][0]["relay_operations"] = 100000
    code, where, _ = first_problem(values)
    assert (code, where) == ("range", ("zones", 0, "relay_operations"))


def test_gains_to_begin_with_follow_the_window():
    assert rig.parse(mechanical()).zones[0].gains == gains_for(20000)
    assert rig.parse(rig_mapping()).zones[0].gains == gains_for(1000)
    for longest_ms, _ in BY_WINDOW:
        assert gains_for(longest_ms) != gains_for(longest_ms + 1) or longest_ms == BY_WINDOW[-1][0]
        assert sorted(gains_for(longest_ms)) == sorted(GAIN_NAMES)
    # The longer a window, the less a law may ask for a kelvin.
    gentle = [gains_for(window_ms)["c_gain"] for window_ms in (1000, 2000, 5000, 20000)]
    assert gentle == sorted(gentle, reverse=True)
    assert near(gains_for(60000)["c_gain"], gentle[-1], 1e-9)
