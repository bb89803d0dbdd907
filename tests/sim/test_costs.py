"""The cost table of the virtual board."""

import pytest

from ribwright_sim.costs import OPERATIONS, TABLE, costs_us, read_costs

# Known figures of a Pico at 125 MHz and of a typical NOR flash, in us.
KNOWN = {
    "spi_read_4_bytes": 70,
    "flash_program_page": 400,
    "flash_erase_sector": 45_000,
    "stalled_write": 500_000,
}


@pytest.mark.parametrize("operation", OPERATIONS)
def test_every_row_has_rising_times_a_unit_and_a_source(operation):
    row = read_costs()[operation]
    assert 0 < row.typical_us <= row.maximum_us
    assert row.unit_note.startswith(("per ", "once "))
    assert len(row.source) > 10


def test_the_known_figures_stand_in_the_table():
    rows = read_costs()
    assert {name: rows[name].typical_us for name in KNOWN} == KNOWN
    assert rows["flash_erase_sector"].maximum_us == 400_000
    assert 2_000 <= rows["gc_collect"].typical_us <= rows["gc_collect"].maximum_us == 18_000


def test_a_row_without_a_known_figure_says_that_it_is_an_estimate():
    for row in read_costs().values():
        assert "estimate" in row.source or "known" in row.source or "typical" in row.source


def test_columns_come_in_the_order_of_the_operations():
    rows = read_costs()
    assert costs_us("typical") == tuple(rows[name].typical_us for name in OPERATIONS)
    assert costs_us("maximum") == tuple(rows[name].maximum_us for name in OPERATIONS)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("boot,", "boost,", "line 2.*'boost' is unknown"),
        ("tick_code,12000,30000", "tick_code,30001,30000", "tick_code|30001 us"),
        ("wake_code,", "tick_code,", "given twice"),
    ],
)
def test_a_damaged_table_is_refused_with_its_line(tmp_path, old, new, said):
    path = tmp_path / "costs.csv"
    path.write_text(TABLE.read_text().replace(old, new))
    with pytest.raises(ValueError, match=said):
        read_costs(path)


def test_a_missing_row_is_named(tmp_path):
    path = tmp_path / "costs.csv"
    lines = TABLE.read_text().splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith("gc_collect")))
    with pytest.raises(ValueError, match="no row for gc_collect"):
        read_costs(path)
