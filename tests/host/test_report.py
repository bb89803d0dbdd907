"""The report: figures that were reckoned by hand, names that cannot do harm, nothing from outside."""

import re
from html.parser import HTMLParser

import pytest

from host.test_logbook import POWER_W, PROFILE, SIZE, LogMaker, header_length, sample_log
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.units import TENTHS_MISSING
from ribwright_host.errors import FileError
from ribwright_host.logbook import read_log, write_csv
from ribwright_host.report import NONE, build, energy_kwh, event_words, on_time_s, stage_figures

HOSTILE = '<script>alert("x")</script>&amp;'
VOID = {"meta", "link", "br", "hr", "img", "input"}


class Page(HTMLParser):
    """What a browser would see: tags, rows of tables, headings, text outside of style and pictures."""

    def __init__(self, path):
        super().__init__()
        self.source = path.read_text(encoding="utf-8")
        self.tags, self.rows, self.words, self.open = [], [], [], []
        self.feed(self.source)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" in self.open or "svg" in self.open:
            return
        self.words.append(data)
        if {"td", "th"} & set(self.open[-1:]):
            self.rows[-1].append(data.strip())

    @property
    def text(self):
        return " ".join(" ".join(self.words).split())


def tiny_run():
    """Four seconds of a hold at 150 C and two of cooling, small enough to reckon by hand."""
    log = LogMaker(zones=["waist", "full"])
    measured = (146, 149, 151, 152)
    for i, measured_c in enumerate(measured):
        log.row((i + 1) * 1000, 1, [(150, measured_c, 0.5, 500), (None, 20, 0, 0)])
    for second, measured_c in ((5, 148), (6, 144)):
        log.row(second * 1000, 5, [(None, measured_c, 0, 0), (None, 20, 0, 0)])
    return read_log(log.bytes(), {"waist": 360.0})


def test_figures_of_a_tiny_hold_are_those_reckoned_by_hand():
    run = tiny_run()
    seen = stage_figures(run, run.spans()[0], 0)
    # Errors -4, -1, 1, 2 K: squares 16 + 1 + 1 + 4 = 22, a quarter is 5.5, its root 2.34521 K.
    assert seen.rms_k == pytest.approx(2.34521, abs=1e-5)
    # Three of four seconds lie within the hold's 3 K.
    assert seen.in_band_min == pytest.approx(3 / 60)
    assert seen.minutes == pytest.approx(4 / 60)
    assert (seen.peak_c, seen.mean_c, seen.target_c) == (152, 149.5, 150)


def test_a_cool_stage_has_no_target_no_band_and_no_error():
    run = tiny_run()
    seen = stage_figures(run, run.spans()[1], 0)
    assert (seen.target_c, seen.in_band_min, seen.rms_k) == (None, None, None)
    assert (seen.peak_c, seen.mean_c) == (148, 146)


def test_energy_and_on_time_are_those_reckoned_by_hand():
    run = tiny_run()
    # 4 x 0.5 s at 360 W are 720 J; a kilowatt-hour has 3.6 MJ: 0.0002 kWh.
    assert on_time_s(run, 0) == 2.0
    assert energy_kwh(run, 0) == pytest.approx(0.0002)
    assert energy_kwh(run, 1) is None


def test_a_row_behind_a_hole_stands_for_one_second_only():
    log = LogMaker(zones=["waist"])
    for second, measured_c in ((1, 150), (2, 150), (62, 155), (63, 155)):
        log.row(second * 1000, 1, [(150, measured_c, 0, 0)])
    run = read_log(log.bytes())
    seen = stage_figures(run, run.spans()[0], 0)
    assert seen.minutes == pytest.approx(63 / 60)
    assert seen.in_band_min == pytest.approx(2 / 60)
    assert seen.mean_c == pytest.approx(152.5)


def test_missing_readings_take_no_part_in_any_figure():
    log = LogMaker(zones=["waist"])
    for second, measured_c in ((1, 150), (2, None), (3, 152)):
        log.row(second * 1000, 1, [(150, measured_c, 0, 0)])
    run = read_log(log.bytes())
    seen = stage_figures(run, run.spans()[0], 0)
    # Errors 0 and 2 K: the root of (0 + 4) / 2.
    assert seen.rms_k == pytest.approx(1.41421, abs=1e-5)
    assert seen.mean_c == 151


def test_the_page_shows_the_same_figures(tmp_path):
    page = Page(build(tiny_run(), tmp_path))
    hold = ["2 press the waist", "waist", "150 °C", "0.1", "0.1", "152.0 °C", "149.5 °C", "2.3 °C"]
    assert hold in page.rows
    assert ["waist", "360 W", "0:02", "0.000 kWh"] in page.rows
    assert ["full", NONE, "0:00", NONE] in page.rows
    # What one zone took is not known, so no sum is.
    assert not [row for row in page.rows if row[0] == "in all"]


def test_energy_of_all_zones_is_summed_where_all_are_known(tmp_path):
    log = LogMaker(zones=["waist", "full"])
    for second in range(1, 41):
        log.row(second * 1000, 1, [(150, 149, 1.0, 1000), (150, 149, 0.5, 500)])
    page = Page(build(read_log(log.bytes(), {"waist": 360.0, "full": 900.0}), tmp_path))
    # 40 s at 360 W and 20 s at 900 W: 0.004 and 0.005 kWh.
    assert ["in all", "0.009 kWh"] in page.rows


def test_the_page_can_be_in_fahrenheit(tmp_path):
    page = Page(build(tiny_run(), tmp_path, "F"))
    # 150 C is 302 F, 152 is 305.6, 149.5 is 301.1; a difference of 2.34521 K is 4.2 degrees F.
    hold = ["2 press the waist", "waist", "302 °F", "0.1", "0.1", "305.6 °F", "301.1 °F", "4.2 °F"]
    assert hold in page.rows
    assert "°C" not in page.text


def test_a_whole_run_is_reported(tmp_path):
    path = build(read_log(sample_log(), POWER_W, 1_767_265_200), tmp_path / "new" / "folder")
    page = Page(path)
    assert sorted(item.name for item in path.parent.iterdir()) == ["report.html", "run.png", "run.svg"]
    for words in (
        "SIMULATED RUN",
        "Sapele baritone sides, 1.7 mm",
        "sapele side, 560 x 82 x 1.7 mm, misted",
        "Ended as its profile says after 40:00",
        "72696273696d0001 (virtual)",
        "ukulele bench (5f0c9a)",
        "Cue 1 was acknowledged (“waist to 6 mm”)",
        "Stage 6 began: rest.",
        "Full reached its target",
    ):
        assert words in page.text
    assert "Missing from this record" not in page.text
    assert page.open == []


def test_a_moment_without_a_stage_gets_no_line(tmp_path):
    log = LogMaker(zones=["waist"])
    for second in range(1, 21):
        mode = "proving" if second <= 10 else "idle" if second == 20 else "running"
        log.row(second * 1000, 5, [(None, 20, 0, 0)], mode=mode)
    names = [row[0] for row in Page(build(read_log(log.bytes()), tmp_path)).rows]
    assert "start checks" in names
    assert "not running" not in names


def test_a_real_rig_is_not_called_simulated(tmp_path):
    page = Page(build(read_log(sample_log(60, board="e6614103e7452d2f")), tmp_path))
    assert "simulated" not in page.source.lower()
    assert "virtual" not in page.text


def test_a_run_file_and_a_log_give_the_same_report(tmp_path):
    data = sample_log(120)
    (tmp_path / "00007.rlg").write_bytes(data)
    write_csv(read_log(data), tmp_path / "run.csv")
    by_log = build(tmp_path / "00007.rlg", tmp_path / "a")
    by_file = build(tmp_path / "run.csv", tmp_path / "b")
    assert by_log.read_text() == by_file.read_text()


@pytest.mark.parametrize("name", ["run.csv", "run.rlg"])
def test_a_file_that_is_not_there_is_a_plain_error(name, tmp_path):
    with pytest.raises(FileError, match=r"missing|cannot be read: No such file"):
        build(tmp_path / name, tmp_path)


def test_a_folder_that_cannot_be_made_is_a_plain_error(tmp_path):
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(FileError, match="cannot be written") as caught:
        build(tiny_run(), tmp_path / "taken")
    assert caught.value.exit_code == 3


def test_hostile_names_stay_text(tmp_path):
    stages = [dict(PROFILE["stages"][0], name=HOSTILE[:40], zones=[HOSTILE[:16]]), *PROFILE["stages"][1:]]
    profile = PROFILE | {"name": HOSTILE, "stages": stages}
    texts = dict.fromkeys(("fw", "python", "rig", "rig_name", "profile_hash", "board", "run"), HOSTILE)
    log = LogMaker(profile=profile, zones=[HOSTILE[:16], "--><svg onload=1"], **texts)
    log.event(0, "zone_off", zone=0, a=2, text="<i>")
    log.event(500, "trip", zone=1, a=2, b=1500)
    log.row(1000, 0, [(150, 20, 0, 0)] * 2)
    page = Page(build(read_log(log.bytes(), {HOSTILE[:16]: 5.0}), tmp_path))
    assert {"script", "i", "iframe", "object", "embed", "link", "img"}.isdisjoint(tag for tag, _ in page.tags)
    assert not any(name.startswith("on") for _, attrs in page.tags for name in attrs)
    assert page.source.count(HOSTILE) == 0
    assert HOSTILE in page.text
    assert page.open == []


def test_half_a_character_pair_does_not_break_the_file(tmp_path):
    page = Page(build(read_log(sample_log(20, rig_name="a\ud800b")), tmp_path))
    assert "a?b" in page.text


def test_nothing_comes_from_outside(tmp_path):
    page = Page(build(read_log(sample_log(300), POWER_W), tmp_path))
    assert "://" not in page.source
    assert not re.search(r"@import|\bsrc=|javascript:|data:", page.source)
    assert all(target.startswith("#") for target in re.findall(r"url\(([^)]*)\)", page.source))
    links = [value for _, attrs in page.tags for key, value in attrs.items() if key.endswith("href")]
    assert links
    assert all(value.startswith("#") for value in links)


def test_the_page_is_readable_without_seeing_it(tmp_path):
    page = Page(build(read_log(sample_log(300)), tmp_path))
    tags = [tag for tag, _ in page.tags]
    assert ("html", {"lang": "en"}) in page.tags
    assert tags.count("h1") == 1
    assert all(attrs.get("scope") in ("col", "row") for tag, attrs in page.tags if tag == "th")
    picture = next(attrs for tag, attrs in page.tags if tag == "svg")
    assert picture["role"] == "img"
    assert "zone waist, highest reading" in picture["aria-label"]


def test_a_trip_shows_its_readings_and_what_to_check(tmp_path):
    log = LogMaker(board="e6614103e7452d2f")
    for second in range(1, 11):
        log.row(second * 1000, 0, [(150, 100 + 12 * second, 0.25, 250), (None, 20, 0, 0)])
    log.event(10_200, "trip", zone=0, a=1, b=2200)
    log.row(11_000, 0, [(None, 221, 0, 0), (None, 20, 0, 0)], mode="tripped")
    page = Page(build(read_log(log.bytes()), tmp_path))
    assert "Shut down: ceiling, waist" in page.text
    assert "At 0:10 (minutes:seconds), reading 220.0 °C." in page.text
    assert "look for a relay that stays on" in page.text
    assert "do not force it" in page.text
    assert ["0:10", "150.0 °C", "220.0 °C", "0.25"] in page.rows
    assert ["0:11", NONE, "221.0 °C", "0.00"] not in page.rows


def test_a_trip_of_the_whole_rig_without_a_reading_is_told_too(tmp_path):
    log = LogMaker()
    log.row(1000, 0, [(150, 20, 0, 0)] * 2)
    log.event(1500, "trip", zone=-1, a=999, b=TENTHS_MISSING)
    page = Page(build(read_log(log.bytes()), tmp_path))
    assert "Shut down: unknown, the rig" in page.text
    assert f"reading {NONE}" in page.text


def test_a_damaged_log_says_what_is_missing(tmp_path):
    data = bytearray(sample_log(100))
    data[header_length(bytes(data)) + 40 * SIZE + 12] ^= 0x10
    page = Page(build(read_log(bytes(data)), tmp_path))
    assert "Missing from this record" in page.text
    assert "record 41 of about 104 fails its check" in page.text
    assert "without an end: power was lost" in page.text


@pytest.mark.parametrize("data", [b"", b"no log", sample_log(0), sample_log(1)])
def test_next_to_nothing_still_gives_a_page(data, tmp_path):
    assert Page(build(read_log(data), tmp_path)).open == []


def test_an_unknown_event_is_shown_with_its_figures():
    log = LogMaker(zones=["waist"])
    log.event(0, "press", a=3, b=4)
    run = read_log(log.bytes())
    known = run.events[0]
    unknown = type(known)(0, 0, "unknown", -1, 3, 4, "")
    assert event_words(run, unknown, "C") == "An event this version does not know (a = 3, b = 4)"


def test_an_unknown_start_is_said_in_words(tmp_path):
    page = Page(build(read_log(sample_log(20, unix=None)), tmp_path))
    assert "not known: the board had no wall time" in page.text


def test_estimate_of_the_wood_stands_beside_the_readings_with_its_band(tmp_path):
    log = LogMaker(zones=["waist", "full"], wood_band_k=[8.0, 3.5])
    for second, mid_c in ((1, 101.0), (2, 118.4), (3, None)):
        log.row(second * 1000, 1, [(150, 150, 0.3, 300, mid_c), (None, 25, 0, 0)])
    run = read_log(log.bytes())
    assert stage_figures(run, run.spans()[0], 0).mid_wood_c == 118.4
    assert stage_figures(run, run.spans()[0], 1).mid_wood_c is None
    text = Page(build(run, tmp_path)).text
    assert "Mid-wood at the end, estimate" in text
    assert "about 118 \u00b0C" in text
    assert "It is an estimate, not a reading, give or take 8.0 \u00b0C (waist), 3.5 \u00b0C (full)." in text


def test_page_of_a_run_without_an_estimate_does_not_speak_of_one(tmp_path):
    assert "Mid-wood" not in Page(build(tiny_run(), tmp_path)).text


def test_what_was_taken_off_the_readings_is_said(tmp_path):
    log = LogMaker(zones=["waist", "full"], offsets_k=[1.44, 0.0])
    log.row(1000, 1, [(150, 150, 0.3, 300), (None, 25, 0, 0)])
    run = read_log(log.bytes())
    assert run.offsets_k == {"waist": 1.44}
    # 1.44 K are 2.6 degrees F: by the definition of the scale.
    assert "waist 2.6 \u00b0F" in Page(build(run, tmp_path, "F")).text
    for nonsense in ("high", [1.4], [1e9, "x"], None):
        assert read_log(LogMaker(zones=["waist", "full"], offsets_k=nonsense).bytes()).offsets_k == {}


def watched_run(on_ms=0, measured_c=90, *, trip=False):
    """A warm-up towards 150 C in which no relay came on, unless on_ms says so in one second."""
    log = LogMaker(zones=["waist", "full"])
    for second in range(1, 31):
        log.row(second * 1000, 0, [(150, measured_c, 0, on_ms if second == 9 else 0), (None, 20, 0, 0)])
    if trip:
        log.event(31_000, "trip", zone=0, a=FAULTS["ceiling"][0], b=1910)
    return read_log(log.bytes(), {"waist": 360.0, "full": 400.0})


def test_heat_from_elsewhere_is_no_energy_of_this_rig(tmp_path):
    run = watched_run()
    assert run.watched
    assert energy_kwh(run, 0) is None
    page = Page(build(run, tmp_path))
    assert "Heat came from elsewhere, and its energy is not known" in page.text
    assert "0.000 kWh" not in page.text
    assert "the shutdown did not end it" in Page(build(watched_run(trip=True), tmp_path)).text
    assert "did not end it" not in Page(build(watched_run(on_ms=500, trip=True), tmp_path)).text
    # One second of a relay, or zones that were at their targets all along, and it is reckoned as ever.
    assert not watched_run(on_ms=500).watched
    assert energy_kwh(watched_run(measured_c=149), 0) == 0.0
    assert "elsewhere" not in Page(build(watched_run(on_ms=500), tmp_path)).text


def acts_log(*last, **changes):
    """A run in which the maker noted and changed something; last: further events, as (name, stage, fault)."""
    log = LogMaker(**changes)
    for second in range(1, 9):
        log.row(second * 1000, 1, [(150, 140 + second, 0.5, 500), (None, 20, 0, 0)])
    log.event(2000, "mark", stage=1, a=4, text="steam")
    log.event(3000, "nudge", stage=1, zone=0, a=1540, b=4)
    log.event(4000, "extend", stage=1, a=3, b=170)
    log.event(6000, "back_off", stage=4, a=2, b=5)
    log.event(7000, "mark", stage=1, a=99, text="of a newer board")
    for name, stage, fault in last:
        log.event(8500, name, stage=stage, zone=0, a=FAULTS[fault][0] if fault else 0)
    return read_log(log.bytes())


def test_what_the_maker_did_stands_on_the_time_line(tmp_path):
    run = acts_log(("stop", 1, ""))
    words = [event_words(run, event, "C") for event in run.events]
    assert words[:5] == [
        "The maker noted: steam came.",
        "The target was moved by hand, to 154.0 \u00b0C.",
        "The stage was given 3 min more, 170 s of its longest time were left.",
        "The maker backed off from stage 2 to stage 5.",
        "The maker noted: unknown.",
    ]
    page = Page(build(run, tmp_path))
    assert "0:02 The maker noted: steam came." in page.text
    assert "Began with" not in page.text
    assert "take the bend up" not in page.text


def test_run_from_a_later_stage_says_so(tmp_path):
    assert "Began with stage 3" in Page(build(acts_log(from_stage=3), tmp_path)).text
    for odd in (1, 0, 25, "3", None, 2.5, True):
        assert acts_log(from_stage=odd).from_stage == 1


@pytest.mark.parametrize(
    ("last", "stage"),
    [
        ([("trip", 1, "open")], 1),
        ([("trip", 2, "no_rise")], 3),
        ([("trip", 4, "stale")], 5),
        ([("trip", 5, "open")], None),
        ([("trip", 1, "too_hot")], None),
        ([("trip", 1, "ceiling")], None),
        ([("stop", 1, "")], None),
        ([("done", 5, "")], None),
        # Power was lost: no event says so, the last row was in stage 2.
        ([], 1),
    ],
)
def test_bend_that_broke_off_says_where_it_can_be_taken_up(last, stage, tmp_path):
    text = Page(build(acts_log(*last), tmp_path)).text
    assert ("--from-stage" in text) == (stage is not None)
    assert stage is None or f"ribwright start PROFILE --from-stage {stage}" in text
