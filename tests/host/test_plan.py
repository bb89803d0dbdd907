"""The command plan: what it takes, the files it writes, its words, and its one-line errors."""

import json
import re
import tomllib
from functools import partial

import pytest
from click.testing import CliRunner

from ribwright_board.core import profile as core_profile
from ribwright_host.book.cases import collect
from ribwright_host.book.invented import fill, memory_book
from ribwright_host.book.models import Side
from ribwright_host.book.store import opened
from ribwright_host.book.suggest import try_to_learn
from ribwright_host.cli import cli
from ribwright_host.demo import LIES
from ribwright_host.errors import FileError, UsageError
from ribwright_host.new import Asker
from ribwright_host.plan import command, draw, page, plan
from ribwright_host.plan.jobs import JOBS, LIBRARY
from ribwright_host.plan.piece import asked_for, read_piece, usual_colour
from ribwright_host.plan.profile_text import profile_text
from ribwright_host.plan.sentences import (
    MARK,
    PRACTICE,
    margin,
    soft_sentence,
    stretch_sentence,
    target_sentence,
)
from ribwright_host.plan.spring import Spring, learned_from, over_bend, over_bend_sentence, suggested_sentence
from ribwright_host.plan.words import WIDTH, summary
from ribwright_host.profiles import load_profile
from ribwright_host.rigs import load_rig
from ribwright_host.side.asking import side_text
from ribwright_host.side.facts import side_of
from ribwright_host.side.lay import lay_of, words
from ribwright_host.virtual import example_rig

SIDE = {
    "species": "sapele",
    "cut": "quartersawn",
    "thickness": "0.067in",
    "width_mm": 80,
    "length_mm": 560,
    "radius": "55 mm",
    "wetted": "soaked",
}
ARGUMENTS = (
    "--species sapele --cut quartersawn --thickness 0.067in --width 80 --length 560mm --radius 55 "
    "--wetted soaked"
).split()


STRIPS = (
    "--hand bass --show-face cross --top-edge line --neck-end left --waist-mark 245 --neck-width 2.44in "
    "--tail-width 78"
).split()


def invoke(*arguments):
    return CliRunner().invoke(cli, ["plan", *arguments])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """The command run once, on two rigs and two targets; its folder and what it said."""
    folder = tmp_path_factory.mktemp("plan")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(command, "planned", partial(plan.planned, rigs=1))
        patch.setattr(plan, "TARGETS", {"C": ((150,), (130,)), "F": ((300,), (265,))})
        patch.setenv("RIBWRIGHT_BOOK", str(folder / "none.sqlite"))
        said = invoke(*ARGUMENTS, *STRIPS, "-o", str(folder / "profile.toml"), "--unit", "F")
        assert said.exit_code == 0, said.output
        again = invoke(*ARGUMENTS, "-o", str(folder / "profile.toml"))
        refused = invoke(*ARGUMENTS, "--wetted", "misted", "--json", "-o", str(folder / "wet.toml"))
    return folder, said.output, again, refused


@pytest.fixture(scope="module")
def figures(done):
    return json.loads((done[0] / "profile_plan.json").read_text())


def test_profile_passes_check_and_keeps_its_unit(done):
    rig = example_rig().rig
    profile = load_profile(done[0] / "profile.toml", rig)
    assert profile.unit == "F"
    targets = [stage["target"] for stage in profile.mapping["stages"] if "target" in stage]
    assert targets[0] == 300
    assert 250 <= targets[-1] <= 270
    # 0.067 in, 25.4 mm to the inch, to a hundredth of a mm.
    assert profile.mapping["piece"]["thickness_mm"] == 1.7


def test_planned_profile_says_how_the_strips_lie_and_start_can_draw_them(done):
    profile = load_profile(done[0] / "profile.toml", example_rig().rig)
    assert {key: profile.side[key] for key in LIES} == LIES | {"neck_width_mm": pytest.approx(62, abs=0.1)}
    lay = lay_of(
        side_of(profile.side, "treble"), profile.mapping["piece"], list(example_rig().mapping["zones"])
    )
    assert any("Top edge" in line and "near you" in line for line in words(lay))
    checked = CliRunner().invoke(cli, ["check", str(done[0] / "profile.toml")])
    assert checked.exit_code == 0, checked.output
    assert "strip two" in checked.output.lower()


def test_strips_of_a_piece_file_are_checked_before_anything_is_searched(tmp_path):
    path = tmp_path / "piece.toml"
    path.write_text(
        'species = "sapele"\nthickness_mm = 1.7\nwidth_mm = 80\nlength_mm = 560\nwetted = "soaked"\n'
        '[side]\nhand = "bass"\nwaist_mark_mm = 245\n[side.treble]\nwaist_mark_mm = 247\n',
        encoding="utf-8",
    )
    asked = asked_for(read_piece(path), None)
    assert asked.side == {"hand": "bass", "waist_mark_mm": 245, "treble": {"waist_mark_mm": 247}}
    assert tomllib.loads(side_text(asked.side)) == {"side": asked.side}
    for wrong, said in (
        ({"waist_mark_mm": 600}, "waist_mark_mm is 600"),
        ({"neck_width_mm": 62}, "tail_width_mm is not"),
        ({"hands": "bass"}, "hands"),
        ("bass", "side"),
    ):
        with pytest.raises(UsageError, match=said):
            asked_for({**SIDE, "side": wrong}, None)


def test_reasons_stand_beside_the_values(done):
    text = (done[0] / "profile.toml").read_text()
    assert "SIMULATED" in text
    assert "# Grade: " in text
    assert PRACTICE in text
    assert "stretch t/(2R+t) = 1.52 %" in text
    assert "softening*" in text


def test_page_and_pictures_are_written(done):
    folder = done[0]
    page = (folder / "profile_plan.html").read_text()
    assert "SIMULATED PLAN" in page
    assert "<svg role" in page
    assert "licensed electrician" in page
    assert (folder / "profile_plan.png").read_bytes().startswith(b"\x89PNG")
    assert (folder / "profile_plan.svg").stat().st_size > 5000


def test_screen_says_simulated_grade_practice_and_not_enough(done, figures):
    output = done[1]
    assert output.startswith("SIMULATED")
    assert f"Grade: {figures['grade']}" in output
    assert PRACTICE in output
    assert "no notebook is there" in output
    assert "ribwright rehearse" in output
    shown = summary(figures, "the example rig")
    assert max(map(len, shown)) <= WIDTH
    assert len(shown) <= 55
    assert any(MARK in line for line in shown)


def test_a_profile_that_is_there_is_left_alone(done):
    assert done[2].exit_code == 3
    assert done[2].stderr.startswith("exists:")


def test_a_refusal_names_limit_and_what_would_fit_and_draws_what_was_tried(done):
    folder, _, _, refused = done
    assert refused.exit_code == 12
    assert refused.stderr.startswith("softening:")
    told = json.loads(refused.stdout)
    assert told["limit"] == "softening"
    assert told["best_margin_k"] < 0
    assert "moisture_percent of" in told["next"]
    assert (folder / "wet_refused.png").is_file()
    assert not (folder / "wet.toml").exists()


def test_profile_text_survives_names_that_mean_something_to_toml(figures):
    name = 'a "b" # c \\ d\n[x]'
    mapping = {
        "schema": 1,
        "name": name,
        "unit": "F",
        "piece": {"species": 'sa"p#'},
        "stages": [{"kind": "cool", "below": 140}],
    }
    text = profile_text(mapping, ["cool"], figures | {"rig": "one\ntwo"})
    assert tomllib.loads(text) == mapping


def test_piece_file_takes_inches_and_refuses_unknown_keys(tmp_path):
    path = tmp_path / "piece.toml"
    path.write_text("".join(f"{key} = {json.dumps(value)}\n" for key, value in SIDE.items()))
    asked = asked_for(read_piece(path), None)
    assert asked.piece["thickness_mm"] == 1.7
    assert asked.piece["tightest_radius_mm"] == 55
    assert asked.piece["kind"] == "side"
    path.write_text('species = "sapele"\nthicknes = 1.7\n')
    with pytest.raises(FileError, match="line 2: thicknes is not a key of a piece file") as caught:
        read_piece(path)
    assert caught.value.hint == "did you mean thickness?"
    path.write_text('species = "sapele"\nzebra = 1.7\n')
    with pytest.raises(FileError) as caught:
        read_piece(path)
    assert "known are bend_thickness, " in caught.value.hint


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"thickness": "1.7 furlongs"}, "is not a number with one of the units"),
        ({"thickness": "40mm"}, "may be 0.4 to 6 mm"),
        ({"wetted": None}, "is missing: wetted"),
        ({"width_mm": None}, "is missing: width$"),
        ({"colour": "burnt"}, "known are none, faint, visible"),
        ({"shape": "round"}, "known are waist, waistless, cutaway"),
        ({"plies": 9}, "plies"),
    ],
)
def test_wrong_pieces_end_in_one_clear_error(change, said):
    with pytest.raises(UsageError, match=said):
        asked_for({**SIDE, **change}, None)


def test_what_is_missing_is_asked_with_suggestions():
    asked = asked_for({"radius": 60}, Asker(take_defaults=True))
    assert asked.piece["species"] == "sapele"
    assert asked.piece["wetted"] == "soaked"
    assert asked.piece["tightest_radius_mm"] == 60


def test_strips_are_asked_for_after_the_wood_and_may_stay_open(monkeypatch):
    assert asked_for({}, Asker(take_defaults=True)).side is None
    answers = {"Mark how the strips lie, so that bass and treble are drawn": "yes"}
    monkeypatch.setattr(
        Asker, "ask", lambda _self, question, suggestion, _kind=None: answers.get(question, suggestion)
    )
    side = asked_for({}, Asker(take_defaults=False)).side
    assert side["show_face"] == "cross"
    assert side["waist_mark_mm"] == 245.0
    assert asked_for({"kind": "batch"}, Asker(take_defaults=False)).side is None


def test_a_whole_piece_is_not_asked_for_more():
    given = {key: value for key, value in SIDE.items() if key != "radius"}
    asked = asked_for(given, Asker(take_defaults=True))
    assert "tightest_radius_mm" not in asked.piece
    assert "figure" not in asked.piece


def test_an_outline_gives_radius_and_length(tmp_path):
    drawing = tmp_path / "form.svg"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" viewBox="0 0 400 400">'
        '<path d="M0,200 A50,50 0 0 1 100,200 A40,40 0 0 0 180,200"/></svg>'
    )
    given = {key: value for key, value in SIDE.items() if key not in ("radius", "length_mm")}
    asked = asked_for({**given, "outline": str(drawing)}, None)
    assert asked.piece["tightest_radius_mm"] == pytest.approx(40, rel=0.01)
    # Two half circles of 50 and 40 mm.
    assert asked.piece["length_mm"] == pytest.approx(3.14159 * 90, rel=0.001)
    assert "svgpathtools" in asked.drawing


def test_pale_and_figured_wood_is_kept_lighter_unless_asked_otherwise():
    assert usual_colour({"species": "white ash"}) == "faint"
    assert usual_colour({"species": "koa", "figure": "curly"}) == "faint"
    assert asked_for({**SIDE, "figure": "curly", "colour": "visible"}, None).colour == "visible"


def test_over_bend_follows_the_notebooks_own_sides(figures):
    with memory_book():
        fill(3, 12)
        found = collect("sapele")
        learned, why_not = try_to_learn(found.cases)
    spring = Spring(why_not, len(found.cases), 127.0, learned, found)
    told = over_bend(spring, figures)
    low, high = told["interval_mm"]
    assert low < told["gap_mm"] < high
    assert "24 of your own sides" in over_bend_sentence(told)


@pytest.mark.parametrize(
    ("gap_mm", "interval_mm", "words"),
    [
        (0.9, [0.4, 1.5], "close the next form by that much"),
        (-0.9, [-1.5, -0.4], "open the next form by that much"),
        (-0.2, [-1.5, 1.1], "may as well be none, so leave the next form as it is"),
    ],
)
def test_next_form_is_changed_only_where_the_sign_is_known(gap_mm, interval_mm, words):
    told = {"why_not": "", "sides": 24, "gap_mm": gap_mm, "interval_mm": interval_mm}
    assert words in over_bend_sentence(told)


@pytest.fixture
def told_book(tmp_path, figures):
    """What a real notebook of 24 sides tells of a plan."""
    path = tmp_path / "real.sqlite"
    with opened(path, make=True):
        fill(5, 12)
    spring = learned_from(path, "sapele")
    return spring, {**figures, "set_c": spring.set_c, "over_bend": over_bend(spring, figures)}


def test_set_from_the_notebook_says_so_on_screen_page_and_profile(told_book, done):
    spring, figures = told_book
    sentence = suggested_sentence(figures["over_bend"], figures["set_c"], "C")
    assert sentence.startswith(
        f"24 of your own sides suggest a set at {spring.set_c:.0f} C (a mean gap of nothing"
    )
    assert sentence.endswith(": this plan uses it.")
    assert "this plan uses it" in " ".join(" ".join(summary(figures, "")).split())
    profile = load_profile(done[0] / "profile.toml", example_rig().rig)
    purposes = ["tight", "tight", "rest", "then", "then", "set", "cool"][-len(profile.mapping["stages"]) :]
    text = " ".join(profile_text(profile.mapping, purposes, figures).replace("#", " ").split())
    assert "24 of your own sides suggest a set at" in text
    assert "this plan uses it" in page.page_text(figures, profile.mapping, "profile.toml", "<svg></svg>")


def test_wood_that_is_never_soft_is_not_called_soft(figures):
    stiff = json.loads(json.dumps(figures))
    one = stiff["bends"][0]
    one["least_k"], one["soft_s"] = {"low": -25.0, "mid": -18.0, "high": -9.0}, 0.0
    said = target_sentence(stiff, 0)
    assert "not soft on all rigs" in said
    assert "soft while" not in said
    assert soft_sentence(stiff, 0).endswith("by the stiff end of the curve), from the cue on")
    assert "not soft" not in target_sentence(figures, 0)


def test_stretch_of_plies_that_slip_is_told_as_each_plys_own(figures):
    assert "each ply" not in stretch_sentence(figures)
    plies = {**figures, "piece": {**figures["piece"], "plies": 2}}
    assert "thick, each ply by itself: t/(2R+t) = " in stretch_sentence(plies)


def test_colour_that_is_one_word_on_all_rigs_is_told_once(done):
    text = (done[0] / "profile_plan.html").read_text(encoding="utf-8")
    assert "none to none" not in text
    assert "faint to faint" not in text
    assert re.search("<td>(none|faint)</td>", text)


def test_set_that_was_asked_for_is_kept_beside_the_suggestion(told_book):
    spring, figures = told_book
    said = suggested_sentence(figures["over_bend"], spring.set_c - 8, "F")
    assert "this plan has" in said
    assert said.endswith("F, as it was asked for.")


def test_notebook_that_suggests_no_set_says_why(tmp_path, figures):
    path = tmp_path / "real.sqlite"
    with opened(path, make=True):
        fill(4, 10)
        Side.update(set_c=127.0).execute()
    told = over_bend(learned_from(path, "sapele"), figures)
    assert "Your own sides suggest no set: of the set temperature nothing can be told" in suggested_sentence(
        told, 127.0
    )
    assert suggested_sentence({"why_not": "not enough yet", "sides": 2}, 127.0) == ""


def test_too_few_sides_are_not_enough_yet(figures):
    with memory_book():
        fill(3, 2)
        found = collect("sapele")
        learned, why_not = try_to_learn(found.cases)
    told = over_bend(Spring(why_not, len(found.cases), None, learned, found), figures)
    assert "not enough yet" in over_bend_sentence(told)


def test_a_notebook_that_is_named_and_missing_is_an_error(tmp_path):
    with pytest.raises(FileError):
        learned_from(tmp_path / "none.sqlite", "sapele")


def test_picture_shows_the_best_hold_of_each_target(figures):
    best = draw.best_of(figures["tried"])
    targets = [one["target_c"] for one in best]
    assert targets == sorted(set(targets))
    for one in figures["tried"]:
        same = next(held for held in best if held["target_c"] == one["target_c"])
        assert same["least_k"]["low"] >= one["least_k"]["low"]


@pytest.mark.parametrize("name", JOBS)
def test_shipped_jobs_pass_check_on_their_rig(name):
    job = JOBS[name]
    profile = load_profile(job.file(name), load_rig(LIBRARY / job.rig).rig)
    for key, value in job.piece.items():
        if key != "shape":
            assert profile.mapping["piece"][key] == value
    assert "# Grade: " in job.file(name).read_text(encoding="utf-8")


def test_jobs_are_listed_and_unknown_ones_refused():
    listed = invoke("--like", "list")
    assert listed.exit_code == 0
    assert [line.split()[0] for line in listed.output.splitlines()] == list(JOBS)
    assert invoke("--like", "harp", "-o", "none.toml").exit_code == 2


def test_worst_rig_bounds_the_others_whichever_side_of_softening_it_is():
    spread = {"low": -24.0}
    bend = {"least_spread_k": spread, "soft_s": 60.0, "followed_s": 120.0}
    for low, mid, said in ((4.0, 20.0, "at least 4 C above"), (-9.0, 7.0, "at most 9 C below")):
        bend["least_k"] = {"low": low, "mid": mid}
        assert f"is {said} softening" in soft_sentence({"unit": "C", "bends": [bend]}, 0)
    for job in JOBS:
        assert not re.search(r"at least \d+ C below", JOBS[job].file(job).read_text(encoding="utf-8"))


def test_margins_in_fahrenheit_are_differences():
    assert margin(-10.0, "F") == "18 F below"


def test_wettings_asked_for_are_those_the_board_knows():
    options = next(one for one in cli.get_command(None, "plan").params if one.name == "wetted")
    assert tuple(options.type.choices) == core_profile.WETTED
