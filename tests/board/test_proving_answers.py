"""The pulse of each zone and what its answer shows."""

from board.proof_feed import PULSE_MOST_S, WANTED_K, Feed, heated
from board.samples import near
from board.warm import RESPONSE_K_PER_S
from ribwright_board.core import proving as proving_module
from ribwright_board.core.levels import Levels
from ribwright_board.core.trip import Trip

# In plain numbers: a rule that has grown weaker shows here.
ALL_WEAK_SHARE = 0.46
ALL_WEAK_BARE_SHARE = 0.35
FAST_SHARE = 1.65
FAST_SHOWN_SHARE = 1.45
FEEDBACK_S = 2
FROZEN_MS = 8000
NO_SHARE = 0.14
OFF_LONG_S = 8
OTHER_SHARE = 0.25
PULSE_DUTY = 0.3
PULSE_S = 5
REVERSED_SHARE = -0.3
ROGUE_RISE_K = 0.9
WARM_GOOD_S = 6
WELD_WARM_S = 5
WELD_WATCH_S = 3
WATCH_S = 3
WEAK_SHARE = 0.3
WEAK_BARE_SHARE = 0.25


def answer(own_k, other_k=0.0, still_ms=0):
    """Verdict of the first zone's pulse."""
    feed = Feed().to_pulses()
    feed.still_ms = [still_ms, 0]
    verdict = feed.pulse([own_k, other_k])
    assert verdict == "stay" or feed.proof.zone == 0
    return verdict


def test_answer_of_a_pulse_is_judged_by_its_share_of_the_expected_one():
    module = proving_module
    for share, wanted in (
        (module.MOST_RISE_K / WANTED_K + 0.05, "fast_rise"),
        (FAST_SHOWN_SHARE + 0.05, "fast_rise"),
        (FAST_SHOWN_SHARE - 0.05, "stay"),
        (1.0, "stay"),
        (WEAK_SHARE + 0.03, "stay"),
        (WEAK_SHARE - 0.03, "weak_rise"),
        (NO_SHARE + 0.03, "weak_rise"),
        (NO_SHARE - 0.03, "no_rise"),
        (0.0, "no_rise"),
        (REVERSED_SHARE + 0.03, "no_rise"),
        (REVERSED_SHARE - 0.03, "reversed"),
    ):
        assert answer(share * WANTED_K) == wanted, share


def test_answer_far_over_the_expected_one_is_a_missing_load():
    # A slow rig expects little, so that the share decides before the twelve kelvin do. One that states its
    # own answer is given less room than one that is known by its parts.
    wanted_k = 2.0 * PULSE_DUTY * PULSE_S
    for shown, share, wanted in (
        (False, FAST_SHARE + 0.1, "fast_rise"),
        (False, FAST_SHARE - 0.1, "stay"),
        (True, FAST_SHOWN_SHARE + 0.1, "fast_rise"),
        (True, FAST_SHOWN_SHARE - 0.1, "stay"),
    ):
        feed = Feed()
        for expect in feed.expects:
            expect.probe_k_per_s = 2.0
            expect.fast_share = FAST_SHOWN_SHARE if shown else FAST_SHARE
        feed.to_pulses()
        assert feed.pulse([share * wanted_k, 0.0]) == wanted, (shown, share)


def test_pulse_that_answers_elsewhere_is_swapped():
    assert answer(0.0, WANTED_K) == "swapped"
    assert answer(0.1 * WANTED_K, 0.6 * WANTED_K) == "swapped"
    # What a neighbour shows beside a good answer is the same heat, seen from there.
    assert answer(WANTED_K, 0.9 * WANTED_K) == "stay"
    assert answer(0.0, (OTHER_SHARE - 0.03) * WANTED_K) == "no_rise"


def test_reading_that_did_not_change_a_bit_is_frozen():
    assert answer(0.0, 0.0, FROZEN_MS) == "frozen"
    assert answer(0.0, 0.0, FROZEN_MS - 1) == "no_rise"


def test_answer_on_a_cooling_stack_is_measured_from_where_it_would_be():
    feed = Feed()
    fall_k = 0.5
    feed.temps_c = [120.0, 120.0]
    for _ in range(WARM_GOOD_S + WELD_WARM_S + WELD_WATCH_S + OFF_LONG_S):
        assert feed.second() == "stay"
        feed.temps_c = [at_c - fall_k for at_c in feed.temps_c]
    # Both go on falling, the pulsed one by less: its answer is the whole difference.
    lost_k = fall_k * (PULSE_S + WATCH_S)
    before_c = list(feed.temps_c)
    for second in range(8):
        share = min(1.0, (second + 1) / PULSE_S)
        feed.temps_c = [before_c[0] - fall_k * second + WANTED_K * share, before_c[1] - fall_k * second]
        assert feed.second() == "stay"
    assert lost_k > 0.5 * WANTED_K
    # Its slope at the end still holds a little of the climb.
    assert near(feed.proof.ratios[0], 1.0, 0.2)


def test_contactor_that_is_watched_is_asked_instead_of_heated():
    feed = Feed(feedback=True)
    feed.contactor = False
    feed.seconds(2 + FEEDBACK_S)
    assert feed.proof.duties == [0.0, 0.0]
    assert feed.proof.alive
    feed.contactor = True
    feed.seconds(5)
    welded = Feed(feedback=True)
    welded.contactor = True
    welded.seconds(3)
    assert welded.second() == "contactor_closed"
    broken = Feed(feedback=True)
    broken.contactor = False
    broken.seconds(2 + FEEDBACK_S)
    broken.seconds(FEEDBACK_S - 1)
    assert broken.second() == "contactor_open"
    assert broken.proof.zone == -1


def test_small_answer_is_waited_for_because_the_thermocouple_may_be_slow():
    module = proving_module
    watch_s = module.PULSE_S + module.WATCH_S
    for end_share, wanted in (
        (WEAK_SHARE + 0.05, "stay"),
        (NO_SHARE + 0.02, "weak_rise"),
    ):
        feed = Feed().to_pulses()
        # Nothing much when a quick one would have answered, and on its way.
        heated(feed, watch_s, (0.05 * WANTED_K / watch_s, 0.0))
        assert feed.proof._pulsed == 0
        left_k = (end_share - 0.05) * WANTED_K
        heated(feed, module.SLOW_S - 2, (left_k / (module.SLOW_S - 2), 0.0))
        feed.seconds(1)
        assert feed.verdict(1)[1] == wanted
        assert feed.proof._pulsed == (1 if wanted == "stay" else 0)
    # A sure answer waits for nothing.
    feed = Feed().to_pulses()
    heated(feed, watch_s, ((module.SURE_SHARE + 0.1) * WANTED_K / watch_s, 0.0))
    assert feed.proof._pulsed == 1


def test_answers_are_watched_for_as_long_as_they_leave_doubt():
    watch_s, slow_s, fast_s = 3, 5, 4
    for share, seconds in ((0.5, PULSE_S + watch_s), (0.42, PULSE_S + watch_s + slow_s)):
        feed = Feed().to_pulses()
        heated(feed, PULSE_S, (share * WANTED_K / PULSE_S, 0.0))
        spent_s = PULSE_S
        while feed.proof._pulsed == 0 and spent_s < 40:
            feed.seconds(1)
            spent_s += 1
        assert spent_s == seconds, share
    # What answers too much is off at once, and looked at for a while: it may stay on.
    feed = Feed().to_pulses()
    heated(feed, PULSE_S, ((FAST_SHOWN_SHARE + 0.08) * WANTED_K / PULSE_S, 0.0))
    assert feed.proof.duties == [0.0, 0.0]
    assert feed.verdict(9) == (fast_s, "fast_rise")


def test_bare_blanket_may_answer_less():
    for share, wanted in ((WEAK_BARE_SHARE + 0.03, "stay"), (WEAK_BARE_SHARE - 0.03, "weak_rise")):
        feed = Feed(bare=True).to_pulses()
        assert feed.pulse([share * WANTED_K, 0.0]) == wanted


def test_all_zones_weak_together_are_a_weak_supply():
    for share, wanted in (
        (ALL_WEAK_SHARE + 0.05, "proved"),
        (ALL_WEAK_SHARE - 0.05, "weak_rise"),
    ):
        feed = Feed().to_pulses()
        assert feed.pulse([share * WANTED_K, 0.0]) == "stay"
        assert feed.pulse([0.0, share * WANTED_K]) == wanted
    # A bare blanket gives more to the air.
    for share, wanted in ((ALL_WEAK_BARE_SHARE + 0.05, "proved"), (ALL_WEAK_BARE_SHARE - 0.05, "weak_rise")):
        feed = Feed(bare=True).to_pulses()
        assert feed.pulse([share * WANTED_K, 0.0]) == "stay"
        assert feed.pulse([0.0, share * WANTED_K]) == wanted
    # One slow thermocouple beside a quick one is none.
    feed = Feed().to_pulses()
    assert feed.pulse([WANTED_K, 0.0]) == "stay"
    assert feed.pulse([0.0, (WEAK_SHARE + 0.05) * WANTED_K]) == "proved"


def test_zone_that_climbs_on_with_its_relay_off_stays_on():
    feed = Feed().to_pulses()
    # As fast as a heated zone, for as long as it is looked at.
    verdict = feed.verdict(PULSE_MOST_S, (RESPONSE_K_PER_S, 0.0))[1]
    assert verdict == "heat_while_off"
    assert feed.proof.duties == [0.0, 0.0]


def test_refusal_carries_what_was_seen():
    feed = Feed()
    feed.seconds(2)
    count, code = feed.verdict(10, (0.0, 1.0))
    trip = feed.proof.refusal(code, 777)
    assert isinstance(trip, Trip)
    assert (trip.code, trip.zone, trip.unit, trip.at_ms) == ("contactor_closed", 1, "K", 777)
    assert near(trip.seen, count, 0.1)
    assert trip.limit == ROGUE_RISE_K


def test_answer_on_a_stack_that_falls_fast_may_be_smaller():
    module = proving_module
    # A dead zone that slows down as it falls shows a little less than the least that counts.
    cases = ((0.5, 0.24, "stay"), (0.5, 0.18, "weak_rise"), (0.1, 0.24, "weak_rise"))
    for fall_k, share, wanted in cases:
        feed = Feed()
        feed.temps_c = [120.0, 120.0]
        for _ in range(module.WARM_GOOD_S + WELD_WARM_S + WELD_WATCH_S + module.OFF_LONG_S):
            assert feed.second() == "stay"
            feed.temps_c = [at_c - fall_k for at_c in feed.temps_c]
        assert feed.proof._pulsed == 0
        verdict = "stay"
        for second in range(module.PULSE_S + module.WATCH_S + module.SLOW_S):
            risen = share * WANTED_K * min(1.0, (second + 1) / module.PULSE_S)
            feed.temps_c = [120.0 - fall_k * (feed.proof._total_s) + risen, feed.temps_c[1] - fall_k]
            verdict = feed.second()
            if verdict != "stay" or feed.proof._pulsed == 1:
                break
        assert verdict == wanted, (fall_k, share)


def test_dead_zone_whose_fall_slows_down_is_no_answer():
    # Readings of a zone without power on a stack that was hot a moment ago: seconds before its pulse, and
    # after. The fall ends by and by, which looks like a little heat.
    before_c = [125.1, 124.4, 124.6, 124.6, 123.9, 123.1, 122.9, 122.4, 122.4, 121.6]
    before_c += [121.1, 120.6, 120.6, 120.1, 120.1, 119.1, 118.6, 117.8, 117.8]
    after_c = [117.3, 117.1, 116.3, 116.1, 116.1, 115.1, 115.1, 114.6, 114.6, 113.8, 113.6, 113.6, 112.8]
    levels = Levels(1)
    for at_c in before_c:
        levels.keep([at_c])
    levels.mark([25.0])
    for at_c in after_c:
        levels.keep([at_c])
    # By its last seconds alone it answers by a quarter of what a pulse brings.
    assert levels.slows(0)
    assert levels.answer_k(0, proving_module.PULSE_S) > proving_module.WEAK_SLOWING_SHARE * 2.5
    assert levels.bump_k(0, proving_module.PULSE_S) < -proving_module.SINKS_K


def test_answer_that_only_comes_when_the_pulse_is_over_must_be_a_whole_one():
    module = proving_module
    verdicts = []
    # The same answer at the end: one that came with the pulse, and one of the last five seconds alone.
    for with_the_pulse in (True, False):
        feed = Feed()
        feed.temps_c = [120.0, 120.0]
        for _ in range(module.WARM_GOOD_S + WELD_WARM_S + WELD_WATCH_S + module.OFF_LONG_S):
            assert feed.second() == "stay"
            feed.temps_c = [at_c - 0.5 for at_c in feed.temps_c]
        longest_s = module.PULSE_S + module.WATCH_S + module.SLOW_S
        for second in range(longest_s):
            share = min(1.0, (second + 1) / module.PULSE_S) if with_the_pulse else second >= longest_s - 5
            feed.temps_c[0] = 120.0 - 0.5 * feed.proof._total_s + 0.28 * WANTED_K * share
            feed.temps_c[1] -= 0.5
            verdict = feed.second()
            if verdict != "stay" or feed.proof._pulsed == 1:
                break
        verdicts.append(verdict)
    assert verdicts == ["stay", "weak_rise"]


def test_slow_thermocouple_beside_the_pulsed_zone_is_given_time_to_show_what_it_follows():
    module = proving_module
    seconds_s = {}
    for name, after_k in (("turns", 0.0), ("climbs", 0.085 * WANTED_K)):
        feed = Feed().to_pulses()
        rise_k = 0.6 * WANTED_K
        before_c = feed.temps_c[1]
        for second in range(1, 40):
            during = min(1.0, second / (module.PULSE_S + 2.0))
            after = max(0.0, second - module.PULSE_S - 2.0)
            feed.temps_c = [20.0 + 0.4 * WANTED_K * during, before_c + rise_k * during + after_k * after]
            verdict = feed.second()
            if verdict != "stay":
                seconds_s[name] = (second, verdict)
                break
    assert seconds_s["turns"][1] == "swapped"
    assert seconds_s["climbs"][1] == "heat_while_off"


def test_box_that_leaps_is_named_as_the_box():
    feed = Feed()
    feed.seconds(3)
    # One converter's own temperature jumps, and takes its reading with it.
    feed.cold_c = [20.0, 32.0]
    feed.temps_c = [20.0, 32.0]
    assert feed.verdict(12)[1] == "cold_spread"
    assert feed.proof.zone == -1


def test_welded_contactor_shows_on_a_stack_that_cools_fast():
    feed = Feed()
    feed.temps_c = [140.0, 140.0]
    for second in range(40):
        duties = feed.proof.duties
        heat_k = 0.6 * max(duties)
        feed.temps_c = [at_c - 0.5 * 0.98**second + heat_k for at_c in feed.temps_c]
        verdict = feed.second()
        if verdict != "stay":
            break
    assert verdict == "contactor_closed"


def test_zone_that_froze_after_a_small_answer_is_named():
    feed = Feed().to_pulses()
    assert feed.pulse([(WEAK_SHARE + 0.03) * WANTED_K, 0.0]) == "stay"
    feed.still_ms = [6000, 0]
    assert feed.pulse([0.0, (WEAK_SHARE + 0.03) * WANTED_K]) == "frozen"
    assert feed.proof.zone == 0
