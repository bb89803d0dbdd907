"""A strip changed in a warm stack: balances close, the form stays warm, the next strip is cold and wet."""

import pytest

from ribwright_sim.changing import strip_cells
from ribwright_sim.plant import Plant
from sim.example_rig import PIECE, RIG, switched

OPEN_S = 180.0


@pytest.fixture
def bent():
    """A side bent, set and cooled a while where it lies."""
    plant = Plant.from_rig(RIG, PIECE | {"wetted": "soaked"}, seed=7)
    switched(plant, 1200, 140.0, press_at_s=240)
    plant.advance(600.0, [False, False])
    return plant


def slats_c(plant):
    s, now = plant.stack, plant.field.now_c()
    return now[:, strip_cells(s).start - 1], now[:, -1 - plant.field._beads]


def test_energy_and_water_close_over_a_change_of_strips_and_the_heat_after_it(bent):
    start_kg = Plant.from_rig(RIG, PIECE | {"wetted": "soaked"}, seed=7).water().start_kg
    gone_kg = bent.water().gone_kg
    assert gone_kg > 0.3 * start_kg
    bent.take_out()
    bent.advance(OPEN_S, [False, False])
    assert bent.water().gone_kg == gone_kg
    assert bent.water().now_kg == pytest.approx(start_kg)
    bent.lay_in()
    switched(bent, 900, 140.0, press_at_s=200)
    assert bent.energy().residual_fraction <= 1e-3
    water = bent.water()
    assert water.now_kg + water.gone_kg == pytest.approx(water.start_kg, rel=1e-12)


def test_the_next_strip_is_cold_and_wet_and_the_form_is_still_warm(bent):
    room_c = bent.stack.ambient_c
    form_c = bent.field.now_c()[:, 2].copy()
    bent.take_out()
    assert all(at == pytest.approx(room_c) for at in bent.sample().wood_mid_c)
    bent.advance(OPEN_S, [False, False])
    assert all(at == pytest.approx(room_c, abs=1e-6) for at in bent.sample().wood_mid_c)
    still_c = bent.field.now_c()[:, 2]
    assert (still_c > room_c + 5.0).all()
    assert (still_c < form_c).any()


def test_an_open_stack_cools_faster_than_one_that_stays_closed(bent):
    twin = Plant.from_rig(RIG, PIECE | {"wetted": "soaked"}, seed=7)
    switched(twin, 1200, 140.0, press_at_s=240)
    twin.advance(600.0, [False, False])
    assert twin.thermocouple_c(1) == bent.thermocouple_c(1)
    bent.take_out()
    for plant in (bent, twin):
        plant.advance(OPEN_S, [False, False])
    for open_c, closed_c in zip(slats_c(bent), slats_c(twin), strict=True):
        assert (open_c < closed_c - 3.0).all()


def test_a_cold_strip_takes_heat_from_the_blankets_it_is_laid_under(bent):
    bent.take_out()
    bent.advance(20.0, [False, False])
    before_c = bent.thermocouple_c(1)
    assert before_c > bent.stack.ambient_c + 10.0
    left_open = before_c
    bent.lay_in()
    bent.advance(30.0, [False, False])
    assert bent.thermocouple_c(1) < left_open - 3.0
    assert max(bent.sample().wood_mid_c) > bent.stack.ambient_c + 5.0


def test_laying_in_where_a_strip_lies_changes_nothing(bent):
    twin = bent.sample()
    bent.lay_in()
    assert bent.sample() == twin
