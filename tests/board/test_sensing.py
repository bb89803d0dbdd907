"""Frames of the MAX31855 against its data sheet, and type K against the published table."""

from board.samples import near
from ribwright_board.core import sensing

# Data sheet 19-5793 rev 5, tables 4 and 5, rows put together to whole words: hot C, cold C.
SHEET = (
    (0x6400, 0x7F00, 1600.0, 127.0),
    (0x3E80, 0x6490, 1000.0, 100.5625),
    (0x064C, 0x1900, 100.75, 25.0),
    (0x0190, 0x0000, 25.0, 0.0),
    (0x0000, 0xFFF0, 0.0, -0.0625),
    (0xFFFC, 0xFF00, -0.25, -1.0),
    (0xFFF0, 0xEC00, -1.0, -20.0),
    (0xF060, 0xC900, -250.0, -55.0),
)

# True hot junction C, cold junction C, word of an ideal chip. Worked from the ITS-90 reference function
# of type K (NIST Monograph 175) and the straight line of 41.276 uV/K of the data sheet's table 1, rounded to
# the chip's 0.25 C and 0.0625 C. The word alone is up to 0.125 C away from the true temperature.
WORKED = (
    (-20.0, 20.0, 0xFEDC, 0x1400),
    (0.0, 25.0, 0x000C, 0x1900),
    (25.0, 25.0, 0x0190, 0x1900),
    (25.0, 60.0, 0x0194, 0x3C00),
    (60.0, 25.0, 0x03BC, 0x1900),
    (100.0, 25.0, 0x0640, 0x1900),
    (100.0, 40.0, 0x0644, 0x2800),
    (120.0, 25.0, 0x0780, 0x1900),
    (140.0, 25.0, 0x08BC, 0x1900),
    (150.0, 25.0, 0x0958, 0x1900),
    (160.0, 25.0, 0x09F4, 0x1900),
    (177.0, 20.0, 0x0AF8, 0x1400),
    (177.0, 25.0, 0x0AFC, 0x1900),
    (177.0, 35.0, 0x0AFC, 0x2300),
    (177.0, 50.0, 0x0B00, 0x3200),
    (180.0, 25.0, 0x0B28, 0x1900),
    (200.0, 25.0, 0x0C60, 0x1900),
    (220.0, 25.0, 0x0D94, 0x1900),
    (250.0, 25.0, 0x0F6C, 0x1900),
    (300.0, 25.0, 0x1288, 0x1900),
)

# Shown by the chip C, cold C -> true C, by the same functions, without rounding to a word.
PAIRS = (
    (50.0, 22.0, 50.2789),
    (100.75, 25.0, 100.7415),
    (150.0, 25.0, 150.5313),
    (150.0, 30.0, 150.4482),
    (160.0, 25.0, 160.8052),
    (177.0, 25.0, 178.3510),
    (180.0, 25.0, 181.4531),
    (200.0, 25.0, 202.1281),
    (250.0, 25.0, 253.2887),
    (0.0, 25.0, -0.8029),
    (-10.0, 20.0, -11.2432),
)

# emf in mV, three decimals as printed: NIST ITS-90 table, type K, reference junction 0 C. Rows between the
# firmware's own ten-degree points are the ones that test its straight lines.
NIST = (
    (-25, -0.968),
    (-10, -0.392),
    (0, 0.000),
    (25, 1.000),
    (75, 3.059),
    (100, 4.096),
    (127, 5.206),
    (150, 6.138),
    (165, 6.741),
    (175, 7.140),
    (177, 7.220),
    (200, 8.138),
    (225, 9.141),
    (275, 11.176),
    (300, 12.209),
)


def outcome(hi, lo):
    """The fault's name, or "good"."""
    item = sensing.read_max31855(hi, lo, 5000)
    assert item.at_ms == 5000
    return getattr(item, "code", "good")


def test_every_row_of_the_data_sheet_is_a_frame_without_fault():
    for hi, lo, _, _ in SHEET:
        assert sensing.max31855_fault(hi, lo) == ""


def test_rows_of_the_data_sheet_decode_to_their_temperatures():
    # Rows outside what a rig can be are refused; 25 / 0 and 0 / -0.0625 are inside.
    for hi, lo, hot_c, cold_c in SHEET:
        item = sensing.read_max31855(hi, lo, 0)
        if -5.0 <= cold_c <= 70.0 and hot_c < 350.0:
            assert item.cold_c == cold_c
            assert near(item.temperature_c, sensing.corrected_c(hot_c, cold_c), 1e-3)
        else:
            # A converter that is out of its box's range says so by that; everything else is the reading's.
            assert item.code == ("implausible" if -5.0 <= cold_c <= 70.0 else "cold_spread")


def test_worked_words_give_the_true_temperature():
    for true_c, cold_c, hi, lo in WORKED:
        assert sensing.max31855_fault(hi, lo) == ""
        indicated_c = ((hi >> 2) - (16384 if hi & 0x8000 else 0)) / 4.0
        assert near(sensing.corrected_c(indicated_c, cold_c), true_c, 0.15)
        if true_c > -20.0:
            item = sensing.read_max31855(hi, lo, 0)
            assert near(item.temperature_c, true_c, 0.15)
            assert item.cold_c == cold_c


def test_shown_pairs_give_the_true_temperature():
    for indicated_c, cold_c, true_c in PAIRS:
        assert near(sensing.corrected_c(indicated_c, cold_c), true_c, 0.05)


def test_hot_junction_just_below_the_cold_one_is_not_mistaken():
    # An inverse whose range is chosen by the voltage instead of the sum is 1.4 to 6 C wrong here.
    for hot_c, cold_c, indicated_c in ((24.9, 25.0, 24.9018), (20.0, 25.0, 20.1031)):
        assert near(sensing.corrected_c(indicated_c, cold_c), hot_c, 0.05)


def test_uncorrected_line_would_overheat_the_wood():
    # Straight-line error of type K at 177 C and 200 C with the converter at 25 C: -1.31 and -2.06 C.
    assert near(175.693 - sensing.corrected_c(175.693, 25.0), -1.31, 0.05)
    assert near(197.939 - sensing.corrected_c(197.939, 25.0), -2.06, 0.05)


def test_emf_table_agrees_with_the_published_one():
    for temperature_c, emf_mv in NIST:
        # Half a microvolt of rounding on each side and 0.04 C of straight line, 0.04 mV/K.
        assert near(sensing._uv(sensing.K_TABLE_UV, float(temperature_c)) / 1000.0, emf_mv, 0.0025)
        assert near(sensing._temperature_c(sensing.K_TABLE_UV, emf_mv * 1000.0), temperature_c, 0.06)


def test_emf_table_rises_all_the_way():
    for i in range(len(sensing.K_TABLE_UV) - 1):
        assert 350 < sensing.K_TABLE_UV[i + 1] - sensing.K_TABLE_UV[i] < 430


def test_dead_data_line_is_no_temperature():
    # All zeros keep every rule of the frame and would pass for 0 C.
    assert outcome(0x0000, 0x0000) == "no_chip"
    assert outcome(0xFFFF, 0xFFFF) == "no_chip"


def test_each_fault_bit_has_its_name_even_beside_a_plausible_temperature():
    assert outcome(0x7FFD, 0x1901) == "open"
    assert outcome(0x0191, 0x1901) == "open"
    assert outcome(0x0191, 0x1902) == "short_ground"
    assert outcome(0x0191, 0x1904) == "short_supply"
    for causes in range(1, 8):
        assert outcome(0x0191, 0x1900 | causes) in ("open", "short_ground", "short_supply")


def test_frame_that_contradicts_itself_is_a_bus_fault():
    # Open without its summary bit, the summary without a cause, each reserved bit, a shifted frame.
    for hi, lo in ((0x0190, 0x1901), (0x0191, 0x1900), (0x0192, 0x1900), (0x0190, 0x1908), (0x00D4, 0x0D08)):
        assert outcome(hi, lo) == "bus"


def test_frames_read_from_real_boards_decode():
    # Read with a calibrator at 0 C and 50 C and from a live board: shown, cold.
    for hi, lo, shown_c, cold_c in (
        (0x0018, 0x1570, 1.50, 21.4375),
        (0x0324, 0x1590, 50.25, 21.5625),
        (0x01A8, 0x1A20, 26.50, 26.125),
        (0x0150, 0x1790, 21.00, 23.5625),
    ):
        item = sensing.read_max31855(hi, lo, 0)
        assert item.cold_c == cold_c
        assert near(item.temperature_c, sensing.corrected_c(shown_c, cold_c), 1e-3)
        assert near(item.temperature_c, shown_c, 1.0)


def test_any_flipped_bit_of_a_frame_is_a_fault_or_a_number_and_never_an_error():
    for bit in range(32):
        hi, lo = 0x0958, 0x1900
        if bit < 16:
            lo ^= 1 << bit
        else:
            hi ^= 1 << (bit - 16)
        assert outcome(hi, lo) in ("good", "bus", "implausible", "cold_spread")


def test_temperatures_of_no_rig_are_refused():
    for quarters, sixteenths in (
        (1600, 400),
        (-100, 400),
        (600, 71 * 16),
        (600, -6 * 16),
        (8191, 400),
        (-8192, 400),
    ):
        hi = (quarters << 2) & 0xFFFC
        lo = (sixteenths << 4) & 0xFFF0
        converter_is_odd = not -5 * 16 <= sixteenths <= 70 * 16
        assert outcome(hi, lo) == ("cold_spread" if converter_is_odd else "implausible")


def test_reading_keeps_its_converter_and_its_instant():
    item = sensing.read_max31855(0x0958, 0x1900, 123456)
    assert isinstance(item, sensing.Reading)
    assert (item.cold_c, item.at_ms) == (25.0, 123456)
