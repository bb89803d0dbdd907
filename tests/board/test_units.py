"""Conversions at their fixed points, and the limits that nothing may lift."""

from board.samples import near
from ribwright_board.core import units


def test_fixed_points_of_both_scales_convert():
    # The scales are defined to meet at -40, with 32 F = 0 C and 212 F = 100 C.
    for celsius, fahrenheit in ((-40.0, -40.0), (0.0, 32.0), (100.0, 212.0), (200.0, 392.0)):
        assert near(units.c_from_f(fahrenheit), celsius, 1e-4)
        assert near(units.f_from_c(celsius), fahrenheit, 1e-4)


def test_point_and_difference_convert_differently():
    assert near(units.c_from(50.0, "F"), 10.0, 1e-4)
    assert near(units.k_from(50.0, "F"), 27.7778, 1e-3)
    assert units.c_from(50, "C") == 50.0
    assert units.k_from(50, "C") == 50.0
    assert near(units.in_unit(10.0, "F"), 50.0, 1e-4)
    assert near(units.in_unit_difference(10.0, "F"), 18.0, 1e-4)


def test_there_and_back_gives_the_same_number():
    for tenth in range(-400, 4000, 7):
        value = tenth / 10.0
        assert near(units.in_unit(units.c_from(value, "F"), "F"), value, 1e-3)
        assert near(units.in_unit_difference(units.k_from(value, "F"), "F"), value, 1e-3)


def test_tenths_round_halves_away_from_zero():
    # 0.25 and 0.75 are exact in binary, so that both interpreters must agree.
    for seen, wanted in (
        (0.25, 3),
        (-0.25, -3),
        (0.75, 8),
        (-0.75, -8),
        (0.0, 0),
        (150.0, 1500),
        (-20.0, -200),
    ):
        assert units.tenths(seen) == wanted


def test_tenths_keep_a_missing_value_apart_from_every_number():
    assert units.tenths(None) == units.TENTHS_MISSING
    assert units.tenths(-4000.0) == -32767
    assert units.tenths(4000.0) == 32767


def test_targets_stay_below_the_ceiling():
    assert units.FIRMWARE_CEILING_C == 200.0
    assert units.TARGET_MAX_C + units.TARGET_MARGIN_K == units.FIRMWARE_CEILING_C
    assert units.TARGET_MIN_C < units.TARGET_MAX_C
    assert units.COOL_MIN_C < units.COOL_MAX_C < units.TARGET_MAX_C
