"""Starter files: good as they are, by asking or not, and never over a file that is there."""

import tomllib

import click
import pytest
from click.testing import CliRunner

from host.peer import PROFILE_TEXT, RIG_TEXT
from ribwright_board.core import rig as core_rig
from ribwright_board.core import units
from ribwright_host.cli import cli
from ribwright_host.cli_common import prompted

runner = CliRunner()


def new(folder, *more, answers=None):
    return runner.invoke(cli, ["new", str(folder), *more], input=answers)


def read(folder, name):
    return tomllib.loads((folder / name).read_text(encoding="utf-8"))


def test_suggestions_give_the_shipped_rig_and_a_good_profile(tmp_path):
    result = new(tmp_path / "shop", "--yes")
    assert result.exit_code == 0
    assert read(tmp_path / "shop", "rig.toml") == tomllib.loads(RIG_TEXT)
    profile = read(tmp_path / "shop", "profile.toml")
    assert profile["stages"] == tomllib.loads(PROFILE_TEXT)["stages"]
    paths = [str(tmp_path / "shop" / name) for name in ("rig.toml", "profile.toml")]
    assert runner.invoke(cli, ["check", *paths]).exit_code == 0


def test_comments_that_explain_the_lines_are_kept(tmp_path):
    new(tmp_path, "--yes")
    text = (tmp_path / "rig.toml").read_text(encoding="utf-8")
    assert text.count("#") >= RIG_TEXT.count("#") - 1


ANSWERS = ["F", "bench", "pico2", "230", "50", "6", "mechanical", "100000", "200", "MAX31856", "j", "3"]
ANSWERS += ["waist", "150", "6 in", "3.5 in", "upper bout", "300", "", "", "lower bout", "310", "", ""]
ANSWERS += ["", "yes", "", "", "passive", ""]
ANSWERS += ["walnut", "0.08 in", "", "", "wiped", "", "320", ""]


def test_answers_in_inches_and_fahrenheit_give_files_that_hold(tmp_path):
    result = new(tmp_path, answers="\n".join(ANSWERS) + "\n")
    assert result.exit_code == 0, result.output
    rig, profile = read(tmp_path, "rig.toml"), read(tmp_path, "profile.toml")
    assert [zone["name"] for zone in rig["zones"]] == ["waist", "upper bout", "lower bout"]
    # 6 in and 3.5 in, by the definition of the inch as 25.4 mm.
    assert (rig["zones"][0]["length_mm"], rig["zones"][0]["width_mm"]) == (152.4, 88.9)
    assert "control" not in rig
    assert rig["zones"][2]["relay"] == "mechanical"
    assert rig["panel"] == {"knob_a": 6, "knob_b": 7, "buzzer": 3, "buzzer_type": "passive"}
    assert {(zone["chip"], zone["thermocouple"]) for zone in rig["zones"]} == {("MAX31856", "J")}
    # 100 000 operations in 200 h: one in 7.2 s.
    assert core_rig.parse(rig).window_ms == 7200
    assert (rig["unit"], profile["unit"], profile["stages"][0]["target"]) == ("F", "F", 320)
    assert all(units.c_from(zone["ceiling"], "F") <= units.FIRMWARE_CEILING_C for zone in rig["zones"])
    warm = next(stage for stage in profile["stages"] if stage["name"] == "warm the bouts")
    assert warm["zones"] == ["upper bout", "lower bout"]
    # The answer is the heat for the bend; where the waist rests it stays cool.
    rest = next(stage for stage in profile["stages"] if stage["name"] == "rest the waist")
    assert rest["target"] == pytest.approx(units.f_from_c(80), abs=1)
    assert profile["piece"]["wetted"] == "wiped"
    assert "figure" not in profile["piece"]
    paths = [str(tmp_path / name) for name in ("rig.toml", "profile.toml")]
    assert runner.invoke(cli, ["check", *paths]).exit_code == 0


def test_rig_without_relays_only_watches(tmp_path):
    answers = ["", "", "", "", "", "", "none", *[""] * 22]
    result = new(tmp_path, answers="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    rig = read(tmp_path, "rig.toml")
    assert core_rig.parse(rig).watches
    assert ["relay_pin" in zone for zone in rig["zones"]] == [False, False]
    told = runner.invoke(cli, ["check", str(tmp_path / "rig.toml"), str(tmp_path / "profile.toml")])
    assert told.exit_code == 0
    assert "It only watches" in told.output
    # It cannot keep anything below its ceiling, and has no gains.
    assert "a run ends when it reads more than" in told.output
    assert "never above" not in told.output
    assert "gains" not in told.output


def test_rig_of_one_blanket_bends_everything_at_once(tmp_path):
    answers = ["", "", "", "", "", "", "", "", "", "1", *[""] * 15, ""]
    result = new(tmp_path, answers="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    zones = {zone for stage in read(tmp_path, "profile.toml")["stages"] for zone in stage.get("zones", [])}
    assert zones == {"full"}


def test_max6675_is_asked_for_no_type(tmp_path):
    answers = ["", "", "", "", "", "", "", "MAX6675", "1", *[""] * 15, ""]
    result = new(tmp_path, answers="\n".join(answers) + "\n")
    assert result.exit_code == 0, result.output
    assert "Type of the thermocouples" not in result.output
    assert [(zone["chip"], zone["thermocouple"]) for zone in read(tmp_path, "rig.toml")["zones"]] == [
        ("MAX6675", "K")
    ]


@pytest.mark.parametrize("name", ["rig.toml", "profile.toml"])
def test_file_that_is_there_is_left_alone(tmp_path, name):
    (tmp_path / name).write_text("mine", encoding="utf-8")
    result = new(tmp_path, "--yes")
    assert result.exit_code == 3
    assert result.stderr.startswith(f"exists: {tmp_path / name}")
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text(encoding="utf-8") == "mine"


def test_answers_that_do_not_fit_together_write_nothing(tmp_path):
    # A blanket of 1900 W at 120 V draws 15.83 A from a branch of 12 A.
    answers = ["", "", "", "", "", "", "", "", "", "1", "", "1900", "", "", "", "", ""]
    result = new(tmp_path / "shop", answers="\n".join(answers) + "\n")
    assert result.exit_code == 3
    assert "15.83 A" in result.stderr
    assert not (tmp_path / "shop").exists()


SIDE_ANSWERS = ["yes", "treble", "chalk cross", "blue line", "right", "", "10 in", "62", "3 in"]


def test_how_the_strips_lie_is_asked_and_stands_in_the_file(tmp_path):
    answers = [""] * 28
    result = new(tmp_path, answers="\n".join([*answers, *SIDE_ANSWERS]) + "\n")
    assert result.exit_code == 0, result.output
    profile = read(tmp_path, "profile.toml")
    assert profile["side"] == {
        "hand": "treble",
        "show_face": "chalk cross",
        "top_edge": "blue line",
        "neck_end": "right",
        "form": "inside",
        "waist_mark_mm": 254,
        "neck_width_mm": 62,
        "tail_width_mm": 76.2,
    }
    assert (tmp_path / "profile.toml").read_text(encoding="utf-8").count("How the strips lie") == 1
    paths = [str(tmp_path / name) for name in ("rig.toml", "profile.toml")]
    assert "Strip one is the treble side" in runner.invoke(cli, ["check", *paths]).output


def test_mains_frequency_is_one_of_the_two_that_there_are(tmp_path):
    at = ANSWERS.index("50")
    result = new(tmp_path, answers="\n".join([*ANSWERS[:at], "55", *ANSWERS[at:]]) + "\n")
    assert result.exit_code == 0, result.output
    # Asked again at once, where a file of 55 Hz would be refused at the end of all questions.
    assert result.output.count("Mains frequency, Hz") == 2
    assert read(tmp_path, "rig.toml")["mains"]["hertz"] == 50


def test_answers_of_a_side_that_contradict_write_nothing(tmp_path):
    wrong = [*SIDE_ANSWERS[:6], "600", *SIDE_ANSWERS[7:]]
    result = new(tmp_path / "shop", answers="\n".join([*[""] * 28, *wrong]) + "\n")
    assert result.exit_code == 3
    assert "ends at 560 mm" in result.stderr


def with_whole_panel(board, zones):
    """Answers for a rig of so many zones with everything on its panel, pins as proposed."""
    display = [] if zones == 4 and board != "pico2" else ["SSD1306", "", ""]
    watts = [each for at in range(zones) for each in ("", "80" if at else "", "", "")]
    # The knob's push switch is asked for where a display shows its list and a pin is left.
    push = ["yes", ""] if display and (board != "esp32" or zones < 3) else []
    parts = [*display, "yes", "", "", *push, "active", ""]
    return ["", "", board, "", "", "", "", "", "", str(zones), *watts, *parts, *[""] * 8]


@pytest.mark.parametrize("board", ["pico", "pico2", "esp32"])
@pytest.mark.parametrize("zones", [1, 2, 3, 4])
def test_proposed_panel_passes_check_and_wiring_on_every_board(tmp_path, board, zones):
    result = new(tmp_path, answers="\n".join(with_whole_panel(board, zones)) + "\n")
    assert result.exit_code == 0, result.output
    panel = read(tmp_path, "rig.toml")["panel"]
    assert ("display" in panel) == (zones < 4 or board == "pico2")
    assert {"knob_a", "knob_b", "buzzer", "buzzer_type"} <= set(panel)
    assert ("knob_push" in panel) == ("display" in panel and (board, zones) != ("esp32", 3))
    text = (tmp_path / "rig.toml").read_text(encoding="utf-8")
    # The example's own words beside each line stay, and what is stated is no longer a remark.
    assert "# through a transistor" in text
    assert "# [panel]" not in text
    assert "# knob_a" not in text
    assert ("\nknob_push" in text) == ("knob_push" in panel)
    paths = [str(tmp_path / name) for name in ("rig.toml", "profile.toml")]
    checked = runner.invoke(cli, ["check", *paths])
    assert checked.exit_code == 0
    assert ("opens a list of acts" in " ".join(checked.output.split())) == ("knob_push" in panel)
    drawn = runner.invoke(cli, ["wiring", paths[0], "--out", str(tmp_path / "drawn")])
    assert drawn.exit_code == 0, drawn.output
    assert list((tmp_path / "drawn").glob("panel*"))


def test_pin_of_the_panel_that_is_taken_writes_nothing(tmp_path):
    answers = with_whole_panel("pico", 2)
    at = answers.index("SSD1306") + 1
    answers[at] = "18"  # the converters' clock
    result = new(tmp_path / "shop", answers="\n".join(answers) + "\n")
    assert result.exit_code == 3
    assert "18" in result.stderr
    assert not (tmp_path / "shop").exists()


def test_answer_that_is_no_number_is_told_plainly_and_asked_again():
    @click.command()
    def asks():
        click.echo(f"taken: {prompted('Volts at the wall', 120, click.IntRange(100, 250))}")

    said = CliRunner().invoke(asks, input="plenty\n1200\n230\n").output
    assert "'plenty' is not a whole number" in said
    assert "1200 is not in the range" in said
    assert said.endswith("taken: 230\n")
