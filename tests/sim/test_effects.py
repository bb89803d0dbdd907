"""Physical effects against published values and independent packages."""

import math

import numpy as np
import pytest

from ribwright_sim import effects


@pytest.mark.parametrize(
    ("at_c", "kpa"),
    # IAPWS-95 water by CoolProp 8.0.0 (computed); the ancillary equation agrees to 0.03 %.
    [(20, 2.339), (60, 19.946), (100, 101.42), (120, 198.67), (150, 476.17), (200, 1554.9)],
)
def test_saturation_pressure(at_c, kpa):
    assert effects.saturation_pressure_pa(at_c) == pytest.approx(1e3 * kpa, rel=3e-4)


@pytest.mark.parametrize(
    ("at_c", "kj_kg"),
    # CoolProp 8.0.0, IAPWS-95 (computed).
    [
        (20, 2453.5),
        (40, 2406.0),
        (60, 2357.7),
        (80, 2308.0),
        (100, 2256.4),
        (120, 2202.1),
        (140, 2144.3),
        (150, 2113.8),
        (160, 2082.0),
        (180, 2014.2),
        (200, 1939.7),
    ],
)
def test_latent_heat(at_c, kj_kg):
    assert effects.latent_heat_j_kg(float(at_c)) == pytest.approx(1e3 * kj_kg, rel=2e-4)


def test_latent_heat_is_held_beyond_its_ends():
    assert effects.latent_heat_j_kg(5.0) == effects.latent_heat_j_kg(20.0)
    assert effects.latent_heat_j_kg(230.0) == effects.latent_heat_j_kg(200.0)


def test_steam_by_the_independent_package():
    steam = pytest.importorskip("CoolProp.CoolProp")
    for at_c in (25.0, 75.0, 99.0, 101.0, 130.0, 177.0):
        kelvin = at_c + 273.15
        pressure = steam.PropsSI("P", "T", kelvin, "Q", 0, "Water")
        latent = steam.PropsSI("H", "T", kelvin, "Q", 1, "Water") - steam.PropsSI(
            "H", "T", kelvin, "Q", 0, "Water"
        )
        assert effects.saturation_pressure_pa(at_c) == pytest.approx(pressure, rel=3e-4)
        assert effects.latent_heat_j_kg(at_c) == pytest.approx(latent, rel=3e-4)


def test_air_by_the_independent_package():
    # Churchill-Chu of `ht` on CoolProp's air, the whole coefficient at once.
    ht, air = pytest.importorskip("ht"), pytest.importorskip("CoolProp.CoolProp")
    for surface_c, room_c, height_m in ((60.0, 20.0, 0.12), (150.0, 20.0, 0.09), (40.0, 30.0, 0.10)):
        film_k = 0.5 * (surface_c + room_c) + 273.15
        k, density, viscosity, prandtl = (
            air.PropsSI(what, "T", film_k, "P", 101325.0, "Air") for what in ("L", "D", "V", "PRANDTL")
        )
        grashof = 9.80665 * (surface_c - room_c) * height_m**3 / (film_k * (viscosity / density) ** 2)
        expected = ht.Nu_vertical_plate_Churchill(prandtl, grashof) * k / height_m
        assert effects.convection_w_m2_k(surface_c, room_c, height_m) == pytest.approx(expected, rel=3e-3)


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
    low, high = 20.0, 400.0

    def flux(at_c):
        return effects.face_flux_w_m2(at_c, 20.0, 0.12, 0.9)

    for _ in range(60):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if flux(mid) < watt_per_in2 * 775.00155 else (low, mid)
    assert mid == pytest.approx(steady_c, abs=0.2)


def test_face_loss_is_zero_at_room_and_turns_inward_below():
    assert effects.face_flux_w_m2(20.0, 20.0, 0.09, 0.6) == pytest.approx(0.0, abs=1e-9)
    assert effects.face_flux_w_m2(10.0, 20.0, 0.09, 0.6) < 0.0


def test_power_goes_with_the_square_of_the_mains():
    # Ohm's law with constant resistance.
    assert effects.mains_power_w(400.0, 0.9, 1.0) == pytest.approx(324.0)
    assert effects.mains_power_w(400.0, 1.0, 0.95) == pytest.approx(380.0)


def test_form_contact_grows_from_nothing_to_full():
    assert effects.contact_share(-math.inf, 10.0) == 0.0
    assert [effects.contact_share(t, 10.0) for t in (0.0, 5.0, 10.0, 99.0)] == [0.0, 0.5, 1.0, 1.0]


def test_laws_take_arrays_as_they_take_numbers():
    # The same function serves a solver that steps one cell and one that steps all.
    from ribwright_sim.laws import BENCH

    at_c = np.array([20.0, 99.0, 101.0, 150.0])
    cases = [
        (BENCH.conductivity_w_m_k, (0.55, 1.0, 0.025, 12.0, at_c)),
        (BENCH.drying_rates_percent_s, (at_c, 20.0, 5.0, 0.2, 30.0, 7200.0, 0.02, 8.0, 0.02)),
        (BENCH.vapour_heat_j_kg, (at_c, 12.0)),
        (BENCH.face_flux_w_m2, (at_c, 21.0, 0.09, 0.6)),
        (BENCH.contact_share, (at_c, 50.0)),
    ]
    for law, values in cases:
        whole = np.array(law(*values))
        for i, one in enumerate(at_c):
            single = law(*(float(one) if value is at_c else value for value in values))
            assert whole[..., i] == pytest.approx(np.array(single), rel=1e-14)
