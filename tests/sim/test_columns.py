"""How a side is cut into columns, what each is heated with, and what the steel carries along it."""

from dataclasses import replace

import numpy as np
import pytest

from ribwright_sim.cut import Column, heated_share
from ribwright_sim.layers import BLANKETS, CELLS, OUTER_SLAT, WOOD
from ribwright_sim.layout import stack_for
from ribwright_sim.materials import load_materials
from ribwright_sim.plant import Plant

PIECE = {"species": "sapele", "thickness_mm": 1.7, "wetted": "misted"}


def rig(*blankets, width_mm=90):
    """Blankets as (name, length in mm), all of 5 W/in2."""
    return {
        "zones": [
            {"name": name, "power_w": 0.00775 * length * width_mm, "length_mm": length, "width_mm": width_mm}
            for name, length in blankets
        ]
    }


TWO = rig(("waist", 150), ("full", 600))


def test_short_and_long_blanket_overlap_at_the_waist():
    stack = stack_for(TWO, PIECE)
    assert stack.columns == ("upper bout", "waist", "lower bout")
    assert stack.own == ((1,), (0, 2))
    # Waist centred at 0.43 of 600 mm: 183, 150 and 267 mm, 90 mm wide.
    assert stack.area_m2 == pytest.approx([0.01647, 0.0135, 0.02403])
    # Junctions: the short one's at the waist, the long one's in the lower bout.
    assert stack.junction_column.tolist() == [1, 2]
    # Rubber in the waist is twice as thick, 2 x 1.4 mm.
    assert stack.thickness_m[:, BLANKETS].sum(axis=1) == pytest.approx([1.4e-3, 2.8e-3, 1.4e-3])


def test_order_of_the_zones_does_not_matter_to_the_cut():
    other = stack_for(rig(("full", 600), ("waist", 150)), PIECE)
    assert other.own == ((0, 2), (1,))
    assert other.area_m2 == pytest.approx(stack_for(TWO, PIECE).area_m2)


@pytest.mark.parametrize(
    ("blankets", "columns", "own"),
    [
        ((("full", 800),), ("side",), ((0,),)),
        ((("left", 400), ("right", 380)), ("left", "right"), ((0,), (1,))),
        (
            (("a", 200), ("b", 200), ("c", 200), ("d", 200)),
            ("a", "b", "c", "d"),
            ((0,), (1,), (2,), (3,)),
        ),
        # A long one over three that lie side by side: its own columns are the two ends.
        (
            (("long", 800), ("a", 150), ("b", 150), ("c", 150)),
            ("long", "a", "b", "c", "long 5"),
            ((0, 4), (1,), (2,), (3,)),
        ),
        # 15 mm that the short ones leave free are a sliver and no column; the long one then answers for all.
        ((("long", 310), ("a", 195), ("b", 100)), ("a", "b"), ((0, 1), (0,), (1,))),
    ],
)
def test_other_rigs_are_cut_too(blankets, columns, own):
    plant = Plant.from_rig(rig(*blankets), PIECE)
    assert plant.columns == columns
    assert plant.stack.own == own
    for _ in range(60):
        plant.advance(1.0, [True] * len(blankets))
    for zone in range(len(blankets)):
        plant.press_on_form(zone)
        assert plant.thermocouple_c(zone) > 60.0
    plant.advance(30.0, [False] * len(blankets))
    assert plant.energy().residual_fraction < 1e-3


def test_power_of_a_blanket_all_arrives():
    stack = stack_for(TWO, PIECE)
    assert stack.heater_share.sum(axis=(1, 2)) == pytest.approx([1.0, 1.0])
    assert stack.heater_share[0, [0, 2]].sum() == 0.0


def test_ends_of_a_blanket_get_less():
    # 25 mm at each end at three quarters of the rest (proposal): 600 mm count as 587.5.
    middle = heated_share((0.0, 0.6), Column("", 0.2, 0.3, (0,)), 0.025, 0.75)
    end = heated_share((0.0, 0.6), Column("", 0.0, 0.1, (0,)), 0.025, 0.75)
    assert middle == pytest.approx(100.0 / 587.5)
    assert end == pytest.approx((100.0 - 6.25) / 587.5)
    row = load_materials().row("silicone blanket", "edge_power")
    assert row.low < row.value < row.high


def test_blanket_shorter_than_its_two_ends_is_all_end():
    whole = heated_share((0.0, 0.04), Column("", 0.0, 0.04, (0,)), 0.025, 0.75)
    assert whole == pytest.approx(1.0)


def test_heat_runs_along_the_side_from_hot_to_cold():
    joined = Plant.from_rig(TWO, PIECE)
    apart = Plant(replace(joined.stack, along_w_k=0.0 * joined.stack.along_w_k))
    for plant in (joined, apart):
        for _ in range(240):
            plant.advance(1.0, [True, False])
    with_steel, without = joined.sample(), apart.sample()
    assert without.wood_mid_c[0] == pytest.approx(20.0, abs=1e-6)
    assert 0.5 < with_steel.wood_mid_c[0] - 20.0 < 15.0
    # The shorter upper bout warms more than the lower.
    assert with_steel.wood_mid_c[0] > with_steel.wood_mid_c[2] > 20.0
    assert joined.energy().residual_fraction < 1e-3


def test_steel_carries_most_of_what_runs_along():
    stack = stack_for(TWO, PIECE)
    cell = stack.along_from % CELLS
    # One slat: 48 W/(m K) x 0.25 mm x 90 mm over half of 183 + 150 mm.
    slat = stack.along_w_k[cell == OUTER_SLAT]
    assert slat[0] == pytest.approx(48.0 * 0.25e-3 * 0.09 / (0.5 * 0.333), rel=1e-9)
    rubber = stack.along_w_k[(cell >= BLANKETS.start) & (cell < BLANKETS.stop)].sum() / 2
    wood = stack.along_w_k[(cell >= WOOD.start) & (cell < WOOD.stop)].sum() / 2
    assert rubber < 0.05 * slat[0]
    assert wood < 0.10 * slat[0]


def test_holding_the_flow_along_over_a_second_costs_next_to_nothing():
    # Only what runs along differs enough here: one bout is cold, the other columns hot, nothing else changes.
    def lower_bout_c(refresh_s):
        plant = Plant.from_rig(TWO, {**PIECE, "wetted": "dry", "moisture_percent": 0}, refresh_s=refresh_s)
        plant.advance(180.0, [True, False])
        return np.array(plant.sample().wood_mid_c)[[0, 2]]

    assert lower_bout_c(1.0) == pytest.approx(lower_bout_c(0.125), abs=2e-3)
