"""Pins that a board has, and what each can do: said with the line of the file, before anything is built."""

import tomllib
from itertools import product

import pytest
from click.testing import CliRunner

from host.peer import RIG_TEXT
from host.wiring_rigs import mapping
from ribwright_board.core import rig as core_rig
from ribwright_host.board_pins import ESP32_FLASH, HEATERS, PICO, pin_problems, trouble
from ribwright_host.cli import cli
from ribwright_host.errors import FileError
from ribwright_host.rigs import check_rig, load_rig, problems_of

runner = CliRunner()


def test_shipped_rig_and_every_board_of_the_tests_have_pins_that_work():
    assert pin_problems(tomllib.loads(RIG_TEXT)) == []
    for board, zones in product(("pico", "pico2", "esp32"), (1, 2, 3, 4)):
        values = mapping(zones, board=board, feedback=True)
        assert core_rig.check(values) == []
        assert pin_problems(values) == []


def test_pin_that_cannot_do_its_work_is_refused_with_its_line(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_text(RIG_TEXT.replace("relay_pin = 10", "relay_pin = 24"), encoding="utf-8")
    (error,) = check_rig(path)
    line = next(n for n, text in enumerate(path.read_text().splitlines(), 1) if "relay_pin = 24" in text)
    assert error.code == "pin_place"
    assert f"line {line}: zone 1 relay_pin" in error.line()
    assert "is GPIO 24, and on a pico the board has no pin for it" in error.line()
    # What other parts use, or serves nothing that heats, is not proposed.
    assert error.hint == "choose one of 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 21, 22, 26, 27, 28"
    with pytest.raises(FileError, match="GPIO 24"):
        load_rig(path)


def test_what_the_board_itself_refuses_comes_first(tmp_path):
    path = tmp_path / "rig.toml"
    text = RIG_TEXT.replace("relay_pin = 10", "relay_pin = 24").replace('board = "pico"', 'board = "toaster"')
    path.write_text(text, encoding="utf-8")
    assert [error.code for error in check_rig(path)] == ["choice"]


# Raspberry Pi Pico data sheet, pinout figure (from memory): 26 GPIO come out, 0 to 22 and 26 to 28; the
# others serve the board itself.
def test_a_pico_brings_out_26_pins():
    assert sorted(PICO) == [*range(23), 26, 27, 28]


# RP2040 data sheet, table of pin functions (from memory): the first SPI block's RX, SCK and TX repeat every
# four pins of 0 to 7 and 16 to 23.
@pytest.mark.parametrize(
    ("key", "reached"), [("miso", (0, 4, 16, 20)), ("sck", (2, 6, 18, 22)), ("mosi", (3, 7, 19))]
)
def test_bus_of_a_pico_reaches_every_fourth_pin(key, reached):
    assert tuple(gpio for gpio in sorted(PICO) if trouble("pico", key, gpio) is None) == reached


@pytest.mark.parametrize("key", HEATERS)
def test_no_heater_on_a_pin_that_an_esp32_drives_or_reads_while_it_starts(key):
    for gpio in (0, 1, 2, 3, 5, 12, 14, 15):
        assert "while it starts" in trouble("esp32", key, gpio)
        assert "while it starts" not in (trouble("esp32", "select_pin", gpio) or "")
    for gpio in ESP32_FLASH:
        assert "flash" in trouble("esp32", key, gpio)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("board", ["pico", "pico2", "esp32"])
def test_a_starter_rig_for_any_board_has_pins_that_work(tmp_path, board, count):
    answers = ["C", "bench", board, "120", "60", "12", "solid-state", "MAX31855", "K", str(count)]
    names = ("waist", "upper bout", "lower bout", "cutaway")
    for name in names[:count]:
        answers += [name, "", "", "", ""]
    result = runner.invoke(cli, ["new", str(tmp_path)], input="\n".join(answers + [""] * 40) + "\n")
    assert result.exit_code == 0, result.output
    rig = tomllib.loads((tmp_path / "rig.toml").read_text(encoding="utf-8"))
    assert rig["board"] == board
    assert len(rig["zones"]) == count
    assert core_rig.check(rig) == []
    assert pin_problems(rig) == []


# RP2040 data sheet, table of pin functions (from memory): the two I2C blocks take turns, SDA on every even
# GPIO and SCL on the odd one after it, from 0 to 21, and 26 and 27.
def test_bus_of_a_display_reaches_even_and_odd_pins():
    reached = {
        key: [gpio for gpio in sorted(PICO) if not trouble("pico", key, gpio)] for key in ("sda", "scl")
    }
    assert reached["sda"] == [0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 26]
    assert reached["scl"] == [1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 27]


def with_panel(**panel):
    return {**tomllib.loads(RIG_TEXT), "panel": panel}


def test_panels_pins_are_checked_like_all_others():
    fine = with_panel(display="SSD1306", sda=4, scl=5, knob_a=6, knob_b=7, knob_push=9, buzzer=8)
    assert core_rig.check(fine) == []
    assert pin_problems(fine) == []
    (problem,) = pin_problems(with_panel(display="SSD1306", sda=4, scl=7))
    assert problem.where == ("panel", "scl")
    assert "of another bus than GPIO 4; choose 5" in problem.text
    (problem,) = pin_problems(with_panel(display="SSD1306", sda=5, scl=7))
    assert "the display's bus does not reach it" in problem.text
    (problem,) = pin_problems(with_panel(knob_a=24, knob_b=7))
    assert "the board has no pin for it" in problem.text
    pushed = {"display": "SSD1306", "sda": 21, "scl": 22, "knob_a": 27, "knob_b": 14, "knob_push": 34}
    (problem,) = pin_problems({**mapping(2, board="esp32"), "panel": pushed})
    assert (problem.where, "no pull-up" in problem.text) == (("panel", "knob_push"), True)
    esp = {**mapping(2, board="esp32"), "panel": {"knob_a": 34, "knob_b": 14, "buzzer": 35}}
    assert ["no pull-up" in p.text or "inputs only" in p.text for p in pin_problems(esp)] == [True, True]


def test_display_beside_four_zones_asks_for_a_board_with_more_memory():
    stated = {"display": "SSD1306", "sda": 0, "scl": 1}
    (problem,) = problems_of({**mapping(4), "panel": stated})
    assert (problem.code, problem.where) == ("memory", ("panel", "display"))
    assert "a pico with 4 zones" in problem.text
    assert problems_of({**mapping(4, board="pico2"), "panel": stated}) == []
    assert problems_of({**mapping(3), "panel": stated}) == []
    assert problems_of({**mapping(4), "panel": {"buzzer": 2}}) == []
