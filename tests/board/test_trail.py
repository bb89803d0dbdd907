"""The last readings before a trip: kept, logged, read back."""

from board.life import Life
from ribwright_board.core import record
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.events import event_number
from ribwright_board.core.sensing import Missing, Reading
from ribwright_board.core.trail import KEPT, Trail
from ribwright_board.core.units import TENTHS_MISSING

OPEN = TENTHS_MISSING + FAULTS["open"][0]


def test_last_readings_are_kept_the_oldest_first():
    trail = Trail(2)
    assert trail.last(0) == [TENTHS_MISSING] * KEPT
    for i in range(KEPT + 3):
        trail.keep(0, Reading(float(i), 20.0, i))
    assert trail.last(0) == [10 * i for i in range(3, KEPT + 3)]
    assert trail.last(1) == [TENTHS_MISSING] * KEPT


def test_missing_reading_keeps_its_cause_and_nothing_new_is_none():
    trail = Trail(1)
    trail.keep(0, Missing("open", 1))
    trail.keep(0, None)
    trail.keep(0, Reading(21.5, 20.0, 2))
    assert trail.last(0)[-2:] == [OPEN, 215]


def test_reading_that_is_no_number_is_kept_as_a_fault():
    trail = Trail(1)
    for odd in (float("nan"), float("inf"), -float("inf"), 1e30, -1e30):
        trail.keep(0, Reading(odd, 20.0, 1))
    assert trail.last(0)[-5:] == [TENTHS_MISSING + FAULTS["implausible"][0]] * 5


def test_readings_survive_packing():
    for zones, room in ((1, 5), (2, 10), (4, 20)):
        buffer = bytearray(record.record_size(zones))
        assert record.trail_room(len(buffer)) == room
        for count in (0, 1, room):
            values = [100 * i - 500 for i in range(count)]
            record.pack_trail(buffer, 2, 70000, 99000, zones - 1, 100, values)
            found = record.unpack(buffer, zones)
            assert (found.stage, found.seq, found.at_ms) == (2, 70000 % 65536, 99000)
            assert (found.zone, found.step_ms, found.values) == (zones - 1, 100, values)
            buffer[9] ^= 1
            assert record.unpack(buffer, zones) is None


def test_count_beyond_the_record_is_none():
    buffer = bytearray(record.record_size(2))
    record.pack_trail(buffer, 0, 0, 0, 0, 100, list(range(11)))
    assert record.unpack(buffer, 2) is None


def test_trip_is_followed_in_the_log_by_the_readings_that_led_to_it():
    life = Life().heating()
    life.steps(3000)
    life.board.sensors[0].read = lambda now_ms: Missing("open", now_ms)
    life.steps(5000)
    assert life.controller.mode == "tripped"
    _, at = record.read_header(bytes(life.board.store.logs[1]))
    size = record.record_size(2)
    log = bytes(life.board.store.logs[1])[at:]
    items = [record.unpack(log[i : i + size], 2) for i in range(0, len(log), size)]
    assert None not in items
    tripped = next(i for i in range(len(items)) if getattr(items[i], "name", "") == "trip")
    assert event_number("trip") == 16
    found = items[tripped + 1 : tripped + 3]
    assert [one.zone for one in found] == [0, 0]
    values = found[0].values + found[1].values
    assert len(values) == KEPT
    # Two seconds of an open circuit are what trips; its cause is in every one of them.
    assert values[-15:] == [OPEN] * 15
    assert found[1].at_ms == items[tripped].at_ms
    assert found[0].at_ms == found[1].at_ms - 10 * found[0].step_ms
    # The sequence has no gap, and goes on.
    assert [item.seq for item in items] == list(range(len(items)))
