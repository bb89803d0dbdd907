"""`check` with the rig beside a profile, and blankets that reach past the wood."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from matplotlib.text import Text

import ribwright_host
from ribwright_host import check_draw
from ribwright_host.cli import cli
from ribwright_host.profiles import load_profile
from ribwright_host.rigs import load_rig
from ribwright_host.side.overhang import overhang_lines

LIBRARY = Path(ribwright_host.__file__).parent / "library"
EXAMPLE_RIG = LIBRARY / "rig_two_zone_120v.toml"
RIG_TEXT = EXAMPLE_RIG.read_text(encoding="utf-8")


def lines_of(tmp_path, name="planned_waist", lengths="mm", rig=EXAMPLE_RIG, **piece):
    """What hangs over, with keys of [piece] put in place of the shipped profile's."""
    text = (LIBRARY / f"{name}.toml").read_text(encoding="utf-8")
    for key, value in piece.items():
        start = text.index(f"\n{key} = ") + 1
        text = text[:start] + f"{key} = {value}" + text[text.index("\n", start) :]
    path = tmp_path / "bend.toml"
    path.write_text(text, encoding="utf-8")
    rig_file = load_rig(rig)
    return overhang_lines(load_profile(path, rig_file.rig).mapping, rig_file.rig, lengths)


def test_blanket_that_fits_is_not_spoken_of(tmp_path):
    assert lines_of(tmp_path, length_mm=600, width_mm=90) == []


def test_blanket_a_little_wider_than_the_strip_is_as_it_should_be(tmp_path):
    assert lines_of(tmp_path, length_mm=600, width_mm=80) == []
    told = lines_of(tmp_path, length_mm=600, width_mm=72)
    assert [line.split(".")[0] for line in told] == [
        f"Blanket {name} overhangs the strip by 9 mm along each edge" for name in ("waist", "full")
    ]


def test_blanket_longer_than_the_strip_is_told_with_what_to_do(tmp_path):
    (told,) = lines_of(tmp_path)
    assert told.startswith("Blanket full overhangs the strip by 20 mm at each end and 5 mm along each edge.")
    assert "hotter than any reading" in told
    assert "0.787 in at each end" not in told
    assert "0.787 in at each end" in lines_of(tmp_path, lengths="in")[0]


def test_strips_of_a_batch_lie_side_by_side(tmp_path):
    told = lines_of(tmp_path, "planned_bindings")
    assert all(
        "overhangs 8 strips side by side by" in line and "21 mm along each edge" in line for line in told
    )


def test_wood_past_the_blankets_stays_cold(tmp_path):
    told = lines_of(tmp_path, "planned_long_blanket", length_mm=640, width_mm=100)
    assert told == [
        "The strip is 640 mm long, the blankets of this profile end to end 600 mm: 40 mm of it stay cold.",
        "The wood is 100 mm wide, blanket full 90 mm: 5 mm along each edge stay colder.",
    ]


def test_narrow_end_of_a_taper_is_told_once_for_both_hands():
    rig = load_rig(EXAMPLE_RIG).rig
    mapping = load_profile(LIBRARY / "planned_waist.toml", rig).mapping
    taper = {"neck_width_mm": 62, "tail_width_mm": 78}
    (told,) = overhang_lines(mapping, rig, "mm", taper)[1:]
    assert told.startswith("At the neck end the strip is 62 mm wide, so that blanket full ")
    assert "overhangs it by 14 mm along each edge there" in told
    assert overhang_lines(mapping, rig, "mm", {"neck_width_mm": 76, "tail_width_mm": 78})[1:] == []
    (told,) = overhang_lines(mapping, rig, "mm", taper | {"treble": {"neck_width_mm": 60}})[1:]
    assert "is 60 mm wide" in told


def test_touch_up_has_the_rest_of_its_strip_cold_on_purpose(tmp_path):
    assert not [line for line in lines_of(tmp_path, "planned_touch_up") if "cold" in line]


@pytest.fixture
def shop(tmp_path):
    """A folder with the waist's profile, and what `check` says of it."""
    profile = tmp_path / "bend.toml"
    profile.write_bytes((LIBRARY / "planned_waist.toml").read_bytes())

    def check(*more):
        return CliRunner().invoke(cli, ["check", str(profile), *more])

    return tmp_path, check


def test_rig_beside_a_profile_is_the_one_it_is_checked_against(shop):
    folder, check = shop
    assert "Not checked against a rig: add its file" in check().stdout
    (folder / "rig.toml").write_text(RIG_TEXT, encoding="utf-8")
    assert "rig.toml, which lies beside it." in check().stdout
    assert "MIND: Blanket full overhangs" in check().stdout
    assert "overhangs" in json.loads(check("--json").stdout)[0]["warnings"][0]
    one_zone = (LIBRARY / "rig_one_zone_120v.toml").read_text(encoding="utf-8")
    (folder / "rig.toml").write_text(one_zone, encoding="utf-8")
    assert check().exit_code == 3
    assert 'stage 1 zone 1 is "waist", this rig has: full' in check().stderr


def test_rig_beside_with_a_mistake_is_said_and_not_used(shop):
    folder, check = shop
    (folder / "rig.toml").write_text(RIG_TEXT.replace("volts = 120", "volts = 12"), encoding="utf-8")
    done = check()
    assert done.exit_code == 0
    assert "which lies beside it and has a mistake" in done.stdout
    assert "volts" in done.stdout


def test_named_rig_goes_before_the_one_beside(shop):
    folder, check = shop
    (folder / "rig.toml").write_text("nothing", encoding="utf-8")
    done = check("--rig", str(EXAMPLE_RIG))
    assert done.exit_code == 0
    assert "lies beside it" not in done.stdout


def test_two_rigs_leave_the_choice_to_the_maker(shop):
    folder, check = shop
    (folder / "rig.toml").write_text(RIG_TEXT, encoding="utf-8")
    done = check(str(EXAMPLE_RIG), str(LIBRARY / "rig_one_zone_120v.toml"))
    assert "since there are several: say which with --rig" in done.stdout


def test_picture_names_every_stage_its_end_and_its_cues(shop):
    folder, check = shop
    done = check("--picture", str(folder / "bend.svg"), "--unit", "F")
    assert done.exit_code == 0, done.stderr
    assert f"Drawn in {folder / 'bend.svg'}." in done.stdout
    mapping = load_profile(LIBRARY / "planned_waist.toml").mapping
    assert (folder / "bend.svg").read_text(encoding="utf-8").startswith("<?xml")
    drawn = check_draw.drawing(mapping, "F")
    said = [text.get_text() for text in drawn.findobj(Text)]
    for number, stage in enumerate(mapping["stages"], 1):
        assert any(" ".join(one.split()) == f"{number} {stage['name']}" for one in said), stage
        assert all(any(f"cue: {cue}" in one for one in said) for cue in stage.get("cues", ()))
    # 150 and 130 C, and the set at 127.
    assert {"302", "266", "261"} <= set(said)
    assert any("below 140 F" in one for one in said)


@pytest.mark.parametrize(
    ("name", "words"), [("bend.gif", "neither a PNG nor an SVG"), ("no/bend.png", "cannot be written")]
)
def test_picture_that_cannot_be_is_refused(shop, name, words):
    folder, check = shop
    done = check("--picture", str(folder / name))
    assert done.exit_code in (2, 3)
    assert words in done.stderr


def test_picture_of_two_profiles_is_refused(shop):
    folder, check = shop
    done = check(str(LIBRARY / "planned_teardrop.toml"), "--picture", str(folder / "two.png"))
    assert done.exit_code == 2
    assert "draws one profile, there are 2" in done.stderr


def test_zone_has_a_line_only_where_a_stage_heats_it():
    mapping = load_profile(LIBRARY / "planned_waist.toml").mapping
    by_zone = check_draw.paths(mapping["stages"], "C", "C")
    heated = {
        zone: [number for number, stage in enumerate(mapping["stages"]) if zone in stage.get("zones", ())]
        for zone in ("waist", "full")
    }
    assert {zone: [int(at[0]) for at, _ in pieces] for zone, pieces in by_zone.items()} == heated
    assert by_zone["waist"][0][1] == [check_draw.ROOM_C, 150.0]
