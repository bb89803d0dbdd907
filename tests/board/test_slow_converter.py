"""A converter with something new every third tick: the guard's limits hold, since its answer comes again."""

from board.chip_bus import Plain, bus_of
from ribwright_board.core.guard import BAD_TRIP_MS, CEILING_TRIP_MS, LEAP_TRIP_MS, Guard
from ribwright_board.core.sensing import Missing, Reading
from ribwright_board.drivers.max6675 import CONVERT_MS, Max6675

TICK_MS = 100
CEILING_C = 190.0
# Between two reads of the chip at most: conversions of 220 ms, asked for in ticks.
EVERY_MS = 300


class Slow:
    """A guard with one MAX6675, tick by tick."""

    def __init__(self, again=True):
        self.chip = Plain(b"")
        spi, selects = bus_of(self.chip)
        self.driver = Max6675(spi, selects[0])
        self.guard = Guard([CEILING_C], 0)
        self.again = again
        self.now_ms = 0
        self.show(25.0)
        self.live(3000)

    def show(self, shown_c, bits=1):
        """Have the chip show a temperature, with these of its last three bits."""
        self.chip.word = (int(shown_c * 4) << 3 | bits).to_bytes(2, "big")

    def live(self, ms):
        """Go on for so long or until a trip; how long it took."""
        start_ms = self.now_ms
        while self.now_ms - start_ms < ms and self.guard.trip is None:
            self.now_ms += TICK_MS
            item = self.driver.read(self.now_ms)
            fresh = self.driver._last_ms == self.now_ms
            self.guard.tick(self.now_ms)
            self.guard.admit(0, item if self.again or fresh else None, self.now_ms, TICK_MS)
        return self.now_ms - start_ms


def climbed(slow):
    """Heat up to just below the ceiling, slower than what counts as a leap."""
    for shown_c in range(25, 189, 4):
        slow.show(shown_c)
        slow.live(EVERY_MS)
    assert slow.guard.trip is None


def test_conversion_lasts_longer_than_two_ticks():
    assert 2 * TICK_MS < CONVERT_MS <= EVERY_MS


def test_good_readings_keep_the_zone_in_use():
    slow = Slow()
    assert slow.guard.held(0) == ""
    assert slow.guard.allow(0, 0.5, slow.now_ms) == 0.5
    slow.live(60000)
    assert slow.guard.trip is None


def test_open_wire_trips_as_soon_as_with_any_other_converter():
    slow = Slow()
    slow.show(1023.75, 5)
    took_ms = slow.live(10000)
    assert slow.guard.trip.code == "open"
    assert took_ms <= BAD_TRIP_MS + EVERY_MS


def test_ceiling_trips_as_soon_as_with_any_other_converter():
    slow = Slow()
    climbed(slow)
    slow.show(194.0)
    took_ms = slow.live(10000)
    assert slow.guard.trip.code == "ceiling"
    assert took_ms <= CEILING_TRIP_MS + EVERY_MS


def test_leap_trips_as_soon_as_with_any_other_converter():
    slow = Slow()
    slow.show(120.0)
    took_ms = slow.live(10000)
    assert slow.guard.trip.code == "leap"
    assert took_ms <= LEAP_TRIP_MS + EVERY_MS


def test_with_nothing_between_two_reads_evidence_would_grow_more_slowly():
    slow = Slow(again=False)
    climbed(slow)
    slow.show(194.0)
    assert slow.live(10000) > 2 * (CEILING_TRIP_MS + EVERY_MS)
    leaping = Slow(again=False)
    leaping.show(120.0)
    assert leaping.live(10000) > 1.5 * (LEAP_TRIP_MS + EVERY_MS)


def test_answer_that_comes_again_keeps_the_time_it_was_read_at():
    slow = Slow()
    item = slow.driver.read(slow.now_ms)
    assert isinstance(item, Reading)
    seen = set()
    for _ in range(9):
        slow.now_ms += TICK_MS
        item = slow.driver.read(slow.now_ms)
        assert slow.now_ms - item.at_ms < EVERY_MS
        seen.add(item.at_ms)
    assert len(seen) in (3, 4)
    slow.show(1023.75, 5)
    slow.live(EVERY_MS)
    assert isinstance(slow.driver.read(slow.now_ms), Missing)
