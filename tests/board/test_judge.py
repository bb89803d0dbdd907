"""A zone's readings against its heat: answers that are missing, bits that stand still, and what follows."""

from board.judging import CEILING_C, TARGET_C, Feed
from ribwright_board.core import judge as judge_module
from ribwright_board.core.judge import FROZEN_MS, NO_RISE_WINDOW

NEVER = (0, "")


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
    above_c = 25.0 + judge_module.FROZEN_ABOVE_K
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


def unanswered(feed, rise_k=0.0, most_s=300):
    """Second and code of the trip while full power is given to a cold zone."""
    return feed.until(most_s, rise_k, 1.0, TARGET_C)


def test_heat_that_is_not_answered_trips_after_the_load_and_the_time_it_is_given():
    feed = Feed(60.0)
    load_s = judge_module.LOAD_K / feed.wanted_k_per_s()
    count, code = unanswered(feed)
    assert code == "no_rise"
    # A window to look at, what a cold form might take, then the evidence; the lag costs a second or two.
    wanted_s = NO_RISE_WINDOW + load_s + feed.judge.limit_ms / 1000.0
    assert wanted_s - 1.0 <= count <= wanted_s + 4.0
    assert feed.judge.unit == "K"
    assert feed.judge.seen < feed.judge.limit


def test_time_for_an_unanswered_blanket_is_what_a_bare_one_may_heat_in():
    # 2184 J/(m2 K) of silicone: 100 K at 8.9 kW/m2 take 24.6 s; a weak blanket gets the whole 30 s.
    assert abs(Feed().judge.limit_ms - 24570) < 10
    assert Feed(power_w=100).judge.limit_ms == judge_module.NO_RISE_MS
    assert Feed(power_w=480).judge.limit_ms < 12300


def test_answer_of_a_third_is_enough_and_less_is_weak():
    wanted_k = Feed(60.0).wanted_k_per_s()
    assert unanswered(Feed(60.0), 0.35 * wanted_k, 100) == NEVER
    assert unanswered(Feed(60.0), 0.2 * wanted_k)[1] == "weak_rise"
    assert unanswered(Feed(60.0), 0.05 * wanted_k)[1] == "no_rise"


def test_reading_that_falls_while_it_is_heated_is_detached():
    count, code = unanswered(Feed(150.0), -0.9)
    assert code == "detached"
    assert count < 70


def test_reading_where_it_is_wanted_needs_no_rise():
    feed = Feed(TARGET_C - judge_module.NEAR_K + 0.1)
    assert feed.until(600, 0.0, 1.0, TARGET_C) == NEVER


def test_no_heat_needs_no_rise():
    feed = Feed(60.0)
    share = feed.judge.expect.hold_share(60.0)
    assert feed.until(600, 0.0, share, TARGET_C) == NEVER


def plateau(at_c, wetted, rise_k=0.0):
    return unanswered(Feed(at_c, wetted=wetted), rise_k, 1200)[0]


def test_reading_may_stand_at_the_boil_as_long_as_the_declared_water_lasts():
    for wetted in ("dry", "misted", "soaked"):
        feed = Feed(100.0, wetted=wetted)
        water_s = feed.judge.expect.water_k / feed.wanted_k_per_s()
        load_s = judge_module.LOAD_K / feed.wanted_k_per_s()
        # Afterwards evidence counts half.
        wanted_s = NO_RISE_WINDOW + load_s + water_s + 2.0 * feed.judge.limit_ms / 1000.0
        count = plateau(100.0, wetted)
        assert wanted_s - 2.0 <= count <= wanted_s + 6.0, wetted
    assert plateau(100.0, "soaked") > plateau(100.0, "misted") > plateau(100.0, "dry")


def test_boil_excuses_no_reading_outside_its_span_and_none_that_falls():
    cold_s, hot_s = plateau(60.0, "soaked"), plateau(judge_module.STEAM_TO_C + 1.0, "soaked")
    assert cold_s < 70
    assert hot_s < 75
    falling_k = -1.5 * judge_module.STEAM_FALL_K / NO_RISE_WINDOW
    assert plateau(120.0, "soaked", falling_k) < 75


def test_form_that_meets_the_strip_may_take_more_than_any_other_load():
    feed = Feed(60.0)
    feed.judge.meet_form()
    count, _ = unanswered(feed)
    more_s = (judge_module.FORM_K - judge_module.LOAD_K) / feed.wanted_k_per_s()
    assert abs(count - unanswered(Feed(60.0))[0] - more_s) <= 2.0


def test_answer_gives_evidence_back():
    feed = Feed(60.0)
    wanted_k = feed.wanted_k_per_s()
    count, _ = unanswered(Feed(60.0))
    # The window holds the past for a while: evidence goes on growing until the answer fills it.
    feed.until(count - 12, 0.0, 1.0, TARGET_C)
    assert feed.judge.suspect == "no_rise"
    feed.until(NO_RISE_WINDOW + 30, 0.5 * wanted_k, 1.0, TARGET_C)
    assert set(feed.codes) == {""}
    assert feed.judge.suspect == ""
    assert feed.judge.cap == 1.0


def test_deliberate_change_of_the_target_begins_anew():
    feed = Feed(60.0)
    count, _ = unanswered(Feed(60.0))
    feed.until(count - 2, 0.0, 1.0, TARGET_C)
    assert feed.until(NO_RISE_WINDOW, 0.0, 1.0, TARGET_C + judge_module.AIM_K + 1.0) == NEVER
    assert feed.judge.suspect == ""
    slow = Feed(60.0)
    slow.until(count - 2, 0.0, 1.0, TARGET_C)
    # The slow ramp's target moves by little: that makes nothing void.
    assert slow.until(5, 0.0, 1.0, TARGET_C + 1.0)[1] == "no_rise"


def test_reading_that_is_missing_is_not_judged():
    feed = Feed(60.0)
    for _ in range(600):
        assert feed.judge.second(None, 1.0, 0.0, TARGET_C, CEILING_C, 1000) == ""
    # What came before a gap says nothing about what comes after it.
    feed.until(20, 0.0, 1.0, TARGET_C)
    feed.judge.second(None, 1.0, 0.0, TARGET_C, CEILING_C, 1000)
    feed.at_c = 120.0
    assert feed.second(0.0, 0.0, TARGET_C) == ""
    assert feed.until(6, 0.0, 0.0, TARGET_C) == NEVER


def test_suspicion_limits_the_power_to_what_holds_and_lets_it_decide_in_turns():
    feed = Feed(60.0)
    caps = []
    while not feed.second(0.0, 1.0, TARGET_C):
        caps.append(feed.judge.cap)
    suspected = caps.index(min(caps))
    # A third of the way to the trip.
    left_s = len(caps) + 1 - suspected
    assert abs(left_s - 2.0 / 3.0 * feed.judge.limit_ms / 1000.0) <= 2.0
    hold = feed.judge.expect.hold_share(TARGET_C) + 0.1
    assert abs(caps[suspected] - hold) < 1e-6
    assert caps[:suspected] == [1.0] * suspected
    # With full power again for as long, or nothing would ever be decided.
    feed = Feed(60.0)
    caps = []
    for _ in range(200):
        feed.second(0.0, min(1.0, feed.judge.cap), TARGET_C)
        caps.append(feed.judge.cap)
    first = caps.index(min(caps))
    turn = judge_module.CAP_MS // 1000
    assert caps[first : first + turn - 1] == [caps[first]] * (turn - 1)
    assert caps[first + turn - 1 : first + 2 * turn - 1] == [1.0] * turn


def test_first_broken_rule_of_a_second_gives_the_code():
    feed = Feed(100.0)
    feed.second(0.0, 0.0, 100.0)
    feed.judge.bits(200.0, 25.0, 100, True)
    feed.judge.bits(200.0, 25.0, FROZEN_MS, True)
    feed.at_c = 200.0
    assert feed.second(0.0, 0.0, 100.0) == "frozen"
    assert (feed.judge.seen, feed.judge.unit) == (FROZEN_MS / 1000.0, "s")
