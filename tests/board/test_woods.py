"""The wood of a whole rig in a run: which blanket lies on it, when it counts, and who must not know of it."""

from board.controller_bench import Bench
from board.samples import bench_rig, near, profile_of, zone_mapping
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.units import TENTHS_MISSING
from ribwright_board.core.woods import Woods, long_one

RAMP = {"kind": "ramp", "zones": ["waist", "full"], "target": 120}
BY_WOOD = {
    "kind": "hold",
    "zones": ["waist", "full"],
    "target": 120,
    "until": "wood",
    "mid_wood": 90,
    "mid_wood_s": 3,
    "longest_min": 10,
    "cues": ["press the waist on"],
}
STAGES = [RAMP, BY_WOOD, {"kind": "set", "zones": ["full"], "target": 80, "minutes": 2}]


class Shown:
    """What zones show, as the controller's own senses say it."""

    def __init__(self, held=("", ""), cold_c=20.0):
        self.held = list(held)
        self.cold_c = [cold_c, cold_c]


def lengths(*found):
    def change(values):
        values["zones"] = [zone_mapping("z%d" % i, i) for i in range(len(found))]
        for i in range(len(found)):
            values["zones"][i]["length_mm"] = found[i]

    return change


def woods_of(change=None, piece=None):
    rig = bench_rig(change)
    values = {
        "schema": 1,
        "name": "one",
        "unit": "C",
        "piece": piece or profile_of([]).piece,
        "stages": [{"kind": "cool", "below": 50}],
    }
    return Woods(rig, parse_profile(values, rig))


def test_blanket_half_again_as_long_as_the_next_lies_on_the_wood():
    assert long_one(bench_rig(lengths(300)).zones) == -1
    assert long_one(bench_rig(lengths(300, 300)).zones) == -1
    assert long_one(bench_rig(lengths(300, 440)).zones) == -1
    assert long_one(bench_rig(lengths(300, 450)).zones) == 1
    assert long_one(bench_rig(lengths(600, 150, 200)).zones) == 0


def test_zone_behind_the_long_blanket_lags_and_feels_its_heat():
    woods = woods_of(lengths(150, 600))
    for second in range(90):
        woods.second([20.0 + second, 20.0 + second], Shown(), [0.0, 0.0], 1000)
    assert woods.mids_c[1] - woods.mids_c[0] > 8.0
    side_by_side = woods_of(lengths(300, 300))
    for second in range(90):
        side_by_side.second([20.0 + second, 20.0 + second], Shown(), [1.0, 1.0], 1000)
    assert side_by_side.mids_c[0] == side_by_side.mids_c[1]
    before_c = woods.mids_c[0]
    for _ in range(60):
        woods.second([110.0, 110.0], Shown(), [0.0, 1.0], 1000)
    heated_c = woods.mids_c[0]
    assert heated_c > before_c
    for _ in range(60):
        woods.second([110.0, 110.0], Shown(), [1.0, 0.0], 1000)
    # Its own heat is what the thermocouple shows; only the one between is added.
    assert woods.mids_c[0] < heated_c


def test_wood_nobody_can_weigh_has_no_estimate():
    piece = dict(profile_of([]).piece)
    piece["species"] = "a tree of no name"
    woods = woods_of(piece=piece)
    woods.meet_form([0, 1])
    woods.second([80.0, 80.0], Shown(), [0.0, 0.0], 1000)
    assert woods.mids_c == [None, None]


def test_zone_that_is_held_has_no_estimate_and_others_keep_theirs():
    woods = woods_of()
    for _ in range(5):
        woods.second([80.0, 80.0], Shown(), [0.0, 0.0], 1000)
    woods.second([80.0, 80.0], Shown(("open", "")), [0.0, 0.0], 1000)
    assert woods.mids_c[0] is None
    assert woods.mids_c[1] is not None
    woods.second([None, 80.0], Shown(), [0.0, 0.0], 1000)
    assert woods.mids_c[0] is None


def test_late_second_counts_as_many():
    slow, even = woods_of(), woods_of()
    for _ in range(40):
        slow.second([80.0, 80.0], Shown(), [0.0, 0.0], 2000)
        even.second([80.0, 80.0], Shown(), [0.0, 0.0], 1000)
        even.second([80.0, 80.0], Shown(), [0.0, 0.0], 1000)
    assert slow.mids_c == even.mids_c


def test_calibration_of_a_zone_is_used_for_it():
    def change(values):
        values["zones"][0]["wood"] = {"resistance": 0.02, "loss": 20, "escape_s": 60}

    woods = woods_of(change)
    for second in range(90):
        woods.second([20.0 + second, 20.0 + second], Shown(), [0.0, 0.0], 1000)
    assert woods.mids_c[0] < woods.mids_c[1] - 8.0


def test_calibration_is_used_for_wood_like_that_it_was_found_in():
    def change(values):
        values["zones"][0]["wood"] = {"resistance": 0.02, "loss": 20, "escape_s": 60, "band": 4.5}
        values["zones"][0]["wood"].update({"thickness_mm": 1.8, "wetted": "misted"})

    def bands(thickness_mm, plies, wetted):
        piece = dict(profile_of([]).piece)
        piece.update({"thickness_mm": thickness_mm, "plies": plies, "wetted": wetted})
        woods = woods_of(change, piece)
        return woods.bands_k, woods.estimates[0]._resistance

    assert bands(1.7, 1, "misted") == ([4.5, 8.0], 0.02)
    assert bands(0.9, 2, "misted") == ([4.5, 8.0], 0.02)
    for other in ((1.7, 2, "misted"), (1.2, 1, "misted"), (1.7, 1, "dry")):
        found, resistance = bands(*other)
        assert found == [8.0, 8.0]
        assert near(resistance, 0.007, 1e-6)


def test_plies_are_one_thick_slab():
    def after(plies, thickness_mm):
        piece = dict(profile_of([]).piece)
        piece.update({"plies": plies, "thickness_mm": thickness_mm, "moisture_percent": 8, "wetted": "dry"})
        woods = woods_of(piece=piece)
        for second in range(90):
            woods.second([20.0 + second, 20.0 + second], Shown(), [0.0, 0.0], 1000)
        return woods.mids_c[0]

    assert near(after(3, 0.6), after(1, 1.8), 1e-3)


def test_run_ends_its_hold_by_the_wood_and_says_so():
    bench = Bench(STAGES).running()
    controller = bench.controller
    bench.until(lambda: controller.runner.index == 1, 300)
    mids_c = controller.course.woods.mids_c
    assert all(mid_c is not None and mid_c < 120.0 for mid_c in mids_c)
    bench.ticks(5)
    bench.controller.next()
    assert [one._form_s >= 0.0 for one in controller.course.woods.estimates] == [True, True]
    bench.told = []
    bench.until(lambda: controller.runner.index == 2, 300)
    assert "wood_hot" in bench.told
    assert "hold_longest" not in bench.told
    rows = controller.drive.figures.rows
    assert all(900 <= row[4] < 1200 for row in rows)


def test_estimate_is_in_the_figures_only_from_the_press_to_the_end():
    bench = Bench(STAGES).made_ready()
    rows = bench.controller.drive.figures.rows
    bench.ticks(30)
    assert [row[4] for row in rows] == [TENTHS_MISSING, TENTHS_MISSING]
    bench.tick("start")
    bench.ticks(30)
    assert bench.controller.mode == "proving"
    assert all(near(row[4], 10 * bench.cold_c, 30) for row in rows)
    bench.until(lambda: bench.controller.mode == "running")
    bench.ticks(100)
    bench.controller.pause()
    bench.ticks(20)
    assert all(row[4] > 10 * bench.cold_c for row in rows)
    bench.controller.stop()
    bench.ticks(20)
    assert [row[4] for row in rows] == [TENTHS_MISSING, TENTHS_MISSING]


def play(spoil):
    """A run in which the estimate is spoilt every tick: a sum of relays, modes and targets in their order,
    the doubts and trips, and what the guard would allow.
    """
    bench = Bench([RAMP, dict(BY_WOOD, mid_wood=112, longest_min=3), STAGES[2]]).running()
    total = 0
    for _ in range(900):
        if spoil is not None:
            for one in bench.controller.course.woods.estimates:
                one.second = lambda *_: None
                one._temps_c = [spoil] * 6
        on = bench.tick()
        targets_c = bench.controller.runner.targets_c
        for figure in (on[0], on[1], len(bench.controller.mode), targets_c[0] or 0.0, targets_c[1] or 0.0):
            total = (total * 31 + int(figure)) % 16777213
    if spoil is not None:
        assert bench.controller.drive.figures.rows[0][4] == 10 * spoil
    guard = bench.controller.guard
    allowed = [guard.allow(zone, 1.0, bench.now_ms) for zone in (0, 1)]
    return total, [event for event in bench.told if event in ("suspect", "zone_off", "trip")], allowed


def test_guard_and_control_do_not_feel_the_estimate():
    # However wrong it is, below what ends the hold nothing changes: not a relay, not a suspicion.
    truth = play(None)
    assert play(-200.0) == truth
    assert play(100.0) == truth
    # And far above every ceiling it ends the hold once the maker's cue is given, and trips nothing.
    assert play(900.0) == truth


def reachable(start, wanted, most=20000):
    """Whether one of these classes can be reached from an object by its attributes, lists and mappings."""
    seen, left = [], [start]
    while left and len(seen) < most:
        thing = left.pop()
        if isinstance(thing, wanted):
            return True
        if any(thing is other for other in seen):
            continue
        if isinstance(thing, dict):
            left.extend(thing.values())
        elif isinstance(thing, (list, tuple)):
            left.extend(thing)
        elif hasattr(thing, "__dict__") and not isinstance(thing, type):
            left.extend(thing.__dict__.values())
        else:
            continue
        seen.append(thing)
    assert len(seen) < most
    return False


def test_guard_judges_and_control_have_no_path_to_the_estimate():
    bench = Bench(STAGES).running()
    bench.ticks(20)
    controller = bench.controller
    wanted = (Woods, type(controller.course.woods.estimates[0]), type(controller.runner.wood))
    for start in (controller.guard, controller.jury, controller.drive, controller.senses):
        # The guard may call home to switch relays off; that is a call, and carries nothing back.
        assert not reachable(start, wanted)
    # The search does find it where it is.
    assert reachable(controller.course, wanted)
