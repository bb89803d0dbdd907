"""Effects and the column solver against published values and closed forms."""

import math

import numpy as np
import pytest

from ribwright_sim import effects
from ribwright_sim.column import Modes, chain, half_resistance, link

K, RHO, C = 0.17, 700.0, 1700.0
ALPHA = K / (RHO * C)


@pytest.mark.parametrize(
    ("at_c", "kpa"),
    # IAPWS-95 water by CoolProp 8.0.0 (computed); the ancillary equation agrees to 0.03 %.
    [(20, 2.339), (60, 19.946), (100, 101.42), (120, 198.67), (150, 476.17), (200, 1554.9)],
)
def test_saturation_pressure(at_c, kpa):
    assert effects.saturation_pressure_pa(at_c) == pytest.approx(1e3 * kpa, rel=3e-4)


def test_latent_heat_between_table_points():
    # IAPWS steam tables: 110 C -> 2229.7 kJ/kg (from memory); straight between points is 0.1 % off at most.
    assert effects.latent_heat_j_kg(110.0) == pytest.approx(2229.7e3, rel=1e-3)
    assert effects.latent_heat_j_kg(100.0) == pytest.approx(2256.4e3)


@pytest.mark.parametrize(
    ("surface_c", "h"),
    # Churchill-Chu by `ht` 1.2.0 with CoolProp air, plate 0.12 m high in 20 C air (computed).
    [(60.0, 5.940), (100.0, 7.014), (150.0, 7.777), (180.0, 8.090)],
)
def test_vertical_plate_convection(surface_c, h):
    assert effects.convection_w_m2_k(surface_c, 20.0, 0.12) == pytest.approx(h, rel=3e-3)


def test_churchill_chu_by_the_independent_package():
    ht = pytest.importorskip("ht")
    for rayleigh in (1e2, 1e5, 9.2932e6, 1e10):
        grashof = rayleigh / 0.70127
        expected = ht.Nu_vertical_plate_Churchill(0.70127, grashof)
        assert effects.churchill_chu_nusselt(rayleigh, 0.70127) == pytest.approx(expected, rel=1e-12)


def test_radiation_flux():
    # Stefan-Boltzmann: face at 150 C, room at 20 C, e = 0.8 -> 1119.4 W/m2 (computed).
    assert effects.radiation_w_m2(150.0, 20.0, 0.8) == pytest.approx(1119.4, abs=0.06)


@pytest.mark.parametrize(
    ("watt_per_in2", "steady_c"),
    # Bare mat 0.12 m high, e = 0.9, both faces free in 20 C air (computed with `ht`).
    [(0.5, 53.0), (1.0, 77.9), (2.5, 136.1), (5.0, 206.5)],
)
def test_bare_blanket_settles_where_loss_meets_power(watt_per_in2, steady_c):
    # 1 W/in2 = 1550.0031 W/m2, half from each face.
    loss = effects.FaceLoss(20.0, 0.12, 0.9)
    low, high = 20.0, 400.0
    for _ in range(60):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if loss.flux_w_m2(mid) < watt_per_in2 * 775.00155 else (low, mid)
    assert mid == pytest.approx(steady_c, abs=0.2)


def test_face_loss_is_zero_at_room_and_turns_inward_below():
    loss = effects.FaceLoss(20.0, 0.09, 0.6)
    assert loss.flux_w_m2(20.0) == pytest.approx(0.0, abs=1e-9)
    assert loss.flux_w_m2(10.0) < 0.0


def test_power_goes_with_the_square_of_the_mains():
    # Ohm's law with constant resistance.
    assert effects.mains_power_w(400.0, 0.9, 1.0) == pytest.approx(324.0)
    assert effects.mains_power_w(400.0, 1.0, 0.95) == pytest.approx(380.0)


def test_form_contact_grows_from_nothing_to_full():
    assert effects.contact_share(None, 10.0) == 0.0
    assert [effects.contact_share(t, 10.0) for t in (0.0, 5.0, 10.0, 99.0)] == [0.0, 0.5, 1.0, 1.0]


def slab(thickness_m, cells, h_left, h_right, medium_c=150.0, start_c=20.0, k=K, heat=RHO * C):
    """A uniform slab between two media; `math.inf` holds a face, 0 insulates it."""
    dx = np.full((1, cells), thickness_m / cells)
    resistance = half_resistance(dx, np.full((1, cells), k))
    ground = np.zeros((1, cells))
    for cell, h in ((0, h_left), (-1, h_right)):
        if h > 0.0:
            ground[0, cell] = 1.0 / (1.0 / h + resistance[0, cell])
    joints = link(resistance, np.full((1, cells - 1), np.inf))
    modes = Modes(dx * heat, chain(joints, ground), np.full((1, cells), start_c))
    return modes, modes.source(ground * medium_c)


def at(modes, thickness_m, x_m):
    temperatures = modes.temperatures_c()[0]
    middles = (np.arange(temperatures.size) + 0.5) * thickness_m / temperatures.size
    return float(np.interp(x_m, middles, temperatures))


def run(modes, source, seconds, dt_s=0.05):
    for _ in range(round(seconds / dt_s)):
        modes.step(dt_s, source)


@pytest.mark.parametrize(
    ("x_mm", "seconds", "expected"),
    # Carslaw and Jaeger, ch. 2: surface stepped from 20 to 150 C.
    [(0.5, 1, 65.4447), (1.0, 5, 72.3619), (2.0, 10, 50.7741)],
)
def test_semi_infinite_step(x_mm, seconds, expected):
    modes, source = slab(0.010, 200, math.inf, 0.0)
    run(modes, source, seconds)
    assert at(modes, 0.010, x_mm * 1e-3) == pytest.approx(expected, abs=0.05)


@pytest.mark.parametrize(
    ("h", "seconds", "centre_c"),
    # Plane wall 2 mm between media at 150 C, full series (Carslaw and Jaeger ch. 3; Cengel Table 4-2 roots).
    [(170, 2, 32.934), (170, 5, 64.258), (170, 30, 143.902), (510, 5, 93.024), (510, 10, 129.365)],
)
def test_plane_wall_between_hot_media(h, seconds, centre_c):
    modes, source = slab(0.002, 40, h, h)
    run(modes, source, seconds)
    assert at(modes, 0.002, 0.001) == pytest.approx(centre_c, abs=0.06)


@pytest.mark.parametrize(("seconds", "back_c"), [(5, 44.509), (10, 81.448), (20, 121.592), (40, 145.124)])
def test_one_face_held_other_insulated(seconds, back_c):
    # Plane-wall series, 2 mm, back face (computed).
    modes, source = slab(0.002, 40, math.inf, 0.0)
    run(modes, source, seconds)
    assert modes.temperatures_c()[0, -1] == pytest.approx(back_c, abs=0.06)


def test_grid_error_falls_with_the_square_of_the_cell():
    # Same series: 2 mm, h = 510, 5 s, centre 93.024 C; even cell counts put a face on the centre.
    errors = []
    for cells in (6, 12, 24):
        modes, source = slab(0.002, cells, 510, 510)
        run(modes, source, 5)
        errors.append(abs(float(modes.temperatures_c()[0, cells // 2]) - at_series(1.0 / cells)))
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.25)
    assert errors[1] / errors[2] == pytest.approx(4.0, rel=0.25)


# Plane wall, Bi = 3: first roots and coefficients (Cengel Table 4-2 to 4 digits; computed to 6).
ROOTS = (1.192459, 3.808762, 6.703956, 9.724027, 12.796648)
COEFFICIENTS = (1.210226, -0.288143, 0.115438, -0.058927, 0.035064)


def at_series(x):
    """Temperature at x (0 centre, 1 face) of the 2 mm wall after 5 s with Bi = 3."""
    fourier = ALPHA * 5.0 / 0.001**2
    theta = sum(
        c * math.exp(-z * z * fourier) * math.cos(z * x) for z, c in zip(ROOTS, COEFFICIENTS, strict=True)
    )
    return 150.0 - 130.0 * theta


def test_series_used_above_is_the_published_one():
    # Bi = 3, Fo = 0.714286: theta of the centre 0.438280 (computed with 200 terms).
    assert (150.0 - at_series(0.0)) / 130.0 == pytest.approx(0.438280, abs=1e-5)


def test_lumped_slat_cools_exponentially():
    # Slat 0.25 mm, 7850 kg/m3, 480 J/(kg K), 12 W/(m2 K) on both faces: tau 39.25 s; 48.187 C after 60 s.
    capacity = np.array([[7850 * 480 * 0.25e-3]])
    modes = Modes(capacity, np.array([[[24.0]]]), np.array([[150.0]]))
    run(modes, modes.source(np.array([[24.0 * 20.0]])), 60.0, 1.0)
    assert modes.one_c(0, 0) == pytest.approx(48.187, abs=1e-3)


@pytest.mark.parametrize(("right", "rise_k"), [(math.inf, 4.520842), (0.0, 18.083370)])
def test_uniform_generation_settles_to_its_parabola(right, rise_k):
    # Heater of 5 W/in2 in 1.4 mm, k = 0.30: rise over the held face, both faces held or one insulated.
    cells, thickness = 40, 1.4e-3
    modes, _ = slab(thickness, cells, math.inf, right, k=0.30, heat=1400 * 1200)
    dx = thickness / cells
    ground = 2 * 0.30 / dx
    source = np.full((1, cells), 5.535725e6 * dx)
    source[0, 0] += ground * 20.0
    source[0, -1] += ground * 20.0 if right else 0.0
    run(modes, modes.source(source), 120.0, 1.0)
    hottest = float(modes.temperatures_c().max())
    assert hottest - 20.0 == pytest.approx(rise_k, rel=2e-3)


def test_steady_series_wall():
    # 150 C / 500 / 2 mm of k 0.17 / 500 / 20 C: 8246.2687 W/m2, wood faces 133.5075 and 36.4925 C.
    cells = 10
    dx = np.full((1, cells), 2e-4)
    resistance = half_resistance(dx, np.full((1, cells), K))
    g = 1.0 / (1.0 / 500.0 + resistance[0, 0])
    ground = np.zeros((1, cells))
    ground[0, [0, -1]] = g
    stiffness = chain(link(resistance, np.full((1, cells - 1), np.inf)), ground)
    modes = Modes(dx * RHO * C, stiffness, np.full((1, cells), 20.0))
    flux = np.zeros((1, cells))
    flux[0, 0], flux[0, -1] = g * 150.0, g * 20.0
    run(modes, modes.source(flux), 300.0, 1.0)
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
    joints = link(resistance, np.full((1, cells - 1), np.inf))
    modes = Modes(dx * heat, chain(joints, np.zeros((1, cells))), start)
    run(modes, modes.source(np.zeros((1, cells))), 3.0)
    left, right = modes.one_c(0, half - 1), modes.one_c(0, half)
    face = left + (right - left) * joints[0, half - 1] * resistance[0, half - 1]
    assert face == pytest.approx(99.5812, abs=0.05)


def test_closed_slab_keeps_its_heat_and_any_chopping_agrees():
    whole, source = slab(0.002, 12, 0.0, 0.0)
    chopped, _ = slab(0.002, 12, 0.0, 0.0)
    pulse = whole.source(np.eye(12)[3][None, :] * 500.0)
    whole.step(1.0, pulse)
    whole.step(0.6, source)
    for dt_s in (0.25, 0.5, 0.05, 0.2):
        chopped.step(dt_s, pulse)
    for dt_s in (0.1, 0.3, 0.2):
        chopped.step(dt_s, source)
    assert chopped.temperatures_c() == pytest.approx(whole.temperatures_c(), abs=1e-10)
    stored = float((whole.temperatures_c() - 20.0).sum()) * RHO * C * 0.002 / 12
    assert stored == pytest.approx(500.0, rel=1e-10)
