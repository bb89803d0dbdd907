"""What a maker may ask of a run under way: bounds, what it changes, the log, and what it never does."""

from board.controller_bench import Bench as Rig
from board.samples import profile_mapping, profile_of, put, refused
from board.service_bench import Bench
from ribwright_board.core.acts import AHEAD_MS, MARKS, MOST_MIN, PACE_MS, Extension
from ribwright_board.core.errors import RefusedError
from ribwright_board.core.events import event_number
from ribwright_board.core.messages import ASKS
from ribwright_board.core.profile import MAX_STAGES, first_index

RAMP = {"kind": "ramp", "zones": ["waist"], "target": 100, "longest_min": 10}
HOLD = {"kind": "hold", "zones": ["waist"], "target": 100, "until": "maker", "longest_min": 5}
CLOCK = {"kind": "hold", "zones": ["waist"], "target": 100, "minutes": 1, "longest_min": 2}
HOTTER = {"kind": "set", "zones": ["waist"], "target": 110, "minutes": 1}
SET = {"kind": "set", "zones": ["waist", "full"], "target": 80, "minutes": 1}
COOL = {"kind": "cool", "below": 50}
ACTS = (
    ("nudge", {"by_k": 2}),
    ("extend", {"minutes": 1}),
    ("back_off", {}),
    ("mark", {"what": "steam"}),
)


def bench_of(*stages, change=None):
    """A bench that holds a profile, its hash."""
    bench = Bench(change)
    values = profile_mapping()
    values["stages"] = list(stages) + [COOL]
    how, stored = bench.upload(values)
    assert how == "ok", stored
    return bench, stored["hash"]


def running(*stages, change=None, stage=None):
    """A bench whose run is on; from its first stage or a later one."""
    bench, key = bench_of(*stages, change=change)
    wanted = {"profile": key} if stage is None else {"profile": key, "stage": stage}
    bench.ok("ready", wanted)
    for _ in range(5):
        bench.tick()
    bench.begin()
    bench.controller.events = []
    return bench


def holding(*stages, change=None):
    """A bench whose second stage is on, at its target."""
    bench = running(RAMP, *stages, change=change)
    reach(bench, 1)
    return bench


def reach(bench, index, most_s=600):
    """Time until a stage is on; the seconds it took."""
    for tick in range(most_s * 10):
        if bench.controller.runner.index == index:
            return tick / 10.0
        bench.tick()
    raise AssertionError("stage %d never came" % index)


def told(bench, *names):
    """Events of these names since the last asking, as (name, zone, a, b, text)."""
    found = [event[1:] for event in bench.controller.events if event[1] in names]
    bench.controller.events = []
    return found


def wait(bench, seconds):
    for _ in range(int(seconds * 10)):
        bench.tick()


def test_nudge_moves_the_target_as_the_knob_does_and_is_no_presence():
    bench = holding(HOLD)
    attend = bench.controller.course.attend
    attend._alone_ms = 500000
    attend.asked = True
    assert bench.ok("nudge", {"by_k": 4}) == {"mode": "running", "target": 1040}
    assert bench.ok("nudge", {"by_k": -7}) == {"mode": "running", "target": 970}
    assert told(bench, "nudge") == [("nudge", 0, 1040, 4, ""), ("nudge", 0, 970, -3, "")]
    assert (attend.asked, attend._alone_ms) == (True, 500000)
    bench.tick()
    assert bench.controller.runner.targets_c[0] == 97.0
    assert "presence_given" not in [event[1] for event in bench.controller.events]


def test_nudge_stops_at_its_bound_and_beyond_it_is_refused_with_the_bound():
    bench = holding(HOLD)
    bench.ok("nudge", {"by_k": 8})
    assert bench.ok("nudge", {"by_k": 8}) == {"mode": "running", "target": 1100}
    values = bench.no("nudge", {"by_k": 1})
    assert values["code"] == "bound"
    assert "stands +10 K" in values["text"]
    assert "from -10 to +10 K" in values["text"]
    assert bench.no("nudge", {"by_k": 0})["code"] == "bound"
    # A ceiling of 105 allows a target of 95 and no more.
    low = holding(dict(HOLD, target=93), change=put("zones", 0, "ceiling", 112))
    assert bench_target(low, 10) == 1020
    assert "from -10 to +9 K" in low.no("nudge", {"by_k": 10})["text"]


def bench_target(bench, by_k):
    return bench.ok("nudge", {"by_k": by_k})["target"]


def test_only_a_hold_or_set_is_nudged_or_extended():
    bench = running(RAMP, SET)
    for verb, values in ACTS[:2]:
        refusal = bench.no(verb, values)
        assert refusal["code"] == "stage_kind"
        assert "stage 1 is a ramp" in refusal["text"]
    reach(bench, 1)
    told(bench)
    bench.controller.runner.begin(2)
    bench.tick()
    for verb, values in ACTS[:2]:
        assert "stage 3 is a cool" in bench.no(verb, values)["text"]
    assert told(bench, "nudge", "extend") == []


def test_acts_outside_a_running_run_are_refused_and_change_nothing():
    bench, key = bench_of(RAMP, SET)
    for mode in ("idle", "ready"):
        for verb, values in ACTS:
            refusal = bench.no(verb, values)
            assert refusal["code"] == "not_running"
            assert mode in refusal["text"]
        assert bench.controller.mode == mode
        if mode == "idle":
            bench.ok("ready", {"profile": key})
    bench.tick()
    bench.tick("start")
    assert bench.controller.mode == "proving"
    for verb, values in ACTS:
        assert bench.no(verb, values)["code"] == "not_running"
    assert bench.controller.mode == "proving"


def test_acts_while_paused_or_tripped_heat_nothing():
    bench = holding(HOLD, SET)
    bench.ok("pause")
    for verb, values in ACTS[:3]:
        assert bench.no(verb, values)["code"] == "not_running"
    assert bench.ok("mark", {"what": "stiff"}) == {"mode": "paused"}
    assert list(bench.tick()) == [False, False]
    bench.controller.guard.shut("memory", -1, 1.0, 2.0, "", bench.now_ms)
    for verb, values in ACTS:
        before = bench.controller.mode
        bench.ask(verb, values)
        assert list(bench.tick()) == [False, False]
        assert bench.controller.mode in (before, "tripped")
    for verb, values in ACTS:
        assert bench.no(verb, values)["code"] == "not_running"
    assert bench.controller.mode == "tripped"


def test_hold_that_the_maker_ends_gets_a_longer_longest_time_and_warns_again():
    bench = holding(HOLD, SET)
    seconds = reach_warning(bench)
    assert 239 <= seconds <= 241
    wait(bench, 5)
    values = bench.ok("extend", {"minutes": 2})
    left_s = bench.controller.runner.left_ms() // 1000
    assert values == {"mode": "running", "left_s": left_s}
    assert 174 <= left_s <= 176
    assert told(bench, "extend") == [("extend", -1, 2, left_s, "")]
    # Four fifths of seven minutes are 336 s; 245 are gone.
    assert 89 <= reach_warning(bench) <= 92
    assert 83 <= reach(bench, 2) <= 85


def reach_warning(bench):
    for tick in range(6000):
        if told(bench, "hold_warning"):
            return tick / 10.0
        bench.tick()
    raise AssertionError("no warning came")


def test_clocked_hold_is_held_that_much_longer():
    plain, longer = holding(CLOCK, SET), holding(CLOCK, SET)
    assert longer.ok("extend", {"minutes": 1})["left_s"] == 180
    apart_s = reach(longer, 2) - reach(plain, 2)
    assert 59.5 <= apart_s <= 60.5
    assert "hold_longest" not in [event[1] for event in longer.controller.events]


def test_stage_takes_its_own_longest_time_again_and_a_run_a_quarter_of_an_hour():
    bench = holding(HOLD, dict(HOLD, longest_min=30), SET)
    refusal = bench.no("extend", {"minutes": 6})
    assert refusal["code"] == "bound"
    assert "6 min more are too many, 5 are left" in refusal["text"]
    bench.ok("extend", {"minutes": 3})
    assert "2 are left" in bench.no("extend", {"minutes": 3})["text"]
    bench.ok("extend", {"minutes": 2})
    assert "0 are left" in bench.no("extend", {"minutes": 1})["text"]
    bench.controller.next()
    assert bench.controller.runner.index == 2
    # Nothing was added to the new stage, but the run has had five of its fifteen minutes.
    assert bench.controller.runner.by_hand.more_ms() == 0
    assert "11 min more are too many, 10 are left" in bench.no("extend", {"minutes": 11})["text"]
    bench.ok("extend", {"minutes": 10})
    bench.controller.next()
    assert "0 are left" in bench.no("extend", {"minutes": 1})["text"]
    assert MOST_MIN == 15


def test_extension_leaves_presence_and_session_alone():
    bench = holding(HOLD, SET)
    attend = bench.controller.course.attend
    before = (attend.asked, attend._alone_ms, attend._heat_ms)
    bench.ok("extend", {"minutes": 5})
    assert (attend.asked, attend._alone_ms, attend._heat_ms) == before


def test_extension_that_memory_has_spoiled_shuts_down():
    for part in ("stage", "run"):
        bench = holding(HOLD)
        bench.ok("extend", {"minutes": 1})
        getattr(bench.controller.runner.by_hand.extension, part).value = 9
        bench.tick()
        bench.tick()
        assert bench.controller.guard.trip.code == "memory"
        assert list(bench.tick()) == [False, False]


def test_extension_counts_whole_minutes_and_never_below_none():
    stage = profile_of([dict(HOLD, longest_min=2.9)]).stages[0]
    assert Extension(0, 0).left_min(stage) == 2
    assert Extension(2, 2).left_min(stage) == 0
    assert Extension(1, 16).left_min(stage) == 0


def test_back_off_goes_to_the_next_set_that_is_no_hotter():
    bench = holding(HOLD, RAMP, HOTTER, SET)
    told(bench)
    assert bench.ok("back_off") == {"mode": "running", "stage": 5}
    bench.tick()
    assert told(bench, "back_off", "stage") == [
        ("back_off", -1, 2, 5, ""),
        ("stage", -1, 5, 800, "set 5"),
    ]
    assert bench.controller.runner.targets_c == [80.0, 80.0]


def test_back_off_knows_of_a_target_that_was_moved_down():
    bench = holding(HOLD, dict(SET, target=95), SET)
    bench.ok("nudge", {"by_k": -6})
    assert bench.ok("back_off")["stage"] == 4
    up = holding(HOLD, HOTTER, SET)
    up.ok("nudge", {"by_k": 10})
    assert up.ok("back_off")["stage"] == 3


def test_back_off_from_a_ramp_leads_to_cooling_where_there_is_no_set():
    bench = running(RAMP, HOLD)
    assert bench.ok("back_off") == {"mode": "running", "stage": 3}
    assert list(bench.controller.outputs(bench.now_ms)) == [False, False]
    assert not bench.controller.alive_due()
    assert list(bench.tick()) == [False, False]


def test_back_off_is_refused_where_it_is_set_or_cools_already():
    bench = running(RAMP, SET)
    bench.ok("back_off")
    assert "stage 2 is set already" in bench.no("back_off")["text"]
    bench.controller.runner.begin(2)
    assert "stage 3 cools already" in bench.no("back_off")["text"]
    assert bench.controller.runner.index == 2


def test_marks_are_events_and_nothing_else():
    bench = holding(HOLD)
    before = (bench.controller.runner.index, list(bench.controller.runner.targets_c))
    for what in MARKS:
        assert bench.ok("mark", {"what": what}) == {"mode": "running"}
    marked = [("mark", -1, at + 1, 0, what) for at, what in enumerate(MARKS)]
    assert told(bench, "mark") == marked
    assert (bench.controller.runner.index, bench.controller.runner.targets_c) == before
    refusal = bench.no("mark", {"what": "melted"})
    assert refusal["code"] == "mark"
    assert "melted" in refusal["text"]
    assert all(what in refusal["text"] for what in MARKS)
    assert told(bench, "mark") == []


def test_marks_and_acts_keep_their_places_in_old_logs():
    # Lists that may only grow.
    assert MARKS[:5] == ("gave_way", "stiff", "cracked", "steam", "steam_eased")
    assert [event_number(name) for name in ("extend", "back_off", "mark")] == [33, 34, 35]


def test_log_takes_ten_acts_in_a_row_then_one_a_second():
    bench = holding(HOLD)
    taken = 0
    while bench.ask("mark", {"what": "steam"})[0] == "ok":
        taken += 1
    assert taken == AHEAD_MS // PACE_MS
    assert bench.no("mark", {"what": "steam"})["code"] == "too_soon"
    assert bench.no("nudge", {"by_k": 1})["code"] == "too_soon"
    wait(bench, 1)
    bench.ok("nudge", {"by_k": 1})
    assert bench.no("extend", {"minutes": 1})["code"] == "too_soon"
    assert bench.controller.runner.by_hand.extension is None
    assert bench.no("back_off")["code"] == "too_soon"
    assert bench.controller.runner.index == 1


def test_run_begins_with_a_later_stage_and_its_log_says_so():
    bench, key = bench_of(RAMP, HOLD, dict(RAMP, target=120), SET)
    assert bench.ok("ready", {"profile": key, "stage": 3}) == {"run": 1, "stage": 3}
    assert list(bench.tick()) == [False, False]
    bench.begin()
    stages = told(bench, "stage")
    assert [event[2] for event in stages] == [3]
    assert bench.controller.runner.targets_c[0] == 120.0
    assert bench.service.run_header()["from_stage"] == 3
    assert bench.ok("status")["stage"] == 3
    again = Bench()
    _, stored = again.upload()
    assert again.ok("ready", {"profile": stored["hash"]}) == {"run": 1, "stage": 1}
    assert again.service.run_header()["from_stage"] == 1


def test_pause_goes_on_where_it_was_in_a_run_from_a_later_stage():
    bench = running(RAMP, dict(RAMP, target=90), HOLD, SET, stage=2)
    reach(bench, 2)
    bench.ok("pause")
    bench.tick()
    bench.begin()
    assert bench.controller.runner.index == 2


def test_stage_that_is_not_there_or_only_cools_is_refused():
    bench, key = bench_of(RAMP, HOLD)
    for stage, words in ((4, "has 3 stages, none is stage 4"), (3, "stage 3 only cools")):
        refusal = bench.no("ready", {"profile": key, "stage": stage})
        assert refusal["code"] == "stage"
        assert words in refusal["text"]
    for stage in (0, 25, "2", None):
        assert bench.no("ready", {"profile": key, "stage": stage})["code"] == "values"
    assert bench.controller.mode == "idle"
    assert bench.controller.course is None


def test_first_index_is_counted_from_none_and_stays_in_the_profile():
    profile = profile_of([RAMP, HOLD])
    assert [first_index(profile, wanted) for wanted in (None, 1, 2)] == [0, 0, 1]
    for wanted in (0, 3, 4):
        assert refused(RefusedError, first_index, profile, wanted).code == "stage"


def test_most_stages_of_a_profile_can_be_named():
    assert ASKS["ready"][0][1] == ("stage", "whole?", 1, MAX_STAGES)


def test_controller_lays_out_from_the_first_stage_unasked():
    rig = Rig([RAMP, HOLD]).running()
    assert rig.controller.course.first == 0
    assert rig.controller.runner.index == 0
