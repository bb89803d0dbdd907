"""MAX31856 and MAX6675 of the simulation, against their data sheets; several kinds on one bus."""

import pytest

from ribwright_sim.chips import Max31855, frame, indicated_c
from ribwright_sim.max6675 import Max6675
from ribwright_sim.max6675 import frame as short_frame
from ribwright_sim.max31856 import Max31856
from ribwright_sim.mixed_chips import MixedHarness

# Data sheet 19-7534 rev 0, table 6.
DEFAULTS = bytes.fromhex("0003ff7fc07fff800000000000000000")
# Times of pages 4 and 20, typical, us: first and following conversion by mains, open-circuit test 01.
FIRST = {50: 169_000, 60: 143_000}
NEXT = {50: 98_000, 60: 82_000}
TEST = 13_300


def told(hertz=50, kind=3, **settings):
    """A chip that converts, told at time 0: open-circuit test on, no masks."""
    chip = Max31856(noise_k=0.0, **settings)
    for register, value in ((1, kind), (2, 0), (0, 0x90 if hertz == 60 else 0x91)):
        chip.write(register, value, 0)
    return chip


def hot_c(chip):
    """What the linearised temperature registers say, degrees C."""
    bits = int.from_bytes(chip.word()[12:15], "big") >> 5
    return (bits - 0x80000 if bits >> 18 else bits) / 128.0


def test_registers_are_as_the_data_sheet_says_and_nothing_converts_before_it_is_told():
    chip = Max31856()
    assert chip.word() == DEFAULTS
    chip.live(10_000_000, 150.0, 25.0)
    assert chip.word() == DEFAULTS


@pytest.mark.parametrize("hertz", [50, 60])
def test_conversions_take_their_time(hertz):
    chip = told(hertz)
    first_us = FIRST[hertz] + TEST
    chip.live(first_us - 1, 100.9375, 25.0)
    assert hot_c(chip) == 0.0
    chip.live(first_us, 100.9375, 25.0)
    # Table 2: 100.9375 C is 06 4F 00; table 3: 25 C is 19 00.
    assert chip.word()[10:] == bytes.fromhex("1900064f0000")
    chip.live(first_us + NEXT[hertz] - 1, 25.0, 25.0)
    assert hot_c(chip) == 100.9375
    chip.live(first_us + NEXT[hertz], 25.0, 25.0)
    assert hot_c(chip) == 25.0


def test_temperatures_below_zero_are_twos_complement_in_both_fields():
    chip = told()
    chip.live(200_000, -250.0 / 1000, -25.0)
    # Tables 2 and 3: -0.25 C is FF FC 00, -25 C is E7 00.
    assert chip.word()[10:15] == bytes.fromhex("e700fffc00")


def test_an_open_wire_is_found_by_the_test_of_every_sixteenth_conversion():
    chip = told()
    chip.live(FIRST[50] + TEST, 100.0, 25.0)
    chip.state = "open"
    at_us = FIRST[50] + TEST
    conversions = 0
    while not chip.word()[15] & 1:
        at_us += 1000
        before = chip.due_us
        chip.live(at_us, 100.0, 25.0)
        conversions += chip.due_us != before
    assert conversions == 16
    # 16 x 98 ms, the data sheet's own delay, and the test itself.
    assert at_us - FIRST[50] - TEST == pytest.approx(16 * 98_000 + TEST, abs=1000)
    # It follows the condition: the next test clears it.
    chip.state = "good"
    chip.live(at_us + 17 * 98_000, 100.0, 25.0)
    assert chip.word()[15] == 0


def test_without_the_test_an_open_wire_is_never_found():
    chip = told()
    chip.write(0, 0x81, 0)
    chip.state = "open"
    chip.live(5_000_000, 100.0, 25.0)
    assert chip.word()[15] == 0


def test_voltage_beyond_the_supply_stops_conversions_and_leaves_the_last_temperature():
    chip = told()
    chip.live(300_000, 150.0, 25.0)
    chip.state = "overvoltage"
    chip.live(900_000, 180.0, 25.0)
    assert chip.word()[15] == 2
    assert hot_c(chip) == pytest.approx(150.0, abs=0.01)


def test_dip_of_the_supply_puts_every_register_back():
    chip = told()
    chip.live(300_000, 150.0, 25.0)
    chip.state = "dip"
    chip.live(310_000, 150.0, 25.0)
    assert (chip.word(), chip.state) == (DEFAULTS, "good")
    chip.live(3_000_000, 150.0, 25.0)
    assert chip.word() == DEFAULTS


def test_chip_told_another_type_is_off_as_known():
    # True 177 C on type K wire, box at 25 C, chip set for J, T, N: 141, 160 and 229 C, computed outside this
    # project from the ITS-90 functions.
    for code, shown_c in ((2, 141.0), (7, 160.0), (4, 229.0)):
        chip = told(kind=code)
        chip.live(300_000, 177.0, 25.0)
        assert hot_c(chip) == pytest.approx(shown_c, abs=0.6)


def test_limits_and_offset_work_as_the_register_map_says():
    chip = told()
    for register, value in ((3, 60), (5, 0x0C), (6, 0x80), (9, 0x10)):
        # Cold junction 60 C; junction 200 C is 0C80h; offset 1 C is 10h.
        chip.write(register, value, 0)
    chip.live(300_000, 199.0, 25.0)
    assert chip.word()[10:12] == bytes.fromhex("1a00")
    chip.live(500_000, 202.0, 25.0)
    assert chip.word()[15] == 0x08
    chip.live(700_000, 150.0, 61.0)
    assert chip.word()[15] == 0x20


def test_registers_that_can_only_be_read_stay():
    chip = told()
    for register in (12, 13, 14, 15, 16, 127):
        chip.write(register, 0x55, 0)
    assert chip.word()[12:] == bytes(4)


@pytest.mark.parametrize(("state", "byte"), [("bus_low", b"\x00"), ("bus_high", b"\xff")])
def test_dead_lines_show_one_level(state, byte):
    assert told(state=state).word() == 16 * byte
    assert Max6675(state=state).word() == 2 * byte


def test_jump_of_an_hour_costs_no_hour_of_conversions():
    chip, short = told(), Max6675(noise_k=0.0)
    for at_us in (300_000, 3_600_300_000):
        chip.live(at_us, 150.0, 25.0)
        short.live(at_us, 150.0, 25.0)
    assert chip.due_us - 3_600_300_000 <= 98_000 + TEST
    assert short.due_us > 3_600_300_000


@pytest.mark.parametrize(
    ("shown_c", "word"), [(25.0, 0x0320), (100.75, 0x0C98), (177.0, 0x1620), (1023.75, 0x7FF8)]
)
def test_short_frames_of_the_bit_map(shown_c, word):
    # D0 is not driven and shows the pull-up.
    assert short_frame(shown_c) == word | 1
    assert short_frame(shown_c, opened=True) == word | 5


def test_read_breaks_off_the_conversion_under_way():
    chip = Max6675(noise_k=0.0)
    chip.live(170_000, 25.0, 25.0)
    assert chip.word() == b"\x03\x21"
    for at_us in range(200_000, 2_000_000, 100_000):
        chip.released(at_us)
        chip.live(at_us + 99_999, 100.0, 25.0)
        # Asked ten times a second it never has anything new.
        assert chip.word() == b"\x03\x21"
    chip.released(2_000_000)
    chip.live(2_170_000, 100.0, 25.0)
    # By hand: (4.096 - 1.000) mV / 41 uV/K + 25 C = 100.5 C, NIST type K rows of 100 and 25 C.
    assert int.from_bytes(chip.word(), "big") >> 3 == 402


def test_open_short_chip_says_so_and_below_zero_it_stops():
    chip = Max6675(noise_k=0.0, state="open")
    chip.live(170_000, 100.0, 25.0)
    assert chip.word()[1] & 4
    cold = Max6675(noise_k=0.0)
    cold.live(170_000, -15.0, 0.0)
    assert cold.word() == b"\x00\x01"


@pytest.fixture
def mixed():
    chips = [Max31855(noise_k=0.0), told(), Max6675(noise_k=0.0)]
    return MixedHarness(chips)


def plain(junction_c):
    return frame(indicated_c(junction_c, 25.0), 25.0).to_bytes(4, "big")


def test_each_of_several_kinds_answers_in_its_own_time(mixed):
    assert mixed.due(0)
    mixed.live(0, [100.0, 100.0, 100.0], [25.0] * 3)
    assert mixed.words() == [plain(100.0), mixed.chips[1].word(), b"\x00\x01"]
    assert not mixed.due(69_999)
    assert mixed.due(70_000)
    mixed.live(300_000, [110.0, 60.0, 25.0], [25.0] * 3)
    assert mixed.words()[0] == plain(110.0)
    assert hot_c(mixed.chips[1]) == pytest.approx(60.0, abs=0.01)
    assert mixed.words()[2] == b"\x03\x21"


def test_what_the_board_does_on_the_bus_reaches_its_chip(mixed):
    mixed.happen(64 + 16 + 9, 0x20, 1000)
    assert mixed.chips[1].held[9] == 0x20
    mixed.happen(128 + 2, 1, 1000)
    assert mixed.chips[2].due_us == 171_000
    # The first only sends.
    mixed.happen(64, 0xFF, 1000)
    mixed.lose_supply()
    assert mixed.chips[1].word() == DEFAULTS


def test_stuck_selects_of_several_kinds(mixed):
    mixed.live(300_000, [100.0, 60.0, 25.0], [25.0] * 3)
    free = mixed.words()
    mixed.select_low = 0
    held = mixed.words()
    assert held[0] == free[0]
    assert held[2] == bytes(a & b for a, b in zip(free[2], free[0][:2], strict=True))
    # The register chip's first register comes with the second byte of the frame.
    assert held[1][:3] == bytes(a & b for a, b in zip(free[1], free[0][1:], strict=False))
    assert mixed.idle() == free[0]
    for stuck in (1, 2):
        mixed.select_low = stuck
        words = mixed.words()
        assert words[stuck] == b"\xff" * len(free[stuck])
        assert words[0] == free[0]
        assert mixed.idle() == b"\xff" * 4
    mixed.select_low = None
    assert mixed.words() == free
