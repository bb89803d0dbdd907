"""Other people's solvers on the reference problem, each restarted at every relay edge.

Each returns the thermocouple trace [C], at the start and at the end of every second. A peer that is not
installed raises ImportError. cells: of each of the six layers, from the top. tolerance: relative, and
absolute in the state's units. windows: how many seconds to run, END_S at most.
"""

from __future__ import annotations

import contextlib
import importlib
import tempfile
import types
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import problem
from .problem import BAND, closed_loop, grid, start

F64 = NDArray[np.float64]


def solve_ivp(method: str, cells: tuple[int, ...], tolerance: float, windows: int) -> F64:
    """SciPy's solve_ivp by `method`, which is BDF, LSODA or Radau; right side in numpy."""
    solver = importlib.import_module("scipy.integrate").solve_ivp
    g = grid(cells)
    banded = {"lband": BAND, "uband": BAND} if method == "LSODA" else {"vectorized": True}

    def segment(y: F64, length_s: float, on: float) -> F64:
        done = solver(
            lambda _t, x: problem.right_side(x, on, g),
            (0.0, length_s),
            y,
            method=method,
            rtol=tolerance,
            atol=tolerance,
            first_step=None,
            **banded,
        )
        result: F64 = done.y[:, -1]
        return result

    return closed_loop(start(g), g.place_tc, segment, windows)


def cvode(cells: tuple[int, ...], tolerance: float, windows: int) -> F64:
    """CVODE (scikit-sundae), banded BDF; right side compiled by numba."""
    solver_type = importlib.import_module("sksundae.cvode").CVODE
    g = grid(cells)
    side = _compiled_side()
    relay = [0.0]
    fixed = (
        g.thickness_m,
        g.conductivity,
        g.volumetric,
        g.contact_m2k_w,
        g.heater_w_m2,
        g.wood_first,
        g.wood_stop,
    )

    def rate(_t: float, y: F64, dy: F64) -> None:
        side(y, dy, relay[0], *fixed)

    solver = solver_type(
        rate, rtol=tolerance, atol=tolerance, linsolver="band", lband=BAND, uband=BAND, max_num_steps=100000
    )

    def segment(y: F64, length_s: float, on: float) -> F64:
        relay[0] = on
        result: F64 = solver.solve(np.array([0.0, length_s]), y).y[-1].copy()
        return result

    return closed_loop(start(g), g.place_tc, segment, windows)


def _compiled_side() -> Any:
    numba = importlib.import_module("numba")
    return numba.njit(problem.right_side_loop, cache=True, error_model="numpy")


class Casadi:
    """CasADi's cvodes, its right side interpreted or as generated C compiled by the system's compiler."""

    def __init__(self, cells: tuple[int, ...], tolerance: float, *, generated_c: bool) -> None:
        """Args: cells and tolerance; whether C is generated and compiled."""
        ca = importlib.import_module("casadi")
        self._grid = g = grid(cells)
        y, p = ca.SX.sym("y", g.size), ca.SX.sym("p", 2)
        rates = _casadi_rates(ca, y, p[1], g)
        options: dict[str, object] = {"abstol": tolerance, "reltol": tolerance, "max_num_steps": 100000}
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        if generated_c:
            self._folder = tempfile.TemporaryDirectory()
            options |= {
                "jit": True,
                "compiler": "shell",
                "jit_options": {
                    "compiler": "cc",
                    "flags": ["-O3"],
                    "verbose": False,
                    "directory": str(Path(self._folder.name)) + "/",
                },
            }
        # The length of a segment is a parameter, so that one solver serves them all.
        with contextlib.chdir(self._folder.name) if self._folder else contextlib.nullcontext():
            self._step = ca.integrator(
                "step", "cvodes", {"x": y, "p": p, "ode": p[0] * rates}, 0.0, 1.0, options
            )

    def close(self) -> None:
        """Let go of the solver, which removes its own files, then of their folder."""
        self._step = None
        if self._folder:
            self._folder.cleanup()

    def __call__(self, windows: int) -> F64:
        """The trace."""

        def segment(y: F64, length_s: float, on: float) -> F64:
            result: F64 = np.asarray(self._step(x0=y, p=[length_s, on])["xf"])[:, 0]
            return result

        return closed_loop(start(self._grid), self._grid.place_tc, segment, windows)


def _casadi_rates(ca: Any, y: Any, on: Any, g: problem.Grid) -> Any:
    """`problem.right_side_loop` over symbols: CasADi's module has an `exp` in the place of math's."""
    side = types.FunctionType(problem.right_side_loop.__code__, {"math": ca, "range": range, "len": len})
    out: list[Any] = [None] * g.size
    side(
        y,
        out,
        on,
        g.thickness_m,
        g.conductivity,
        g.volumetric,
        g.contact_m2k_w,
        g.heater_w_m2,
        g.wood_first,
        g.wood_stop,
    )
    return ca.vertcat(*out)


def fipy(cells: tuple[int, ...], step_s: float, windows: int) -> F64:
    """FiPy's implicit finite volumes by backward Euler between the relay's edges, `step_s` [s] at most.

    Conductances, heat capacities, losses and drying are refreshed at each step, as a user of it would.
    """
    fp = importlib.import_module("fipy")
    g = grid(cells)
    count, wood = len(g.thickness_m), slice(g.wood_first, g.wood_stop)
    mesh = fp.Grid1D(dx=g.thickness_m)
    at_c = fp.CellVariable(mesh=mesh, value=20.0, hasOld=True)
    heat, gain = fp.CellVariable(mesh=mesh, value=1.0), fp.CellVariable(mesh=mesh, value=0.0)
    ground = fp.CellVariable(mesh=mesh, value=0.0)
    conduction = fp.FaceVariable(mesh=mesh, value=0.0)
    equation = fp.TransientTerm(coeff=heat) == fp.DiffusionTerm(
        coeff=conduction
    ) + gain - fp.ImplicitSourceTerm(coeff=ground)
    solver = fp.LinearLUSolver()
    middles = np.cumsum(g.thickness_m) - 0.5 * g.thickness_m
    between = np.diff(middles)

    def step(state: F64, length_s: float, on: float) -> F64:
        t, m = state[g.place_t], state[g.place_m]
        terms = problem.coefficients(t, m, g)
        conduction.setValue(np.concatenate([[0.0], terms.link * between, [0.0]]))
        heat.setValue(terms.heat)
        fresh_m = (m + length_s * terms.rate * terms.rest) / (1.0 + length_s * terms.rate)
        source = on * g.heater_w_m2 / g.thickness_m
        source[wood] += 560.0 * (fresh_m - m) / length_s * terms.latent
        slope = np.zeros(count)
        for cell, flux, steep in ((0, *terms.top), (count - 1, *terms.bottom)):
            slope[cell] = steep / g.thickness_m[cell]
            source[cell] += (steep * t[cell] - flux) / g.thickness_m[cell]
        gain.setValue(source)
        ground.setValue(slope)
        at_c.setValue(t)
        at_c.updateOld()
        equation.solve(var=at_c, dt=length_s, solver=solver)
        result = state.copy()
        result[g.place_t], result[g.place_m] = at_c.value, fresh_m
        now = result[g.place_t]
        last = g.wood_stop - 1
        face = now[last] - terms.link[last] * (now[last] - now[last + 1]) * terms.half[last]
        result[g.place_tc] = (state[g.place_tc] + length_s / 2.0 * face) / (1.0 + length_s / 2.0)
        return result

    def segment(state: F64, length_s: float, on: float) -> F64:
        parts = int(np.ceil(length_s / step_s - 1e-9))
        for _ in range(parts):
            state = step(state, length_s / parts, on)
        return state

    return closed_loop(start(g), g.place_tc, segment, windows)
