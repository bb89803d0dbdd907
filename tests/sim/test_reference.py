"""The reference problem and the benchmark on it: error, entry points, missing peers."""

import tomllib
from importlib.metadata import PackageNotFoundError
from pathlib import Path

import numpy as np
import pytest

from ribwright_sim import reference as ref
from ribwright_sim.measure import contest, ours, problem
from ribwright_sim.measure.table import table
from ribwright_sim.measure.timing import exponent
from ribwright_sim.plant import Plant
from ribwright_sim.solver import Solver

LIBRARY = Path(__file__).resolve().parents[2] / "host" / "ribwright_host" / "library"


@pytest.mark.parametrize("cells", [ref.COARSE_CELLS, ref.EVEN_48_CELLS], ids=sum)
def test_solver_keeps_a_twentieth_of_a_kelvin(cells):
    # Reference: CVODE (SUNDIALS) on 384 cells at 1e-8, reference_samples.csv.
    run = ours.run(ours.solver(ours.plants(1, cells, 0), use_numba=False), 1, trace=True)
    assert ours.error_k(run) <= 0.05


def test_batch_of_plants_keeps_it_too():
    run = ours.run(ours.solver(ours.plants(3, ref.COARSE_CELLS, 0), use_numba=False), 3, trace=True)
    assert ours.error_k(run) <= 0.05
    # The other lanes are other plants.
    assert np.abs(run.trace_c[:, 0, 1] - run.trace_c[:, 0, 0]).max() > 1.0


def test_both_statements_of_the_problem_have_the_same_rates():
    g = problem.grid(ref.COARSE_CELLS)
    y = problem.start(g) + np.linspace(0.0, 90.0, g.size)
    y[g.place_m] = np.linspace(0.02, 0.14, len(g.place_m))
    loop = np.empty(g.size)
    problem.right_side_loop(y, loop, 1.0, *g[:5], g.wood_first, g.wood_stop)
    assert problem.right_side(y, 1.0, g) == pytest.approx(loop, rel=1e-9, abs=1e-12)


def test_laws_of_the_solver_are_those_of_the_statement():
    g = problem.grid(ref.COARSE_CELLS)
    at_c = np.linspace(30.0, 160.0, len(g.thickness_m))
    m = np.linspace(0.02, 0.14, len(g.place_m))
    stated = problem.coefficients(at_c, m, g)
    wood = slice(g.wood_first, g.wood_stop)
    t = at_c[wood]
    k = ref.LAWS.conductivity_w_m_k(0.56, 1.0, 0.02, 100.0 * m, t)
    assert 0.5 * g.thickness_m[wood] / k == pytest.approx(stated.half[wood])
    a, b = ref.LAWS.heat_terms_j_kg_k(100.0 * m, 0.0 * m)
    assert 560.0 * (a + b * (t + 273.15)) == pytest.approx(stated.heat[wood])
    leaving, _ = ref.LAWS.drying_rates_percent_s(t, 100.0 * m, 0.0 * m, 0.1, 150.0, 1.0, 0.0, 0.0, 0.0)
    assert leaving == pytest.approx(100.0 * stated.rate * (m - stated.rest))
    heat, _ = ref.LAWS.vapour_heat_j_kg(t, 100.0 * m)
    assert heat == pytest.approx(stated.latent)
    for cell, factor, flux in ((0, 1.52, stated.top[0]), (-1, 0.80, stated.bottom[0])):
        assert ref.LAWS.face_flux_w_m2(at_c[cell], 20.0, factor, 0.6) == pytest.approx(flux)


def test_benchmark_runs_what_is_shipped(monkeypatch):
    called = []

    def spy(name, original):
        def run(*args, **kwargs):
            called.append(name)
            return original(*args, **kwargs)

        return run

    monkeypatch.setattr(Solver, "run", spy("solver", Solver.run))
    monkeypatch.setattr(Plant, "advance", spy("plant", Plant.advance))
    monkeypatch.setattr(ref, "targets_c", lambda: np.full((3, 1), 140.0))
    ours.run(ours.solver(ours.plants(2, ref.COARSE_CELLS, 0), use_numba=False), 2, windows=3)
    ours.full_run()
    assert called[0] == "solver"
    assert called.count("plant") >= 3


def test_example_rig_of_the_benchmark_is_the_librarys():
    rig = tomllib.loads((LIBRARY / "rig_two_zone_120v.toml").read_text(encoding="utf-8"))
    for mine, theirs in zip(ours.RIG["zones"], rig["zones"], strict=True):
        assert mine == {key: theirs[key] for key in mine}
    assert ours.RIG["stack"] == rig["stack"]
    piece = tomllib.loads((LIBRARY / "sapele_baritone_side.toml").read_text(encoding="utf-8"))["piece"]
    assert {key: piece[key] for key in ours.PIECE} == ours.PIECE


def test_missing_peer_leaves_its_figure_empty_and_says_so(monkeypatch):
    def absent(name):
        raise PackageNotFoundError(name)

    monkeypatch.setattr(contest, "version", absent)
    book, said = contest.Book(), []
    contest._try(book, "batch_vs_fipy_ratio", "fipy", pytest.fail, said.append)
    assert book.figures == {"batch_vs_fipy_ratio": None}
    assert "fipy is not installed" in book.notes["batch_vs_fipy_ratio"]["reason"]
    assert len(said) == 1
    assert "not measured" in table(book)


def test_a_peer_that_misses_the_limit_does_not_count():
    book = contest.Book()
    far = ref.fine_samples_c()[:4] + 0.06
    contest.enter(book, "key", "far", lambda _windows: far, lambda: None, rounds=1, windows=3)
    assert book.figures == {}
    near = far - 0.02
    contest.enter(book, "key", "near", lambda _windows: near, lambda: sum(range(1000)), rounds=1, windows=3)
    assert book.notes["key"]["error_k"] == pytest.approx(0.04)


def test_exponent_of_a_straight_line_is_one():
    assert exponent([1, 2, 4], [0.1, 0.2, 0.4]) == pytest.approx(1.0)
