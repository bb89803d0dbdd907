"""The command tune: what it finds, says, draws and writes, and its one-line refusals."""

import copy
import json
import tomllib
from contextlib import contextmanager

import pytest
from click.testing import CliRunner
from matplotlib.backends.backend_agg import FigureCanvasAgg

from host.fit_files import RIG
from ribwright_board import __version__
from ribwright_board.core import rig as core_rig
from ribwright_board.core.zone import ZoneLoop
from ribwright_host import tune_draw
from ribwright_host.cli import cli
from ribwright_host.rigs import load_rig, rig_hash
from ribwright_host.tune import SEED, write_gains
from ribwright_host.tune_words import NAMES, lines
from ribwright_sim.control.rules import RULES
from ribwright_sim.tuning import Effort

PNG_MAGIC = b"\x89PNG\r\n\x1a\n"
# 302 F is 150 C, a window as a mechanical relay of some life asks for.
SLOW = RIG.replace('unit = "C"', 'unit = "F"').replace("ambient = 21", "ambient = 70") + (
    "\n[control]\nwindow_ms = 4000\n"
)


@contextmanager
def little_effort():
    """The plain numpy way, which every installation has, with few rigs and one round."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("ribwright_sim.solver.HAVE_NUMBA", False)
        patch.setattr("ribwright_sim.tuning.HAVE_NUMBA", False)
        patch.setattr("ribwright_sim.tuning.PLAIN", Effort(rigs=3, candidates=4, rounds=1))
        yield patch


def tune(path, *words):
    return CliRunner().invoke(cli, ["tune", str(path), *words])


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    path = tmp_path_factory.mktemp("tuned") / "rig.toml"
    path.write_text(RIG, encoding="utf-8")
    with little_effort():
        result = tune(path, "--json")
    assert result.exit_code == 0, result.stderr
    return json.loads(result.stdout), path


@pytest.fixture(scope="module")
def slow(tmp_path_factory):
    """A rig in F with a window of four seconds: the words of the command."""
    path = tmp_path_factory.mktemp("slow") / "shop.toml"
    path.write_text(SLOW, encoding="utf-8")
    with little_effort():
        result = tune(path)
    assert result.exit_code == 0, result.stderr
    return result.stdout, path


def test_gains_are_written_with_where_they_come_from(done):
    answer, path = done
    text = path.read_text(encoding="utf-8")
    values = tomllib.loads(text)
    gains = values["zones"][0]["gains"]
    assert gains["tuned_by"] == f"ribwright {__version__}, seed {SEED}, 3 rigs, 150 C, 1 s window"
    assert len(gains["tuned_by"]) <= 80
    assert gains["for_rig"] == rig_hash(tomllib.loads(RIG))
    assert {name: gains[name] for name in answer["zones"][0]["gains"]} == answer["zones"][0]["gains"]
    # The board takes them, and nothing else of the file has changed.
    assert core_rig.parse(values).zones[0].gains["kappa"] == gains["kappa"]
    assert "# My own rig: this line must survive." in text
    assert "power_w = 420           # on the label" in text
    del values["zones"][0]["gains"]
    assert values == tomllib.loads(RIG)


def test_json_says_what_was_compared_on_the_same_rigs(done):
    answer, _ = done
    assert answer["simulated"] is True
    assert (answer["rigs"], answer["seed"], answer["window_ms"], answer["target_c"]) == (3, SEED, 1000, 150.0)
    zone = answer["zones"][0]
    assert zone["compared"][0]["name"] == "ours"
    # A relay experiment finds the point that is known here.
    assert {one["name"] for one in zone["compared"][1:]} == set(RULES) - {"zn_relay_pid"}
    assert set(NAMES) == {one["name"] for one in zone["compared"]}
    assert all(one["gain_margin"] > 0.0 for one in zone["compared"])
    assert zone["cost"] <= zone["cost_before"]
    assert zone["with_1_s_window"] is None
    assert "series" not in zone


def test_search_and_the_boards_code_agree(done):
    core = done[0]["zones"][0]["firmware"]
    assert core["loop"]["overshoot_k"] == pytest.approx(core["solver"]["overshoot_k"], abs=0.15)
    assert core["controller"]["overshoot_k"] == pytest.approx(core["noisy"]["overshoot_k"], abs=0.5)


def test_picture_lies_beside_the_rig_file(done, slow):
    for (_, path), name in ((done, "rig_tuning.png"), (slow, "shop_tuning.png")):
        assert (path.parent / name).read_bytes().startswith(PNG_MAGIC)
    assert done[0]["files"] == [str(done[1]), str(done[1].parent / "rig_tuning.png")]


def test_words_tell_figures_margins_and_what_the_window_costs(slow):
    said, _ = slow
    assert said.startswith("SIMULATED: one-zone rig, from cold to 302 F, relay window 4 s, 3 rigs")
    for name in NAMES.values():
        assert name in said
    assert "what the window of 4 s costs" in said
    assert "instead of" in said
    assert "they agree" in said


def crowd(figures, margins, overshoots):
    """The figures with the points where a test wants them, and two short series."""
    found = copy.deepcopy(figures)
    zone = found["zones"][0]
    for one, margin, over in zip(zone["compared"], margins, overshoots, strict=True):
        one["gain_margin"], one["overshoot_k_p95"] = margin, over
    minutes = [0.0, 60.0, 120.0, 180.0]
    band = {"low_c": [20.0, 90.0, 149.0, 149.5], "high_c": [20.0, 110.0, 151.0, 150.6]}
    zone["series"] = {"time_s": minutes, **band, "nominal_c": [20.0, 100.0, 150.0, 150.1]}
    return found


def boxes(figures, unit="C"):
    figure = tune_draw.draw(figures, unit)
    FigureCanvasAgg(figure).draw()
    axes = figure.axes[1]
    found = [one.get_window_extent() for one in axes.texts]
    return axes, found


@pytest.mark.parametrize("shape", ["as found", "one heap", "wide"])
def test_no_label_touches_another(done, shape):
    answer = done[0]
    count = len(answer["zones"][0]["compared"])
    margins = [one["gain_margin"] for one in answer["zones"][0]["compared"]]
    overshoots = [one["overshoot_k_p95"] for one in answer["zones"][0]["compared"]]
    if shape == "one heap":
        margins, overshoots = (
            [2.0 + 0.01 * i for i in range(count)],
            [1.0 + 0.01 * (i % 3) for i in range(count)],
        )
    elif shape == "wide":
        margins, overshoots = [0.4 * 1.3**i for i in range(count)], [0.03 * 1.6**i for i in range(count)]
    axes, found = boxes(crowd(answer, margins, overshoots))
    assert len(found) == count
    for i, one in enumerate(found):
        assert not any(one.overlaps(other) for other in found[:i])
    frame = axes.get_window_extent()
    assert all(frame.x0 <= one.x0 and one.x1 <= frame.x1 for one in found)


def test_much_duty_and_rigs_that_never_come_there_are_said(done):
    answer = copy.deepcopy(done[0])
    assert not any(line.startswith("Warning") for line in lines(answer))
    answer["zones"][0] |= {"duty": 0.937, "much_duty": True, "never_reached": 2}
    said = lines(answer)
    assert any("full needs 0.94 of its power to hold 150 C" in line for line in said)
    assert any("on 2 of 3 rigs full never comes to 150 C" in line for line in said)


def test_what_cannot_hold_the_target_is_refused_with_the_figure(tmp_path):
    path = tmp_path / "rig.toml"
    weak = RIG.replace("power_w = 420", "power_w = 130")
    path.write_text(weak, encoding="utf-8")
    with little_effort() as patch:
        # Said before any search.
        patch.setattr("ribwright_sim.tuned.search", None)
        result = tune(path)
    assert result.exit_code == 3
    assert result.stderr.startswith(("too_weak", "error", str(path))) or "too_weak" in result.stderr
    assert "zone full comes to" in result.stderr
    needs = float(result.stderr.split("it needs about ")[1].split(" of its power")[0])
    assert 1.02 < needs < 1.6
    assert path.read_text(encoding="utf-8") == weak
    assert list(tmp_path.iterdir()) == [path]


def test_gains_the_boards_code_does_not_confirm_are_not_written(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG, encoding="utf-8")
    true_law = ZoneLoop._tune

    def other_law(self):
        kp, ki, kd = true_law(self)
        return 4.0 * kp, 4.0 * ki, 0.0 * kd

    with little_effort() as patch:
        patch.setattr(ZoneLoop, "_tune", other_law)
        result = tune(path)
    assert result.exit_code == 3
    assert "disagrees" in result.stderr
    assert "the search saw" in result.stderr
    assert path.read_text(encoding="utf-8") == RIG
    assert list(tmp_path.iterdir()) == [path]


def test_gains_of_another_rig_are_replaced(tmp_path, done):
    path = tmp_path / "rig.toml"
    old = RIG.replace(
        "select_pin = 20\n",
        "select_pin = 20\ngains = { c_gain = 1, c_integral = 2, c_derivative = 1, "
        'kappa = 1, kp = 1, ki = 1, kd = 1, for_rig = "0123", tuned_by = "x" }\n',
    )
    path.write_text(old, encoding="utf-8")
    write_gains(load_rig(path, foreign_gains=True), done[0])
    assert load_rig(path).mapping["zones"][0]["gains"]["for_rig"] == rig_hash(tomllib.loads(RIG))
