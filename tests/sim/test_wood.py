"""Wood equations against published figures (Wood Handbook FPL-GTR-190 unless another source is named)."""

import numpy as np
import pytest

from ribwright_sim import drying, effects, wood


def test_white_ash_density_at_12_percent():
    # Wood Handbook p. 4-10: G12 0.605 from its graph, 678 kg/m3 from its table, read to half a percent.
    assert wood.gravity_at(0.55, 12.0) == pytest.approx(0.605, rel=0.005)
    assert wood.density_kg_m3(0.55, 12.0) == pytest.approx(678.0, rel=0.005)


def test_gravity_stops_changing_at_fibre_saturation():
    # Wood Handbook p. 4-10: about 30 %.
    assert wood.gravity_at(0.55, 30.0) == pytest.approx(0.55)
    assert wood.gravity_at(0.55, 60.0) == pytest.approx(0.55)


@pytest.mark.parametrize(
    ("gravity", "dry", "moist"),
    [
        # Wood Handbook Table 4-7, p. 4-13: sugar maple (seen); the others at 12 % seen, at 0 % from memory.
        (0.66, 0.15, 0.18),
        (0.63, 0.14, 0.17),
        (0.53, 0.12, 0.15),
        (0.65, 0.14, 0.18),
        (0.60, 0.14, 0.16),
    ],
)
def test_conductivity_matches_the_handbook_table(gravity, dry, moist):
    # The table prints two decimals: half a step plus the equation's own rounding.
    assert wood.conductivity_w_m_k(gravity, 0.0) == pytest.approx(dry, abs=0.0052)
    assert wood.conductivity_w_m_k(gravity, 12.0) == pytest.approx(moist, abs=0.0052)


def test_conductivity_of_a_published_worked_example():
    # Open package "chemics" example for Eq. 4-15: Gb 0.54, shrinkage 12.3 %, 10 % moisture -> 0.1567.
    shrunk = 0.54 / (1.0 - 12.3 * (1.0 - 10.0 / 30.0) / 100.0)
    assert wood.conductivity_w_m_k(shrunk, 10.0) == pytest.approx(0.1567, abs=5e-5)


def test_conductivity_rises_two_to_three_percent_per_ten_kelvin():
    # Wood Handbook p. 4-11.
    ratio = wood.conductivity_w_m_k(0.6, 10.0, 34.0) / wood.conductivity_w_m_k(0.6, 10.0, 24.0)
    assert 1.02 <= ratio <= 1.03


@pytest.mark.parametrize(
    ("at_c", "moisture", "expected"),
    [
        # Open package "chemics", doc test for Eqs. 4-16a..4-18: 12 % at 340 K -> 1.9146 kJ/(kg K) (seen).
        (66.85, 12.0, 1914.6),
        # Evaluated from the same equations by the reference sheet (computed).
        (6.85, 0.0, 1185.9),
        (26.85, 5.0, 1443.2),
        (100.0, 8.0, 1941.9),
        (126.85, 20.0, 2668.2),
    ],
)
def test_heat_capacity(at_c, moisture, expected):
    assert wood.heat_capacity_j_kg_k(moisture, at_c) == pytest.approx(expected, abs=0.06)


def test_heat_content_is_the_integral_of_heat_capacity():
    at_c = np.linspace(20.0, 150.0, 1301)
    per_dry = wood.heat_capacity_j_kg_k(12.0, at_c) * 1.12
    area = float(((per_dry[1:] + per_dry[:-1]) * 0.05).sum())
    assert wood.heat_content_j_kg(12.0, 0.0, 150.0) - wood.heat_content_j_kg(
        12.0, 0.0, 20.0
    ) == pytest.approx(area, rel=1e-9)


@pytest.mark.parametrize(
    ("at_c", "published"),
    [
        # Wood Handbook Table 4-2, 30/50/65/80/90 % relative humidity (seen, page copy).
        (21.1, (6.2, 9.2, 12.0, 16.0, 20.5)),
        (37.8, (5.8, 8.7, 11.2, 15.1, 19.5)),
        (60.0, (5.0, 7.7, 10.0, 13.6, 17.7)),
        (82.2, (4.1, 6.5, 8.6, 11.8, 15.7)),
        (93.3, (3.5, 5.8, 7.8, 10.9, 14.6)),
    ],
)
def test_equilibrium_moisture_matches_the_handbook_table(at_c, published):
    humidity = np.array([0.30, 0.50, 0.65, 0.80, 0.90])
    assert wood.equilibrium_percent(at_c, humidity) == pytest.approx(np.array(published), abs=0.054)


BRIDGE = [
    (105, 10.9),
    (110, 7.7),
    (115, 5.9),
    (120, 4.7),
    (125, 3.7),
    (130, 3.0),
    (140, 1.8),
    (150, 1.1),
    (160, 0.7),
]


@pytest.mark.parametrize(("at_c", "expected"), BRIDGE)
def test_steam_equilibrium_bridge_as_described(at_c, expected):
    # The bridge is a proposal; this checks that it is computed as described, not that wood does so.
    assert wood.steam_bridge_percent(at_c) == pytest.approx(expected, abs=0.06)
    # The curve solvers use is drawn through it within 0.05 %.
    curve = drying.steam_equilibrium_percent(effects.vapour_drive(float(at_c)))
    assert curve == pytest.approx(wood.steam_bridge_percent(at_c), abs=0.05)


def test_steam_equilibrium_bridge_meets_the_handbook_equation_where_that_still_holds():
    # Handbook equation at the humidity of steam at 1 atm: 10.98 % at 105 C, 7.41 % at 110 C (computed).
    assert wood.steam_bridge_percent(105.0) == pytest.approx(10.98, abs=0.3)
    assert wood.steam_bridge_percent(110.0) == pytest.approx(7.41, abs=0.4)


def test_sorption_heat():
    # Siau 1995 as 1170 exp(-0.14 M) kJ/kg (from memory): 12 % -> 218, 4 % -> 668 (computed).
    assert wood.sorption_heat_j_kg(12.0) == pytest.approx(218e3, abs=600)
    assert wood.sorption_heat_j_kg(4.0) == pytest.approx(668e3, abs=600)


def test_softening_passes_through_its_two_anchors():
    # Wood Handbook p. 19-1: about 170 C dry; Hamdan et al. 2000: about 60 C wet (30 %).
    assert wood.softening_c(0.0) == pytest.approx(170.0, abs=0.01)
    assert wood.softening_c(30.0) == pytest.approx(60.0, abs=0.1)


def test_steam_curve_never_rises_with_temperature_and_holds_all_a_wall_can_hold_below_boiling():
    at_c = np.linspace(20.0, 320.0, 3001)
    moisture = drying.steam_equilibrium_percent(effects.vapour_drive(at_c))
    assert np.all(np.diff(moisture) <= 1e-12)
    assert moisture[at_c < 98.0].min() > wood.FIBRE_SATURATION_PERCENT
    assert 0.0 < moisture[-1] < 0.1


def rates(at_c, bound, free=0.0, dry=0.25, escape_s=30.0, seep_s=1e12):
    """Water leaving a cell of 0.25 kg/m2 [%/s], room at 20 C and 8 %, vent 0.02 kg/(m2 s)."""
    room = effects.vapour_drive(20.0)
    return drying.drying_rates_percent_s(at_c, bound, free, dry, escape_s, seep_s, 0.02, 8.0, room)


def test_bound_water_leaves_by_its_excess_over_its_time_constant():
    # 14.7 % at 120 C, bridge equilibrium 4.7 %: 10 % leaves with 30 s.
    bound, free = rates(120.0, 14.7)
    assert bound == pytest.approx(10.0 / 30.0, rel=0.01)
    assert free == 0.0


def test_vapour_takes_latent_heat_and_bound_water_its_sorption_heat_too():
    # Latent heat at 120 C: 2202.1 kJ/kg (CoolProp); sorption 1170 exp(-0.14 * 14.7) = 149.4 kJ/kg.
    bound, free = wood.vapour_heat_j_kg(120.0, 14.7)
    assert free == pytest.approx(2202.1e3, rel=2e-4)
    assert bound - free == pytest.approx(149.4e3, abs=100.0)


def test_free_water_goes_first_by_its_pressure_above_the_room():
    # Vapour pressure at 105 C: 120.9 kPa (steam tables, from memory), so 0.193 atm over; 0.02 kg/(m2 s) at 1.
    bound, free = rates(105.0, 20.0, free=4.0)
    assert free == pytest.approx(100.0 * 0.02 * 0.193 / 0.25, rel=0.01)
    assert bound == 0.0
    # A film half as thick as wets the face: half the rate, and half of the bound water's.
    thin = 0.5 * 100.0 * drying.THIN_KG_M2 / 0.25
    half_bound, half_free = rates(105.0, 20.0, free=thin)
    assert half_free == pytest.approx(0.5 * free)
    assert half_bound == pytest.approx(0.5 * rates(105.0, 20.0)[0])


def test_seep_below_boiling_takes_hours():
    # PROPOSAL: one seep time constant at the boiling point, less below, none at room temperature.
    found = [float(rates(at_c, 14.0, seep_s=7200.0)[0]) for at_c in (20.0, 60.0, 90.0, 98.0)]
    assert found[0] == pytest.approx(0.0, abs=1e-12)
    assert found == sorted(found)
    assert 0.9 < found[-1] / (6.0 / 7200.0) < 1.0


def test_no_water_comes_back():
    assert rates(20.0, 5.0) == (0.0, 0.0)
    assert rates(150.0, 0.0) == (0.0, 0.0)


def test_free_water_adds_its_own_heat_capacity():
    # Plain mixture above fibre saturation (Simpson and TenWolde 1999, seen secondary): 10 % of 4190 J/(kg K).
    dry, wet = wood.heat_terms_j_kg_k(30.0, 0.0), wood.heat_terms_j_kg_k(30.0, 10.0)
    assert wet[0] - dry[0] == pytest.approx(419.0)
    assert wet[1] == dry[1]


def test_conductivity_holds_its_value_above_the_equations_range():
    # Wood Handbook Eq. 4-15 is stated for less than 25 %.
    assert wood.conductivity_w_m_k(0.6, 30.0) == wood.conductivity_w_m_k(0.6, 25.0)
