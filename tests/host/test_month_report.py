"""A month of the shop: sums reckoned by hand, simulated runs apart, and nothing guessed."""

import json
import re
from datetime import date

import pytest
from click.testing import CliRunner

from host.book_runs import REAL_BOARD, bend_file
from host.test_ageing import files as ageing_files
from host.test_ageing import one_run
from host.test_logbook import POWER_W, SIMULATED_BOARD, LogMaker
from host.test_report import Page
from ribwright_board.core.errors import FAULTS
from ribwright_host import counted, month_report, monthly
from ribwright_host.book.intake import Given, take_in
from ribwright_host.book.models import Side
from ribwright_host.book.month import days_of
from ribwright_host.book.results import note
from ribwright_host.book.store import opened
from ribwright_host.cli import cli
from ribwright_host.errors import UsageError
from ribwright_host.logbook import read_log, write_csv

# 2026-11-18 and 2026-12-03, UTC.
NOVEMBER, DECEMBER = 1_795_000_000, 1_796_300_000
NAME = "baritone <3>"


@pytest.fixture(autouse=True)
def data(tmp_path, monkeypatch):
    """The user's own files are left alone."""
    folder = tmp_path / "data"
    monkeypatch.setattr(monthly, "default_file", lambda: folder / "tested.json")
    monkeypatch.setattr(counted, "default_file", lambda: folder / "counted.json")
    monkeypatch.setattr(monthly, "today", lambda: date(2026, 11, 30))
    monkeypatch.setenv("RIBWRIGHT_BOOK", str(tmp_path / "book.sqlite"))
    return folder


def trip_file(folder, number=21, **how):
    """A run that was shut down in its first minute, over the zone full."""
    log = LogMaker(board=REAL_BOARD, run=number, unix=NOVEMBER + 90_000, **how)
    for second in range(1, 31):
        log.row(second * 1000, 0, [(150, 40, 1.0, 1000), (None, 20, 0, 0)])
    log.event(30_000, "trip", zone=1, a=FAULTS["open"][0], b=200)
    path = folder / f"run-{number}.csv"
    write_csv(read_log(log.bytes(), POWER_W), path)
    return path


def refused_file(folder, number=22):
    """A start that was refused before anything ran."""
    log = LogMaker(board=REAL_BOARD, run=number, unix=NOVEMBER + 95_000)
    log.event(9000, "refused", zone=0, a=FAULTS["no_rise"][0])
    path = folder / f"run-{number}.csv"
    write_csv(read_log(log.bytes(), POWER_W), path)
    return path


@pytest.fixture
def shop(tmp_path):
    """A notebook with a measured pair of November, a side of December and a simulated pair."""
    with opened(tmp_path / "book.sqlite", make=True):
        given = {"instrument": "baritone ukulele"}
        for number, which, hot_s in ((7, "bass", 300), (8, "treble", 374)):
            path = bend_file(tmp_path, number, hot_s=hot_s, unix=NOVEMBER + 5400 * number)
            take_in(path, Given(NAME, which, given))
        take_in(bend_file(tmp_path, 9, unix=DECEMBER), Given("baritone 4", "bass", given))
        for number, which in ((31, "bass"), (32, "treble")):
            path = bend_file(tmp_path, number, board=SIMULATED_BOARD, unix=NOVEMBER + number)
            take_in(path, Given("rehearsed", which, given))
    return tmp_path


def report(*args):
    result = CliRunner().invoke(cli, ["report", *[str(arg) for arg in args]], catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.stdout


def told(*args):
    return json.loads(report(*args, "--json"))


def test_sums_are_those_of_the_months_real_runs(shop):
    found = told("--month", "2026-11", "-o", shop / "page")
    real = found["real"]
    assert (real["runs"], real["sides"]) == (2, 2)
    # Each: 10 s + hot + 40 s + 10 s; bending heat is the time at 152 C.
    assert real["seconds"] == 360 + 434
    assert real["heat_s"] == 300 + 374
    # The waist alone: all the time for 10 s, half of it while hot, a quarter in the set.
    on_s = 2 * 10 + 0.5 * (300 + 374) + 2 * 0.25 * 40
    assert real["energy_kwh"] == pytest.approx(on_s * POWER_W["waist"] / 3.6e6)
    assert (found["simulated"]["runs"], found["simulated"]["sides"]) == (2, 2)
    assert list(found["pieces"]) == [NAME]
    assert found["pieces"][NAME].startswith("The treble side was held 74 s longer")
    assert told("--month", "2026-12", "-o", shop / "page")["real"]["runs"] == 1
    assert told("--month", "2026-10", "-o", shop / "page")["real"]["runs"] == 0


def test_shutdown_and_refusal_come_with_their_causes_from_files_beside_the_book(shop):
    extra = [trip_file(shop), refused_file(shop)]
    found = told("--month", "2026-11", *extra, "-o", shop / "page")
    assert [row[1:3] for row in found["trouble"]] == [
        ["shut down", f"run 21 of board {REAL_BOARD[-6:]}"],
        ["start refused", f"run 22 of board {REAL_BOARD[-6:]}"],
    ]
    assert found["trouble"][0][3] == f"open, full: {FAULTS['open'][1]}"
    assert found["trouble"][1][3] == f"no rise, waist: {FAULTS['no_rise'][1]}"
    assert found["real"]["runs"] == 4
    # The file of a run that stands in the book counts once.
    assert told("--month", "2026-11", shop / "run-7.csv", "-o", shop / "page")["real"]["runs"] == 2


def test_cause_whose_file_is_gone_is_said_to_be_unknown(shop):
    path = trip_file(shop)
    with opened(shop / "book.sqlite"):
        take_in(path, Given("baritone 5", "bass", {}))
    for file in shop.glob("run-21*"):
        file.unlink()
    (row,) = told("--month", "2026-11", "-o", shop / "page")["trouble"]
    assert row[2] == "baritone 5, bass"
    assert "not known here: its run file is not where it was" in row[3]


def test_page_names_nothing_from_outside_and_keeps_simulated_runs_apart(shop):
    with opened(shop / "book.sqlite"):
        for side in Side.select().order_by(Side.id).limit(2):
            defects = [{"kind": "scorched", "place": "waist", "badness": 1}] if side.which == "bass" else []
            note(side, {"gap_waist_mm": 0.6}, defects, None)
    report("--month", "2026-11", "-o", shop / "page", "--unit", "F", "--lengths", "in")
    page = Page(shop / "page" / "month.html")
    assert NAME in page.text
    assert "<3>" not in page.source
    assert not re.search(r"https?://", page.source)
    before, after = page.source.split("SIMULATED runs, in nothing above")
    assert "rehearsed" not in before
    assert "Runs" in after
    assert "250 F" in page.text  # the set, 121 C
    assert "+0.024 in" in page.text  # 0.6 mm
    assert "scorched" in page.text
    assert (shop / "page" / "month.png").stat().st_size > 5000


def test_month_of_simulated_runs_alone_draws_no_empty_picture(tmp_path):
    with opened(tmp_path / "book.sqlite", make=True):
        path = bend_file(tmp_path, 31, board=SIMULATED_BOARD, unix=NOVEMBER)
        take_in(path, Given("rehearsed", "bass", {}))
    report("--month", "2026-11", "-o", tmp_path / "page", "--book", tmp_path / "book.sqlite")
    page = Page(tmp_path / "page" / "month.html")
    assert "No real run belongs to this month." in page.text
    assert "SIMULATED runs, in nothing above" in page.text
    assert "<figure>" not in page.source


def test_what_is_not_known_is_said(shop):
    log = LogMaker(board=REAL_BOARD, run=40, unix=NOVEMBER)
    log.row(1000, 0, [(150, 40, 1.0, 1000), (None, 20, 0, 0)])
    path = shop / "run-40.csv"
    write_csv(read_log(log.bytes()), path)
    report("--month", "2026-11", path, "-o", shop / "page")
    page = Page(shop / "page" / "month.html")
    assert "1 of 3 runs without known heat: fetch with --rig" in page.text
    assert "no gap was measured or no set was recorded: baritone <3>, bass; baritone <3>, treble" in page.text
    assert f"Board {REAL_BOARD[-6:]}: not known. It takes two readings" in page.text
    assert page.text.count("DUE: try it") == 2
    assert "not enough yet" in page.text


def test_tests_relays_and_slow_changes_are_told_where_they_are_known(tmp_path):
    runs = [one_run(n, rise_k_per_s=0.8 * (1 - 0.022 * n), board=REAL_BOARD) for n in range(10)]
    paths = ageing_files(tmp_path, runs)
    monthly.note(REAL_BOARD, "emergency", date(2026, 11, 20))
    values = {"runs": 1, "trips": 0, "on_s": [0, 0], "switches": [100, 50]}
    counted.note(REAL_BOARD, values, date(2025, 12, 30))
    counted.note(
        REAL_BOARD, values | {"runs": 9, "on_s": [7200, 60], "switches": [4100, 80]}, date(2026, 1, 9)
    )
    found = told("--month", "2026-01", *paths, "-o", tmp_path / "page")
    assert found["tests"][0][2:] == ["2026-11-20", False]
    assert found["tests"][1][2:] == ["never noted", True]
    assert found["switchings"] == [{"board": REAL_BOARD, "zones": [["waist", 4000], ["full", 30]]}]
    notable = [one for group in found["ageing"] for one in group if one["notable"]]
    assert [one["what"] for one in notable] == ["warm"]
    page = Page(tmp_path / "page" / "month.html")
    assert "4000 times" in page.text
    assert "2 h 00 min" in page.text
    assert "warms more slowly" in page.text


@pytest.mark.parametrize("month", ["2026-13", "2026-1", "November", "", "2026-00", "1926-11"])
def test_month_that_is_none_is_refused(month):
    with pytest.raises(UsageError, match="is no month"):
        days_of(month)
    result = CliRunner().invoke(cli, ["report", "--month", month])
    assert result.exit_code == 2


def test_without_notebook_and_files_it_says_so_and_a_report_is_of_one_run(tmp_path):
    result = CliRunner().invoke(cli, ["report", "--month", "2026-11", "-o", str(tmp_path / "page")])
    assert result.exit_code == 3
    assert "there is no notebook" in result.stderr
    assert not (tmp_path / "page").exists()
    result = CliRunner().invoke(cli, ["report"])
    assert result.exit_code == 2
    assert "0 files are named" in result.stderr


def test_sums_of_nothing_are_nothing():
    rows = month_report.sum_rows(month_report.sums([]))
    assert [row[1] for row in rows] == ["0", "0", "0 min", "0 min", "0.00 kWh"]
