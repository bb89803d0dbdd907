"""Proofs in a draught: what air does to a stack is no fault, and a fault beside it keeps its name."""

from board.proof_feed import WANTED_K, Feed
from ribwright_board.core.proving import PULSE_DUTY, PULSE_S


def test_answer_that_a_draught_takes_back_has_been_given():
    for most, wanted in ((0.6, "stay"), (0.2, "weak_rise")):
        feed = Feed().to_pulses()
        verdict = "stay"
        for second in range(1, 20):
            # Up with the pulse, then cooled to less than a weak answer before the watch is over.
            share = most * min(1.0, second / PULSE_S) - 0.11 * max(0, second - PULSE_S)
            feed.temps_c = [20.0 + WANTED_K * max(0.16, share), 20.0]
            verdict = feed.second()
            if verdict != "stay" or feed.proof._pulsed == 1:
                break
        assert verdict == wanted, most
    # What it has shown counts, not what is left of it.
    feed = Feed().to_pulses()
    for second in range(1, 10):
        share = 0.6 * min(1.0, second / PULSE_S) - 0.11 * max(0, second - PULSE_S)
        feed.temps_c = [20.0 + WANTED_K * share, 20.0]
        assert feed.second() == "stay"
        if feed.proof._pulsed == 1:
            break
    assert feed.proof.ratios[0] > 0.4


def test_leap_beside_the_pulsed_zone_is_named_with_its_own_place():
    feed = Feed().to_pulses()
    assert feed.proof.duties == [PULSE_DUTY, 0.0]
    verdict = "stay"
    for second in range(1, 12):
        feed.temps_c = [20.0 + WANTED_K * min(1.0, second / PULSE_S), 20.0 if second < 3 else 40.0]
        verdict = feed.second()
        if verdict != "stay":
            break
    assert (verdict, feed.proof.zone) == ("leap", 1)


def paused(times, watched=80):
    """A warm stack whose fall pauses so often in the test with the zones off; the verdict."""
    feed = Feed(short=True)
    feed.temps_c = [150.0, 20.0]
    closed_s, verdict, pauses = 0, "stay", 0
    for _ in range(watched):
        closed_s = closed_s + 1 if feed.proof.alive else 0
        slow = closed_s in (5, 6, 7, 8) and pauses < 4 * times
        pauses += slow
        feed.temps_c = [feed.temps_c[0] - (0.1 if slow else 0.74), 20.0]
        verdict = feed.second()
        if verdict != "stay":
            break
    return verdict


def test_fall_that_paused_once_is_watched_once_more():
    assert paused(0) == "proved"
    assert paused(1) == "proved"
    # What pauses whenever the contactor is closed has to do with it.
    assert paused(9) == "leap"
