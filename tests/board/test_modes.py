"""The mode table, walked whole."""

from ribwright_board.core.modes import EVENTS, HEAT_MODES, MODES, TRANSITIONS, advance


def reached_without(events, start):
    """Modes that can be reached from one without some events."""
    found = {start}
    while True:
        more = {advance(mode, event) for mode in found for event in EVENTS if event not in events}
        if more <= found:
            return found
        found |= more


def test_every_pair_of_mode_and_event_has_an_answer_in_the_table_or_stays():
    for mode in MODES:
        for event in EVENTS:
            wanted = TRANSITIONS.get((mode, event), mode)
            assert advance(mode, event) == wanted
            assert wanted in MODES


def test_table_speaks_only_of_known_modes_and_events():
    for mode, event in TRANSITIONS:
        assert mode in MODES
        assert event in EVENTS
    assert set(TRANSITIONS.values()) == set(MODES)


def test_trip_leads_to_tripped_from_everywhere():
    for mode in MODES:
        assert advance(mode, "trip") == "tripped"


def test_tripped_is_left_only_by_acknowledging_and_then_rests():
    for event in EVENTS:
        assert advance("tripped", event) == ("idle" if event == "acknowledge" else "tripped")


def test_no_mode_reaches_heat_without_a_press_at_the_rig():
    for mode in ("idle", "ready", "paused", "tripped"):
        assert not [reached for reached in reached_without(("press",), mode) if reached in HEAT_MODES]


def test_heat_is_entered_only_by_a_press_and_a_profile_only_through_the_proof():
    entries = [pair for pair in TRANSITIONS if TRANSITIONS[pair] in HEAT_MODES and pair[0] not in HEAT_MODES]
    assert sorted(entries) == [("paused", "press"), ("ready", "press")]
    assert [pair for pair in TRANSITIONS if TRANSITIONS[pair] == "running"] == [("proving", "proved")]


def test_refused_proof_rests():
    assert advance("proving", "refused") == "idle"
    assert not [pair for pair in TRANSITIONS if pair[1] == "refused" and pair[0] != "proving"]


def test_stop_rests_from_every_mode_but_tripped():
    for mode in MODES:
        assert advance(mode, "stop") == ("tripped" if mode == "tripped" else "idle")


def test_acknowledging_changes_nothing_elsewhere():
    for mode in MODES:
        if mode != "tripped":
            assert advance(mode, "acknowledge") == mode


def test_every_mode_can_be_left_by_hand():
    for mode in MODES:
        assert [
            event for event in ("press", "acknowledge", "stop", "lay_out") if advance(mode, event) != mode
        ]
