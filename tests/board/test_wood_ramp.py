"""A ramp that heats for the wood: its keys, its targets second by second, what ends it."""

from board.controller_bench import Bench
from board.samples import bench_rig, drop, near, profile_mapping, profile_of, put
from ribwright_board.core import profile
from ribwright_board.core.judge import AIM_K
from ribwright_board.core.stages import StageRunner
from ribwright_board.core.wood_ramp import CLIMB_K, LEAD_K, RISE_K, WoodAim

HOLD = {"kind": "hold", "zones": ["waist"], "target": 150, "minutes": 5}


def wood_ramp(**more):
    values = {
        "kind": "ramp",
        "zones": ["waist"],
        "target": 150,
        "heat_for": "wood",
        "mid_wood": 118,
        "wood_face": 155,
        "longest_min": 8,
    }
    values.update(more)
    return {key: values[key] for key in values if values[key] is not None}


def checked(stage, change=None, rig_change=None, unit="C"):
    values = profile_mapping()
    values["unit"] = unit
    values["stages"] = [stage, {"kind": "cool", "below": 50 if unit == "C" else 120}]
    if change:
        change(values)
    return profile.check(values, bench_rig(rig_change))


def problems_of(*args, **more):
    return [(one.code, one.where[-1]) for one in checked(*args, **more)]


class Beside:
    """Estimates given by hand: per zone where the thermocouple may stand, C, and the middle."""

    def __init__(self, *stages, rig=None):
        self.runner = StageRunner(profile_of(list(stages), rig or bench_rig()), 2)
        self.beside_c = [None, None]
        self.asked_c = []
        self.runner.aim.beside_c = self._tell
        self.runner.begin(0)
        self.runner.events = []

    def _tell(self, zone, face_c):
        self.asked_c.append(face_c)
        return self.beside_c[zone]

    def walk(self, seconds, temps_c, beside_c=None, mids_c=(None, None)):
        """Ticks of 100 ms; every target of the first zone that is new."""
        if beside_c is not None:
            self.beside_c = list(beside_c)
        found = []
        for zone in range(2):
            self.runner.wood.mids_c[zone] = mids_c[zone]
        for _ in range(int(seconds * 10 + 0.5)):
            self.runner.step(list(temps_c), 100)
            target_c = self.runner.targets_c[0]
            if not found or found[-1] != target_c:
                found.append(target_c)
        return found

    def names(self):
        found = [event[0] for event in self.runner.events]
        self.runner.events = []
        return found


def test_its_keys_are_read():
    made = profile_of([wood_ramp(), HOLD])
    stage = made.stages[0]
    assert (stage.target_c, stage.mid_wood_c, stage.wood_face_c) == (150.0, 118.0, 155.0)
    assert (stage.mid_wood_ms, stage.longest_ms, stage.hold_ms) == (3000, 480000, None)
    assert stage.most_c == 150.0 + RISE_K
    # What the guard goes by is the highest that any stage may come to ask.
    assert made.hottest_c == stage.most_c
    plain = profile_of([wood_ramp(heat_for=None, mid_wood=None, wood_face=None), HOLD])
    assert (plain.stages[0].wood_face_c, plain.stages[0].most_c, plain.hottest_c) == (None, None, 150.0)
    in_f = wood_ramp(target=302, mid_wood=244.4, wood_face=311)
    values = profile_mapping()
    values["unit"] = "F"
    values["stages"] = [in_f, {"kind": "cool", "below": 120}]
    found = profile.parse(values, bench_rig()).stages[0]
    # 244.4 F is 118 C and 311 F is 155 C by the definition of the Fahrenheit scale.
    assert near(found.mid_wood_c, 118.0, 1e-3)
    assert near(found.wood_face_c, 155.0, 1e-3)


def test_no_zone_is_asked_for_more_than_the_lowest_ceiling_allows():
    def lower(values):
        values["zones"][1]["ceiling"] = 170

    rig = bench_rig(lower)
    both = wood_ramp(zones=["waist", "full"])
    assert profile_of([both], rig).stages[0].most_c == 160.0
    assert profile_of([wood_ramp()], rig).stages[0].most_c == 180.0
    # The firmware's own: 200 C less 10 K, without a rig as well.
    assert profile_of([wood_ramp(target=185, wood_face=190)], rig).stages[0].most_c == 190.0
    values = profile_mapping()
    values["stages"] = [wood_ramp(target=185, wood_face=190), {"kind": "cool", "below": 50}]
    assert profile.parse(values).stages[0].most_c == 190.0
    for face, problems in ((160, []), (161, [("range", "wood_face")])):
        assert problems_of(wood_ramp(zones=["waist", "full"], wood_face=face), rig_change=lower) == problems
    assert problems_of(wood_ramp(wood_face=161), rig_change=lower) == []


def test_mistakes_in_its_keys_are_named_and_placed():
    for stage, code, key in (
        (wood_ramp(heat_for="steel"), "choice", "heat_for"),
        (wood_ramp(heat_for=True), "choice", "heat_for"),
        (wood_ramp(heat_for=None), "not_by_wood", "mid_wood"),
        (wood_ramp(heat_for=None, mid_wood=None), "not_by_wood", "wood_face"),
        (wood_ramp(target=None), "missing", "target"),
        (wood_ramp(mid_wood=None), "missing", "mid_wood"),
        (wood_ramp(mid_wood="hot"), "not_a_number", "mid_wood"),
        (wood_ramp(mid_wood=31), "range", "mid_wood"),
        (wood_ramp(mid_wood=142.1), "range", "mid_wood"),
        (wood_ramp(mid_wood=None, mid_wood_c=118), "doubled_unit", "mid_wood_c"),
        (wood_ramp(wood_face=None), "missing", "wood_face"),
        (wood_ramp(wood_face=float("nan")), "not_a_number", "wood_face"),
        (wood_ramp(wood_face=True), "not_a_number", "wood_face"),
        (wood_ramp(wood_face=[155]), "not_a_number", "wood_face"),
        (wood_ramp(wood_face=149), "range", "wood_face"),
        (wood_ramp(wood_face=191), "range", "wood_face"),
        (wood_ramp(wood_face=None, wood_face_f=311), "doubled_unit", "wood_face_f"),
        (wood_ramp(mid_wood_s=20), "unknown_key", "mid_wood_s"),
        (wood_ramp(rate_per_min=60), "two_paces", "rate_per_min"),
        (wood_ramp(longest_min=None), "endless", "longest_min"),
        (wood_ramp(longest_min=0), "range", "longest_min"),
        (dict(HOLD, heat_for="wood"), "unknown_key", "heat_for"),
        (dict(HOLD, wood_face=155), "unknown_key", "wood_face"),
    ):
        found = checked(stage)
        assert (code, key) in [(one.code, one.where[-1]) for one in found], (stage, found)
        for problem in found:
            assert "\n" not in problem.sentence()
            assert 10 < len(problem.text) < 200, problem.text
    for stage in (wood_ramp(), wood_ramp(mid_wood=142, wood_face=150), wood_ramp(wood_face=190)):
        assert problems_of(stage) == []
    at_limits_f = wood_ramp(target=302, wood_face=302, mid_wood=287.6)
    assert problems_of(at_limits_f, unit="F") == []


def test_sentences_say_limit_and_next_step():
    low = checked(wood_ramp(wood_face=140))[0].sentence()
    assert "is 140, the least is the target, 150 C" in low
    assert "raise it" in low

    def lower(values):
        values["zones"][0]["ceiling"] = 170

    high = checked(wood_ramp(wood_face=175), rig_change=lower)[0].sentence()
    assert "is 175, these zones allow up to 160 C" in high
    assert "lower it" in high


def test_unknown_wood_needs_its_density():
    strange = put("piece", "species", "a tree of no name")
    assert problems_of(wood_ramp(), strange) == [("missing", "density_kg_m3")]
    assert problems_of(wood_ramp(), drop("piece", "species")) == [("missing", "species")]


def test_without_an_estimate_it_wants_its_plain_target():
    bench = Beside(wood_ramp(zones=["waist", "full"]), HOLD)
    assert bench.walk(30, [60.0, 60.0]) == [150.0]
    assert bench.runner.targets_c == [150.0, 150.0]
    # A runner that nobody told of an estimate has none.
    lone = StageRunner(profile_of([wood_ramp()]), 2)
    lone.begin(0)
    lone.step([60.0, 60.0], 100)
    assert lone.targets_c == [150.0, None]


def test_far_below_its_limit_the_highest_target_stands():
    bench = Beside(wood_ramp(), HOLD)
    for seen_c in (20.0, 80.0, 150.0):
        assert bench.walk(5, [seen_c, 20.0], [seen_c + LEAD_K + 1.0, None]) == [180.0]
    assert bench.runner.targets_c[1] is None
    assert set(bench.asked_c) == {155.0}


def test_near_its_limit_it_follows_the_estimate_and_falls_to_the_plain_target():
    bench = Beside(wood_ramp(), HOLD)
    bench.walk(5, [150.0, 20.0], [170.0, None])
    assert bench.walk(2, [165.0, 20.0], [174.0, None])[-1] == 174.0
    assert bench.walk(2, [168.0, 20.0], [166.0, None])[-1] == 166.0
    assert bench.walk(2, [160.0, 20.0], [155.5, None])[-1] == 155.5
    assert bench.walk(2, [152.0, 20.0], [149.0, None])[-1] == 150.0
    assert bench.walk(2, [150.0, 20.0], [-40.0, None])[-1] == 150.0


def test_target_leaves_its_limits_for_no_estimate():
    bench = Beside(wood_ramp(), HOLD)
    for beside_c in (-500.0, 0.0, 149.9, 155.0, 180.1, 185.0, 1000.0, 1e9):
        for seen_c in (0.0, 100.0, 150.0, 178.0, 400.0):
            for target_c in bench.walk(2, [seen_c, 20.0], [beside_c, None]):
                assert 150.0 <= target_c <= 180.0, (beside_c, seen_c)


def test_target_climbs_slower_than_a_deliberate_change_and_once_a_second():
    assert CLIMB_K < AIM_K
    bench = Beside(wood_ramp(), HOLD)
    bench.walk(2.5, [100.0, 20.0])
    found = bench.walk(10, [145.0, 20.0], [175.0, None])
    assert found == [150.0 + CLIMB_K * i for i in range(8)] + [180.0]
    # Where the estimate is lost it is down at once.
    assert bench.walk(1.0, [145.0, 20.0], [None, None])[-1] == 150.0


def test_tick_without_a_reading_changes_no_target():
    bench = Beside(wood_ramp(), HOLD)
    assert bench.walk(1, [None, 20.0], [170.0, None]) == [150.0]
    bench.walk(3, [150.0, 20.0], [156.0, None])
    assert bench.walk(5, [None, 20.0], [170.0, None]) == [156.0]


def test_every_zone_has_its_own():
    bench = Beside(wood_ramp(zones=["waist", "full"]), HOLD)
    bench.walk(3, [160.0, 100.0], [165.0, 150.0])
    assert bench.runner.targets_c == [165.0, 180.0]


def test_next_stage_wants_its_own_target_at_once_and_the_next_ramp_starts_anew():
    bench = Beside(wood_ramp(), wood_ramp(target=160, wood_face=160), HOLD)
    bench.walk(3, [160.0, 20.0], [165.0, None])
    # The second ramp is far from its limit here, and wants all it may at once.
    bench.walk(3.0, [150.0, 20.0], mids_c=(118.0, None))
    assert (bench.runner.index, bench.runner.targets_c[0]) == (1, 190.0)
    bench.walk(3.0, [160.0, 20.0], [None, None], mids_c=(118.0, None))
    assert (bench.runner.index, bench.runner.targets_c) == (2, [150.0, None])


def test_it_ends_when_the_wood_of_every_zone_is_hot_for_a_while():
    bench = Beside(wood_ramp(zones=["waist", "full"]), HOLD)
    bench.walk(20, [151.0, 151.0], [160.0, 160.0], (130.0, 117.9))
    bench.walk(20, [151.0, 151.0], [160.0, 160.0], (130.0, None))
    bench.walk(2.9, [151.0, 151.0], mids_c=(130.0, 118.0))
    bench.walk(0.1, [151.0, 151.0], mids_c=(130.0, 117.9))
    assert bench.names() == ["arrived", "arrived"]
    bench.walk(2.9, [151.0, 151.0], mids_c=(130.0, 118.4))
    assert bench.runner.index == 0
    bench.runner.step([151.0, 151.0], 100)
    assert bench.runner.index == 1
    assert bench.runner.events[0] == ("wood_hot", -1, 1184, 1, "")


def test_arrival_of_the_thermocouple_does_not_end_it():
    bench = Beside(wood_ramp(), HOLD)
    bench.walk(400, [150.0, 20.0], [150.0, None], (110.0, None))
    assert (bench.runner.index, bench.names()) == (0, ["arrived"])


def test_late_wood_goes_on_and_says_so():
    bench = Beside(wood_ramp(longest_min=2), HOLD)
    bench.walk(119.9, [149.0, 20.0], [160.0, None], (110.3, None))
    assert bench.runner.index == 0
    bench.runner.step([149.0, 20.0], 100)
    assert bench.runner.index == 1
    assert bench.runner.late_zone == -1
    assert bench.runner.events[1] == ("wood_late", -1, 1103, 1, "")
    assert bench.names() == ["arrived", "wood_late", "stage"]


def test_thermocouple_that_does_not_arrive_is_late_as_in_every_ramp():
    bench = Beside(wood_ramp(zones=["waist", "full"], longest_min=2), HOLD)
    bench.walk(120, [150.0, 147.0], [160.0, 160.0], (110.0, 90.0))
    assert (bench.runner.index, bench.runner.late_zone, bench.runner.late_target_c) == (0, 1, 150.0)
    assert bench.names() == ["arrived"]


def test_run_heats_past_its_target_and_comes_back_to_it():
    stages = [
        wood_ramp(zones=["waist", "full"], target=120, wood_face=121, mid_wood=100),
        dict(HOLD, target=120, zones=["waist", "full"]),
    ]
    bench = Bench(stages).running()
    controller = bench.controller
    assert controller.guard.hottest_c == 150.0
    highest_c = 0.0
    while controller.runner.index == 0:
        bench.ticks(10)
        highest_c = max(highest_c, *bench.blankets.temps_c)
        assert all(120.0 <= target_c <= 150.0 for target_c in controller.runner.targets_c)
        assert bench.now_ms < 600000
    assert "wood_hot" in bench.told
    assert highest_c > 123.0
    assert controller.runner.targets_c == [120.0, 120.0]
    bench.ticks(600)
    assert controller.mode == "running"
    assert all(near(seen_c, 120.0, 3.0) for seen_c in bench.blankets.temps_c)
    assert not [name for name in bench.told if name in ("suspect", "zone_off", "trip")]


def test_stages_that_do_not_heat_for_the_wood_never_ask():
    def refuse(*_):
        raise AssertionError("asked")

    runner = StageRunner(profile_of([wood_ramp(heat_for=None, mid_wood=None, wood_face=None), HOLD]), 2)
    runner.aim.beside_c = refuse
    runner.begin(0)
    runner.step([20.0, 20.0], 100)
    runner.step([150.0, 20.0], 100)
    runner.step([150.0, 20.0], 100)
    assert (runner.index, runner.targets_c[0]) == (1, 150.0)
    aim = WoodAim(2)
    aim.begin()
    aim.step(runner.stage, [20.0, 20.0], runner.targets_c, 1000)
    assert runner.targets_c[0] == 150.0
