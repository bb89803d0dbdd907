"""The page on the physics is what laws, tables and ranges make of it."""

import pytest

from ribwright_sim import colour, physics_page
from ribwright_sim.materials import load_materials
from ribwright_sim.rehearsal import BRIDGES
from ribwright_sim.wood import all_species


def test_every_figure_wood_and_bridge_stands_on_it_with_its_source():
    lines = physics_page.page().splitlines()
    for row in load_materials():
        name = (
            f"| {row.name} | {row.quantity.replace('_', ' ')} | {row.value:g} | {row.low:g} to {row.high:g}"
        )
        assert [line for line in lines if line.startswith(name) and row.source in line], name
    for one in all_species():
        assert [line for line in lines if line.startswith(f"| {one.name} ") and one.source in line], one.name
    for bridge in BRIDGES:
        assert f"| {bridge.name} | {bridge.what} | {bridge.rests_on} |" in lines


def test_a_law_is_told_without_its_arguments_and_examples():
    assert physics_page.law_text("effects", "mains_power_w").startswith("Power of a resistive blanket [W]:")
    for part in ("Args", ">>>", "Raises"):
        assert part not in physics_page.law_text("strain", "outer_strain_percent")
    with pytest.raises(AttributeError):
        physics_page.law_text("wood", "no_such_law")


def test_a_source_without_a_standing_and_a_moved_range_are_noticed(monkeypatch):
    with pytest.raises(ValueError, match="a book"):
        physics_page.standing("a book")
    monkeypatch.setattr(colour, "ACTIVATION_LOW_J_MOL", 80e3)
    assert "between 80 and" in physics_page.page()
