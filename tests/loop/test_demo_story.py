"""The demo's whole story, plan to report, and the same pair without MicroPython."""

import csv
import json
import re
from types import SimpleNamespace

import pytest
import tomlkit
from click.testing import CliRunner

from loop.bending import short_profile
from loop.test_again_bend import STAGES
from ribwright_host.again.went import stages_of
from ribwright_host.book.finding import piece_named
from ribwright_host.book.pairs import whole_piece
from ribwright_host.book.store import opened
from ribwright_host.cli import cli
from ribwright_host.demo import LIES, PIECE, SEED, Parts, bend_pair, beside
from ribwright_host.demo_bend import Shop
from ribwright_host.demo_folder import AGAIN, BOOK, PROFILE
from ribwright_host.demo_pair import GAPS, INVENTED
from ribwright_host.logbook import read_run
from ribwright_host.profiles import load_profile
from ribwright_host.virtual import example_rig

HANDS = ("bass", "treble")


@pytest.fixture(scope="module")
def story(tmp_path_factory, micropython_cmd):
    """One whole demo: its folder, its words, its figures, and the folder of a user's own data."""
    assert micropython_cmd
    out, own = tmp_path_factory.mktemp("demo"), tmp_path_factory.mktemp("own")
    env = {"XDG_DATA_HOME": str(own), "XDG_STATE_HOME": str(own), "RIBWRIGHT_BOOK": str(own / "book.sqlite")}
    done = CliRunner(env=env).invoke(cli, ["demo", "--out", str(out)])
    assert done.exit_code == 0, done.output
    figures = json.loads((out / "demo.json").read_text(encoding="utf-8"))
    runs = {hand: read_run(out / hand / "run.csv") for hand in HANDS}
    return SimpleNamespace(out=out, own=own, said=done.output, figures=figures, runs=runs)


def test_both_sides_end_as_their_profiles_say_in_real_micropython(story):
    for side in (story.figures, story.figures["treble"]):
        assert (side["ended"], side["trips"], side["stages_done"], side["log_problems"]) == ("done", 0, 7, 0)
        assert side["interpreter"].startswith("MicroPython")
        assert side["simulated"] is True
    assert [story.runs[hand].header["run"] for hand in HANDS] == [1, 2]


def test_what_is_bent_is_what_was_planned_and_the_wood_is_soft_as_the_plan_says(story):
    planned = load_profile(story.out / PROFILE)
    assert story.runs["bass"].header["profile_hash"] == planned.hash
    assert planned.mapping["piece"]["wetted"] == "soaked"
    lows = [least["low"] for least in story.figures["plan"]["least_k"]]
    for hand in HANDS:
        bent = story.figures["least_above_softening_k"][hand]
        assert len(bent) == len(lows) == 2
        # The virtual rig is a drawn one too; the plan says what holds on every rig.
        assert all(was_k >= low_k > 0 for was_k, low_k in zip(bent, lows, strict=True))


def test_quicker_hands_give_side_two_what_side_one_got(story):
    def per_cue_s(run):
        times = [event.at_ms / 1000 for event in run.events if event.name in ("cue", "cue_done")]
        return [done - asked for asked, done in zip(times[::2], times[1::2], strict=True)]

    one, two = (story.runs[hand] for hand in HANDS)
    assert min(per_cue_s(one)) > max(per_cue_s(two)) + 10
    for first, second in zip(stages_of(one), stages_of(two), strict=True):
        held_s = [sum(held.in_band_s for held in stage.held) for stage in (first, second)]
        assert held_s[1] == pytest.approx(held_s[0], abs=4)
    assert story.figures["pair"]["alike"] is True


def test_side_two_begins_on_the_stack_that_side_one_left_warm(story):
    one, two = (story.runs[hand] for hand in HANDS)
    assert one.header["started_ms"] + one.rows[-1].at_ms < two.header["started_ms"]
    with opened(story.out / BOOK):
        sides = whole_piece(piece_named(PIECE)).sides
        peaks_c = [sides[hand].runs[0]["peak_c"] for hand in HANDS]
        on_form_h = [sides[hand].rested["hours_on_form"] for hand in HANDS]
    # What of its heat the form has kept shows at the waist, whose own blanket rests during the set.
    assert 0.5 < peaks_c[1] - peaks_c[0] < 4.0
    assert all(0.4 < hours < 0.9 for hours in on_form_h)
    # The strip itself is a fresh one: at room temperature under warm blankets, and wet.
    with (story.out / "truth.csv").open(encoding="utf-8") as file:
        truth = [row for row in csv.DictReader(file) if int(row["board_ms"]) <= two.header["started_ms"]]
    wet, last = float(truth[0]["waist_moisture_percent"]), truth[-1]
    least = min(float(row["waist_moisture_percent"]) for row in truth)
    assert least < 0.7 * wet
    assert float(last["waist_moisture_percent"]) > 0.9 * wet
    assert float(last["waist_wood_mid_c"]) < float(last["full_thermocouple_c"])


def test_notebook_holds_the_pair_as_simulated_with_its_gaps_called_invented(story):
    with opened(story.out / BOOK):
        piece = whole_piece(piece_named(PIECE))
    assert piece.simulated
    assert INVENTED in piece.facts["remark"]
    for hand in HANDS:
        side = piece.sides[hand]
        assert [run["number"] for run in side.runs] == [1 + HANDS.index(hand)]
        assert side.runs[0]["laid"].startswith(f"{hand} side of {PIECE}")
        assert side.facts["top_edge"] == LIES["top_edge"]
        assert side.rested["gap_upper_mm"] == float(GAPS[hand]["upper"])
        assert side.rested["remark"] == INVENTED


def test_nothing_of_it_goes_into_the_users_own_notes(story):
    assert [path.name for path in story.own.rglob("*") if path.is_file()] == []


def test_every_page_says_that_it_is_simulated(story):
    for name in (
        "pair.html",
        "profile_plan.html",
        "bass/report.html",
        "treble/report.html",
        AGAIN,
        PROFILE,
        "bass/strip.svg",
        "treble/strip.svg",
    ):
        assert "SIMULATED" in (story.out / name).read_text(encoding="utf-8"), name
    assert INVENTED in (story.out / "pair.html").read_text(encoding="utf-8")


def test_its_words_begin_with_simulated_and_each_part_says_how_long_it_took(story):
    lines = story.said.splitlines()
    assert lines[0].startswith("SIMULATED")
    assert set(story.figures["parts_s"]) == {"plan", "tune", "bass", "treble", "pair"}
    for name, took_s in story.figures["parts_s"].items():
        at = next(i for i, line in enumerate(lines) if line.startswith(name))
        assert any(f"; {took_s:.1f} s" in line for line in lines[at : at + 2]), name
    parts_s = dict(story.figures["parts_s"])
    # The tuning goes on beside the plan; what follows waits for both.
    first_s = max(parts_s.pop("plan"), parts_s.pop("tune"))
    assert first_s + sum(parts_s.values()) <= story.figures["demo_wall_s"]


def test_it_ends_by_naming_the_report_and_what_to_look_at(story):
    end = story.said[story.said.index("\ndone ") :]
    assert "nothing was heated" in end
    assert str(story.out / "pair.html") in end
    assert "gaps after rest are invented" in end
    named = re.findall(r"[\w.]+\.(?:html|svg|toml)", end.replace(str(story.out), ""))
    assert set(named) == {"pair.html", "profile_plan.html", "report.html", "strip.svg", "again.toml"}
    for name in named:
        places = [story.out / name, *(story.out / hand / name for hand in HANDS)]
        assert any(path.is_file() for path in places), name
    for hand in HANDS:
        assert (story.out / hand / "report.html").is_file()
        assert (story.out / hand / "strip.svg").is_file()


def test_the_same_pair_is_bent_in_cpython_where_there_is_no_micropython(tmp_path):
    profile = tmp_path / PROFILE
    profile.write_text(tomlkit.dumps(short_profile() | {"stages": STAGES, "side": LIES}), encoding="utf-8")
    told = []
    with beside() as helper:
        shop = Shop(example_rig(), tmp_path, PIECE, "cpython", SEED, told.append, helper)
        sides, pair = bend_pair(shop, profile, Parts())
    assert [one.hand for one in sides] == list(HANDS)
    for one in sides:
        assert one.interpreter.startswith("CPython")
        assert (one.ended, one.trips, one.run.problems) == ("done", 0, [])
    assert sides[1].run.profile_name == "short sapele trial, again"
    # This short profile leaves the form at 90 C, and side two is told to differ by what is hotter for it.
    alike = {one.limit.name: one.alike for one in pair.figures}
    assert [alike[name] for name in ("set_c", "set_s", "thickness_mm")] == [True] * 3
    assert not pair.verdict.startswith("Nothing can be compared")
    assert sum("its firmware runs in CPython" in line for line in told) == 1
