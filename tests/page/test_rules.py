"""The page's rules without any page: parts, times, acts, seats, steering, what is kept of a run."""

import contextlib
import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from host.test_logbook import LogMaker
from page.fake_board import ZONES, row
from ribwright_board.core.acts import MARKED
from ribwright_host.acts import MARK_WORDS
from ribwright_host.errors import FileError, RefusedByBoardError, UsageError
from ribwright_host.identity import Board
from ribwright_host.page.acts import ACTS, MARK_BUTTONS, ActError, Known, checked
from ribwright_host.page.behind import Behind, last_from_file, read_rehearsal
from ribwright_host.page.command import Address, address_of, open_words
from ribwright_host.page.course import AT_MOST, Left, course_of, ends_words, left, legs
from ribwright_host.page.curve import seen_of
from ribwright_host.page.guard import host_is_ours
from ribwright_host.page.keepers import (
    AWAY_S,
    MOST_SEATS,
    WRONG_A_CODE,
    WRONG_A_MINUTE,
    Door,
    Helm,
    NotNowError,
)
from ribwright_host.page.notes import PHOTO_BYTES, picture_kind
from ribwright_host.page.places import parts_of
from ribwright_host.page.scene import STALE_S, Scene
from ribwright_host.page.show import now_of, points_of
from ribwright_host.profiles import load_profile
from ribwright_host.runlog import read_log
from ribwright_host.runrows import LogEvent
from ribwright_host.virtual import EXAMPLE_PROFILE, example_rig

BOARD = Board("p", "0.1.0", "e6614103e7452d2f", "MicroPython", "ab41", "a rig", ZONES, "C")


@pytest.fixture(scope="module")
def course(root):
    return course_of(load_profile(root / "host/ribwright_host/library" / EXAMPLE_PROFILE).mapping)


def scene_at(*rows, course=None, unit=None):
    scene = Scene(unit)
    scene.greet(BOARD)
    if course:
        scene.offer(course)
        scene.take("status", rows[0] | {"profile": {"name": course.name, "hash": course.hash}}, 0.0)
    for second, one in enumerate(rows):
        scene.take("row", one, float(second))
    return scene


# Parts -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zones", "lengths", "expected"),
    [
        (["waist", "full"], None, [1, 0, 1]),
        (["full", "waist"], None, [0, 1, 0]),
        (["all"], None, [0, 0, 0]),
        (["upper", "waist", "lower"], None, [0, 1, 2]),
        (["a", "b"], {"a": 150.0, "b": 600.0}, [1, 0, 1]),
        (["upper bout", "lower bout", "mid waist"], None, [0, 2, 1]),
    ],
)
def test_each_part_of_the_strip_has_the_zone_nearest_to_its_wood(zones, lengths, expected):
    parts = parts_of(zones, lengths)
    assert [part.name for part in parts] == ["upper bout", "waist", "lower bout"]
    assert [part.zone for part in parts] == expected


@pytest.mark.parametrize("lengths", [None, {"a": 300.0, "b": 310.0}])
def test_zones_that_cannot_be_placed_keep_their_own_names(lengths):
    assert [(part.name, part.zone) for part in parts_of(["a", "b"], lengths)] == [("a", 0), ("b", 1)]


# What is shown -----------------------------------------------------------------------------------


def test_moment_shows_the_wood_of_the_part_in_work_with_its_band():
    told = now_of(scene_at(row()), Behind())
    part = told["parts"][told["work"]]
    assert (part["name"], part["mid"], part["band"], part["measured"], part["target"]) == (
        "waist",
        118,
        8.0,
        150,
        155,
    )
    assert told["heat"] == "on"
    assert told["wish"] == "Now: waist to 6 mm. Then press next."


def test_moment_in_fahrenheit_converts_temperature_and_band():
    part = now_of(scene_at(row(), unit="F"), Behind())["parts"][1]
    assert (part["mid"], part["band"], part["measured"]) == (245, 14.4, 302)


@pytest.mark.parametrize(
    "zones", [None, [], "x", [[None]], [[True, "a", None, 1]], [[1550, -32768, 5000, 1], 7]]
)
@pytest.mark.parametrize("mids", [None, "x", [None], [[True, 2]], [[-32768, 80]]])
def test_what_makes_no_sense_is_missing_and_never_a_number(zones, mids):
    scene = scene_at(row(zones=zones, mids=mids))
    told = now_of(scene, Behind())
    assert all(part["mid"] is None and part["measured"] is None for part in told["parts"])
    json.dumps(told, allow_nan=False)


def test_wood_is_held_for_as_long_as_it_was_within_its_band():
    mids = [900, 1050, 1105, 1150, 1182]
    scene = scene_at(*(row(60_000 + 1000 * n, mids=[[mid, 80], [220, 80]]) for n, mid in enumerate(mids)))
    # 118.2 less 8 is 110.2: the last three seconds.
    assert scene.curve.held_s(0) == 2.0
    assert scene.curve.held_s(1) == 4.0
    assert scene.curve.most_c(0) == 118.2


def test_held_time_does_not_bridge_a_hole_in_what_is_known():
    scene = scene_at(row(60_000), row(61_000), row(75_000), row(76_000))
    assert scene.curve.held_s(0) == 1.0
    assert scene.curve.broken


def test_another_run_begins_another_curve_and_a_second_told_twice_counts_once():
    scene = scene_at(row(60_000), row(61_000), row(61_000))
    assert len(scene.curve.points) == 2
    scene.take("row", row(90_000, run=5), 9.0)
    assert [point.at_ms for point in scene.curve.points] == [90_000]


def test_points_go_out_in_pieces_and_none_twice():
    scene = scene_at(*(row(1000 * n) for n in range(1, 1000)))
    got, sent = [], 0
    while True:
        points, upto = points_of(scene.curve, sent, "C")
        if not points:
            break
        got += points
        sent = upto
    assert [point[0] for point in got] == [float(n) for n in range(999)]


def test_figure_is_fresh_for_three_seconds_and_not_once_the_link_is_lost():
    scene = scene_at(row())
    assert scene.fresh(STALE_S)
    assert not scene.fresh(STALE_S + 0.1)
    scene.lose("gone")
    assert not scene.fresh(0.1)


@pytest.mark.parametrize(
    ("mode", "kind", "duty", "heat"),
    [
        ("running", "hold", 420, "on"),
        ("running", "hold", 0, "may"),
        ("running", "cool", 0, "off"),
        ("proving", None, 0, "may"),
        ("paused", "hold", 0, "off"),
        ("idle", None, 420, "off"),
        ("tripped", None, 420, "off"),
    ],
)
def test_heat_is_on_may_come_or_is_off(mode, kind, duty, heat):
    scene = scene_at(row(mode=mode, stage_kind=kind, zones=[[1550, 1502, duty, int(duty > 0)]]))
    assert scene.heat == heat


ODD = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=300, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["row", "status", "event"]),
            st.dictionaries(st.sampled_from([*row(), "trip", "refused", "profile", "code", "a", "b"]), ODD),
        ),
        max_size=6,
    )
)
def test_board_that_lies_never_keeps_the_page_from_being_made(told):
    scene = scene_at(row())
    for verb, changes in told:
        with contextlib.suppress(TypeError, ValueError, KeyError, AttributeError, OverflowError):
            scene.take(verb, (row() if verb != "event" else {}) | changes, 1.0)
        json.dumps(now_of(scene, Behind()), allow_nan=False)
        json.dumps(points_of(scene.curve, 0, "C"), allow_nan=False)


# The profile ahead -------------------------------------------------------------------------------


def test_time_in_a_stage_counts_only_while_it_runs(course):
    scene = scene_at(row(60_000, stage=2), course=course)
    scene.take("event", {"ms": 60_500, "code": "stage", "a": 3, "b": 1550, "zone": -1, "text": "x"}, 0.5)
    for n in range(1, 11):
        scene.take("row", row(60_000 + 1000 * n, mode="paused" if n in (4, 5) else "running"), float(n))
    # Two seconds into the pause and the one that ends it do not count.
    assert scene.in_stage_s == 7.0
    told = now_of(scene, Behind())["stage"]
    assert (told["title"], told["left"], told["left_words"]) == (
        "press the waist",
        "7:53",
        "at most before it falls to the set",
    )
    scene.take("event", {"ms": 71_000, "code": "extend", "a": 2, "b": 0, "zone": -1, "text": ""}, 11.0)
    assert now_of(scene, Behind())["stage"]["left"] == "9:53"


def test_time_left_is_not_told_when_the_page_came_late(course):
    told = now_of(scene_at(row(), course=course), Behind())["stage"]
    assert (told["title"], told["left"]) == ("press the waist", None)
    scene = scene_at(row(), course=course)
    scene.take("event", {"ms": 61_000, "code": "hold_warning", "a": 96, "b": 0, "zone": -1, "text": ""}, 1.0)
    assert now_of(scene, Behind())["stage"]["left"] == "1:36"


def test_stage_says_what_ends_it(course):
    words = [ends_words(course, stage, "C") for stage in course.stages]
    assert words[0] == "ends once waist reads 155 C"
    assert words[1] == "ends after 2:00 at 155 C"
    assert words[2] == "you end it, by Next"
    assert words[5] == "ends after 4:00 at 150 C, and every cue is done"
    assert words[7] == "ends once every zone reads below 60 C"


def test_set_counts_its_time_at_heat_and_a_rehearsal_tells_what_ramps_take(course):
    assert left(course, 7, 100.0, 80.0, {}).seconds == 12 * 60 - 80
    # A hold by the clock counts its own time too, 2 minutes here; one that the maker ends its longest time.
    assert left(course, 2, 100.0, 80.0, {}) == Left("left of the hold, at heat", 40.0)
    assert left(course, 2, 100.0, 80.0, {}, 60.0).seconds == 100.0
    assert left(course, 2, None, 0.0, {}).seconds is None
    assert left(course, 3, 100.0, 80.0, {}) == Left(AT_MOST, 8 * 60 - 100.0)
    assert left(course, 1, 10.0, 0.0, {}).seconds is None
    known = dict.fromkeys(range(1, 9), 100.0)
    assert left(course, 1, 10.0, 0.0, known).seconds == 590.0
    assert left(course, 8, 10.0, 0.0, known).seconds is None


def test_line_ahead_follows_the_stages_and_says_what_is_a_guess(course):
    found = legs(course, 3, {3: 70.0}, {"waist": 155.0, "full": 30.0})
    assert [leg.number for leg in found] == [3, 4, 5, 6, 7, 8]
    assert [leg.guess for leg in found] == [False, True, True, True, True, True]
    assert (found[0].from_s, found[0].to_s) == (0.0, 70.0)
    # From 155 to 80 C, and from 30 to 150 C, at the guessed rate.
    assert found[1].to_s - found[1].from_s == pytest.approx(150.0)
    assert found[2].to_s - found[2].from_s == pytest.approx(240.0)


def test_rehearsal_of_another_profile_is_not_drawn(tmp_path, course):
    figures = {
        "profile_hash": course.hash,
        "stages": [{"number": 1, "start_s": 1, "end_s": 91}, {"number": 2, "start_s": None, "end_s": None}],
        "series": {
            "time_s": [0, 5],
            "columns": {"waist": {"mid_c": {"low": [20, None], "mid": [21, 25], "high": [22, 30]}}},
        },
    }
    path = tmp_path / "rehearsal.json"
    path.write_text(json.dumps(figures))
    behind = Behind(read_rehearsal(path))
    assert behind.lengths_s(course.hash) == {1: 90.0}
    band = behind.band(course.hash, ["upper bout", "waist"], "F")
    assert band["parts"] == {"waist": {"low": [68, None], "high": [71.6, 86]}}
    assert (behind.lengths_s("other"), behind.band("other", ["waist"], "C")) == ({}, {})


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"profile_hash": 1}', '{"series": {"time_s": 3}}'])
def test_file_that_is_no_rehearsal_is_refused(tmp_path, text):
    path = tmp_path / "x.json"
    path.write_text(text)
    with pytest.raises(FileError):
        read_rehearsal(path)


# What was missed ---------------------------------------------------------------------------------


def log_of(seconds, *, started_ms=1_000_000, run=4):
    """A run's log: the ramp for a minute, then the hold until the end, a row a second."""
    log = LogMaker(run=run, started_ms=started_ms)
    for second in range(1, seconds + 1):
        stage = 0 if second <= 60 else 1
        log.row(1000 * second, stage, [(155, 154.5, 0.4, 400, 100), (None, 22, 0, 0, 22)])
    return read_log(log.bytes())


def test_last_run_without_a_clock_goes_by_its_files_whole_name(tmp_path):
    log = LogMaker(unix=None)
    log.row(1000, 0, [(155, 154.5, 0.4, 400), (None, 22, 0, 0)])
    path = tmp_path / "run-00004-452d2f.rlg"
    path.write_bytes(log.bytes())
    assert path.name in last_from_file(path).words


def late_scene(course, from_s, to_s, started_ms=1_000_000):
    """A page that came in the middle: rows of the hold alone."""
    rows = [row(started_ms + 1000 * second, stage=2) for second in range(from_s, to_s + 1)]
    return scene_at(*rows, course=course)


def test_log_fills_what_a_late_page_has_not_seen_and_says_since_when_the_stage_is_on(course):
    scene = late_scene(course, 100, 130)
    assert scene.lacks_seconds()
    assert scene.in_stage_s is None
    scene.catch_up(log_of(110))
    assert [point.at_ms for point in scene.curve.points] == [1_000_000 + 1000 * n for n in range(1, 131)]
    assert not scene.lacks_seconds()
    assert scene.curve.first_ms == 1_000_000
    # From second 61 to 130, each told or logged at heat: the row's own waist is 150.2 C, out of the band.
    assert scene.in_stage_s == 70.0
    assert scene.held_s == 39.0
    told = now_of(scene, Behind())["stage"]
    # Of the hold's 2 minutes by the clock.
    assert (told["left"], told["left_words"]) == ("1:21", "left of the hold, at heat")


def test_log_that_ends_too_early_leaves_the_time_in_the_stage_unknown(course):
    scene = late_scene(course, 100, 130)
    scene.catch_up(log_of(80))
    assert scene.lacks_seconds()
    assert scene.in_stage_s is None
    scene.catch_up(log_of(120))
    assert not scene.lacks_seconds()
    assert scene.in_stage_s == 70.0


def test_log_of_another_run_changes_nothing(course):
    scene = late_scene(course, 100, 130)
    scene.catch_up(log_of(110, run=3))
    assert len(scene.curve.points) == 31


def test_time_the_maker_added_before_the_page_came_counts(course):
    scene = late_scene(course, 100, 130)
    log = log_of(110)
    log.events += [
        LogEvent(61_000, 1, "stage", -1, 2, 1550, "hold"),
        LogEvent(70_000, 1, "extend", -1, 3, 0, ""),
    ]
    scene.catch_up(log)
    assert scene.longer_s == 180.0


def test_hole_of_a_lost_link_is_filled_and_told_anew_to_every_page():
    scene = scene_at(*(row(1_000_000 + 1000 * n, stage=2, mode="running") for n in (1, 2, 3, 40, 41)))
    edition = scene.curve.edition
    assert scene.lacks_seconds()
    scene.catch_up(log_of(41))
    assert len(scene.curve.points) == 41
    assert scene.curve.edition > edition


# Acts --------------------------------------------------------------------------------------------


def test_no_act_can_begin_heat_or_clear_a_shutdown():
    assert set(ACTS) == {"stop", "next", "pause", "back_off", "extend", "nudge", "mark"}
    assert not ACTS["stop"].steers
    assert all("ready" not in act.modes for act in ACTS.values())
    # What the page offers is what the board takes then.
    assert ACTS["mark"].modes == MARKED


@pytest.mark.parametrize(
    ("verb", "values", "kept"),
    [
        ("stop", None, {}),
        ("stop", {"x": 1}, {}),
        ("nudge", {"by_k": -10, "x": 2}, {"by_k": -10}),
        ("extend", {"minutes": 30}, {"minutes": 30}),
        ("mark", {"what": "steam"}, {"what": "steam"}),
    ],
)
def test_act_takes_its_own_values_and_no_others(verb, values, kept):
    assert checked(verb, values)[1] == kept


@pytest.mark.parametrize(
    ("verb", "values"),
    [
        ("ready", {}),
        ("put_open", {}),
        (None, {}),
        (7, {}),
        ("nudge", {}),
        ("nudge", {"by_k": 0}),
        ("nudge", {"by_k": 11}),
        ("nudge", {"by_k": True}),
        ("nudge", {"by_k": 2.5}),
        ("extend", {"minutes": -1}),
        ("mark", {"what": "fire"}),
        ("mark", {"what": ["steam"]}),
        ("mark", 3),
    ],
)
def test_anything_else_is_no_act(verb, values):
    with pytest.raises(ActError):
        checked(verb, values)


def test_marks_bear_the_words_that_the_other_screens_use_for_them():
    assert [word.replace(" ", "-") for word in MARK_BUTTONS.values()] == list(MARK_WORDS)


def test_ask_that_a_board_does_not_know_is_remembered_and_others_are_not():
    known = Known()
    words = known.heard("nudge", RefusedByBoardError("no", "update", code="no_such_ask"))
    assert "does not know 'target'" in words
    known.heard("pause", RefusedByBoardError("the rig is idle", "look", code="not_running"))
    assert known.unknown == {"nudge"}
    assert known.closed("running", "next") == {"nudge": "this board does not know it"}


# Seats -------------------------------------------------------------------------------------------


def test_right_code_lets_in_and_a_token_is_not_kept_as_such():
    shown = []
    door = Door(open_to_network=True, show=shown.append)
    assert shown == [door.code]
    token, seat = door.pair(f" {door.code[:3]} {door.code[3:]}", 0.0)
    assert door.seat(token) is seat
    assert token not in repr(vars(door))
    assert door.seat(token + "x") is None
    assert door.seat(None) is None


def test_wrong_codes_are_slowed_down_for_everybody_and_in_the_end_there_is_a_new_code():
    shown = []
    door = Door(open_to_network=True, show=shown.append)
    wrong = "x" + door.code[1:]
    now_s = 0.0
    for _ in range(WRONG_A_MINUTE):
        assert door.pair(wrong, now_s) is None
    with pytest.raises(NotNowError):
        door.pair(door.code, now_s)
    tried = WRONG_A_MINUTE
    while tried < WRONG_A_CODE:
        now_s += 60.1
        for _ in range(WRONG_A_MINUTE):
            assert door.pair(wrong, now_s) is None
            tried += 1
    assert len(shown) == 2
    # The most anybody can try is a small part of a million codes.
    tries_a_year = WRONG_A_MINUTE * 60 * 24 * 365
    assert math.log10(tries_a_year) < 6.5


def test_half_a_character_pair_is_a_wrong_code_and_no_mistake():
    assert Door(open_to_network=True).pair("\ud83d", 0.0) is None


def test_empty_code_pairs_nobody():
    door = Door(open_to_network=False)
    assert door.pair("", 0.0) is None


def test_seats_are_bounded_and_the_empty_ones_go_first():
    door = Door(open_to_network=False)
    first, seat = door.admit(0.0)
    seat.streams = 1
    for n in range(2 * MOST_SEATS):
        door.admit(100.0 + n)
    assert door.seat(first) is seat


def seats(count):
    door = Door(open_to_network=False)
    found = [door.admit(0.0)[1] for _ in range(count)]
    for one in found:
        one.streams = 1
    return found


def test_steering_goes_to_the_first_and_is_only_given_away_by_its_holder():
    one, two, three = seats(3)
    helm = Helm()
    helm.want(one, 0.0)
    helm.want(two, 0.0)
    assert (helm.holder, helm.asker) == (one, two)
    helm.give(three)
    helm.give(two)
    helm.keep(three)
    assert (helm.holder, helm.asker) == (one, two)
    helm.keep(one)
    assert helm.asker is None
    helm.want(two, 0.0)
    helm.give(one)
    assert (helm.holder, helm.asker) == (two, None)


def test_steering_of_a_screen_that_has_gone_is_free_after_a_while():
    one, two = seats(2)
    helm = Helm()
    helm.want(one, 0.0)
    one.streams, one.gone_s = 0, 100.0
    helm.want(two, 100.0 + AWAY_S - 1)
    assert helm.holder is one
    helm.tend(100.0 + AWAY_S + 1)
    assert helm.holder is two


# Addresses ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["nowhere", "1.2.3", "127.0.0.1:x", "127.0.0.1:99999", "host:80", "[::1"])
def test_address_that_is_none_is_refused(text):
    with pytest.raises(UsageError):
        address_of(text)


@pytest.mark.parametrize(
    ("host", "loopback", "ours"),
    [
        ("127.0.0.1:8130", True, True),
        ("localhost:8130", True, True),
        ("[::1]:8130", True, True),
        ("192.168.1.20:8130", True, False),
        ("192.168.1.20:8130", False, True),
        ("bench.local:8130", False, True),
        ("bench.local:8130", True, False),
        ("rebound.example:8130", False, False),
        ("", False, False),
        ("a b", False, False),
    ],
)
def test_only_an_address_or_our_own_name_is_our_host(host, loopback, ours):
    assert host_is_ours(host, {"bench.local", "localhost"}, loopback=loopback) is ours


def test_terminal_says_what_is_open_to_whom():
    alone = " ".join(open_words(Address("127.0.0.1", 1), ["u"]))
    network = " ".join(open_words(Address("192.168.1.20", 1), ["u"]))
    assert "this computer only" in alone
    assert "NOT encrypted" in network
    assert "pairing code" in network
    assert all("AT THE RIG" in text for text in (alone, network))


# Photos ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("data", [b"", b"<svg>", b"GIF89a", b"MZ\x90", b"\xff\xd8", b"\x89PNG"])
def test_file_that_is_no_photo_is_refused_whatever_it_is_called(data):
    with pytest.raises(UsageError):
        picture_kind(data)


def test_photo_has_a_largest_size():
    begin = b"\xff\xd8\xff"
    assert picture_kind(begin + bytes(PHOTO_BYTES - 3)) == ".jpg"
    with pytest.raises(UsageError):
        picture_kind(begin + bytes(PHOTO_BYTES))


def test_example_rig_lies_as_the_strip_is_drawn():
    zones = example_rig().mapping["zones"]
    lengths = {zone["name"]: zone["length_mm"] for zone in zones}
    assert [part.zone for part in parts_of([zone["name"] for zone in zones], lengths)] == [1, 0, 1]


def test_row_of_every_zone_is_read_as_it_was_told():
    first, second = seen_of(row())
    assert (first.target_c, first.measured_c, first.duty, first.relay_on) == (155.0, 150.2, 0.42, True)
    assert (second.target_c, second.mid_c, second.band_k) == (None, 22.0, 8.0)
