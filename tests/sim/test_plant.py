"""The whole stack: balances, convergence, behaviour, bad input."""

import math
import time
from dataclasses import replace

import numpy as np
import pytest

from ribwright_sim import layers
from ribwright_sim.plant import Plant
from sim.example_rig import PIECE, RIG, heated, switched


@pytest.fixture(scope="module")
def long_run():
    plant = Plant.from_rig(RIG, PIECE)
    switched(plant, 1800, 150.0, press_at_s=300)
    plant.lift_off_form(0)
    for _ in range(60):
        plant.advance(10.0, [False, False])
    return plant


def test_energy_closes_over_forty_minutes(long_run):
    energy = long_run.energy()
    assert long_run.time_s == pytest.approx(2400.0)
    assert energy.heater_j > 2e5
    assert energy.residual_fraction <= 1e-4
    assert abs(energy.scheme_j) <= 1e-9 * energy.heater_j


def test_energy_closes_for_a_drawn_plant_in_a_cold_shed_on_poor_mains():
    plant = Plant.from_rig(RIG, PIECE, seed=7, ambient_c=5.0, mains=0.9, start_c=60.0)
    switched(plant, 600, 150.0, press_at_s=100)
    assert plant.energy().residual_fraction <= 1e-3


def test_water_balances(long_run):
    water = long_run.water()
    assert water.gone_kg > 0.5 * water.start_kg
    assert water.now_kg + water.gone_kg == pytest.approx(water.start_kg, rel=1e-12)


def test_water_at_the_start_is_moisture_times_dry_mass():
    # Sapele Gb 0.55, 11 %: G = 0.55/(1 - 0.265*(19/30)*0.55) = 0.60592; 0.054 m2 x 1.7 mm, a mist of 15 g/m2
    # on both faces.
    water = Plant.from_rig(RIG, PIECE).water()
    assert water.start_kg == pytest.approx(0.054 * (0.11 * 605.92 * 1.7e-3 + 0.030), rel=1e-4)


def test_heater_energy_is_power_times_time_on():
    plant = Plant.from_rig(RIG, PIECE, mains=0.9)
    plant.advance(10.25, [True, False])
    plant.mains = 1.1
    plant.advance(4.0, [True, True])
    # 105 W x 0.81 x 10.25 s, then 525 W x 1.21 x 4 s (Ohm's law).
    assert plant.energy().heater_j == pytest.approx(105 * 0.81 * 10.25 + 525 * 1.21 * 4.0, rel=1e-12)


def test_answer_does_not_depend_on_how_steps_are_chopped():
    coarse, fine = Plant.from_rig(RIG, PIECE), Plant.from_rig(RIG, PIECE)
    for second in range(150):
        on = [second % 3 != 0, second % 2 == 0]
        coarse.advance(1.0, on)
        for dt_s in (0.013, 0.387, 0.1, 0.3, 0.2):
            fine.advance(dt_s, on)
    for name in ("thermocouple_c", "wood_mid_c", "wood_hot_c", "moisture_percent"):
        assert getattr(fine.sample(), name) == pytest.approx(getattr(coarse.sample(), name), abs=1e-6)


def test_halving_the_refresh_converges():
    finest = heated(refresh_s=0.0625).sample()
    errors = {}
    for refresh_s in (2.0, 1.0, 0.5, 0.25):
        sample = heated(refresh_s=refresh_s).sample()
        errors[refresh_s] = abs(sample.wood_mid_c[1] - finest.wood_mid_c[1])
        # Below the 0.25 C steps of the chip, whatever the refresh.
        assert abs(sample.thermocouple_c[0] - finest.thermocouple_c[0]) < 0.25
    assert abs(heated().sample().thermocouple_c[0] - finest.thermocouple_c[0]) < 0.1
    assert errors[2.0] > errors[0.5] > errors[0.25]
    assert errors[1.0] < 0.1


def test_energy_residual_shrinks_with_the_refresh():
    # Change of heat content by the property laws against heater, loss and vapour, over a switched run.
    residuals = []
    for refresh_s in (4.0, 2.0, 1.0):
        plant = Plant.from_rig(RIG, PIECE, refresh_s=refresh_s)
        switched(plant, 600, 150.0, press_at_s=300)
        residuals.append(plant.energy().residual_fraction)
    assert residuals[0] < 1e-3
    assert residuals[1] < 0.5 * residuals[0]
    assert residuals[2] < 0.5 * residuals[1]


def test_asking_changes_nothing():
    asked, silent = Plant.from_rig(RIG, PIECE), Plant.from_rig(RIG, PIECE)
    for _ in range(200):
        asked.advance(0.7, [True, True])
        silent.advance(0.7, [True, True])
        asked.sample()
        asked.energy()
        asked.water()
    assert asked.sample() == silent.sample()


def test_meeting_the_form_draws_heat_and_lifting_ends_it():
    # Zone 0 is the waist, column 1.
    free, pressed = heated(), heated()
    pressed.press_on_form(0)
    for plant in (free, pressed):
        plant.advance(20.0, [False, False])
    drop_k = [a - b for a, b in zip(free.sample().wood_mid_c, pressed.sample().wood_mid_c, strict=True)]
    assert drop_k[1] > 5.0
    # The bouts have not been touched; the slats carry a little from there.
    assert 0.0 <= drop_k[0] < 0.3
    assert 0.0 <= drop_k[2] < 0.3
    pressed.lift_off_form(0)
    before = pressed.sample().wood_mid_c[1] - pressed.sample().slat_c[0]
    pressed.advance(20.0, [False, False])
    after = pressed.sample().wood_mid_c[1] - pressed.sample().slat_c[0]
    assert abs(after) < abs(before)


def test_form_contact_comes_in_over_seconds():
    plant = heated()
    plant.press_on_form(0)
    drops = []
    last = plant.sample().wood_mid_c[1]
    for _ in range(4):
        plant.advance(2.0, [False, False])
        now = plant.sample().wood_mid_c[1]
        drops.append(last - now)
        last = now
    assert drops[1] > drops[0]


def test_thermocouple_lags_what_it_touches_by_its_time_constant():
    slow = heated(0)
    assert slow.stack.junction_lag_s.tolist() == [2.0, 2.0]
    quick = Plant(replace(slow.stack, junction_lag_s=np.array([0.01, 0.01])))
    for plant in (slow, quick):
        plant.advance(60.0, [True, True])
    felt_c = quick.thermocouple_c(0)
    for plant in (slow, quick):
        plant.advance(1.0, [True, True])
    slope_k_s = quick.thermocouple_c(0) - felt_c
    # First-order lag behind a steady ramp: time constant times slope.
    assert quick.thermocouple_c(0) - slow.thermocouple_c(0) == pytest.approx(2.0 * slope_k_s, rel=0.05)
    # It touches the blanket's outer face and the slat, so it lies between slat and element.
    assert slow.sample().slat_c[1] < quick.thermocouple_c(1) < slow.sample().blanket_core_c[1]


def test_cold_junction_sits_a_little_above_the_room():
    # 2 K: common practice, no source.
    assert Plant.from_rig(RIG, PIECE, ambient_c=15.0).cold_junction_c(1) == pytest.approx(17.0)


def test_pressing_tightens_the_joints_of_the_wood():
    # Foil on wood by slat tension 150-700 W/(m2 K) (proposal): looser part hanging, tighter part pressed.
    stack = Plant.from_rig(RIG, PIECE).stack
    joint = layers.WOOD.stop - 1
    assert stack.contact_hanging_w_m2_k[:, joint] == pytest.approx([250.0] * 3)
    assert stack.contact_pressed_w_m2_k[:, joint] == pytest.approx([450.0] * 3)
    # And nothing touches the form before.
    assert stack.contact_hanging_w_m2_k[:, layers.FORM_CELLS - 1].tolist() == [0.0] * 3


def test_sudden_cooling_gives_no_water_back():
    # Wood drying hard at 150 C meets a cold aluminium form with a coarse refresh: the straight-line rate
    # would turn to condensation, which vented foil does not hold.
    rig = {**RIG, "stack": {"form": "aluminium"}}
    plant = Plant.from_rig(rig, {**PIECE, "thickness_mm": 0.5, "moisture_percent": 24}, refresh_s=10.0)
    plant.advance(70.0, [True, True])
    last = plant.sample().moisture_percent[1]
    assert 3.0 < last < 24.0
    plant.press_on_form(0)
    # At the refresh points: between them the straight line may turn back a little.
    for _ in range(6):
        plant.advance(10.0, [False, False])
        now = plant.sample().moisture_percent[1]
        assert now <= last + 1e-12
        last = now
    assert plant.energy().residual_fraction < 1e-2


def test_cold_stack_stays_cold():
    plant = Plant.from_rig(RIG, PIECE, ambient_c=20.0)
    plant.advance(1000.0, [False, False])
    sample = plant.sample()
    assert sample.wood_mid_c == pytest.approx((20.0,) * 3, abs=1e-9)
    assert sample.moisture_percent == pytest.approx((11.0,) * 3, abs=1e-12)
    assert plant.energy().residual_fraction < 1e-6


def test_hot_stack_cools_to_the_room():
    plant = Plant.from_rig(RIG, {**PIECE, "moisture_percent": 0}, start_c=150.0)
    first = plant.sample().slat_c[0]
    plant.advance(441.0, [False, False])
    later = plant.sample().slat_c[0]
    # Time constant of a comparable stack, one face, 15 W/(m2 K): 441 s (computed); two faces cool faster.
    assert first == pytest.approx(150.0)
    assert 20.0 + 130.0 * math.exp(-3.0) < later < 20.0 + 130.0 * math.exp(-1.0)


def test_same_seed_same_plant_and_other_seed_another():
    one, same, other = (heated(30, seed=seed).sample() for seed in (3, 3, 4))
    assert one == same
    assert one != other


def test_hanging_strip_leaves_the_form_at_room_temperature():
    form_c = heated(120).field.settle().at_c[:, : layers.FORM_CELLS]
    assert form_c == pytest.approx(20.0 * np.ones_like(form_c), abs=1e-9)


def test_face_on_the_form_no_longer_loses_heat_to_the_room():
    plant = heated(120)
    slats = [layers.INNER_SLAT, layers.OUTER_SLAT]
    free = plant.field._sink[1, slats]
    plant.press_on_form(0)
    plant.advance(30.0, [True, True])
    pressed = plant.field._sink[1, slats]
    assert free.min() > 100.0
    assert pressed[0] == 0.0
    assert pressed[1] > 100.0


def test_reading_of_a_whole_run_costs_little():
    # The shipped way through 40 minutes: 24,000 readings of two zones, 33,600 calls.
    plant = Plant.from_rig(RIG, PIECE)
    started_s = time.process_time()
    for step in range(24_000):
        on = [plant.thermocouple_c(zone) < 150.0 for zone in (0, 1)]
        plant.advance(0.06 if step % 5 < 2 else 0.1, on)
        if step % 5 < 2:
            plant.advance(0.04, on)
    # About 1.1 s on the machine it was written on; a tenfold margin finds what grows by a power.
    assert time.process_time() - started_s < 11.0


def test_half_the_current_heats_half_as_much():
    plant = Plant.from_rig(RIG, PIECE)
    plant.advance(8.0, [0.5, 0.0])
    assert plant.energy().heater_j == pytest.approx(105 * 0.5 * 8.0, rel=1e-12)


def test_the_element_is_hottest_where_it_lies_and_the_cut_off_sits_at_it():
    plant = Plant.from_rig(RIG, PIECE)
    plant.advance(40.0, [True, False])
    hottest_c, place_c = plant.hottest_blanket_c(0), plant.cutoff_place_c(0)
    assert plant.thermocouple_c(0) < place_c <= hottest_c
    # Nothing is hotter than the one blanket that heats.
    assert hottest_c == pytest.approx(float(plant.field.now_c().max()))
    assert plant.hottest_blanket_c(1) < hottest_c
