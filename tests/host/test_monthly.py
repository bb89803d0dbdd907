"""Monthly tests: noted by board, due when they are old, asked for before heat; none of a simulated rig."""

import json
from datetime import date, timedelta

import pytest
from click.testing import CliRunner

from host.peer import BOARD_ID, PROFILE_TEXT, Peer, on_socket
from ribwright_host import monthly
from ribwright_host.cli import cli
from ribwright_host.errors import FileError

NOW = date(2026, 3, 1)


@pytest.fixture
def path(tmp_path, monkeypatch):
    file = tmp_path / "data" / "tested.json"
    monkeypatch.setattr(monthly, "default_file", lambda: file)
    return file


def words(found):
    return [one["test"] for one in found]


@pytest.mark.usefixtures("path")
def test_a_board_nobody_knows_of_has_everything_due():
    found = monthly.due("e660", now=NOW)
    assert words(found) == ["emergency", "rcd"]
    assert "no test is noted" in found[0]["sentence"]
    assert "ribwright tested rcd" in found[1]["sentence"]


@pytest.mark.usefixtures("path")
def test_a_test_counts_for_a_month_and_for_its_own_board():
    monthly.note("e660", "rcd", NOW)
    monthly.note("e660", "emergency", NOW - timedelta(days=20))
    for days, wanted in (
        (0, []),
        (11, []),
        (12, ["emergency"]),
        (31, ["emergency"]),
        (32, ["emergency", "rcd"]),
    ):
        assert words(monthly.due("e660", now=NOW + timedelta(days=days))) == wanted
    assert words(monthly.due("e661", now=NOW)) == ["emergency", "rcd"]
    found = monthly.due("e660", now=NOW + timedelta(days=40))
    assert "last tested 2026-02-09, 60 days ago" in found[0]["sentence"]


def test_a_day_still_to_come_and_a_spoilt_file_count_for_nothing(path):
    monthly.note("e660", "rcd", NOW + timedelta(days=3))
    assert words(monthly.due("e660", now=NOW)) == ["emergency", "rcd"]
    for text in ("", "[1]", '{"e660": 3}', '{"e660": {"rcd": "soon", "emergency": 5}}', "{"):
        path.write_text(text, encoding="utf-8")
        assert words(monthly.due("e660", now=NOW)) == ["emergency", "rcd"]
    # A spoilt file is written anew.
    monthly.note("e660", "rcd", NOW)
    assert words(monthly.due("e660", now=NOW)) == ["emergency"]


def test_a_folder_that_takes_nothing_is_an_error_with_its_name(path):
    path.parent.write_text("no folder", encoding="utf-8")
    with pytest.raises(FileError, match=r"tested\.json cannot be written"):
        monthly.note("e660", "rcd", NOW)


@pytest.fixture
def port():
    with on_socket(Peer()) as name:
        yield name


def run(*args, answers=None):
    return CliRunner().invoke(cli, [str(arg) for arg in args], input=answers)


@pytest.mark.usefixtures("path")
def test_start_says_what_is_due_until_it_is_noted(port, tmp_path):
    profile = tmp_path / "bend.toml"
    profile.write_text(PROFILE_TEXT, encoding="utf-8")
    run("upload", profile, "--port", port)
    told = run("start", profile, "--port", port, answers="n\n").output
    assert "Due, emergency stop: no test is noted." in told
    result = run("tested", "emergency", "--port", port, answers="y\n")
    assert result.exit_code == 0, result.output
    assert "the contactor dropped out at once" in result.output
    assert monthly.last_day(BOARD_ID, "emergency") == monthly.today()
    told = run("start", profile, "--port", port, "--json", "--yes")
    assert words(json.loads(told.stdout)["due"]) == ["rcd"]


def test_what_did_not_do_its_work_is_not_noted(path, port):
    result = run("tested", "rcd", "--port", port, answers="n\n")
    assert result.exit_code == 0
    assert "Nothing is noted. If it was tried and failed: unplug the rig" in result.output
    assert not path.exists()
    for_program = run("tested", "rcd", "--port", port, "--json", answers="n\n")
    assert for_program.stdout == ""
    assert "unplug the rig" in for_program.stderr
    told = json.loads(run("tested", "--port", port, "--json").stdout)
    assert told["tested"] == {"emergency": None, "rcd": None}
    assert words(told["due"]) == ["emergency", "rcd"]


def test_nothing_is_noted_of_a_simulated_rig_and_nothing_is_due_there(path):
    with on_socket(Peer(board=b"ribsim01".hex())) as name:
        result = run("tested", "rcd", "--port", name, "--yes")
        assert result.exit_code != 0
        assert "this rig is simulated" in result.stderr
    assert not path.exists()
