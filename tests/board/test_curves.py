"""Types J, T and N against the published tables, and the straight line of their MAX31855 put right."""

from board.samples import near
from ribwright_board.core import curves, sensing

# emf in mV, three decimals as printed: NIST ITS-90 tables (SRD 60, files type_j.tab, type_t.tab, type_n.tab),
# reference junction 0 C: temperature C, J, T, N. Rows between the firmware's own ten-degree points
# are the ones that test its straight lines.
NIST = (
    (-50, -2.431, -1.819, -1.269),
    (-25, -1.239, -0.940, -0.646),
    (0, 0.000, 0.000, 0.000),
    (25, 1.277, 0.992, 0.659),
    (75, 3.918, 3.132, 2.045),
    (100, 5.269, 4.279, 2.774),
    (127, 6.744, 5.567, 3.588),
    (150, 8.010, 6.704, 4.302),
    (165, 8.839, 7.463, 4.777),
    (175, 9.392, 7.977, 5.098),
    (177, 9.503, 8.081, 5.162),
    (200, 10.779, 9.288, 5.913),
    (225, 12.167, 10.634, 6.747),
    (275, 14.942, 13.423, 8.462),
    (300, 16.327, 14.862, 9.341),
)
# MAX31855 data sheet 19-5793 rev 5, table 1: slope of the part for each type, uV per K.
SLOPES = {"K": 41.276, "J": 57.953, "N": 36.256, "T": 52.18}
# How far the straight line alone is off at these temperatures, C, converter at 25 C: computed outside this
# project from the slopes above and the ITS-90 reference functions (thermocouple-its90 1.0.2).
AT_C = (0, 50, 100, 120, 150, 177, 200, 250, 300)
LINE_OFF_K = {
    "K": (0.77, -0.22, 0.01, -0.04, -0.52, -1.31, -2.06, -3.25, -3.45),
    "J": (2.96, -2.43, -6.12, -7.29, -8.83, -10.06, -11.05, -13.14, -15.31),
    "T": (5.99, -5.00, -12.02, -13.81, -15.53, -16.14, -16.01, -13.78, -9.19),
    "N": (6.83, -6.21, -16.65, -20.09, -24.51, -27.78, -30.06, -33.63, -35.52),
}


def test_tables_agree_with_the_published_ones():
    for column, kind in ((1, "J"), (2, "T"), (3, "N")):
        table = curves.curve_of(kind)[1]
        for row in NIST:
            # 0.031 C of straight line and rounding, 0.05 mV/K; as much the other way round.
            assert near(sensing._uv(table, float(row[0])) / 1000.0, row[column], 0.0025)
            assert near(sensing._temperature_c(table, row[column] * 1000.0), row[0], 0.06)


def test_tables_rise_all_the_way_and_are_as_long():
    for kind in "KJTN":
        table = curves.curve_of(kind)[1]
        assert len(table) == len(sensing.K_TABLE_UV)
        for i in range(len(table) - 1):
            assert 200 < table[i + 1] - table[i] < 650


def test_slopes_are_those_of_the_data_sheet():
    for kind in "KJTN":
        assert curves.curve_of(kind)[0] == SLOPES[kind]


def test_line_of_every_part_is_put_right():
    for kind in "KJTN":
        for at_c, off_k in zip(AT_C, LINE_OFF_K[kind]):
            # The printed error has two decimals.
            assert near(sensing.corrected_c(at_c + off_k, 25.0, curves.curve_of(kind)), at_c, 0.06)


def test_frame_of_another_part_is_read_by_its_own_curve():
    # 177 C at a cold junction of 25 C on the type J part: its line shows 166.94 C, as above, the word 167.0.
    item = sensing.read_max31855(0x0A70, 0x1900, 7, curves.curve_of("J"))
    assert near(item.temperature_c, 177.0, 0.2)
    assert (item.cold_c, item.at_ms) == (25.0, 7)


def test_unknown_type_is_an_error_that_names_it():
    said = ""
    try:
        curves.curve_of("S")
    except ValueError as error:
        said = str(error)
    assert "type S" in said
    assert "K, J, T and N" in said
