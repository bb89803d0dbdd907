"""Every kind of converter on the low-voltage drawing, in the pin table and in the parts list."""

import pytest

from host.wiring_rigs import faults, mapping, rig_file
from ribwright_host.wiring import page
from ribwright_host.wiring.design import Site, plan
from ribwright_host.wiring.parts import parts

CHIPS = {
    "registers": ("MAX31856",) * 4,
    "short frames": ("MAX6675",) * 4,
    "mixed": ("MAX31856", "MAX6675", "MAX31855", "MAX31856"),
    "frames": ("MAX31855",) * 4,
}
TYPES = {
    "registers": ("K", "J", "T", "N"),
    "short frames": ("K",) * 4,
    "mixed": ("T", "K", "J", "N"),
    "frames": ("J",) * 4,
}


def drawn(name, volts=120, board="pico", zones=4):
    values = mapping(zones, volts, board=board)
    for zone, chip, kind in zip(values["zones"], CHIPS[name], TYPES[name], strict=False):
        zone["chip"], zone["thermocouple"] = chip, kind
    planned = plan(rig_file(values), Site())
    return planned, page.drawings(planned, "2026-01-31")


@pytest.mark.parametrize("name", CHIPS)
@pytest.mark.parametrize(("volts", "board"), [(120, "pico"), (230, "pico"), (120, "esp32")])
def test_nothing_touches_what_it_should_not_with_any_converter(name, volts, board):
    planned, sheets = drawn(name, volts, board)
    for sheet in sheets.values():
        assert faults(sheet) == []
    listed = [ref for part in parts(planned) for ref in part.refs]
    assert len(listed) == len(set(listed))
    assert set().union(*(sheet.designators for sheet in sheets.values())) == set(listed)


def test_register_chip_gets_a_data_line_and_its_bias_tied():
    planned, sheets = drawn("registers", zones=1)
    words = [text.what for text in sheets["low_voltage"].texts]
    # One flag at the board, one at the chip.
    assert words.count("MOSI") == 2
    assert "BIAS" in words
    assert "U1 MAX31856" in words
    assert next(pin for pin in planned.pins if pin.signal == "MOSI").use == "data to the MAX31856, out"


def test_without_one_the_line_is_claimed_and_drawn_nowhere():
    planned, sheets = drawn("frames", zones=2)
    words = [text.what for text in sheets["low_voltage"].texts]
    assert "MOSI" not in words
    assert "U1 MAX31855J" in words
    assert "nothing is connected" in next(pin for pin in planned.pins if pin.signal == "MOSI").use


def test_max6675_alone_has_its_minus_grounded_and_the_note_says_so():
    for name, said in (("short frames", "meets 0V at a MAX6675"), ("frames", "connected to 0V nowhere")):
        words = " ".join(text.what for text in drawn(name)[1]["low_voltage"].texts)
        assert said in words


def test_colours_are_those_of_the_rigs_types_and_of_its_standard():
    # Plus: ASTM E230 J white, T blue, N orange; IEC 60584-3 J black, T brown, N pink. Minus red, and white.
    for volts, wanted in (
        (120, ("K: + yellow, \u2212 red", "J: + white, \u2212 red", "T: + blue", "N: + orange")),
        (230, ("K: + green, \u2212 white", "J: + black, \u2212 white", "T: + brown", "N: + pink")),
    ):
        words = " ".join(text.what for text in drawn("registers", volts)[1]["low_voltage"].texts)
        assert all(f"Type {one}" in words for one in wanted)


def test_parts_list_asks_for_the_converter_and_wire_of_each_zone():
    asked = {part.refs[0]: part.rating for part in parts(drawn("mixed")[0])}
    assert (asked["U1"], asked["U2"], asked["U3"]) == (
        "MAX31856 on a small card",
        "MAX6675 on a small card",
        "MAX31855J on a small card",
    )
    assert (asked["B1"], asked["B4"]) == ("type T, insulated junction", "type N, insulated junction")
    assert (asked["C21"], asked["C23"]) == ("0.1 \u00b5F ceramic", "10 nF ceramic")
