"""The demo's folder and words: nothing of anybody else's is lost, and a stiff or doubted bend is said."""

from pathlib import Path

import pytest

from ribwright_host.book.compare import figures as compared
from ribwright_host.demo_folder import FIGURES, MARK, fresh_rig
from ribwright_host.demo_pair import Pair
from ribwright_host.demo_words import agreement_lines, closing_lines
from ribwright_host.errors import FileError
from ribwright_host.rigs import load_rig


def test_folder_with_somebodys_runs_is_refused_and_stays_as_it_is(tmp_path):
    (tmp_path / "bass").mkdir()
    (tmp_path / "bass" / "run.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(FileError) as refused:
        fresh_rig(tmp_path)
    assert refused.value.code == "not_a_demo"
    assert [path.name for path in tmp_path.rglob("*")] == ["bass", "run.csv"]


@pytest.mark.parametrize("mark", [MARK, FIGURES])
def test_what_an_earlier_demo_left_is_replaced_and_the_rest_is_left_alone(tmp_path, mark):
    (tmp_path / mark).write_text("{}", encoding="utf-8")
    (tmp_path / "bass").mkdir()
    for name in ("bass/run.csv", "pair.html", "report.html", "sketch.txt"):
        (tmp_path / name).write_text("old", encoding="utf-8")
    rig = fresh_rig(tmp_path)
    assert {path.name for path in tmp_path.iterdir()} == {"rig.toml", MARK, "sketch.txt"}
    assert load_rig(rig).rig.zone_names() == ["waist", "full"]


def test_folder_is_made_and_says_that_it_is_simulated(tmp_path):
    out = tmp_path / "new" / "demo"
    fresh_rig(out)
    assert "no wood was bent" in (out / MARK).read_text(encoding="utf-8")
    fresh_rig(out)


def test_file_in_the_folders_place_is_an_error_in_one_line(tmp_path):
    out = tmp_path / "demo"
    out.write_text("a file", encoding="utf-8")
    with pytest.raises(FileError) as refused:
        fresh_rig(out)
    assert (refused.value.code, out.read_text(encoding="utf-8")) == ("unwritable", "a file")


PLAN = {
    "unit": "C",
    "bends": [{"least_k": {"low": 7.6, "high": 23.2}}, {"least_k": {"low": 7.2, "high": 24.0}}],
}
SIDE = {"simulated_s": 2520.0, "trips": 0, "overshoot_k": 0.4, "hold_rms_k": 0.3, "doubts": []}


def test_bend_that_was_stiffer_than_planned_is_told_so():
    lines = agreement_lines(PLAN, {"bass": [19.2, 18.0], "treble": [-3.4, 18.1]})
    assert (
        "the tightest place: planned from 8 C above to 23 C above; bass 19 C above, treble 3 C below"
        in (lines[1])
    )
    assert "the bouts: planned from 7 C above to 24 C above; bass 18 C above, treble 18 C above" in lines[2]


def closing(**treble):
    pair = Pair(Path("somewhere/pair.html"), "alike", "sprung", tuple(compared({}, {})))
    return closing_lines(SIDE | {"demo_wall_s": 51.2, "treble": SIDE | treble}, pair)


def test_closing_words_take_the_worse_side_and_both_sides_minutes():
    text = "\n".join(closing(overshoot_k=1.25, hold_rms_k=0.2, trips=1))
    assert "two sides, 84 simulated minutes, 1 shutdown (" in text
    assert "overshoot 1.25 K, ripple while holding 0.30 K at most" in text
    assert "all of it took 51 s" in text
    assert "doubted" not in text


def test_doubt_about_wood_that_dries_is_explained():
    text = "\n".join(closing(doubts=[["full", "hold_power"]]))
    assert "On the treble side the board doubted full (hold_power) and went on" in text
