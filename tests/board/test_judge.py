"""A zone's readings against its heat: answers that are missing, bits that stand still, and what follows."""

from board.judging import Feed, expectation

# In plain numbers: a rule that has grown weaker shows here.
FROZEN_ABOVE_K = 20.0
FROZEN_MS = 25000
STILL_MS = 10000


def frozen_after(feed, driven, temperature_c, most_s):
    for count in range(1, most_s * 10 + 1):
        feed.judge.bits(temperature_c, 25.0, 100, driven)
        if count % 10 == 0 and feed.second() == "frozen":
            return count / 10.0
    return 0.0


def test_bits_that_stand_still_trip_after_twenty_five_seconds_of_heat():
    # The first reading has none before it.
    assert frozen_after(Feed(), True, 60.0, 60) == FROZEN_MS / 1000.0 + 1.0
    assert frozen_after(Feed(), False, 25.0, 600) == 0.0
    # A hot reading should move even when nothing heats.
    above_c = 25.0 + FROZEN_ABOVE_K
    assert frozen_after(Feed(), False, above_c + 0.25, 60) == FROZEN_MS / 1000.0 + 1.0
    assert frozen_after(Feed(), False, above_c, 60) == 0.0


def test_one_changed_bit_of_reading_or_converter_is_life():
    for spot in (0, 1):
        judge = Feed().judge
        for count in range(2000):
            bits = [60.0, 25.0]
            bits[spot] += 0.0625 * (count % 240 == 0)
            judge.bits(bits[0], bits[1], 100, True)
            assert judge.still_ms() < FROZEN_MS


def test_first_broken_rule_of_a_second_gives_the_code():
    feed = Feed(100.0)
    feed.second(0.0, 0.0, 100.0)
    feed.judge.bits(200.0, 25.0, 100, True)
    feed.judge.bits(200.0, 25.0, FROZEN_MS, True)
    feed.at_c = 200.0
    assert feed.second(0.0, 0.0, 100.0) == "frozen"
    assert (feed.judge.seen, feed.judge.unit) == (FROZEN_MS / 1000.0, "s")


def test_reading_that_does_not_cool_because_it_never_changes_is_frozen():
    for still_ms, wanted in (
        (STILL_MS, "frozen"),
        (STILL_MS - 100, "heat_while_off"),
    ):
        feed = Feed(150.0)
        feed.judge._still_ms = still_ms
        assert feed.until(60)[1] == wanted


def test_new_load_is_what_every_rule_expects():
    feed = Feed(60.0)
    expect = expectation(500)
    feed.judge.load(expect)
    assert feed.judge.unasked.expect is expect
    assert feed.judge._doubt.expect is expect
