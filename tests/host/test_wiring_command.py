"""`ribwright wiring`: its files, its answers, and the folder of the project that it also writes."""

import csv
import json
import re

import pytest
from click.testing import CliRunner

from host.peer import RIG_TEXT
from ribwright_host.cli import cli
from ribwright_host.wiring import folder
from ribwright_host.wiring.facts import STATUSES
from ribwright_host.wiring.page import WORDS

runner = CliRunner()
FILES = {
    *(f"{name}.{ending}" for name in ("mains", "low_voltage", "alive_detector") for ending in ("svg", "png")),
    "wiring.html",
    "parts.csv",
    "pins.csv",
}


def wiring(path, *more):
    return runner.invoke(cli, ["wiring", str(path), *more])


def table(path):
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """A rig file, its drawings beside it, and what was said."""
    top = tmp_path_factory.mktemp("shop")
    (top / "rig.toml").write_text(RIG_TEXT, encoding="utf-8")
    return top, wiring(top / "rig.toml")


def test_writes_drawings_page_and_lists_beside_the_rig(shop):
    top, result = shop
    assert result.exit_code == 0
    assert {path.name for path in (top / "wiring").iterdir()} == FILES
    for words in ("licensed electrician", "labelled for 120 V", "lead, m 1.5", "wiring.html"):
        assert words in result.stdout


def test_page_opens_with_the_cautions_and_holds_everything(shop):
    text = (shop[0] / "wiring" / "wiring.html").read_text(encoding="utf-8")
    places = [
        text.index(word) for word in ("Mains voltage kills", "<svg", "<h2>Pins", "<h2>Parts", "Before any")
    ]
    assert places == sorted(places)
    assert text.count("<svg") == 3
    assert "not a certified design" in text
    for row in WORDS["ladder"]:
        assert f"<b>{row['step']}.</b>" in text
    # It needs nothing else: no address, no script.
    assert not re.search(r"https?://|<script|src=|@import", text)


def test_lists_open_in_a_spreadsheet(shop):
    rows = table(shop[0] / "wiring" / "parts.csv")
    assert {row["rests on"] for row in rows} <= set(STATUSES)
    fuse = next(row for row in rows if row["designators"] == "F12")
    assert fuse["ask for"].startswith("5 A time-lag")
    pins = {row["signal"]: row for row in table(shop[0] / "wiring" / "pins.csv")}
    # Raspberry Pi Pico data sheet, pinout figure (from memory): GP18 on 24, GP16 21, GP15 20, GP12 16.
    assert [pins[signal]["pin"] for signal in ("SCK", "MISO", "ALIVE", "START")] == ["24", "21", "20", "16"]


def test_answer_for_programs_says_the_same(shop, tmp_path):
    result = wiring(
        shop[0] / "rig.toml", "--out", str(tmp_path / "deep" / "er"), "--json", "--breaker-a", "20"
    )
    answer = json.loads(result.stdout)
    assert len(answer["files"]) == len(FILES)
    assert {fact["status"] for facts in answer["zones"].values() for fact in facts} <= set(STATUSES)
    branch = {fact["name"]: fact["value"] for fact in answer["branch"]}
    assert branch["branch breaker"] == 20
    assert any("F11" in part["refs"] for part in answer["parts"])
    assert (tmp_path / "deep" / "er" / "mains.svg").exists()


def test_refusal_ends_with_the_code_of_a_wrong_file_and_writes_nothing(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG_TEXT.replace("branch_limit_a = 12 ", "branch_limit_a = 14 "), encoding="utf-8")
    result = wiring(path, "--breaker-a", "15", "--json")
    assert result.exit_code == 3
    assert json.loads(result.stdout)["error"] == "branch"
    assert "set branch_limit_a to 12" in result.stderr
    assert not (tmp_path / "wiring").exists()


def test_wrong_rig_and_wrong_folder_are_told(tmp_path):
    assert wiring(tmp_path / "none.toml").exit_code == 3
    path = tmp_path / "rig.toml"
    path.write_text(RIG_TEXT, encoding="utf-8")
    (tmp_path / "taken").write_text("a file", encoding="utf-8")
    result = wiring(path, "--out", str(tmp_path / "taken"))
    assert result.exit_code == 3
    assert "cannot be written" in result.stderr
    assert wiring(path, "--lead-c", "hot").exit_code == 2


def test_names_are_text_on_the_page(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG_TEXT.replace("two-zone bench rig", "<b>&$x$</b>"), encoding="utf-8")
    assert wiring(path).exit_code == 0
    text = (tmp_path / "wiring" / "wiring.html").read_text(encoding="utf-8")
    assert "<b>&$x$" not in text
    assert "&lt;b&gt;&amp;$x$&lt;/b&gt;" in text


def test_folder_of_the_project_is_up_to_date(capsys):
    assert folder.stale(folder.FOLDER) == []
    assert folder.main([]) == 0
    assert capsys.readouterr().err == ""


def test_folder_that_is_not_says_how_to_write_it_again(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(folder, "FOLDER", tmp_path)
    assert folder.main([]) == 1
    assert "--write" in capsys.readouterr().err
    assert folder.main(["--write"]) == 0
    assert folder.main([]) == 0
    drawing = tmp_path / "two_zone_230v" / "mains.svg"
    drawing.write_text(drawing.read_text(encoding="utf-8").replace("F12", "F99"), encoding="utf-8")
    assert folder.stale(tmp_path) == ["two_zone_230v/mains.svg"]


def test_drawing_may_move_by_a_hair_and_no_more():
    old = '<svg a="1.0"><text x="10.5" y="2">F11</text></svg>'
    assert folder.same(old, old)
    assert folder.same(old, old.replace("10.5", "10.9"))
    assert not folder.same(old, old.replace("10.5", "12.9"))
    assert not folder.same(old, old.replace("F11", "F12"))
    assert not folder.same(old, old.replace("<text", "<tspan"))
    assert not folder.same(old, old + "<g/>")


def test_rules_carry_what_they_rest_on():
    for row in WORDS["hardware"] + WORDS["rules"]:
        assert row["status"] in STATUSES
    assert len(WORDS["hardware"]) == 12
    # The sheet of the alive detector points to this step.
    heated = [row for row in WORDS["ladder"] if row.get("heat") is not False]
    assert heated[5]["step"].startswith("Alive detector")
