"""The readings that led to a trip: from the log into CSV, JSON and report, and back."""

import json

from host.test_logbook import LogMaker
from host.test_report import Page
from ribwright_host.logbook import read_csv, read_log, write_csv
from ribwright_host.report import build

BEFORE = [150.0, 150.3, 150.5, 151.0, 151.5, 152.0, 151.8, 152.1, 152.4, 152.5]
AFTER = [152.7, "open", "open", None, "open", "open", "open", "open", "open", "open"]


def tripped_log(**changes):
    log = LogMaker(**changes)
    for second in range(1, 9):
        log.row(1000 * second, 0, [(150.0, 150.0 + 0.3 * second, 0.4, 400), (None, 30.0, 0.0, 0)])
    log.event(9300, "trip", zone=0, a=2, b=1524)
    log.trail(8300, 0, BEFORE)
    log.trail(9300, 0, AFTER)
    return log


def test_records_of_one_zone_that_follow_each_other_are_joined():
    run = read_log(tripped_log().bytes())
    assert not run.problems
    assert len(run.trails) == 1
    trail = run.trails[0]
    assert (trail.at_ms, trail.zone, trail.step_ms) == (9300, 0, 100)
    assert trail.readings == (*BEFORE, 152.7, "open", "open", "none", *["open"] * 6)


def test_records_of_two_zones_and_ones_with_a_hole_between_stay_apart():
    log = tripped_log()
    log.trail(8300, 1, [30.0] * 10)
    log.trail(9300, 1, [30.1] * 10)
    log.trail(20000, 1, [31.0] * 10)
    run = read_log(log.bytes())
    assert [(trail.zone, trail.at_ms, len(trail.readings)) for trail in run.trails] == [
        (0, 9300, 20),
        (1, 9300, 20),
        (1, 20000, 10),
    ]


def test_readings_come_back_from_the_csv_and_its_json(tmp_path):
    run = read_log(tripped_log().bytes())
    write_csv(run, tmp_path / "run.csv")
    assert read_csv(tmp_path / "run.csv").trails == run.trails
    # A file of before has none.
    side = json.loads((tmp_path / "run.json").read_text(encoding="utf-8"))
    del side["readings_before_trip"]
    (tmp_path / "run.json").write_text(json.dumps(side), encoding="utf-8")
    assert read_csv(tmp_path / "run.csv").trails == []


def test_report_shows_every_reading_before_the_trip(tmp_path):
    log = tripped_log()
    # Those of a later trip do not belong to it.
    log.trail(60000, 0, [20.0] * 10)
    page = Page(build(read_log(log.bytes()), tmp_path, "C"))
    text = " ".join("".join(page.words).split())
    assert "waist, each reading of the last 2.0 s, the oldest first: 150.0 °C, 150.3 °C" in text
    assert "152.7 °C, open, open, none, open" in text
    assert "20.0 °C, 20.0 °C" not in text


def test_damaged_record_of_readings_is_left_out_and_said():
    data = bytearray(tripped_log().bytes())
    data[-10] ^= 255
    run = read_log(bytes(data))
    assert len(run.trails[0].readings) == 10
    assert run.problems
