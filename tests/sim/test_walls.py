"""The shipped solver on walls with closed forms (Carslaw and Jaeger, ch. 2 and 3; values computed)."""

import math

import numpy as np
import pytest

from ribwright_sim.column import Modes, chain, half_resistance, link
from ribwright_sim.layers import WITHIN
from sim.slabs import ALPHA, HELD, RHO, C, K, at_depth, cells_c, wall


@pytest.mark.parametrize(
    ("x_mm", "seconds", "expected"),
    # Surface stepped from 20 to 150 C: (T - Ts)/(Ti - Ts) = erf(x / 2 sqrt(alpha t)).
    [(0.5, 1, 65.4447), (1.0, 5, 72.3619), (2.0, 10, 50.7741)],
)
def test_semi_infinite_step(x_mm, seconds, expected):
    field = wall(0.010, 400, h=(HELD, 0.0), room_c=150.0)
    field.advance(seconds)
    assert at_depth(field, x_mm * 1e-3) == pytest.approx(expected, abs=0.02)


def test_semi_infinite_step_draws_its_flux():
    # k (Ts - Ti) / sqrt(pi alpha t) at 5 s: 14753.03 W/m2; what has gone in by then is twice flux times time.
    field = wall(0.010, 200, h=(HELD, 0.0), room_c=150.0)
    field.advance(5.0)
    flux = K / (0.5 * 0.010 / 200) * (150.0 - cells_c(field)[0])
    assert flux == pytest.approx(14753.03, rel=1e-3)
    assert -field.settle().ledger.lost_j == pytest.approx(2.0 * 14753.03 * 5.0, rel=1e-3)


@pytest.mark.parametrize(
    ("x_mm", "seconds", "expected"),
    # 8000 W/m2 into the face: (2q/k) sqrt(alpha t/pi) exp(-x^2/4 alpha t) - (qx/k) erfc(x/2 sqrt(alpha t)).
    [(0.0, 5, 64.8779), (1.0, 5, 32.6704), (0.0, 10, 83.4669), (1.0, 10, 47.2018)],
)
def test_semi_infinite_under_constant_flux(x_mm, seconds, expected):
    dx = 0.010 / 200
    field = wall(0.010, 200, heat_w_m2=8000.0, heated=(0,))
    field.advance(seconds)
    seen = cells_c(field)[0] + 8000.0 * 0.5 * dx / K if x_mm == 0.0 else at_depth(field, x_mm * 1e-3)
    assert seen == pytest.approx(expected, abs=0.06)


@pytest.mark.parametrize(
    ("x_mm", "expected"),
    # Convection 500 W/(m2 K) from 150 C, 5 s.
    [(0.0, 122.4568), (1.0, 56.3405)],
)
def test_semi_infinite_with_convection(x_mm, expected):
    field = wall(0.010, 200, h=(500.0, 0.0), room_c=150.0)
    field.advance(5.0)
    first = cells_c(field)[0]
    through = float(field.stack.face_size_m[0, 0])
    face = 150.0 - through * (150.0 - first) / 500.0
    assert (face if x_mm == 0.0 else at_depth(field, 1e-3)) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize(
    ("h", "seconds", "centre_c"),
    # Plane wall 2 mm between media at 150 C, full series (roots: Cengel, Table 4-2).
    [(170, 2, 32.934), (170, 5, 64.258), (170, 30, 143.902), (510, 5, 93.024), (510, 10, 129.365)],
)
def test_plane_wall_between_hot_media(h, seconds, centre_c):
    field = wall(0.002, 40, h=(h, h), room_c=150.0)
    field.advance(seconds)
    assert at_depth(field, 0.001) == pytest.approx(centre_c, abs=0.04)


@pytest.mark.parametrize(("seconds", "back_c"), [(5, 44.509), (10, 81.448), (20, 121.592), (40, 145.124)])
def test_one_face_held_other_insulated(seconds, back_c):
    # Plane-wall series, 2 mm, back face (computed).
    field = wall(0.002, 40, h=(HELD, 0.0), room_c=150.0)
    field.advance(seconds)
    assert at_depth(field, 0.002) == pytest.approx(back_c, abs=0.06)


@pytest.mark.parametrize(
    ("seconds", "centre_k", "face_k"),
    # 4000 W/m2 into both faces of 2 mm: series of the reference sheet (Carslaw and Jaeger, ch. 3).
    [(1, 0.5997, 10.0361), (5, 12.8893, 24.6457), (20, 63.3053, 75.0700), (40, 130.5322, 142.2969)],
)
def test_plane_wall_under_constant_flux(seconds, centre_k, face_k):
    cells = 80
    field = wall(0.002, cells, heat_w_m2=8000.0, heated=(0, cells - 1))
    field.advance(seconds)
    assert at_depth(field, 0.001) - 20.0 == pytest.approx(centre_k, abs=0.01)
    outermost = cells_c(field)[0] + 4000.0 * 0.5 * (0.002 / cells) / K
    assert outermost - 20.0 == pytest.approx(face_k, abs=0.02)


# Plane wall, Bi = 3: first roots and coefficients (Cengel, Table 4-2, to 4 digits; computed to 6).
ROOTS = (1.192459, 3.808762, 6.703956, 9.724027, 12.796648)
COEFFICIENTS = (1.210226, -0.288143, 0.115438, -0.058927, 0.035064)


def series_c(x):
    """Temperature at x (0 centre, 1 face) of the 2 mm wall after 5 s with Bi = 3."""
    fourier = ALPHA * 5.0 / 0.001**2
    theta = sum(
        c * math.exp(-z * z * fourier) * math.cos(z * x) for z, c in zip(ROOTS, COEFFICIENTS, strict=True)
    )
    return 150.0 - 130.0 * theta


def test_series_used_below_is_the_published_one():
    # Bi = 3, Fo = 0.714286: theta of the centre 0.438280 (computed with 200 terms).
    assert (150.0 - series_c(0.0)) / 130.0 == pytest.approx(0.438280, abs=1e-5)


def test_grid_error_falls_with_the_square_of_the_cell():
    # Even cell counts put a face of two cells on the centre.
    errors = []
    for cells in (6, 12, 24):
        field = wall(0.002, cells, h=(510, 510), room_c=150.0)
        field.advance(5.0)
        errors.append(abs(cells_c(field)[cells // 2] - series_c(1.0 / cells)))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.25)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.25)


def test_error_in_time_falls_with_the_square_of_the_refresh():
    # Conductivity that doubles over the run makes the refresh matter; constant laws are moved exactly.
    def after(refresh_s):
        field = wall(0.004, 24, h=(500, 500), room_c=150.0, k_rise=0.008, refresh_s=refresh_s)
        field.advance(24.0)
        return at_depth(field, 0.002)

    finest = after(1.0 / 16)
    errors = [abs(after(refresh_s) - finest) for refresh_s in (4.0, 2.0, 1.0)]
    assert errors[2] < 0.1
    assert 3.0 < errors[0] / errors[1] < 6.0
    assert 3.0 < errors[1] / errors[2] < 6.0


def test_lumped_slat_cools_exponentially():
    # Slat 0.25 mm, 7850 kg/m3, 480 J/(kg K), 12 W/(m2 K) on both faces: tau 39.25 s; 48.187 C after 60 s.
    field = wall(0.25e-3, 2, h=(12.0, 12.0), k=48.0, rho=7850 * 480 / C, start_c=150.0)
    field.advance(60.0)
    assert cells_c(field) == pytest.approx([48.187, 48.187], abs=5e-3)


@pytest.mark.parametrize(("right", "rise_k"), [(HELD, 4.520842), (0.0, 18.083370)])
def test_uniform_generation_settles_to_its_parabola(right, rise_k):
    # Heater of 5 W/in2 (7750.0155 W/m2) in 1.4 mm, k = 0.30: q L^2/2k, both faces held or one insulated.
    field = wall(
        1.4e-3, 40, h=(HELD, right), k=0.30, rho=1400 * 1200 / C, heat_w_m2=7750.0155, heated=range(40)
    )
    field.advance(120.0)
    assert cells_c(field).max() - 20.0 == pytest.approx(rise_k, rel=2e-3)


def test_steady_series_wall():
    # 150 C / 500 / 2 mm of k 0.17 / 500 / 20 C: 8246.2687 W/m2, wood faces 133.5075 and 36.4925 C.
    cells = 10
    dx = np.full((1, cells), 2e-4)
    resistance = half_resistance(dx, np.full((1, cells), K))
    g = 1.0 / (1.0 / 500.0 + resistance[0, 0])
    ground = np.zeros((1, cells))
    ground[0, [0, -1]] = g
    stiffness = chain(link(resistance, np.full((1, cells - 1), WITHIN)), ground)
    modes = Modes(dx * RHO * C, stiffness, np.full((1, cells), 20.0))
    flux = np.zeros((1, cells))
    flux[0, 0], flux[0, -1] = g * 150.0, g * 20.0
    source = modes.source(flux)
    for _ in range(300):
        modes.step(1.0, source)
    first, last = modes.one_c(0, 0), modes.one_c(0, cells - 1)
    assert g * (150.0 - first) == pytest.approx(8246.2687, rel=1e-6)
    assert g * (last - 20.0) == pytest.approx(8246.2687, rel=1e-6)
    assert 150.0 - g * (150.0 - first) / 500.0 == pytest.approx(133.5075, abs=1e-3)


def test_two_bodies_touching_meet_between():
    # e1 T1 + e2 T2 over e1 + e2: silicone (0.30, 1400, 1200) at 150 C on wood at 20 C -> 99.5812 C.
    cells, dx_m = 200, 5e-5
    dx = np.full((1, cells), dx_m)
    half = cells // 2
    k = np.full((1, cells), 0.30)
    heat = np.full((1, cells), 1400.0 * 1200.0)
    k[0, half:], heat[0, half:] = K, RHO * C
    resistance = half_resistance(dx, k)
    start = np.full((1, cells), 150.0)
    start[0, half:] = 20.0
    joints = link(resistance, np.full((1, cells - 1), WITHIN))
    modes = Modes(dx * heat, chain(joints, np.zeros((1, cells))), start)
    rest = modes.source(np.zeros((1, cells)))
    for _ in range(60):
        modes.step(0.05, rest)
    left, right = modes.one_c(0, half - 1), modes.one_c(0, half)
    face = left + (right - left) * joints[0, half - 1] * resistance[0, half - 1]
    assert face == pytest.approx(99.5812, abs=0.05)


def test_open_joint_lets_nothing_through():
    resistance = half_resistance(np.full((1, 3), 1e-3), np.full((1, 3), K))
    assert link(resistance, np.array([[0.0, 500.0]])).tolist() == [
        [0.0, pytest.approx(1.0 / (1 / 500 + 1e-3 / K))]
    ]


def test_closed_wall_keeps_its_heat_and_any_chopping_agrees():
    whole = wall(0.002, 12, heat_w_m2=500.0, heated=(3,))
    chopped = wall(0.002, 12, heat_w_m2=500.0, heated=(3,))
    whole.advance(1.0)
    whole.switch(np.zeros(1))
    whole.advance(0.6)
    for dt_s in (0.25, 0.5, 0.05, 0.2):
        chopped.advance(dt_s)
    chopped.switch(np.zeros(1))
    for dt_s in (0.1, 0.3, 0.2):
        chopped.advance(dt_s)
    assert cells_c(chopped) == pytest.approx(cells_c(whole), abs=1e-10)
    stored = float((cells_c(whole) - 20.0).sum()) * RHO * C * 0.002 / 12
    assert stored == pytest.approx(500.0, rel=1e-8)
