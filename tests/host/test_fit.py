"""The command fit: what it finds, says, draws and writes, its guide, and its one-line errors."""

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from host.fit_files import PIECE, REAL, RIG, SIMULATED, known_log, run_file, wood_file
from ribwright_host import fit_draw
from ribwright_host.cli import cli
from ribwright_host.fit_file import write_fit
from ribwright_host.fit_words import GUIDE, summary
from ribwright_host.rigs import load_rig, rig_hash
from ribwright_sim.layout import stack_for
from ribwright_sim.plant import Plant

PNG_MAGIC = b"\x89PNG\r\n\x1a\n"
HASH = rig_hash(tomllib.loads(RIG))


def fit(*words):
    return CliRunner().invoke(cli, ["fit", *map(str, words)])


def without_compiler(patch):
    """The plain numpy way, which every installation has."""
    patch.setattr("ribwright_sim.solver.HAVE_NUMBA", False)


@pytest.fixture(scope="module")
def log():
    return known_log(wood=True)


@pytest.fixture(scope="module")
def done(tmp_path_factory, log):
    """A calibration run of a real rig, fitted with its wood and written into the rig file."""
    folder = tmp_path_factory.mktemp("calibration")
    (folder / "rig.toml").write_text(RIG, encoding="utf-8")
    run, wood = run_file(folder / "run.csv", log), wood_file(folder / "wood.csv", log)
    with pytest.MonkeyPatch.context() as patch:
        without_compiler(patch)
        result = fit(run, "--wood", wood, "--write", "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout), folder


@pytest.fixture(scope="module")
def simulated(tmp_path_factory, log):
    """The same log of the virtual rig, without the second thermocouple: the words of the command."""
    folder = tmp_path_factory.mktemp("virtual")
    (folder / "rig.toml").write_text(RIG, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        without_compiler(patch)
        result = fit(run_file(folder / "run.csv", log, board=SIMULATED, unix=None))
    assert result.exit_code == 0, result.stderr
    return result.stdout, folder


@pytest.fixture
def shop(tmp_path):
    (tmp_path / "rig.toml").write_text(RIG, encoding="utf-8")
    return tmp_path


def test_residual_is_at_noise_level_and_the_wood_is_told(done):
    found, folder = done
    assert found["fit_residual_k"] <= 1.2 * found["noise_k"]
    assert found["simulated"] is False
    left = {one["name"]: one["left"] for one in found["parameters"]}
    assert left["moisture"] <= 0.4
    assert found["runs"][0]["wood_zone"] == "full"
    # Too little is told of the board's own estimate by this scrap, so its zone stays as it was.
    assert found["estimate"]["useful"] is False
    assert "identified" not in {one["verdict"] for one in found["estimate"]["figures"]}
    assert "wood" not in load_rig(folder / "rig.toml").mapping["zones"][0]
    assert found["runs"][0]["wood_residual_k"] <= 0.6
    assert found["runs"][0]["middle_of_wood"]["sigma_k"] <= 1.5


def test_words_say_what_the_log_cannot_tell(simulated):
    said, _ = simulated
    assert said.startswith("SIMULATED runs")
    assert "Left over between model and readings: 0.1" in said
    cannot = said[said.index("The log cannot tell") : said.index("The wood:")]
    for words in ("heat through the wood", "contact of foil and wood", "time in which water leaves the wood"):
        assert words in cannot
    assert "does not contain the wood" in said
    assert GUIDE in said
    assert "--write does that" not in said


def test_words_of_a_model_that_misses_say_so(done):
    figures = json.loads((done[1] / "fit" / "fit.json").read_text(encoding="utf-8"))
    said = "\n".join(summary(figures | {"fit_residual_k": 3.0}, "F", written=True, rig="rig.toml"))
    assert "MISSES" in said
    assert "5.40 F" in said
    assert "ribwright tune rig.toml" in said


def test_files_are_pictures_and_figures(done, simulated):
    for folder in (done[1], simulated[1]):
        assert (folder / "fit" / "fit.png").read_bytes().startswith(PNG_MAGIC)
        assert "<svg" in (folder / "fit" / "fit.svg").read_text(encoding="utf-8")


def test_picture_has_labelled_axes_with_both_courses(done):
    figures = json.loads((done[1] / "fit" / "fit.json").read_text(encoding="utf-8"))
    figure = fit_draw.draw(figures, "F")
    assert len(figure.axes) == 6
    for upper, lower in zip(figure.axes[::2], figure.axes[1::2], strict=True):
        assert upper.get_ylabel() == "temperature, \u00b0F"
        assert lower.get_ylabel() == "left over, \u00b0F"
        assert lower.get_xlabel() == "minutes since heat began"
        labels = {line.get_label().split(",")[0] for line in upper.get_lines()}
        assert labels >= {"read", "model"} or labels == {"read", "estimate before", "estimate calibrated"}
    read = figure.axes[0].get_lines()[0].get_ydata()
    assert read.max() == pytest.approx(max(figures["series"][0]["measured_c"]["full"]) * 1.8 + 32)
    assert not any("SIMULATED" in text.get_text() for text in figure.texts)


def test_written_rig_keeps_its_comments_its_hash_and_says_where_it_came_from(done):
    found, folder = done
    text = (folder / "rig.toml").read_text(encoding="utf-8")
    assert "# My own rig: this line must survive." in text
    assert "power_w = 420           # on the label" in text
    rig = load_rig(folder / "rig.toml")
    assert rig.hash == HASH == rig.mapping["fit"]["for_rig"] == found["rig_hash"]
    table = rig.mapping["fit"]
    assert table["runs"] == [f"run 7 of board {REAL}, 2026-01-01T10:00:00+00:00"]
    assert table["fitted_by"].startswith("ribwright 0.")
    told = {one["name"]: one for one in found["parameters"] if one["run"] < 0}
    assert set(table["values"]) == set(table["sigmas"]) == set(told)
    assert table["values"]["loss"] == pytest.approx(told["loss"]["value"], abs=1e-4)
    assert table["sigmas"]["power"] == pytest.approx([told["power"]["sigma"]], abs=1e-4)


def test_simulator_uses_what_was_found(done):
    rig = load_rig(done[1] / "rig.toml").mapping
    values = rig["fit"]["values"]
    stack, plain = stack_for(rig, PIECE), stack_for(tomllib.loads(RIG), PIECE)
    assert stack.power_factor[0] == pytest.approx(values["power"][0])
    assert stack.junction_lag_s[0] == pytest.approx(values["lag"][0])
    assert stack.emissivity == pytest.approx(plain.emissivity * values["loss"])
    assert Plant.from_rig(rig, PIECE).stack.escape_s[0] == pytest.approx(values["escape"])
    # What the fit did not touch is drawn as before, what it found only within its sigma.
    drawn, before = stack_for(rig, PIECE, seed=5), stack_for(tomllib.loads(RIG), PIECE, seed=5)
    assert drawn.form_ramp_s == pytest.approx(before.form_ramp_s)
    sigma = rig["fit"]["sigmas"]["lag"][0]
    lags = [stack_for(rig, PIECE, seed=seed).junction_lag_s[0] for seed in range(1, 60)]
    assert np.std(lags) == pytest.approx(sigma, rel=0.4)


def test_check_says_that_a_rig_is_fitted(done):
    said = CliRunner().invoke(cli, ["check", str(done[1] / "rig.toml")]).stdout
    assert "Fitted for the simulator: ribwright 0." in said
    assert "K left over" in said


def test_written_again_there_is_one_table(done):
    folder = done[1]
    path = folder / "again.toml"
    path.write_text((folder / "rig.toml").read_text(encoding="utf-8"), encoding="utf-8")
    write_fit(load_rig(path), {"loss": 1.5}, {"loss": 0.1}, 0.2, [f"run {n}" for n in range(12)])
    assert path.read_text(encoding="utf-8").count("[fit]\n") == 1
    assert load_rig(path).mapping["fit"]["values"] == {"loss": 1.5}
    assert load_rig(path).mapping["fit"]["runs"][-1] == "and 5 more"


def refused(result, code, *words):
    assert result.exit_code == 3, result.stdout
    assert result.stderr.startswith(f"{code}: ")
    assert result.stderr.count("\n") == 1
    assert all(word in result.stderr for word in words), result.stderr


def test_log_with_gaps(shop, log):
    rows = set(range(1, 391)) - set(range(100, 112))
    refused(fit(run_file(shop / "run.csv", log, rows=rows)), "log_gaps", "13.0 s after 1:39", "2.5 s")


def test_log_whose_readings_are_missing(shop, log):
    measured = log.measured_c.copy()
    measured[50:70] = np.nan
    run = run_file(shop / "run.csv", replace(log, measured_c=measured))
    refused(fit(run), "log_gaps", "zone full", "5%", "2%")


def test_log_of_another_rig(shop, log):
    other = RIG.replace("power_w = 420", "power_w = 400")
    run = run_file(shop / "run.csv", log, rig=other)
    refused(fit(run), "other_rig", HASH, rig_hash(tomllib.loads(other)))


def test_ramp_too_short(shop, log):
    refused(fit(run_file(shop / "run.csv", log, rows=range(1, 61))), "short_ramp", "60 s", "120 s", "40 K")


def test_ramp_that_ends_at_a_cue(shop, log):
    refused(fit(run_file(shop / "run.csv", log, cue_at_s=50)), "short_ramp", "50 s")
    refused(fit(run_file(shop / "run.csv", log, cue_at_s=0)), "no_warmup", "before its first cue")


def test_ramp_too_weak(shop, log):
    cool = replace(log, measured_c=21.0 + 0.2 * (log.measured_c - 21.0))
    refused(fit(run_file(shop / "run.csv", cool)), "short_ramp", "22 K", "40 K")


def test_warm_start(shop, log):
    warm = replace(log, measured_c=log.measured_c + 30.0)
    refused(fit(run_file(shop / "run.csv", warm)), "warm_start", "40 C")


def test_simulated_beside_real_runs(shop, log):
    runs = [run_file(shop / "a.csv", log), run_file(shop / "b.csv", log, board=SIMULATED)]
    refused(fit(*runs), "mixed_runs", "b.csv", "SIMULATED")


def test_simulated_run_is_never_written(shop, log):
    refused(fit(run_file(shop / "a.csv", log, board=SIMULATED), "--write"), "simulated", "real rig")
    assert "[fit]" not in (shop / "rig.toml").read_text(encoding="utf-8")


def test_run_named_twice(shop, log):
    run = run_file(shop / "a.csv", log)
    refused(fit(run, run), "twice")


def test_no_rig_beside_the_run(tmp_path, log):
    refused(fit(run_file(tmp_path / "a.csv", log)), "missing_file", "--rig FILE")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("seconds,wood_c\n1,20\n", "columns seconds, wood_c"),
        ("time_s,wood_c\n" + "\n".join(f"{n},20" for n in range(5)), "has 5 readings"),
        ("time_s,wood_c\n1,20\n1,21\n", "line 3"),
        ("time_s,wood_c\n1,warm\n", "line 2"),
        ("time_s,wood_c\n1,20\n2,900\n", "line 3"),
        ("time_s,wood_c\n1,20\n2\n", "line 3"),
        ("", "columns none"),
    ],
)
def test_wood_file_with_a_mistake(shop, log, text, words):
    run, wood = run_file(shop / "a.csv", log), shop / "wood.csv"
    wood.write_text(text, encoding="utf-8")
    refused(fit(run, "--wood", wood), "wood_file", words)


def test_wood_file_that_is_not_there(shop, log):
    refused(fit(run_file(shop / "a.csv", log), "--wood", shop / "none.csv"), "no_file")


def test_usage(shop, log):
    run = run_file(shop / "a.csv", log)
    for words, said in ((["--json"], "no RUN is named"), ([run, "--wood-zone", "waist"], "full")):
        result = fit(*words)
        assert result.exit_code == 2
        assert said in result.stderr


def test_fit_of_another_rig_is_refused_where_it_would_be_used(done, tmp_path):
    text = (done[1] / "rig.toml").read_text(encoding="utf-8")
    (tmp_path / "rig.toml").write_text(text.replace("width_mm = 90", "width_mm = 91"), encoding="utf-8")
    result = CliRunner().invoke(cli, ["check", str(tmp_path / "rig.toml")])
    assert result.exit_code == 3
    assert "other_rigs_fit" in result.stderr
    assert "ribwright fit RUN --write" in result.stderr


def test_guide_begins_with_cautions_and_writes_a_profile_that_passes(shop):
    result = fit("--guide", "--rig", shop / "rig.toml")
    assert result.exit_code == 0, result.stderr
    order = ["Before any heat", "Unplug", "Prepare", "Run", "Fit", "--wood wood.csv", "calibration.toml"]
    places = [result.stdout.rindex(word) for word in order[:1]] + [result.stdout.index(w) for w in order[1:6]]
    assert places == sorted(places)
    checked = CliRunner().invoke(cli, ["check", str(shop / "rig.toml"), str(shop / "calibration.toml")])
    assert checked.exit_code == 0, checked.stderr
    (shop / "calibration.toml").write_text("mine", encoding="utf-8")
    assert "left alone" in fit("--guide", "--rig", shop / "rig.toml").stdout
    assert (shop / "calibration.toml").read_text(encoding="utf-8") == "mine"


def test_guide_without_a_rig():
    assert "ribwright fit --guide --rig" in fit("--guide").stdout
