"""Frames of the MAX6675 against its data sheet, and what its straight line leaves of the truth."""

from board.samples import near
from ribwright_board.core import sensing
from ribwright_board.core.max6675 import max6675_fault, read_max6675

# Words by the bit map of data sheet 19-2235 rev 3: word, shown C.
WORDS = ((0x0320, 25.0), (0x0C98, 100.75), (0x1620, 177.0))
# How far the line of 41 uV/K alone is off, C, chip at 25 C: computed outside this project from the ITS-90
# reference function of type K (thermocouple-its90 1.0.2).
LINE_OFF_K = ((0, 0.60), (50, -0.05), (100, 0.51), (150, 0.32), (177, -0.29), (200, -0.90), (250, -1.75))
# emf of type K, mV: NIST SRD 60, type_k.tab.
NIST_MV = {10: 0.397, 20: 0.798, 40: 1.612, 60: 2.436, 100: 4.096, 177: 7.220, 200: 8.138, 300: 12.209}


def test_words_of_the_bit_map_decode():
    for word, shown_c in WORDS:
        for undriven in (0, 1):
            assert max6675_fault(word | undriven) == ""
            item = read_max6675(word | undriven, 22.5, 9)
            assert near(item.temperature_c, shown_c, 0.7)
            assert (item.cold_c, item.at_ms) == (22.5, 9)


def test_line_is_put_right_where_the_box_is_as_assumed_or_near():
    for at_c, off_k in LINE_OFF_K[1:]:
        word = int((at_c + off_k) * 4 + 0.5) << 3
        # Half a step of 0.25 C, the printed decimals, and 5 K between the box and what is assumed of it.
        assert near(read_max6675(word, 20.0, 0).temperature_c, at_c, 0.125 + 0.01 + 0.09)


def test_what_is_left_stays_small_from_a_cold_box_to_a_hot_one():
    worst_low_k = worst_high_k = 0.0
    for cold_c in (10, 20, 40, 60):
        for hot_c in (20, 100, 177, 200, 300):
            shown_c = (NIST_MV[hot_c] - NIST_MV[cold_c]) * 1000.0 / 41.0 + cold_c
            away_k = sensing.corrected_c(shown_c, 20.0, (41.0, sensing.K_TABLE_UV)) - hot_c
            worst_low_k, worst_high_k = min(worst_low_k, away_k), max(worst_high_k, away_k)
    # As the module says, with the table's printed half microvolts on top.
    assert -0.27 < worst_low_k < -0.15
    assert 0.1 < worst_high_k < 0.2


def test_each_fault_of_a_word_has_its_name():
    named = {
        0x0000: "no_chip",
        0xFFFF: "no_chip",
        0x8321: "bus",
        0x0322: "bus",
        0x0324: "open",
        0x7FFC: "open",
        0x0001: "implausible",
        0x7FF8: "implausible",
    }
    for word, code in named.items():
        assert read_max6675(word, 20.0, 3).code == code, hex(word)


def test_every_word_is_a_reading_or_a_named_fault():
    seen = {}
    for word in range(0x10000):
        item = read_max6675(word, 20.0, 0)
        code = getattr(item, "code", "good")
        seen[code] = seen.get(code, 0) + 1
        if code == "good":
            # The lowest word but one, corrected, lies a little below 0.
            assert -1.0 < item.temperature_c <= 350.0
    assert sorted(seen) == ["bus", "good", "implausible", "no_chip", "open"]
