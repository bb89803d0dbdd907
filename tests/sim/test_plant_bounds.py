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


def rig_of(lengths_mm, watt_cm2, form="plywood"):
    return {
        "zones": [
            {"name": f"zone {i}", "power_w": watt_cm2 * length * 0.9, "length_mm": length, "width_mm": 90}
            for i, length in enumerate(lengths_mm)
        ],
        "stack": {"form": form},
    }


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=some.integers(1, 10_000),
    lengths_mm=some.sampled_from(
        [(150, 600), (600,), (300, 280), (120, 110, 130, 700), (150, 150, 150, 150)]
    ),
    species=some.sampled_from(["sapele", "koa", "black walnut", "East Indian rosewood"]),
    form=some.sampled_from(["plywood", "aluminium", "mdf"]),
    thickness_mm=some.floats(0.4, 8.0),
    moisture=some.floats(0.0, 40.0),
    wetted=some.sampled_from(["dry", "misted", "wiped", "soaked"]),
    ambient_c=some.floats(0.0, 35.0),
    watt_cm2=some.floats(0.05, 1.5),
    pattern=some.lists(
        some.tuples(some.booleans(), some.booleans(), some.sampled_from([0.01, 0.1, 1.0, 7.3, 30.0])),
        min_size=5,
        max_size=25,
    ),
)
def test_any_stack_stays_sane(
    seed, lengths_mm, species, form, thickness_mm, moisture, wetted, ambient_c, watt_cm2, pattern
):
    piece = {
        "species": species,
        "thickness_mm": thickness_mm,
        "moisture_percent": moisture,
        "wetted": wetted,
    }
    plant = Plant.from_rig(rig_of(lengths_mm, watt_cm2, form), piece, seed=seed, ambient_c=ambient_c)
    field, cells = plant.field, plant.stack.thickness_m.shape[1]
    last = field.settle()
    hottest_c = ambient_c
    for index, (first, other, dt_s) in enumerate(pattern):
        if index == 3:
            plant.press_on_form(0)
        on = [(first, other)[zone % 2] for zone in range(len(lengths_mm))]
        plant.advance(dt_s, on)
        now = field.settle()
        # Nothing is colder than the room, and no cell is hotter than the elements have been.
        assert now.at_c.min() >= ambient_c - 1e-3
        elements_c = now.at_c[:, :cells][plant.stack.heater_share.sum(axis=0) > 0.0].max()
        hottest_c = max(hottest_c, elements_c)
        assert now.at_c.max() <= hottest_c + 1e-3
        for before, after in ((last.bound_percent, now.bound_percent), (last.free_percent, now.free_percent)):
            assert after.min() >= 0.0
            assert (after - before).max() <= 1e-2
        last = now
    assert plant.energy().residual_fraction <= 1e-3
    assert abs(plant.energy().scheme_j) <= 1e-9 * max(1.0, plant.energy().heater_j)
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
