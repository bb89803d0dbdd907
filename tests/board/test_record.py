"""Log records come back as they were written, and damage anywhere is noticed."""

import binascii
import struct

from board.samples import refused
from ribwright_board.core import event_words, events, record
from ribwright_board.core.errors import CoreError
from ribwright_board.core.modes import MODES

ZONES = [(1500, 1497, 333, 330, 1184), (-32768, -32768, 0, 0, -32768), (-5, 0, 1000, 1000, -7)]


def row_of(zones):
    buffer = bytearray(record.record_size(len(zones)))
    record.pack_row(buffer, 3, 70000, 2400123, 3, 0, 12, zones)
    return buffer


def event_of(zones, text, zone=1):
    buffer = bytearray(record.record_size(zones))
    record.pack_event(buffer, 2, 41, 99000, events.event_number("trip"), zone, 9, -2147483648, text)
    return buffer


def test_record_is_sixteen_bytes_and_ten_a_zone():
    for zones in (1, 2, 3, 4):
        assert record.record_size(zones) == 16 + 10 * zones
        assert record.record_size(zones, 1) == 16 + 8 * zones


def test_row_comes_back_as_it_was_written():
    for count in (1, 2, 3):
        row = record.unpack(row_of(ZONES[:count]), count)
        assert isinstance(row, record.Row)
        assert (row.stage, row.seq, row.at_ms, row.mode, row.flags, row.late_ms) == (
            3,
            70000 % 65536,
            2400123,
            "running",
            0,
            12,
        )
        assert [tuple(zone) for zone in row.zones] == ZONES[:count]


def test_row_lies_in_the_file_as_its_description_says():
    # Typed out by hand from the layout in the module's docstring: little endian, no padding.
    buffer = bytearray(26)
    record.pack_row(buffer, 1, 2, 0x01020304, 3, 0, 5, [(1500, -1, 333, 330, 1184)])
    body = bytes([1, 1, 2, 0, 4, 3, 2, 1, 3, 0, 5, 0, 0xDC, 5, 0xFF, 0xFF, 0x4D, 1, 0x4A, 1, 0xA0, 4])
    assert bytes(buffer[:22]) == body
    assert struct.unpack("<I", bytes(buffer[22:]))[0] == binascii.crc32(body) & 0xFFFFFFFF


def test_row_of_the_first_layout_is_read_without_an_estimate():
    # Typed out by hand: what a board wrote before it knew of the wood.
    body = bytes([1, 1, 2, 0, 4, 3, 2, 1, 3, 0, 5, 0, 0xDC, 5, 0xFF, 0xFF, 0x4D, 1, 0x4A, 1])
    row = record.unpack(body + struct.pack("<I", binascii.crc32(body)), 1, 1)
    assert (row.stage, row.seq, row.at_ms, row.mode) == (1, 2, 0x01020304, "running")
    assert row.zones == [(1500, -1, 333, 330, -32768)]
    assert record.unpack(body + struct.pack("<I", binascii.crc32(body)), 1) is None


def test_layout_is_told_by_the_first_four_bytes():
    assert record.layout_of(b"RWL1") == 1
    assert record.layout_of(record.header_bytes({"run": 1})) == 2
    assert record.layout_of(b"RWL3") == record.layout_of(b"RWL") == record.layout_of(b"") == 0
    whole = record.header_bytes({"run": 9})
    assert record.read_header(b"RWL1" + whole[4:]) == record.read_header(whole)


def test_missing_values_stay_apart_from_every_temperature():
    row = record.unpack(row_of(ZONES), 3)
    assert record.missing(row.zones[1][0])
    assert record.missing(row.zones[1][1])
    assert not record.missing(row.zones[0][0])
    assert not record.missing(-32767)


def test_figures_too_large_for_their_field_are_held_at_its_end():
    buffer = bytearray(26)
    record.pack_row(buffer, 0, 0, 0, 0, 0, 99999, [(0, 0, 0, 99999, 0)])
    row = record.unpack(buffer, 1)
    assert (row.late_ms, row.zones[0][3]) == (65535, 65535)


def test_event_comes_back_as_it_was_written():
    event = record.unpack(event_of(4, "ramp_late"), 4)
    assert isinstance(event, record.Event)
    assert (event.name, event.stage, event.seq, event.at_ms, event.zone) == ("trip", 2, 41, 99000, 1)
    assert (event.a, event.b, event.text) == (9, -2147483648, "ramp_late")
    assert record.unpack(event_of(2, "x", -1), 2).zone == -1


def test_text_of_an_event_is_cut_to_what_fits():
    assert record.unpack(event_of(1, "ramp_late"), 1).text == "ra"
    assert record.unpack(event_of(2, "press the waist on"), 2).text == "press the wa"
    text = "1234567890123456789012345678901234"
    assert record.unpack(event_of(4, text), 4).text == "12345678901234567890123456789012"


def test_letter_cut_in_half_costs_only_that_letter():
    # Twelve bytes of room: eleven letters of one byte and the first of two, three or four bytes.
    for letter in ("\u00e4", "\u6728", "\U0001f525"):
        assert record.unpack(event_of(2, "12345678901" + letter), 2).text == "12345678901"
    assert record.unpack(event_of(2, "\u00e4\u00e412345678"), 2).text == "\u00e4\u00e412345678"
    assert record.unpack(event_of(2, "\u00e4\u00e41234567\u00e4"), 2).text == "\u00e4\u00e41234567"


def test_any_single_flipped_bit_is_noticed():
    for packed, zones in ((row_of(ZONES[:2]), 2), (event_of(2, "late"), 2)):
        for at in range(len(packed)):
            for bit in range(8):
                damaged = bytearray(packed)
                damaged[at] ^= 1 << bit
                assert record.unpack(damaged, zones) is None


def test_record_that_ends_early_is_none():
    packed = bytes(row_of(ZONES[:2]))
    for length in range(len(packed)):
        assert record.unpack(packed[:length], 2) is None


def test_record_of_another_kind_or_mode_is_none():
    for at, value in ((0, 4), (0, 0), (8, len(MODES))):
        packed = row_of(ZONES[:2])
        packed[at] = value
        end = len(packed) - 4
        struct.pack_into("<I", packed, end, binascii.crc32(bytes(packed[:end])) & 0xFFFFFFFF)
        assert record.unpack(packed, 2) is None


def test_blank_flash_is_no_record():
    # Erased flash reads 0xFF; a zeroed block is the other thing a torn write leaves.
    assert record.unpack(bytes([255] * 36), 2) is None
    assert record.unpack(bytes(36), 2) is None


def test_header_comes_back_with_its_length():
    header = {"run": 7, "zones": ["waist", "full"], "unix": None, "name": "Fichte \u00e4"}
    packed = record.header_bytes(header)
    found, length = record.read_header(packed + b"records follow")
    assert found == header
    assert length == len(packed)


def test_any_damage_to_a_header_is_noticed():
    packed = record.header_bytes({"run": 7})
    for at in range(len(packed)):
        damaged = bytearray(packed)
        damaged[at] ^= 1
        code = refused(CoreError, record.read_header, bytes(damaged)).code
        assert code in ("not_a_log", "header_short", "header_damaged")
    for length in range(len(packed)):
        code = refused(CoreError, record.read_header, packed[:length]).code
        assert code == ("not_a_log" if length < 4 else "header_short")


def test_header_that_does_not_fit_is_refused():
    assert refused(CoreError, record.header_bytes, {"x": "y" * 11000}).code == "header_size"


def test_modes_of_the_log_are_those_of_the_rig():
    assert record.MODES == MODES


def test_event_numbers_of_old_logs_keep_their_meaning():
    # A number that once stood in a log never changes: this list may only grow.
    written = (
        "press proving proved refused stage arrived cue cue_done hold_warning hold_longest next pause resume "
        "stop done trip acknowledged zone_off zone_back branch_limited late log_lost suspect suspect_over "
        "presence presence_given interrupted"
    ).split()
    for i in range(len(written)):
        assert events.event_number(written[i]) == i + 1
        assert events.event_name(i + 1) == written[i]
    assert events.event_name(255) == "unknown"
    numbers = list(events.EVENTS.values())
    assert len(set(numbers)) == len(numbers)


def test_every_event_has_a_meaning_and_no_other_has():
    assert sorted(event_words.MEANINGS) == sorted(events.EVENTS)
