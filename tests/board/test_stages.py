"""The stage machine, step by step with temperatures given by hand."""

from board.samples import bench_rig, near, profile_of
from ribwright_board.core.stages import FLOW, StageRunner


def ramp(target=150, zones=("waist",), **more):
    return dict({"kind": "ramp", "zones": list(zones), "target": target}, **more)


def hold(target=150, zones=("waist",), **more):
    return dict({"kind": "hold", "zones": list(zones), "target": target}, **more)


def setting(target=120, zones=("waist",), **more):
    return dict({"kind": "set", "zones": list(zones), "target": target}, **more)


def runner_of(*stages):
    runner = StageRunner(profile_of(list(stages), bench_rig()), 2)
    runner.begin(0)
    return runner


def walk(runner, temps_c, seconds):
    """Let time pass in ticks of 100 ms."""
    for _ in range(int(seconds * 10)):
        runner.step(temps_c, 100)


def names(runner):
    """Names of the events so far, and forget them."""
    found = [event[0] for event in runner.events]
    runner.events = []
    return found


def test_every_kind_has_a_way_on():
    assert sorted(FLOW) == [
        ("cool", "ended"),
        ("hold", "ended"),
        ("hold", "longest"),
        ("ramp", "ended"),
        ("ramp", "longest"),
        ("ramp", "wood_late"),
        ("set", "ended"),
        ("set", "longest"),
    ]


def test_ramp_without_rate_wants_its_target_at_once_and_ends_in_the_band():
    runner = runner_of(ramp(150), hold(150, minutes=1))
    runner.step([20.0, 20.0], 100)
    assert runner.targets_c == [150.0, None]
    walk(runner, [147.75, 20.0], 5)
    assert runner.index == 0
    runner.step([148.0, 20.0], 100)
    assert runner.index == 1
    assert names(runner) == ["stage", "arrived", "stage"]


def test_new_stage_wants_its_target_in_the_tick_that_began_it():
    runner = runner_of(ramp(150), hold(140, minutes=1), setting(120, minutes=1))
    runner.step([149.0, 20.0], 100)
    assert (runner.index, runner.targets_c) == (1, [140.0, None])
    walk(runner, [140.0, 20.0], 60)
    assert (runner.index, runner.targets_c) == (2, [120.0, None])


def test_ramp_with_rate_moves_from_where_the_zone_is():
    runner = runner_of(ramp(150, rate_per_min=60))
    runner.step([30.0, 20.0], 100)
    assert near(runner.targets_c[0], 30.1, 1e-3)
    walk(runner, [31.0, 20.0], 59.9)
    assert near(runner.targets_c[0], 90.0, 1e-2)
    walk(runner, [31.0, 20.0], 120)
    assert runner.targets_c[0] == 150.0


def test_ramp_with_rate_waits_for_its_first_reading():
    runner = runner_of(ramp(150, rate_per_min=60))
    runner.step([None, 20.0], 100)
    assert runner.targets_c == [None, None]
    runner.step([30.0, 20.0], 100)
    assert near(runner.targets_c[0], 30.2, 1e-3)


def test_ramp_down_with_rate_falls_to_its_target():
    runner = runner_of(ramp(100, rate_per_min=30))
    runner.step([150.0, 20.0], 100)
    walk(runner, [140.0, 20.0], 59.9)
    assert near(runner.targets_c[0], 120.0, 1e-2)
    walk(runner, [130.0, 20.0], 60)
    assert runner.targets_c[0] == 100.0
    assert runner.index == 0
    runner.step([102.0, 20.0], 100)
    assert runner.index == 1


def test_ramp_of_two_zones_ends_when_both_have_been_there():
    runner = runner_of(ramp(150, ("waist", "full")), hold(150, ("waist", "full"), minutes=1))
    runner.step([150.0, 100.0], 100)
    assert (runner.index, runner.targets_c) == (0, [150.0, 150.0])
    # The first one dips again while the second arrives: it has been there.
    runner.step([140.0, 149.0], 100)
    assert runner.index == 1
    arrived = [event for event in runner.events if event[0] == "arrived"]
    assert [(event[1], event[2]) for event in arrived] == [(0, 1500), (1, 1490)]


def test_ramp_that_takes_too_long_names_the_zone_that_is_late():
    runner = runner_of(ramp(150, ("waist", "full"), longest_min=2), hold(150, minutes=1))
    walk(runner, [150.0, 60.0], 119.9)
    assert runner.late_zone == -1
    runner.step([150.0, 60.0], 100)
    assert runner.late_zone == 1
    assert runner.index == 0
    walk(runner, [150.0, 150.0], 1)
    assert runner.index in (0, 1)


def test_hold_counts_only_the_time_within_its_band():
    runner = runner_of(hold(150, minutes=1))
    walk(runner, [150.0, 20.0], 30)
    assert runner.held_ms == 30000
    for away_c in (146.75, 153.25):
        walk(runner, [away_c, 20.0], 20)
    walk(runner, [None, 20.0], 10)
    assert runner.held_ms == 30000
    walk(runner, [147.0, 20.0], 15)
    walk(runner, [153.0, 20.0], 14.9)
    assert runner.index == 0
    runner.step([150.0, 20.0], 100)
    assert runner.index == 1


def test_hold_counts_a_tick_without_a_reading_by_the_next_one():
    runner = runner_of(hold(150, minutes=1))
    for temperature_c, held_ms in (
        (150.0, 100),
        (None, 100),
        (150.0, 300),
        (None, 300),
        (None, 300),
        (149.0, 600),
        (None, 600),
        (120.0, 600),
        (150.0, 700),
        (None, 700),
        (None, 700),
        (None, 700),
        (150.0, 800),
    ):
        runner.step([temperature_c, 20.0], 100)
        assert runner.held_ms == held_ms


def test_hold_of_two_zones_counts_when_both_are_within():
    runner = runner_of(hold(150, ("waist", "full"), minutes=1))
    walk(runner, [150.0, 140.0], 30)
    assert runner.held_ms == 0
    walk(runner, [150.0, 150.0], 60)
    assert runner.index == 1


def test_hold_over_its_longest_time_falls_to_the_set_and_says_so():
    runner = runner_of(
        hold(150, minutes=1, longest_min=2), ramp(160), hold(160, minutes=1), setting(120, minutes=1)
    )
    walk(runner, [140.0, 20.0], 95.9)
    assert names(runner) == ["stage"]
    runner.step([140.0, 20.0], 100)
    # Four fifths of two minutes are 96 s; 24 s are left.
    assert [(event[0], event[2]) for event in runner.events] == [("hold_warning", 24)]
    walk(runner, [140.0, 20.0], 23.9)
    assert runner.index == 0
    runner.step([140.0, 20.0], 100)
    assert runner.index == 3
    assert names(runner) == ["hold_warning", "hold_longest", "stage"]
    assert runner.targets_c == [120.0, None]


def test_hold_over_its_longest_time_without_a_set_falls_to_the_cool():
    runner = runner_of(hold(150, minutes=1, longest_min=2), ramp(160))
    walk(runner, [140.0, 20.0], 120)
    assert runner.stage.kind == "cool"
    assert runner.targets_c == [None, None]


def test_hold_of_the_maker_waits_for_every_cue_and_then_for_next():
    runner = runner_of(hold(150, until="maker", longest_min=5, cues=["press the waist on", "turn it"]))
    assert names(runner) == ["stage", "cue"]
    walk(runner, [150.0, 20.0], 10)
    assert runner.cue() == "press the waist on"
    assert runner.waits()
    assert runner.next()
    assert runner.cue() == "turn it"
    assert names(runner) == ["cue_done", "cue"]
    assert runner.next()
    assert runner.cue() == ""
    assert runner.waits()
    assert runner.index == 0
    assert runner.next()
    assert runner.index == 1
    assert names(runner) == ["cue_done", "next", "stage"]


def test_hold_by_minutes_does_not_end_while_a_cue_waits():
    runner = runner_of(hold(150, minutes=1, cues=["press the waist on"]))
    walk(runner, [150.0, 20.0], 90)
    assert runner.index == 0
    assert runner.next()
    runner.step([150.0, 20.0], 100)
    assert runner.index == 1


def test_next_changes_nothing_when_nothing_waits():
    runner = runner_of(ramp(150), hold(150, minutes=1), setting(120, minutes=1))
    assert not runner.waits()
    assert not runner.next()
    runner.step([150.0, 20.0], 100)
    assert not runner.next()
    assert runner.index == 1


def test_set_ends_by_its_time_or_by_its_longest():
    runner = runner_of(setting(120, minutes=1))
    walk(runner, [125.0, 20.0], 60)
    assert runner.index == 1
    runner = runner_of(setting(120, minutes=1, longest_min=2))
    walk(runner, [140.0, 20.0], 119.9)
    assert runner.index == 0
    runner.step([140.0, 20.0], 100)
    assert runner.index == 1


def test_cool_ends_when_every_zone_is_below():
    runner = runner_of(ramp(150))
    runner.step([150.0, 20.0], 100)
    walk(runner, [60.0, 60.0], 10)
    walk(runner, [49.0, 60.0], 10)
    walk(runner, [49.0, None], 10)
    walk(runner, [50.0, 49.0], 10)
    assert not runner.finished
    assert runner.targets_c == [None, None]
    runner.step([49.75, 49.75], 100)
    assert runner.finished
    assert runner.stage is None
    assert not runner.next()
    walk(runner, [20.0, 20.0], 1)
    assert runner.finished


def test_zone_that_a_stage_does_not_name_is_off():
    runner = runner_of(ramp(150), ramp(150, ("full",)))
    runner.step([150.0, 20.0], 100)
    assert (runner.index, runner.targets_c) == (1, [None, 150.0])


def test_stage_event_says_number_target_and_name():
    runner = runner_of(ramp(150, name="waist up"))
    assert runner.events[0] == ("stage", -1, 1, 1500, "waist up")
