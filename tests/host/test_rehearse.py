"""The command rehearse: its files, its words, its picture, and its one-line errors."""

import copy
import json
from xml.etree import ElementTree as ET

import pytest
from click.testing import CliRunner
from matplotlib.colors import to_hex

from ribwright_host import rehearse_figures
from ribwright_host.cli import cli
from ribwright_host.figures import INDIGO
from ribwright_host.rehearse_words import MARK, WIDTH, summary

PNG_MAGIC = b"\x89PNG\r\n\x1a\n"
PROFILE = """\
schema = 1
name = "short bend"
unit = "C"

[piece]
kind = "side"
species = "sapele"
thickness_mm = 1.7
width_mm = 80
length_mm = 560
tightest_radius_mm = 45
wetted = "misted"

[[stages]]
name = "warm"
kind = "ramp"
zones = ["waist"]
target = 100
longest_min = 12

[[stages]]
name = "press"
kind = "hold"
zones = ["waist"]
target = 100
minutes = 0.3
cues = ["home"]

[[stages]]
kind = "set"
zones = ["waist"]
target = 95
minutes = 0.2

[[stages]]
kind = "cool"
below = 90
"""


def rehearse(folder, *more, text=PROFILE):
    (folder / "profile.toml").write_text(text, encoding="utf-8")
    return CliRunner().invoke(cli, ["rehearse", str(folder / "profile.toml"), *more])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """A rehearsal with two drawn rigs, its answer for programs and its folder."""
    folder = tmp_path_factory.mktemp("bend")
    result = rehearse(folder, "--plants", "2", "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout), folder / "rehearsal"


@pytest.fixture(scope="module")
def figures(done):
    return json.loads((done[1] / "rehearsal.json").read_text(encoding="utf-8"))


def words_of(figure):
    inside = [text.get_text() for axes in figure.axes for text in axes.texts]
    return (
        inside + [axes.get_title(loc="left") for axes in figure.axes] + [t.get_text() for t in figure.texts]
    )


def test_three_files_are_written(done):
    answer, folder = done
    assert sorted(path.name for path in folder.iterdir()) == [
        "rehearsal.json",
        "rehearsal.png",
        "rehearsal.svg",
    ]
    assert answer["files"] == [str(folder / f"rehearsal.{end}") for end in ("png", "svg", "json")]
    assert (folder / "rehearsal.png").read_bytes().startswith(PNG_MAGIC)
    root = ET.parse(folder / "rehearsal.svg").getroot()  # noqa: S314 - our own file
    assert root.tag == "{http://www.w3.org/2000/svg}svg"


def test_answer_for_programs_holds_the_figures_and_says_simulated(done, figures):
    answer, _ = done
    assert answer["simulated"] is True
    assert answer["plants"] == 2
    assert answer["columns"] == ["upper bout", "waist", "lower bout"]
    assert answer["trips"] == []
    assert {bridge["name"] for bridge in answer["unverified"]} >= {"softening", "colour", "stretch"}
    # 1.7 / (2 x 45 + 1.7), worked by hand.
    assert answer["stretch"]["strain_percent"] == pytest.approx(1.854, abs=0.001)
    assert "series" not in answer
    waist = figures["series"]["columns"]["waist"]
    assert set(waist) == {"mid_c", "hot_c", "moisture_percent", "margin_k", "colour_min"}
    assert len(waist["mid_c"]["mid"]) == len(figures["series"]["time_s"])


def test_summary_fits_a_screen_and_marks_what_is_unverified(figures):
    lines = summary(figures, "C", "the example rig")
    assert len(lines) <= 30
    assert max(len(line) for line in lines) <= WIDTH
    assert lines[0].startswith("SIMULATED: short bend on two-zone bench rig (the example rig), 3 rigs")
    text = " ".join(" ".join(lines).split())
    for judged in ("when first pressed", "Set*", "Colour*", "it bears*"):
        assert judged in text
    assert f"{MARK} rests on an unverified bridge" in text
    assert "Shut down: none of the rigs." in text


def test_summary_in_fahrenheit_converts_points_and_differences(figures):
    changed = copy.deepcopy(figures)
    # 100 C boils water, 212 F; 10 K are 18 degrees F: by the definition of the scale.
    changed["stages"][0]["columns"]["waist"]["peak_c"] = {"low": 100.0, "mid": 100.0, "high": 100.0}
    changed["bends"][0]["press_margin_k"] = {"low": -10.0, "mid": 10.0, "high": 20.0}
    text = " ".join(" ".join(summary(changed, "F")).split())
    assert "hottest wood waist 212 F (212 to 212)" in text
    assert "18 degrees F above softening (18 below to 36 above)" in text


@pytest.mark.parametrize(
    ("word", "never", "said"),
    [
        ("soft", 0, "soft enough*"),
        ("partly soft", 0, "wait so long"),
        ("stiff", 3, "On 3 of 3 rigs it stays stiffer"),
    ],
)
def test_summary_says_what_to_do_about_stiff_wood(figures, word, never, said):
    changed = copy.deepcopy(figures)
    after = None if never else {"low": 1.0, "mid": 20.0, "high": 45.0}
    changed["bends"][0] |= {"word": word, "never_soft": never, "soft_after_s": after}
    assert said in " ".join(" ".join(summary(changed, "C")).split())


def test_summary_tells_trips_and_a_missing_radius(figures):
    changed = copy.deepcopy(figures)
    trips = {"code": "ceiling", "zone": "waist", "stage": 2, "rigs": 2}
    changed |= {"trips": [trips], "unfinished": 1, "stretch": None}
    text = " ".join(" ".join(summary(changed, "C")).split())
    assert "2 of 3 in stage 2 by ceiling, waist (" in text
    assert "1 of 3 never came to an end" in text
    assert "add tightest_radius_mm to [piece]" in text


def test_picture_says_simulated_names_stages_and_marks_the_unverified(figures):
    figure = rehearse_figures.draw(figures)
    words = words_of(figure)
    assert rehearse_figures.SIMULATED in words
    assert {"upper bout", "waist", "lower bout"} <= set(words)
    assert any(text.startswith("Stages: 1 warm, 2 press, 3 set 3") for text in words)
    assert any("unverified bridges" in text and "softening" in text for text in words)
    # A strip and four panels for each column; softening, water and colour are hatched, temperature is not.
    assert len(figure.axes) == 3 * 5
    hatched = [any(band.get_hatch() for band in axes.collections) for axes in figure.axes]
    assert hatched == [False, False, True, True, True] * 3


def test_picture_says_when_rigs_drop_out(figures):
    assert not any("do not come to the end" in text for text in words_of(rehearse_figures.draw(figures)))
    trips = {"code": "ceiling", "zone": "waist", "stage": 2, "rigs": 2}
    words = words_of(rehearse_figures.draw(figures | {"trips": [trips]}))
    assert any(text.startswith("2 of 3 rigs do not come to the end") for text in words)


def test_picture_draws_the_middle_of_the_bands(figures):
    waist_temperature = rehearse_figures.draw(figures, "F").axes[6]
    # A line of two points is the level from which wood darkens.
    lines = [line for line in waist_temperature.get_lines() if len(line.get_xdata()) > 2]
    drawn = next(line for line in lines if to_hex(line.get_color()) == INDIGO)
    mid_c = figures["series"]["columns"]["waist"]["mid_c"]["mid"]
    assert list(drawn.get_ydata()) == pytest.approx([1.8 * value + 32.0 for value in mid_c])


def test_the_same_figures_give_the_same_svg(figures, tmp_path):
    (tmp_path / "again").mkdir()
    first = rehearse_figures.save(figures, tmp_path)[1].read_bytes()
    assert first == rehearse_figures.save(figures, tmp_path / "again")[1].read_bytes()


def test_rig_beside_the_profile_is_taken(tmp_path):
    (tmp_path / "rig.toml").write_text("schema = 1\n", encoding="utf-8")
    result = rehearse(tmp_path, "--plants", "0")
    assert result.exit_code == 3
    assert "rig.toml" in result.stderr
    assert result.stderr.count("\n") == 1


def test_run_that_trips_ends_with_its_own_code_after_the_files(tmp_path):
    text = PROFILE.replace("longest_min = 12", "longest_min = 0.5")
    result = rehearse(tmp_path, "--plants", "0", text=text)
    assert result.exit_code == 9
    assert result.stderr.startswith("trip: the rehearsal on the rig as its file says ended by ")
    assert result.stderr.count("\n") == 1
    assert "Shut down: 1 of 1 in stage 1 by ramp_late, waist" in " ".join(result.stdout.split())
    assert (tmp_path / "rehearsal" / "rehearsal.png").is_file()


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('species = "sapele"', 'species = "cardboard"', "cardboard"),
        ("thickness_mm = 1.7", "thickness_mm = 0", "thickness_mm"),
        ('zones = ["waist"]', 'zones = ["tail"]', "tail"),
    ],
)
def test_mistake_in_the_profile_is_one_line(tmp_path, old, new, said):
    result = rehearse(tmp_path, "--plants", "0", text=PROFILE.replace(old, new))
    assert result.exit_code == 3
    assert said in result.stderr
    assert result.stderr.count("\n") == 1


def test_folder_that_cannot_be_made_is_one_line(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = rehearse(tmp_path, "--plants", "0", "--out", str(tmp_path / "file" / "below"))
    assert result.exit_code == 3
    assert "cannot be written: " in result.stderr
    assert result.stderr.count("\n") == 1


def test_too_many_rigs_do_not_fit_the_command(tmp_path):
    result = CliRunner().invoke(cli, ["rehearse", str(tmp_path / "profile.toml"), "--plants", "501"])
    assert result.exit_code == 2
    assert "501" in result.stderr
