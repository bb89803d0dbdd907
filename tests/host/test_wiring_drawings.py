"""The drawings: nothing touches what it should not, and they name the same parts as the list."""

import re
import xml.etree.ElementTree as ET
from functools import cache
from itertools import product

import pytest

from host.wiring_rigs import faults, mapping, rig_file, watching
from ribwright_host.wiring import page
from ribwright_host.wiring.design import Site, plan
from ribwright_host.wiring.extent import Extent, fitted, text_width
from ribwright_host.wiring.parts import parts
from ribwright_host.wiring.sheet import Sheet

MAINS = ((120, None), (230, None), (240, "us"))
LONG = "W" * 16
KINDS = [
    *product((1, 2, 3, 4), MAINS, ("solid-state", "mechanical"), (False, True), ("pico",)),
    *product((1, 4), MAINS[:1], ("solid-state", "mechanical"), (False, True), ("esp32",)),
]


def made(zones, mains, relay, feedback, board):
    volts, practice = mains
    values = mapping(zones, volts, relay, feedback=feedback, board=board)
    return plan(rig_file(values), Site(practice=practice))


@cache
def drawings_of(kind):
    """The plan and sheets of a kind of rig, drawn once."""
    planned = made(*kind)
    return planned, page.drawings(planned, "2026-01-31")


@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_nothing_touches_what_it_should_not(kind):
    drawn = drawings_of(kind)[1]
    assert len(drawn) == 3
    for sheet in drawn.values():
        assert faults(sheet) == []


@pytest.mark.parametrize("relay", ["solid-state", "mechanical"])
def test_long_names_are_cut_before_they_touch_anything(relay):
    values = mapping(4, relay=relay)
    values["name"] = "W" * 40
    for i, zone in enumerate(values["zones"]):
        zone["name"] = LONG[:-1] + str(i)
    drawn = page.drawings(plan(rig_file(values), Site()), "2026-01-31")
    for sheet in drawn.values():
        assert faults(sheet) == []
    assert any(text.what.endswith("\u2026") for text in drawn["mains"].texts)


def test_what_is_looked_for_is_found():
    sheet = Sheet("trial")
    sheet.width = sheet.height = 10
    sheet.text(2, 2, "first words")
    sheet.text(2.5, 2.1, "other words")
    sheet.line((1, 2), (4, 2))
    sheet.text(9.8, 5, "outside")
    found = faults(sheet)
    assert any("over other words" in one for one in found)
    assert any("first words on a wire" in one for one in found)
    assert any("outside the frame" in one for one in found)


def test_lines_that_run_past_a_text_do_not_cross_it():
    box = Extent(2, 2, 4, 3, "words")
    assert box.crossed_by((0, 2.5), (6, 2.5))
    assert box.crossed_by((3, 0), (3, 6))
    assert box.crossed_by((1, 1), (5, 4))
    assert not box.crossed_by((0, 2), (6, 2))
    assert not box.crossed_by((0, 2.5), (2, 2.5))
    assert not box.crossed_by((0, 1), (2, 6))
    assert not box.crossed_by((5, 0), (5, 6))


@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_parts_list_and_drawings_name_the_same(kind):
    planned, sheets = drawings_of(kind)
    listed = [ref for part in parts(planned) for ref in part.refs]
    assert len(listed) == len(set(listed))
    drawn = set().union(*(sheet.designators for sheet in sheets.values()))
    assert drawn == set(listed)


def test_svg_is_well_formed_and_says_every_word_of_the_sheet():
    values = mapping(2)
    values["name"] = 'bench & <"rig"> $5 $6 0.123456'
    values["zones"][0]["name"] = "a&b<c>$1$"
    for sheet in page.drawings(plan(rig_file(values), Site()), "2026-01-31").values():
        svg = sheet.svg()
        tree = ET.fromstring(svg)  # noqa: S314 - our own file
        assert tree.tag.endswith("svg")
        written = ["".join(node.itertext()) for node in tree.iter() if node.tag.endswith("text")]
        assert sorted(written) == sorted(text.what for text in sheet.texts)
        assert len(svg) < 60_000
        assert sheet.png(30).startswith(b"\x89PNG")


def test_symbols_follow_the_practice():
    kinds = {}
    for volts in (120, 230):
        sheet = page.drawings(plan(rig_file(mapping(2, volts)), Site()), "2026-01-31")["mains"]
        kinds[volts] = {symbol.what for symbol in sheet.symbols}
        words = " ".join(text.what for text in sheet.texts)
        assert ("IEEE 315" in words) == (volts == 120)
        assert ("IEC 60617" in words) == (volts == 230)
        assert ("GFCI" in words) == (volts == 120)
    assert {"FuseUS", "ResistorIEEE"} <= kinds[120]
    assert {"FuseIEEE", "HeaterIEC"} <= kinds[230]


def test_every_live_pole_is_broken_and_fused():
    sheet = drawings_of((2, (240, "us"), "solid-state", False, "pico"))[1]["mains"]
    kinds = [symbol.what for symbol in sheet.symbols]
    assert kinds.count("MainContact") == 2
    assert kinds.count("Breaker") == 2
    assert {"F11", "F31", "F12", "F32"} <= sheet.designators
    words = [text.what for text in sheet.texts]
    assert "L2" in words
    assert "N" not in words


@pytest.mark.parametrize("kind", KINDS[::7], ids=str)
def test_every_zone_has_fuse_switch_cut_off_and_blanket_in_its_column(kind):
    zones, _, relay, _, _ = kind
    sheet = drawings_of(kind)[1]["mains"]
    kinds = [symbol.what for symbol in sheet.symbols]
    assert kinds.count("CutOff") == zones
    assert kinds.count("SolidState" if relay == "solid-state" else "Contact") == zones
    assert kinds.count("HeaterIEC") + kinds.count("ResistorIEEE") == zones
    assert kinds.count("Stop") == 1


@pytest.mark.parametrize("board", ["pico", "pico2", "esp32"])
def test_low_voltage_sheet_shows_every_pin_by_both_numbers(board):
    values = mapping(4, board=board, feedback=True)
    planned = plan(rig_file(values), Site())
    words = [text.what for text in page.drawings(planned, "2026-01-31")["low_voltage"].texts]
    for pin in planned.pins:
        if pin.signal != "MOSI":
            assert any(re.fullmatch(rf"(GP|IO){pin.gpio}", word) for word in words)
            assert pin.place in words


@pytest.mark.parametrize("zones", [1, 4])
def test_rig_that_only_watches_has_no_heat_to_wire(zones):
    planned = plan(watching(mapping(zones)), Site())
    drawn = page.drawings(planned, "2026-01-31")
    assert set(drawn) == {"mains", "low_voltage"}
    for sheet in drawn.values():
        assert faults(sheet) == []
    words = " ".join(text.what for text in drawn["mains"].texts)
    assert "solid-state" not in words
    assert "No zone of this rig has a relay" in words
    assert not any(
        symbol.what in ("MainContact", "SolidState", "CutOff") for symbol in drawn["mains"].symbols
    )
    listed = {ref for part in parts(planned) for ref in part.refs}
    assert listed == set().union(*(sheet.designators for sheet in drawn.values()))
    assert not any(ref.startswith(("E", "K", "V", "F2", "A2")) for ref in listed)
    assert {f"U{i + 1}" for i in range(zones)} <= listed
    told = page.page(planned, "2026-01-31", drawn)
    assert "Here:" not in told
    # Nothing that belongs to heat of its own: whoever reads "has to be there" buys it.
    for word in (
        "contactor",
        "cut-off",
        "solid-state relay makes",
        "alive detector",
    ):
        assert word not in told.split("<h2>Pins</h2>")[1], word
    assert "blankets rated" not in told
    assert "The board cannot switch them off" in told
    assert "switch it off yourself" in told
    assert "ALIVE" not in {text.what for text in drawn["low_voltage"].texts}


def test_text_is_cut_to_its_width():
    assert fitted("waist", 5) == "waist"
    cut = fitted("a rather long name of a zone", 2)
    assert cut.endswith("\u2026")
    assert text_width(cut, 8.5) <= 2


PARTS_OF_A_PANEL = (
    {"display": "SSD1306", "sda": 4, "scl": 5},
    {"knob_a": 6, "knob_b": 7},
    {"buzzer": 27},
    {"buzzer": 27, "buzzer_type": "passive"},
    {"display": "SSD1306", "sda": 4, "scl": 5, "knob_a": 6, "knob_b": 7, "buzzer": 27},
    {"display": "SSD1306", "sda": 4, "scl": 5, "knob_a": 6, "knob_b": 7, "knob_push": 26, "buzzer": 27},
)


@pytest.mark.parametrize("stated", PARTS_OF_A_PANEL, ids="-".join)
@pytest.mark.parametrize("volts", [120, 230])
def test_panel_has_a_sheet_of_its_own_with_every_part_and_pin(stated, volts):
    planned = plan(rig_file({**mapping(2, volts), "panel": stated}), Site())
    sheets = page.drawings(planned, "2026-01-31")
    assert list(sheets)[-1] == "panel"
    for sheet in sheets.values():
        assert faults(sheet) == []
    listed = [ref for part in parts(planned) for ref in part.refs]
    assert set().union(*(sheet.designators for sheet in sheets.values())) == set(listed)
    assert len(listed) == len(set(listed))
    words = [text.what for text in sheets["panel"].texts]
    assert any("sheet 4 of 4" in word for word in words)
    pins = {pin.signal: pin.gpio for pin in planned.pins}
    names = {"sda": "SDA", "scl": "SCL", "knob_a": "KA", "knob_b": "KB", "knob_push": "KP", "buzzer": "BUZ"}
    for key, signal in names.items():
        assert (signal in words) == (key in stated)
        # The same wire leaves the board on the second sheet.
        assert (signal in [text.what for text in sheets["low_voltage"].texts]) == (key in stated)
        assert pins.get(signal) == stated.get(key)


def test_rig_of_four_zones_and_a_whole_panel_fits_on_its_sheets():
    board = {**mapping(4, feedback=True), "panel": {**PARTS_OF_A_PANEL[-1]}}
    board["panel"].update(buzzer=28, knob_push=2)
    for sheet in page.drawings(plan(rig_file(board), Site()), "2026-01-31").values():
        assert faults(sheet) == []
