"""Properties that must hold for every profile, every rig and every order of events."""

from hypothesis import given, settings
from hypothesis import strategies as st

from board.controller_bench import Bench
from board.samples import bench_rig, piece_mapping
from ribwright_board.core.drive import Drive
from ribwright_board.core.errors import CheckError
from ribwright_board.core.guard import Guard
from ribwright_board.core.modes import HEAT_MODES
from ribwright_board.core.profile import parse as parse_profile
from ribwright_board.core.proving import PULSE_DUTY
from ribwright_board.core.sensing import Missing, Reading
from ribwright_board.core.stages import StageRunner
from ribwright_board.core.units import FIRMWARE_CEILING_C, TARGET_MARGIN_K, c_from_f

# What a person, a broken file or another unit may bring as a temperature.
NUMBERS = st.one_of(
    st.floats(-500, 2000),
    st.integers(-500, 2000),
    st.sampled_from([float("nan"), float("inf"), -float("inf"), True, False, None, "250", 1e300]),
)
UNITS = st.sampled_from(["C", "C", "F", "F", "K", "c", "", None])
ZONES = st.lists(st.sampled_from(["waist", "full", "tail"]), max_size=3)


# Mostly what a maker might write, around both ends of what is allowed, and sometimes anything.
TARGETS = st.one_of(st.integers(40, 100), st.integers(40, 200), st.floats(90.0, 200.0), NUMBERS)
MINUTES = st.one_of(*[st.integers(1, 20)] * 4, NUMBERS)


@st.composite
def stage(draw):
    """One stage; it may ask for anything, in any of its keys."""
    kind = draw(st.sampled_from(["ramp", "hold", "set"]))
    zones = draw(st.one_of(st.sampled_from([["waist"], ["full"], ["waist", "full"]]), ZONES))
    values = {"kind": kind, "zones": zones, "target": draw(TARGETS)}
    if kind != "ramp":
        values["minutes"] = draw(MINUTES)
    if draw(st.integers(0, 3)) == 0:
        values[draw(st.sampled_from(["longest_min", "band", "rate_per_min", "below"]))] = draw(TARGETS)
    return values


@st.composite
def sane_stage(draw):
    """One stage as a maker would write it, in a unit that may be read as the other."""
    kind = draw(st.sampled_from(["ramp", "hold", "set"]))
    values = {"kind": kind, "zones": ["waist", "full"], "target": draw(st.integers(30, 400))}
    if kind != "ramp":
        values["minutes"] = draw(st.integers(1, 20))
    return values


def profile(unit, stages):
    return {"schema": 1, "name": "random", "unit": unit, "piece": piece_mapping(), "stages": stages}


def targets_c(values, ceiling_c):
    """Every target the firmware would ever aim at for a profile, none when it is refused."""
    rig = bench_rig(lambda mapping: mapping["zones"][0].update(ceiling=ceiling_c))
    try:
        parsed = parse_profile(values, rig)
    except CheckError:
        return []
    runner = StageRunner(parsed, 2)
    found = []
    for index in range(len(parsed.stages)):
        runner.begin(index)
        # A slow path down begins where the zone is; above its limit the ceiling's own rule is at work.
        for seen_c in (20.0, ceiling_c - TARGET_MARGIN_K):
            runner.step([seen_c, seen_c], 0)
            found += [(zone, aim_c) for zone, aim_c in enumerate(runner.targets_c) if aim_c is not None]
    return found


@settings(max_examples=300, deadline=None)
@given(UNITS, st.lists(stage(), min_size=1, max_size=2), st.integers(100, 200))
def test_goal_11_no_profile_of_any_kind_raises_a_target_near_the_ceiling(unit, stages, ceiling_c):
    cool = {"kind": "cool", "below": 122 if unit == "F" else 50}
    for zone, target_c in targets_c(profile(unit, [*stages, cool]), ceiling_c):
        limit_c = ceiling_c if zone == 0 else FIRMWARE_CEILING_C
        # Written so that a NaN fails.
        assert target_c <= limit_c - TARGET_MARGIN_K + 1e-9


@settings(max_examples=300, deadline=None)
@given(st.lists(sane_stage(), min_size=1, max_size=4))
def test_goal_11_fahrenheit_read_as_celsius_is_refused_or_below_the_ceiling(stages):
    # A slow path down is not asked for: cool stages are the same in both.
    as_f = profile("F", [*stages, {"kind": "cool", "below": 150}])
    as_c = profile("C", [*stages, {"kind": "cool", "below": 50}])
    for values in (as_f, as_c):
        assert all(target_c <= FIRMWARE_CEILING_C - TARGET_MARGIN_K for _, target_c in targets_c(values, 200))
    # Numbers beyond 190 are never taken for Celsius, whatever they meant.
    if any(entry["target"] > 190 for entry in stages):
        assert targets_c(as_c, 200) == []
    for _, target_c in targets_c(as_f, 200):
        assert any(abs(target_c - c_from_f(entry["target"])) < 1e-6 for entry in stages)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.5, 12.0), min_size=2, max_size=4),
    st.floats(12.0, 32.0),
    st.lists(
        st.tuples(st.booleans(), st.integers(10, 1500), st.lists(st.floats(0, 1), min_size=4, max_size=4))
    )
    .filter(lambda plans: len(plans) > 0)
    .map(lambda plans: plans[:8]),
)
def test_goal_15_branch_limit_holds_in_every_half_cycle(currents_a, limit_a, plans):
    """Pulses of the proof and windows of a run in any order, each cut short anywhere."""
    rig = bench_rig()
    model = rig.zones[0]
    rig.zones = [type(model)(f"z{i}", 120.0 * a, a, 200.0, model.gains) for i, a in enumerate(currents_a)]
    rig.branch_limit_a = limit_a
    count = len(currents_a)
    drive = Drive(rig, 0)
    guard = Guard([200.0] * count, 0)
    last_on_ms = [-1000] * count
    now_ms = 0
    for is_pulse, length_ms, duties in plans:
        for zone in range(count):
            guard.admit(zone, Reading(25.0, 20.0, now_ms), now_ms, 100)
            drive.loops[zone].add(25.0)
        if is_pulse:
            drive.pulse(duties[:count], now_ms)
        else:
            drive.begin([20.0] * count, now_ms)
            drive.open_window([150.0] * count, guard, now_ms)
        for at_ms in range(now_ms, now_ms + length_ms, 3):
            states = drive.outputs(True, guard, at_ms)
            for zone in range(count):
                last_on_ms[zone] = at_ms if states[zone] else last_on_ms[zone]
            # A relay conducts up to the end of the half cycle in which it was let go.
            flowing = [a for a, ms in zip(currents_a, last_on_ms, strict=True) if at_ms - ms < 9 - 3]
            assert sum(flowing) <= limit_a + 1e-9
        now_ms += length_ms


# What may happen in a tick, beside good readings.
HAPPENINGS = st.sampled_from(
    ["start", "start", "next", "stop", "pause", "lay_out", "open", "bus", "nothing", "leap", "old", "trip"]
    + [""] * 4
)


def items_for(bench, happening):
    """Readings of one tick."""
    items = bench.readings(bench.now_ms + 100)
    if happening in ("open", "bus"):
        items[0] = Missing(happening, bench.now_ms + 100)
    elif happening == "nothing":
        items[0] = None
    elif happening == "leap":
        items[0] = Reading(400.0, 20.0, bench.now_ms + 100)
    elif happening == "old":
        items[0] = Reading(items[0].temperature_c, 20.0, bench.now_ms - 1500)
    return items


def act(bench, happening):
    """Anything but a reading."""
    controller = bench.controller
    if happening == "pause" and controller.mode == "running":
        controller.pause()
    elif happening == "lay_out" and controller.mode in ("idle", "ready"):
        controller.lay_out(bench.profile, 9)
    elif happening == "trip":
        controller.guard.shut("software", -1, 0.0, 0.0, "", bench.now_ms)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(HAPPENINGS, st.integers(1, 400)), min_size=1, max_size=25))
def test_relay_on_means_no_trip_a_fresh_reading_and_a_press(happenings):
    bench = Bench()
    controller = bench.controller
    pressed = False
    for happening, ticks in happenings:
        act(bench, happening)
        for tick in range(ticks):
            button = (happening,) if happening in ("start", "next", "stop") and tick == 0 else ()
            pressed = pressed or button == ("start",)
            states = bench.tick(*button, items=items_for(bench, happening if tick < 30 else ""))
            for zone, on in enumerate(states):
                if not on:
                    continue
                assert pressed
                assert controller.guard.trip is None
                assert controller.mode in HEAT_MODES
                assert controller.guard.held(zone) == ""
                assert bench.now_ms - controller.guard._zones[zone].good_ms <= 1000
                if controller.mode == "proving" and controller.alive_due():
                    assert max(controller._proving.duties) <= PULSE_DUTY
            if controller.alive_due():
                assert pressed
                assert controller.mode in HEAT_MODES
