"""Every row of the tables: unit known, range around the value, source and status named."""

import math

import numpy as np
import pytest

from ribwright_sim import layout, stack_file
from ribwright_sim.materials import UNIT_OF, StackError, load_materials
from ribwright_sim.wood import all_species, species

ROWS = list(load_materials())
STATUS = ("seen", "from memory unverified", "computed", "proposal", "no source")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.name}: {row.quantity}")
def test_material_row_has_unit_range_and_source(row):
    assert row.unit == UNIT_OF[row.quantity]
    assert math.isfinite(row.low)
    assert math.isfinite(row.high)
    assert 0.0 <= row.low <= row.value <= row.high
    assert row.at_c is None or -50.0 <= row.at_c <= 300.0
    assert any(mark in row.source for mark in STATUS)


@pytest.mark.parametrize("row", all_species(), ids=lambda row: row.name)
def test_species_row_has_range_and_source(row):
    # Wood Handbook conductivity equation: gravity above 0.3.
    assert 0.3 < row.low <= row.basic_gravity <= row.high < 1.1
    assert row.botanical
    assert "seen" in row.source or "from memory" in row.source


def test_no_material_row_is_written_twice():
    from ribwright_sim.materials import read_table

    keys = [(line["name"], line["quantity"]) for line in read_table("materials.csv")]
    assert len(keys) == len(set(keys))
    assert len(keys) == len(ROWS)


def test_species_is_found_whatever_its_capitals():
    assert species(" honduras Mahogany ").basic_gravity == 0.45


def test_missing_material_and_species_name_what_is_known():
    with pytest.raises(
        StackError, match=r"missing: density of a material is 'lead', known: .*plywood"
    ) as seen:
        load_materials().row("lead", "density")
    assert seen.value.code == "missing"
    with pytest.raises(StackError, match=r"unknown: piece\.species is 'oakum', known: sapele") as seen:
        species("oakum")
    assert seen.value.code == "unknown"


def test_every_solid_of_a_stack_has_its_three_rows():
    rows = load_materials()
    for name in (
        "spring steel",
        "stainless steel",
        "aluminium foil",
        "silicone blanket",
        "plywood",
        "mdf",
        "timber",
        "aluminium",
    ):
        for quantity in ("density", "specific_heat", "conductivity"):
            assert rows.row(name, quantity).value > 0.0


RIG = {"zones": [{"name": "waist", "power_w": 105.0, "length_mm": 150, "width_mm": 90}]}


def altered(**zone):
    return {"zones": [{**RIG["zones"][0], **zone}]}


def pile(*lengths_mm):
    return {
        "zones": [
            {"name": f"zone {length}", "power_w": 50.0, "length_mm": length, "width_mm": 90}
            for length in lengths_mm
        ]
    }


@pytest.mark.parametrize(
    ("rig", "where", "code"),
    [
        ({}, "rig.zones", "missing"),
        ({"zones": []}, "rig.zones", "missing"),
        ({"zones": ["waist"]}, "zones[0]", "type"),
        (altered(power_w=0), "zones[0].power_w", "range"),
        (altered(power_w=-5.0), "zones[0].power_w", "range"),
        (altered(power_w="105"), "zones[0].power_w", "type"),
        # 150 x 90 mm at the stated 1.6 W/cm2 take 216 W.
        (altered(power_w=217.0), "zones[0].power_w", "range"),
        (altered(power_w=True), "zones[0].power_w", "type"),
        (altered(power_w=None), "zones[0].power_w", "missing"),
        (altered(length_mm=math.nan), "zones[0].length_mm", "range"),
        (altered(width_mm=math.inf), "zones[0].width_mm", "range"),
        ({**RIG, "stack": {"foil_mm": 0}}, "stack.foil_mm", "range"),
        ({**RIG, "stack": {"slat_mm": 0.0}}, "stack.slat_mm", "range"),
        ({**RIG, "stack": {"slat": "cheese"}}, "density of a material", "missing"),
        ({**RIG, "stack": {"form": "silicone"}}, "density of a material", "missing"),
        ({**RIG, "stack": 7}, "rig.stack", "type"),
        (pile(320, 200, 150), "rig.zones", "range"),
    ],
)
def test_bad_rig_is_refused_with_its_place(rig, where, code):
    with pytest.raises(StackError) as seen:
        layout.stack_for(rig, {})
    assert (seen.value.where, seen.value.code) == (where, code)
    assert seen.value.advice
    assert "\n" not in str(seen.value)


@pytest.mark.parametrize(
    ("piece", "where", "code"),
    [
        ({"thickness_mm": 0}, "piece.thickness_mm", "range"),
        ({"thickness_mm": -1.7}, "piece.thickness_mm", "range"),
        ({"plies": 0}, "piece.plies", "range"),
        ({"moisture_percent": -0.1}, "piece.moisture_percent", "range"),
        ({"moisture_percent": 40.1}, "piece.moisture_percent", "range"),
        ({"moisture_percent": math.nan}, "piece.moisture_percent", "range"),
        ({"moisture_percent": "damp"}, "piece.moisture_percent", "type"),
        ({"wetted": "drowned"}, "piece.wetted", "unknown"),
        ({"species": ""}, "piece.species", "unknown"),
    ],
)
def test_bad_piece_is_refused_with_its_place(piece, where, code):
    with pytest.raises(StackError) as seen:
        stack_file.read_piece(piece, None)
    assert (seen.value.where, seen.value.code) == (where, code)
    assert seen.value.advice


def test_wetted_gives_a_moisture_and_a_film_and_moisture_percent_overrides_the_moisture():
    # The mapping itself: common practice, no source.
    misted = stack_file.read_piece({"wetted": "misted"}, None)
    assert (misted.bound_percent, misted.free_percent, misted.face_water_kg_m2) == (11.0, 0.0, 0.015)
    stated = stack_file.read_piece({"wetted": "misted", "moisture_percent": 9}, None)
    assert (stated.bound_percent, stated.face_water_kg_m2) == (9.0, 0.015)
    assert stack_file.read_piece({}, None).face_water_kg_m2 == 0.0


def test_moisture_above_fibre_saturation_is_free_water():
    # Wood Handbook p. 4-10: about 30 %.
    green = stack_file.read_piece({"moisture_percent": 38}, None)
    assert (green.bound_percent, green.free_percent) == (30.0, 8.0)


def test_wetter_states_start_with_more_water():
    water = [
        (piece.bound_percent, piece.face_water_kg_m2)
        for piece in (
            stack_file.read_piece({"wetted": how}, None) for how in ("dry", "misted", "wiped", "soaked")
        )
    ]
    assert water == sorted(water)


def test_species_of_the_workshop_are_known():
    for name in (
        "sapele",
        "black walnut",
        "sugar maple",
        "red maple",
        "silver maple",
        "bigleaf maple",
        "black cherry",
        "Honduras mahogany",
        "African mahogany",
        "East Indian rosewood",
        "koa",
        "white ash",
        "northern red oak",
        "bubinga",
        "ovangkol",
    ):
        assert species(name).name == name


def test_ambient_is_read_in_the_rigs_own_unit():
    assert stack_file.ambient_of({"unit": "F", "stack": {"ambient": 68}}) == pytest.approx(20.0)
    assert stack_file.ambient_of({"unit": "C", "stack": {"ambient": 17.5}}) == 17.5
    assert stack_file.ambient_of({}) == 20.0


def test_stated_density_is_the_woods_whatever_its_species_is_called():
    # Wood Handbook Eq. 4-12 the other way round: 675.0 kg/m3 at 12 % is a basic gravity of 0.55.
    weighed = stack_file.read_piece(
        {"species": "a tree of no name", "thickness_mm": 1.7, "density_kg_m3": 675.0}, None
    )
    assert weighed.basic_gravity == pytest.approx(0.55, abs=1e-4)
    assert weighed.species == "a tree of no name"
    drawn = [
        stack_file.read_piece(
            {"thickness_mm": 1.7, "density_kg_m3": 675.0}, np.random.default_rng(seed)
        ).basic_gravity
        for seed in range(40)
    ]
    assert 0.55 * 0.97 <= min(drawn) < max(drawn) <= 0.5501 * 1.03
    assert max(drawn) - min(drawn) > 0.02


@pytest.mark.parametrize("density", [0, -675.0, "heavy", True, float("inf")])
def test_density_that_is_none_is_named(density):
    with pytest.raises(StackError, match=r"piece\.density_kg_m3"):
        stack_file.read_piece({"thickness_mm": 1.7, "density_kg_m3": density}, None)
