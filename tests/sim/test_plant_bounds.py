"""Any stack and any switching stays within physical bounds; bad calls are refused by name."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from ribwright_sim.materials import StackError
from ribwright_sim.plant import Plant

RIG = {
    "zones": [
        {"name": "waist", "power_w": 105.0, "length_mm": 150, "width_mm": 90},
        {"name": "full", "power_w": 420.0, "length_mm": 600, "width_mm": 90},
    ],
}
PIECE = {"species": "sapele", "thickness_mm": 1.7, "wetted": "misted"}


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=some.integers(1, 10_000),
    species=some.sampled_from(["sapele", "koa", "black walnut", "East Indian rosewood"]),
    thickness_mm=some.floats(0.5, 8.0),
    moisture=some.floats(0.0, 25.0),
    ambient_c=some.floats(0.0, 35.0),
    watt_cm2=some.floats(0.05, 2.0),
    pattern=some.lists(
        some.tuples(some.booleans(), some.booleans(), some.sampled_from([0.01, 0.1, 1.0, 7.3, 30.0])),
        min_size=5,
        max_size=25,
    ),
)
def test_any_stack_stays_sane(seed, species, thickness_mm, moisture, ambient_c, watt_cm2, pattern):
    rig = {
        "zones": [
            {"name": n, "power_w": watt_cm2 * length * 9.0, "length_mm": length * 10.0, "width_mm": 90}
            for n, length in (("waist", 15.0), ("full", 60.0))
        ]
    }
    piece = {"species": species, "thickness_mm": thickness_mm, "moisture_percent": moisture}
    plant = Plant.from_rig(rig, piece, seed=seed, ambient_c=ambient_c)
    last = plant.sample().moisture_percent
    for index, (waist, full, dt_s) in enumerate(pattern):
        if index == 3:
            plant.press_on_form(0)
        plant.advance(dt_s, [waist, full])
        sample = plant.sample()
        for zone in (0, 1):
            # Nothing is colder than the room nor hotter than the element.
            others = (
                sample.thermocouple_c[zone],
                sample.slat_c[zone],
                sample.wood_mid_c[zone],
                sample.wood_hot_c[zone],
            )
            assert min(others) >= ambient_c - 1e-3
            if waist and full and dt_s > 5.0:
                assert max(others) <= sample.blanket_core_c[zone] + 1e-3
            assert 0.0 <= sample.moisture_percent[zone] <= last[zone] + 1e-3
        last = sample.moisture_percent
    assert plant.energy().residual_fraction <= 2e-3
    water = plant.water()
    assert water.now_kg + water.gone_kg == pytest.approx(water.start_kg, rel=1e-9, abs=1e-15)


@pytest.mark.parametrize(
    ("call", "where"),
    [
        (lambda: Plant.from_rig(RIG, PIECE, mains=-0.1), "mains"),
        (lambda: Plant.from_rig(RIG, PIECE, mains=math.nan), "mains"),
        (lambda: Plant.from_rig(RIG, PIECE, ambient_c=math.nan), "ambient_c"),
        (lambda: Plant.from_rig(RIG, PIECE, start_c=900.0), "start_c"),
        (lambda: Plant.from_rig(RIG, PIECE, refresh_s=0.0), "refresh_s"),
        (lambda: Plant.from_rig(RIG, PIECE).advance(-0.1, [True, True]), "dt_s"),
        (lambda: Plant.from_rig(RIG, PIECE).advance(math.nan, [True, True]), "dt_s"),
        (lambda: Plant.from_rig(RIG, PIECE).advance(0.1, [True]), "on"),
    ],
)
def test_bad_call_is_refused_by_name(call, where):
    with pytest.raises(StackError) as seen:
        call()
    assert seen.value.where == where
    assert seen.value.advice
