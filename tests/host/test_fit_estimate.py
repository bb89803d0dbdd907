"""The board's estimate of the wood after a calibration run: words, picture, rig file, and whose it is."""

import json
import tomllib

import numpy as np
import pytest
from click.testing import CliRunner

from host.fit_files import RIG, SIMULATED, THIN, known_log, run_file, wood_file
from ribwright_board.core.rig import parse
from ribwright_host import fit_draw
from ribwright_host.cli import cli
from ribwright_host.fit_file import write_fit
from ribwright_host.fit_words import summary
from ribwright_host.rigs import load_rig, rig_hash

HASH = rig_hash(tomllib.loads(RIG))
NAMES = ("resistance", "loss", "escape_s", "lead_s")
NOMINAL = (0.007, 7.0, 40.0, 5.0)


def command(*words):
    return CliRunner().invoke(cli, list(map(str, words)))


def fit(*words):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("ribwright_sim.solver.HAVE_NUMBA", False)
        return command("fit", *words)


@pytest.fixture(scope="module")
def log():
    return known_log(wood=True, piece=THIN)


@pytest.fixture(scope="module")
def done(tmp_path_factory, log):
    """A calibration run of a real rig with scrap like the side, written into the rig file."""
    folder = tmp_path_factory.mktemp("estimate")
    (folder / "rig.toml").write_text(RIG, encoding="utf-8")
    run, wood = run_file(folder / "run.csv", log, piece=THIN), wood_file(folder / "wood.csv", log)
    result = fit(run, "--wood", wood, "--write", "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout), folder


@pytest.fixture
def figures(done):
    return json.loads((done[1] / "fit" / "fit.json").read_text(encoding="utf-8"))


def words(figures, unit="C", *, written=False):
    return "\n".join(summary(figures, unit, written=written, rig="rig.toml"))


def with_estimate(found, **changes):
    return found | {"estimate": found["estimate"] | changes}


def test_estimate_follows_the_second_thermocouple_better(done):
    found = done[0]["estimate"]
    assert found["zone"] == "full"
    assert found["useful"] is True
    assert found["residual_k"] < 0.8 * found["before_k"]
    assert found["residual_k"] < 1.2
    assert found["band_k"] == 3.5
    assert [one["name"] for one in found["figures"]] == list(NAMES)
    assert tuple(one["before"] for one in found["figures"]) == NOMINAL
    assert "series" not in done[0]


def test_written_table_is_what_the_board_goes_by(done):
    found, folder = done
    rig = load_rig(folder / "rig.toml")
    wood = rig.rig.zones[0].wood
    told = {one["name"]: one["value"] for one in found["estimate"]["figures"]}
    assert (wood.resistance_m2_k_w, wood.loss_w_m2_k, wood.escape_s, wood.lead_s) == tuple(
        told[name] for name in NAMES
    )
    assert (wood.band_k, wood.thickness_mm, wood.wetted) == (3.5, 1.7, "misted")
    table = rig.mapping["zones"][0]["wood"]
    assert table["for_rig"] == HASH == rig.hash
    assert table["fitted_by"].startswith("ribwright 0.")
    assert table["fitted_by"].endswith("K left over, sapele")


def test_written_file_keeps_its_comments_and_the_rest(done):
    text = (done[1] / "rig.toml").read_text(encoding="utf-8")
    before = text[: text.index("[zones.wood]")]
    assert before == RIG[: RIG.index("[stack]")]
    assert "\n\n[stack]\nambient = 21\n" in text
    values = tomllib.loads(text)
    del values["fit"], values["zones"][0]["wood"]
    assert values == tomllib.loads(RIG)


def test_written_again_there_is_one_table_and_nothing_useful_leaves_it(done):
    path = done[1] / "again.toml"
    path.write_text((done[1] / "rig.toml").read_text(encoding="utf-8"), encoding="utf-8")
    before = load_rig(path).mapping["zones"][0]["wood"]
    found = done[0]["estimate"]
    write_fit(load_rig(path), {"loss": 1.5}, {"loss": 0.1}, 0.2, ["run"], found | {"useful": False})
    assert load_rig(path).mapping["zones"][0]["wood"] == before
    write_fit(load_rig(path), {"loss": 1.5}, {"loss": 0.1}, 0.2, ["run"], found | {"band_k": 5.5})
    assert path.read_text(encoding="utf-8").count("[zones.wood]") == 1
    assert load_rig(path).mapping["zones"][0]["wood"] == {**before, "band": 5.5}


def test_band_is_written_in_the_units_of_the_file(done, tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG.replace('unit = "C"', 'unit = "F"').replace("ambient = 21", "ambient = 70"))
    write_fit(load_rig(path), {"loss": 1.5}, {"loss": 0.1}, 0.2, ["run"], done[0]["estimate"])
    assert load_rig(path).mapping["zones"][0]["wood"]["band"] == 6.3
    assert parse(load_rig(path).mapping).zones[0].wood.band_k == pytest.approx(3.5)


def test_calibration_of_another_rig_is_refused_where_it_would_be_used(done, tmp_path):
    text = (done[1] / "rig.toml").read_text(encoding="utf-8")
    path = tmp_path / "rig.toml"
    path.write_text(text[: text.index("[fit]")].replace("width_mm = 90", "width_mm = 91"), encoding="utf-8")
    result = command("check", path)
    assert result.exit_code == 3
    assert result.stderr.startswith("other_rigs_wood: ")
    assert "ribwright fit --guide" in result.stderr
    assert load_rig(path, foreign_fit=True).rig.zones[0].wood.band_k == 3.5


def test_check_says_for_which_wood_the_estimate_is_calibrated(done):
    said = command("check", done[1] / "rig.toml").stdout
    assert (
        "Estimate of the wood in zone full: calibrated, +-3.5 degrees, for wood of 1.7 mm, misted."
        in " ".join(said.split())
    )


def test_simulated_run_is_told_and_not_written(tmp_path, log):
    (tmp_path / "rig.toml").write_text(RIG, encoding="utf-8")
    run = run_file(tmp_path / "run.csv", log, board=SIMULATED, piece=THIN)
    assert fit(run, "--wood", wood_file(tmp_path / "wood.csv", log), "--write").exit_code == 3
    assert (tmp_path / "rig.toml").read_text(encoding="utf-8") == RIG


def test_words_tell_both_residuals_and_every_figure(figures):
    found = figures["estimate"]
    said = words(figures)
    assert f"{found['before_k']:.2f} K off the second thermocouple as it was" in said
    assert f"{found['residual_k']:.2f} K with what was found" in said
    assert f"(resistance): 0.007 -> {found['figures'][0]['value']:.3g} m2 K/W, +- " in said
    assert "sapele of 1.7 mm, misted) the board would go by these, give or take 3.50 K" in said
    assert "by the nominal ones, give or take 8.00 K" in said
    assert "the board goes by these, give or take 6.30 F" in words(figures, "F", written=True)


def test_words_say_what_cannot_be_told_and_that_nothing_is_written(figures):
    lost = [one | {"verdict": "not identified"} for one in figures["estimate"]["figures"]]
    said = words(with_estimate(figures, figures=lost, useful=False))
    assert said.count("the log cannot tell it, so it is the nominal one") == 4
    assert "none of them: [zones.wood] is left as it was" in said
    said = words(with_estimate(figures, off_k=11.0, useful=False))
    assert "may still be off by 11.00 K, more than the nominal 8.00 K" in said
    said = words(figures | {"estimate": None})
    assert "estimates nothing of this wood: state density_kg_m3" in said


def test_picture_shows_the_estimate_before_and_after(figures):
    upper, lower = fit_draw.draw(figures, "C").axes[-2:]
    lines = {line.get_label().split(",")[0]: line for line in upper.get_lines()}
    assert set(lines) == {"read", "estimate before", "estimate calibrated"}
    found = figures["estimate"]
    assert f"{found['residual_k']:.1f} \u00b0C off" in lines["estimate calibrated"].get_label()
    read = lines["read"]
    for name, off_k in (("estimate before", "before_k"), ("estimate calibrated", "residual_k")):
        told = np.interp(read.get_xdata(), lines[name].get_xdata(), lines[name].get_ydata())
        assert np.sqrt(np.mean((told - read.get_ydata()) ** 2)) == pytest.approx(found[off_k], abs=0.15)
    assert lower.get_ylabel() == "left over, \u00b0C"
    without = figures | {"estimate": None}
    assert len(fit_draw.draw(without, "C").axes) == 4
