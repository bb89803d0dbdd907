"""What is worked out while nobody waits is what would have been found anyway, to the last digit."""

from random import Random

import pytest

from ribwright_host.virtual import example_piece, example_rig
from ribwright_sim.plant import Plant


def fresh():
    return Plant.from_rig(example_rig().mapping, example_piece(), seed=7)


def steps(seed, count=600):
    """Steps of an unsteady board: switching, a touch of the form, lower mains, another strip."""
    dice = Random(seed)
    on = (1.0, 1.0)
    for at in range(count):
        if dice.random() < 0.15:
            on = tuple(float(dice.random() < 0.6) for _ in on)
        act = {200: "press", 300: "mains", 450: "lift", 480: "out", 520: "in"}.get(at)
        yield dice.choice((0.05, 0.1, 0.100222, 0.25, 1.0, 1.7)), on, act


def act_on(plant, act):
    if act == "press":
        plant.press_on_form(0)
    elif act == "lift":
        plant.lift_off_form(0)
    elif act == "out":
        plant.take_out()
    elif act == "in":
        plant.lay_in()
    elif act == "mains":
        plant.mains = 0.95


@pytest.mark.parametrize("seed", [1, 2])
def test_a_plant_that_looks_ahead_goes_the_same_way_to_the_last_digit(seed):
    plain, ahead = fresh(), fresh()
    taken = 0
    for dt_s, on, act in steps(seed):
        act_on(plain, act)
        act_on(ahead, act)
        ahead.look_ahead(0.1)
        before = ahead.field
        plain.advance(dt_s, on)
        ahead.advance(dt_s, on)
        taken += ahead.field is not before
        assert [ahead.thermocouple_c(zone) for zone in (0, 1)] == [
            plain.thermocouple_c(zone) for zone in (0, 1)
        ]
    assert ahead.sample() == plain.sample()
    assert ahead.energy() == plain.energy()
    assert ahead.time_s == plain.time_s
    # Else nothing was tried.
    assert taken > 20


def test_looking_ahead_moves_nothing_by_itself():
    plant = fresh()
    plant.advance(0.95, (1.0, 0.0))
    was = plant.sample(), plant.energy(), plant.time_s
    plant.look_ahead(0.1)
    assert (plant.sample(), plant.energy(), plant.time_s) == was


@pytest.mark.parametrize("act", ["press", "lift", "mains", "out"])
def test_what_was_looked_ahead_to_is_dropped_when_the_stack_is_touched(act):
    plain, ahead = fresh(), fresh()
    for plant in (plain, ahead):
        plant.advance(60.95, (1.0, 1.0))
    ahead.look_ahead(0.1)
    for plant in (plain, ahead):
        act_on(plant, act)
        plant.advance(0.1, (1.0, 1.0))
    assert ahead.sample() == plain.sample()
