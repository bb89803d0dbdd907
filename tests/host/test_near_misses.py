"""What a beginner gets wrong is told by what they did, not by what comes of it."""

from importlib.resources import files

import pytest

from host.commands import one_line, run

LIBRARY = files("ribwright_host") / "library"


@pytest.fixture
def shop(tmp_path):
    for name, example in (("rig", "rig_two_zone_120v"), ("profile", "sapele_baritone_side")):
        text = (LIBRARY / f"{example}.toml").read_text(encoding="utf-8")
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("command", ["rehearse", "upload"])
def test_a_rig_where_a_profile_belongs(command, shop):
    said = one_line(run(command, shop / "rig.toml"), "which_file", 3)
    assert "rig.toml is a rig file, a profile file is needed here" in said


@pytest.mark.parametrize("command", ["wiring", "tune", "flash"])
def test_a_profile_where_a_rig_belongs(command, shop):
    said = one_line(run(command, shop / "profile.toml"), "which_file", 3)
    assert "profile.toml is a profile file, a rig file is needed here" in said


def test_a_file_with_a_mistake_is_still_told_by_its_mistake(shop):
    text = (shop / "profile.toml").read_text(encoding="utf-8").replace("target = 155", "target = 1550", 1)
    (shop / "profile.toml").write_text(text, encoding="utf-8")
    assert "1550" in one_line(run("rehearse", shop / "profile.toml"), "range", 3)


def test_a_species_misspelt_is_the_pieces_and_not_the_rigs(shop):
    words = "--species sapel --thickness 1.7 --width 80 --length 560 --radius 55 --wetted soaked".split()
    said = one_line(run("plan", *words, "-o", shop / "planned.toml"), "unknown", 3)
    assert said.startswith("unknown: species is 'sapel'")
    assert "did you mean sapele?" in said
    assert "rig" not in said.split(";")[0]


@pytest.mark.parametrize("command", ["again", "report", "fit"])
def test_the_file_beside_a_run_is_no_run(command, shop):
    (shop / "run.json").write_text("{}", encoding="utf-8")
    said = run(command, shop / "run.json").stderr
    assert said.startswith("file_name: ")
    assert "neither .csv nor .rlg" in said


def test_a_command_misspelt_is_told_which_it_may_be():
    wrong = run("wacth")
    assert wrong.exit_code == 2
    assert "No such command 'wacth'; did you mean watch?" in wrong.stderr
    assert "did you mean" not in run("xyzzy").stderr
