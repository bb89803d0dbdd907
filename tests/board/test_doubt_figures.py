"""The figures of doubt in plain numbers: one that is made weaker shows here, whatever its constant says."""

from board.judging import TARGET_C, Feed
from board.test_doubt import NEVER, obeying, suspected


def steady(feed, seconds, rise_k, share, target_c=TARGET_C):
    """Whether a zone became suspect within so many seconds of this rise and heat."""
    for _ in range(seconds):
        feed.second(rise_k, share, target_c)
        if feed.judge.suspect == "no_rise":
            return True
    return False


def test_sixth_of_the_rise_is_too_little():
    wanted_k = Feed(60.0).wanted_k_per_s()
    assert suspected(Feed(60.0), 0.15 * wanted_k, 120) > 0


def test_unanswered_full_heat_is_doubted_within_three_quarters_of_a_minute():
    assert 20 <= suspected(Feed(60.0)) <= 45


def test_two_failed_tests_are_done_within_a_minute_and_six_seconds():
    feed = Feed(60.0)
    suspected(feed)
    count, code = obeying(feed, 200)
    assert code == "no_rise"
    assert 50 <= count <= 66


def test_doubt_leaves_six_tenths_of_what_holds_and_a_test_four_tenths_more():
    feed = Feed(60.0)
    suspected(feed)
    usual = feed.judge.expect.hold_share(TARGET_C)
    assert abs(feed.judge.cap - 0.6 * usual) < 0.01
    caps = []
    for _ in range(24):
        feed.second(0.0, feed.judge.cap, TARGET_C)
        caps.append(feed.judge.cap)
    assert abs(max(caps) - min(1.0, usual + 0.4)) < 0.01
    assert caps.index(max(caps)) in (14, 15, 16)


def test_twentieth_of_the_rise_passes_no_test_and_a_third_does():
    for answer, wanted in ((0.05, True), (0.33, False)):
        feed = Feed(60.0)
        suspected(feed)
        assert (obeying(feed, 70, answer) != NEVER) == wanted, answer


def test_passed_test_gives_half_a_minute_of_rest_and_no_more():
    feed = Feed(60.0)
    suspected(feed)
    obeying(feed, 40, 0.5)
    assert feed.judge.suspect == ""
    # It falls at once, as fast as when a junction is pulled off.
    assert not steady(feed, 8, -3.0, 1.0)
    assert steady(feed, 40, -3.0, 1.0)


def test_water_excuses_nothing_above_its_boil_and_nothing_that_falls():
    soaked_c = {}
    for at_c in (100.0, 176.0):
        soaked_c[at_c] = suspected(Feed(at_c, wetted="soaked"), 0.0, 900, TARGET_C + 60.0)
    assert soaked_c[176.0] < 60 < soaked_c[100.0]
    feed = Feed(150.0, wetted="soaked")
    assert steady(feed, 60, -0.3, 1.0)


def test_zone_sixty_kelvin_below_its_target_is_not_as_good_as_there():
    assert suspected(Feed(110.0, wetted="dry"), 0.0, 300, 170.0) > 0


def test_zone_twelve_kelvin_below_its_target_has_not_arrived():
    assert suspected(Feed(60.0), 0.0, 200, 72.0) > 0


def test_form_takes_forty_kelvin_of_heat_and_no_more():
    feed = Feed(60.0)
    feed.judge.meet_form()
    assert 45 <= suspected(feed) <= 60


def test_fall_counts_as_soon_as_a_little_heat_is_given():
    feed = Feed(150.0)
    feed.until(8, 0.0, 0.3, TARGET_C)
    assert steady(feed, 8, -3.0, 0.3)


def test_fall_of_half_that_speed_is_no_junction_pulled_off():
    feed = Feed(150.0)
    feed.until(8, 0.0, 0.6, TARGET_C)
    assert not steady(feed, 8, -1.2, 0.6)


def test_weak_blanket_is_given_ten_seconds_beside_the_load():
    feed = Feed(60.0, power_w=120)
    load_s = 15.0 / feed.wanted_k_per_s()
    assert 33.0 / feed.judge.expect.bare_k_per_s > 10.0
    assert abs(suspected(feed) - load_s - 18.0) <= 4.0


def test_fall_of_thirty_kelvin_is_a_junction_pulled_off():
    feed = Feed(80.0)
    feed.until(8, 0.0, 0.5, TARGET_C)
    assert steady(feed, 10, -3.0, 0.5)
    for _ in range(5):
        feed.second(-3.0, feed.judge.cap, TARGET_C)
    assert obeying(feed, 90)[1] == "detached"


def test_half_of_a_heated_reading_gone_in_a_quarter_minute_is_doubted_though_the_form_was_met():
    for at_c, fallen, wanted in ((150.0, 0.36, False), (150.0, 0.54, True), (95.0, 0.54, True)):
        feed = Feed(at_c)
        feed.until(4, 0.0, 0.5, TARGET_C)
        feed.judge.meet_form()
        # The form itself may hold back the other rules for half a minute.
        above_k = at_c - feed.judge.expect.ambient_c
        assert steady(feed, 17, -fallen * above_k / 16.0, 0.5) == wanted, (at_c, fallen)


def test_small_fall_of_a_reading_near_the_room_is_no_sink():
    feed = Feed(55.0)
    feed.until(4, 0.0, 0.5, TARGET_C)
    feed.judge.meet_form()
    assert not steady(feed, 17, -1.3, 0.5)


def test_reading_that_creeps_along_with_a_slow_ramp_is_doubted():
    feed = Feed(60.0)
    for second in range(300):
        feed.second(0.1, 0.8, 62.0 + 0.1 * second)
        if feed.judge.suspect:
            break
    assert 20 <= second <= 120
    # The same beside a target that stands has all it needs.
    feed = Feed(60.0)
    assert not steady(feed, 300, 0.0, 0.8, 62.0)


def test_reading_that_turns_down_with_the_heat_is_no_missing_answer():
    for share, wanted in ((0.7, ""), (0.2, "no_rise")):
        feed = Feed(120.0, wetted="dry")
        suspected(feed)
        turn_k = share * feed.judge.expect.rate_k_per_s * (1.0 - feed.judge.cap)
        # Long enough for less power, not for a test.
        for second in range(18):
            feed.second(-turn_k if second > 6 else 0.0, feed.judge.cap, TARGET_C)
        assert feed.judge.suspect == wanted, share


def test_turn_of_little_heat_shows_nothing():
    feed = Feed(60.0)
    less = 0.25 / feed.judge.expect.rate_k_per_s
    share = feed.judge.expect.hold_share(TARGET_C) * 0.6 + less
    assert steady(feed, 900, 0.0, share)
    for _ in range(18):
        feed.second(-0.3, feed.judge.cap, TARGET_C)
    assert feed.judge.suspect == "no_rise"


def test_creep_that_goes_on_is_no_answer_to_a_test():
    for creep, answered in ((0.1, False), (0.15, False), (0.5, True)):
        feed = Feed(60.0)
        suspected(feed)
        climb_k = creep * feed.judge.expect.rate_k_per_s
        code = ""
        for _ in range(66):
            code = code or feed.second(climb_k, feed.judge.cap, TARGET_C)
        assert (code == "") == answered, creep


def test_answer_that_soon_stands_still_passes_no_test():
    feed = Feed(60.0)
    suspected(feed)
    code = ""
    for _ in range(90):
        doubt = feed.judge._doubt
        # Half a kelvin as the test begins, as noise brings it, and no more.
        rise_k = 0.7 if doubt._testing and 3000 < doubt._phase_ms <= 4000 else 0.0
        code = code or feed.second(rise_k, feed.judge.cap, TARGET_C)
    assert code in ("no_rise", "weak_rise")


def test_new_target_settles_no_doubt():
    feed = Feed(60.0)
    suspected(feed)
    feed.second(0.0, feed.judge.cap, TARGET_C - 20.0)
    assert feed.judge.suspect == "no_rise"
    # Where nothing is wanted nothing is doubtful.
    feed.second(0.0, 0.0, None)
    assert feed.judge.suspect == ""


def test_one_answered_second_takes_one_second_of_evidence():
    feed = Feed(60.0)
    count = suspected(Feed(60.0))
    feed.until(count - 3, 0.0, 1.0, TARGET_C)
    feed.until(1, 6.0, 1.0, TARGET_C)
    feed.until(1, -6.0, 1.0, TARGET_C)
    assert 1 <= suspected(feed) <= 5


def test_fall_of_before_heat_is_no_fall_beside_it():
    feed = Feed(150.0)
    feed.until(10, -3.0, 0.0, None)
    for rise_k in (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0):
        feed.second(rise_k, 1.0, TARGET_C)
        assert feed.judge.suspect == ""
