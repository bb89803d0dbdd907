"""A hold that ends by the wood: what its keys may say, and how its time counts."""

from board.samples import bench_rig, drop, near, profile_mapping, profile_of, put
from ribwright_board.core import profile
from ribwright_board.core.stages import StageRunner


def wood_hold(**more):
    values = {
        "kind": "hold",
        "zones": ["waist"],
        "target": 150,
        "until": "wood",
        "mid_wood": 118,
        "mid_wood_s": 20,
        "longest_min": 5,
    }
    values.update(more)
    return {key: values[key] for key in values if values[key] is not None}


def problems_of(stage, change=None, rig=None):
    values = profile_mapping()
    values["stages"] = [stage, {"kind": "set", "zones": ["waist"], "target": 120, "minutes": 1}]
    values["stages"].append({"kind": "cool", "below": 50})
    if change:
        change(values)
    return [(one.code, one.where[-1]) for one in profile.check(values, rig or bench_rig())]


def runner_of(*stages):
    runner = StageRunner(profile_of(list(stages), bench_rig()), 2)
    runner.begin(0)
    runner.events = []
    return runner


def walk(runner, mids_c, seconds, temps_c=(150.0, 150.0)):
    """Time in ticks of 100 ms beside estimates that stay."""
    for zone in range(len(mids_c)):
        runner.wood.mids_c[zone] = mids_c[zone]
    for _ in range(int(seconds * 10)):
        runner.step(list(temps_c), 100)


def names(runner):
    return [event[0] for event in runner.events]


def test_hold_by_the_wood_is_read():
    stage = profile_of([wood_hold()]).stages[0]
    assert (stage.mid_wood_c, stage.mid_wood_ms, stage.longest_ms, stage.hold_ms) == (
        118.0,
        20000,
        300000,
        None,
    )
    values = profile_mapping()
    values["unit"] = "F"
    values["stages"] = [wood_hold(target=302, mid_wood=244.4), {"kind": "cool", "below": 120}]
    # 244.4 F is 118 C by the definition of the Fahrenheit scale.
    assert near(profile.parse(values, bench_rig()).stages[0].mid_wood_c, 118.0, 1e-3)


def test_mistakes_in_its_keys_are_named_and_placed():
    for stage, code, key in (
        (wood_hold(mid_wood=None), "missing", "mid_wood"),
        (wood_hold(mid_wood_s=None), "missing", "mid_wood_s"),
        (wood_hold(mid_wood="hot"), "not_a_number", "mid_wood"),
        (wood_hold(mid_wood=True), "not_a_number", "mid_wood"),
        (wood_hold(mid_wood=25), "range", "mid_wood"),
        (wood_hold(mid_wood=160), "range", "mid_wood"),
        (wood_hold(mid_wood=150), "range", "mid_wood"),
        (wood_hold(mid_wood=142.1), "range", "mid_wood"),
        (wood_hold(mid_wood=None, mid_wood_c=118), "doubled_unit", "mid_wood_c"),
        (wood_hold(mid_wood_s=0), "range", "mid_wood_s"),
        (wood_hold(mid_wood_s=1801), "range", "mid_wood_s"),
        (wood_hold(mid_wood_s=float("nan")), "not_a_number", "mid_wood_s"),
        (wood_hold(longest_min=None), "endless", "longest_min"),
        (wood_hold(minutes=2), "two_ends", "until"),
        (wood_hold(until="wod"), "choice", "until"),
        (wood_hold(until="maker"), "not_by_wood", "mid_wood"),
        (wood_hold(until=None, minutes=2), "not_by_wood", "mid_wood"),
        (wood_hold(until=None, minutes=2, mid_wood=None), "not_by_wood", "mid_wood_s"),
        (wood_hold(kind="set", until=None, minutes=2), "not_by_wood", "mid_wood"),
        (wood_hold(kind="ramp", longest_min=None), "unknown_key", "until"),
    ):
        assert (code, key) in problems_of(stage), (stage, problems_of(stage))
    assert problems_of(wood_hold()) == []
    assert problems_of(wood_hold(mid_wood=142)) == []


def test_sentence_of_a_mid_wood_too_near_the_target_says_limit_and_next_step():
    values = profile_mapping()
    values["stages"] = [wood_hold(mid_wood=149), {"kind": "cool", "below": 50}]
    said = profile.check(values, bench_rig())[0].sentence()
    assert "149" in said
    assert "142 C" in said
    assert "lower it or raise the target" in said


def test_unknown_wood_needs_its_density():
    strange = put("piece", "species", "a tree of no name")
    assert problems_of(wood_hold(), strange) == [("missing", "density_kg_m3")]

    def weighed(values):
        strange(values)
        values["piece"]["density_kg_m3"] = 720

    assert problems_of(wood_hold(), weighed) == []
    # Without such a hold, nobody asks for it; without a species that is the one mistake.
    assert problems_of(wood_hold(until="maker", mid_wood=None, mid_wood_s=None), strange) == []
    assert problems_of(wood_hold(), drop("piece", "species")) == [("missing", "species")]


def test_density_out_of_this_world_is_a_mistake():
    for value, code in ((0.72, "range"), (1500, "range"), (-5, "range"), ("heavy", "not_a_number")):
        assert problems_of(wood_hold(), put("piece", "density_kg_m3", value)) == [(code, "density_kg_m3")]


def test_hold_ends_when_the_wood_has_been_hot_for_long_enough():
    runner = runner_of(wood_hold(), wood_hold())
    walk(runner, [117.9, 150.0], 60)
    assert runner.index == 0
    walk(runner, [118.4, None], 19.9)
    assert runner.index == 0
    runner.step([150.0, 150.0], 100)
    assert runner.index == 1
    assert runner.events[0] == ("wood_hot", -1, 1184, 1, "")
    assert names(runner) == ["wood_hot", "stage"]


def test_time_counts_from_the_start_after_a_break():
    for broken_c in (117.0, None):
        runner = runner_of(wood_hold())
        walk(runner, [120.0, None], 15)
        walk(runner, [broken_c, None], 0.1)
        walk(runner, [120.0, None], 19.9)
        assert runner.index == 0
        walk(runner, [120.0, None], 0.1)
        assert runner.index == 1


def test_every_zone_of_the_stage_must_be_hot():
    runner = runner_of(wood_hold(zones=["waist", "full"]))
    walk(runner, [140.0, 117.0], 60)
    walk(runner, [140.0, None], 60)
    assert runner.index == 0
    walk(runner, [140.0, 119.0], 20)
    assert runner.index == 1
    assert runner.events[0] == ("wood_hot", -1, 1190, 1, "")


def test_time_of_one_hold_is_none_of_the_next():
    runner = runner_of(wood_hold(), wood_hold())
    walk(runner, [120.0, None], 20)
    assert runner.index == 1
    walk(runner, [120.0, None], 19.8)
    assert runner.index == 1


def test_without_an_estimate_it_warns_and_falls_to_the_set():
    runner = runner_of(wood_hold(), {"kind": "set", "zones": ["waist"], "target": 120, "minutes": 1})
    walk(runner, [None, None], 239.9)
    assert names(runner) == []
    walk(runner, [None, None], 0.1)
    assert runner.events == [("hold_warning", -1, 60, 0, "")]
    walk(runner, [None, None], 60)
    assert names(runner)[1:] == ["hold_longest", "stage"]
    assert (runner.index, runner.targets_c[0]) == (1, 120.0)


def test_cue_is_waited_for_even_when_the_wood_is_hot():
    runner = runner_of(wood_hold(cues=["waist home"]))
    assert runner.waits()
    walk(runner, [130.0, None], 60)
    assert runner.index == 0
    assert runner.next()
    assert not runner.waits()
    walk(runner, [130.0, None], 0.1)
    assert runner.index == 1


def test_maker_may_end_it_and_is_not_asked_to():
    runner = runner_of(wood_hold(), {"kind": "set", "zones": ["waist"], "target": 120, "minutes": 1})
    walk(runner, [60.0, None], 5)
    assert not runner.waits()
    assert runner.next()
    assert (runner.index, names(runner)) == (1, ["next", "stage"])


def test_estimates_end_no_other_stage():
    ramp = {"kind": "ramp", "zones": ["waist"], "target": 150}
    timed = {"kind": "hold", "zones": ["waist"], "target": 150, "minutes": 5}
    felt = {"kind": "hold", "zones": ["waist"], "target": 150, "until": "maker", "longest_min": 5}
    setting = {"kind": "set", "zones": ["waist"], "target": 120, "minutes": 5}
    for stage in (ramp, timed, felt, setting):
        runner = runner_of(stage)
        walk(runner, [190.0, 190.0], 120, (100.0, 100.0))
        assert runner.index == 0
