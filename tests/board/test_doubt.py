"""Heat that is not answered: evidence, then less power, then a test that decides."""

from board.judging import CEILING_C, TARGET_C, Feed
from ribwright_board.core.weakly import WeakRow

# In plain numbers: a rule that has grown weaker shows here.
AIM_K = 5.0
AGAIN_K = 8.0
CAP_MS = 15000
CAP_SHARE = 0.6
FALL_K = 12.0
FALL_S = 5
FORM_K = 40.0
FROM = 8
LOAD_K = 15.0
NEAR_K = 5.0
STAND_K = 25.0
STEAM_TEST_FALL_K = 1.0
STEAM_TEST_S = 10
STEAM_TO_C = 170.0
SUSPECT_BARE_K = 33.0
SUSPECT_MS = 10000
TESTS = 2
TEST_MS = 14000
WEAK_ANSWERS = 4
NEVER = (0, "")
# A window to look at, evidence, and the turns of less power and test that follow.
TURNS_S = TESTS * (CAP_MS + TEST_MS) // 1000
SUSPECT_S = SUSPECT_MS // 1000


def suspected(feed, rise_k=0.0, most_s=300, target_c=TARGET_C):
    """Second of the first doubt while full power is given; 0 for none."""
    for count in range(1, most_s + 1):
        assert feed.second(rise_k, 1.0, target_c) == ""
        if feed.judge.suspect == "no_rise":
            return count
    return 0


def obeying(feed, most_s, answer=0.0):
    """Second and code of the trip of a zone that is given what the guard allows.

    answer: share of the rise that heat should bring.
    """
    for count in range(1, most_s + 1):
        rise_k = answer * feed.wanted_k_per_s() * feed.judge.cap
        code = feed.second(rise_k, feed.judge.cap, TARGET_C)
        if code:
            return count, code
    return NEVER


def test_heat_that_is_not_answered_is_doubted_after_the_load_and_ten_seconds():
    feed = Feed(60.0)
    load_s = LOAD_K / feed.wanted_k_per_s()
    limit_s = min(SUSPECT_S, SUSPECT_BARE_K / feed.judge.expect.bare_k_per_s)
    wanted_s = FROM + load_s + limit_s
    assert wanted_s - 3.0 <= suspected(feed) <= wanted_s + 4.0


def test_doubt_takes_power_away_then_tests_and_trips_only_by_failed_tests():
    feed = Feed(60.0)
    begun = suspected(feed)
    usual = feed.judge.expect.hold_share(TARGET_C)
    assert abs(feed.judge.cap - min(1.0, usual) * CAP_SHARE) < 1e-6
    count, code = obeying(feed, 300)
    assert code == "no_rise"
    assert begun > 0
    assert abs(count - TURNS_S) <= TESTS + 1
    assert feed.judge.unit == "K"
    assert feed.judge.seen < feed.judge.limit


def test_zone_that_answers_the_test_is_trusted_again():
    feed = Feed(60.0)
    assert suspected(feed) > 0
    assert obeying(feed, 60, 0.5) == NEVER
    assert feed.judge.suspect == ""
    assert feed.judge.cap == 1.0


def test_reading_that_falls_fast_while_it_is_heated_is_doubted_at_once_and_named_detached():
    feed = Feed(150.0)
    feed.until(10, 0.0, 0.5, TARGET_C)
    assert suspected(feed, -FALL_K / FALL_S - 0.1, 20) <= FALL_S + 1
    # Below the boil, where standing still has no reason of its own.
    for _ in range(30):
        feed.second(-2.0, feed.judge.cap, TARGET_C)
    assert obeying(feed, 100)[1] == "detached"


def test_fall_that_the_maker_has_announced_is_none():
    feed = Feed(150.0)
    feed.until(10, 0.0, 0.5, TARGET_C)
    feed.judge.meet_form()
    assert suspected(feed, -FALL_K / FALL_S - 0.1, 8) == 0


def test_answer_of_a_third_is_enough():
    wanted_k = Feed(60.0).wanted_k_per_s()
    assert suspected(Feed(60.0), 0.4 * wanted_k, 100) == 0


def test_reading_where_it_is_wanted_needs_no_rise():
    feed = Feed(TARGET_C - NEAR_K + 0.1)
    assert suspected(feed, 0.0, 600) == 0


def test_no_heat_needs_no_rise():
    feed = Feed(60.0)
    share = feed.judge.expect.hold_share(60.0)
    assert feed.until(600, 0.0, share, TARGET_C) == NEVER
    assert feed.judge.suspect == ""


def test_reading_may_stand_at_the_boil_as_long_as_the_declared_water_lasts():
    dry, soaked = (
        suspected(Feed(100.0, wetted="dry"), 0.0, 900),
        suspected(Feed(100.0, wetted="soaked"), 0.0, 900),
    )
    feed = Feed(100.0, wetted="soaked")
    more_k = feed.judge.expect.water_k - Feed(100.0, wetted="dry").judge.expect.water_k
    assert abs(soaked - dry - more_k / feed.wanted_k_per_s()) <= 4.0


def test_reading_that_stands_near_its_target_is_late_and_no_more():
    assert suspected(Feed(TARGET_C - STAND_K + 1.0 - 10.0), 0.0, 400) > 0
    low_c = min(STEAM_TO_C, TARGET_C - NEAR_K - 1.0)
    assert low_c >= TARGET_C - STAND_K
    assert suspected(Feed(low_c), 0.0, 900) == 0


def test_form_that_meets_the_strip_may_take_more_than_any_other_load():
    feed = Feed(60.0)
    feed.judge.meet_form()
    more_s = (FORM_K - LOAD_K) / feed.wanted_k_per_s()
    assert abs(suspected(feed) - suspected(Feed(60.0)) - more_s) <= 2.0


def test_deliberate_change_of_the_target_begins_anew():
    feed = Feed(60.0)
    count = suspected(Feed(60.0))
    feed.until(count - 1, 0.0, 1.0, TARGET_C)
    assert feed.until(FROM - 1, 0.0, 1.0, TARGET_C + AIM_K + 1.0) == NEVER
    assert feed.judge.suspect == ""


def test_reading_that_is_missing_is_not_judged():
    feed = Feed(60.0)
    for _ in range(600):
        assert feed.judge.second(None, 1.0, 0.0, TARGET_C, CEILING_C, 1000) == ""
    assert feed.judge.suspect == ""


def test_plateau_of_a_test_stands_and_does_not_fall():
    falls_k = (0.0, -1.2 * STEAM_TEST_FALL_K / STEAM_TEST_S)
    codes = []
    for fall_k in falls_k:
        feed = Feed(100.0, wetted="soaked")
        feed.second(0.0, 1.0, TARGET_C)
        # Doubtful for a reason of before the water: what that may still take up is left for the tests.
        feed.judge._doubt._suspect(100.0, 1.0)
        code = ""
        for _ in range(TURNS_S + TESTS + 1):
            code = code or feed.second(fall_k, feed.judge.cap, TARGET_C)
        codes.append(code)
    assert codes[0] == ""
    assert codes[1] in ("no_rise", "weak_rise", "detached")


def standing(feed, most_s, answer=0.6, climb_k=0.0):
    """Second and code of the trip of a zone that answers and yet gets no further; NEVER for none.

    answer: share of the rise and fall that heat should bring. climb_k: by which it gets further from one
    doubt to the next.
    """
    expect = feed.judge.expect
    base_c = feed.at_c
    felt = 1.0
    for count in range(1, most_s + 1):
        before = feed.judge.suspect
        felt += (feed.judge.cap - felt) / 4.0
        driven_k = answer * expect.rate_k_per_s * expect.factor * (felt - expect.hold_share(TARGET_C))
        code = feed.second(driven_k - 0.02 * (feed.at_c - base_c), feed.judge.cap, TARGET_C)
        if code:
            return count, code
        if before and not feed.judge.suspect:
            base_c += climb_k
            feed.at_c += climb_k
    return NEVER


def test_zone_that_answers_weakly_and_gets_no_further_is_too_weak():
    feed = Feed(60.0)
    doubts = []

    def second(*given):
        before = feed.judge.suspect
        code = Feed.second(feed, *given)
        if feed.judge.suspect and not before:
            doubts.append(len(feed.codes))
        return code

    feed.second = second
    count, code = standing(feed, 900)
    assert code == "weak_rise"
    # The doubt after the fourth weak answer is one too many.
    assert len(doubts) == WEAK_ANSWERS + 1
    assert count == doubts[-1]


def test_zone_that_answers_well_or_gets_further_between_its_doubts_is_not():
    assert standing(Feed(60.0), 900, 0.8) == NEVER
    assert standing(Feed(60.0), 900, climb_k=AGAIN_K + 1.0) == NEVER
    assert standing(Feed(60.0), 900, climb_k=AGAIN_K / 4.0)[1] == "weak_rise"


def test_deliberate_change_or_an_arrival_begins_the_row_anew():
    for begin_anew in (
        lambda feed: feed.judge.restart(),
        lambda feed: feed.judge._doubt.second(0.0, 0.3, feed.at_c, 0.3, 1000),
    ):
        feed = Feed(60.0)
        answers = 0
        for _ in range(12):
            feed.at_c = 60.0
            assert standing(feed, 75) == NEVER
            answers += feed.judge._doubt._row._count
            begin_anew(feed)
        assert answers > WEAK_ANSWERS


def test_fallen_junction_in_air_that_warms_is_not_trusted_again():
    # Off the stack in full heat it falls by 50 K; the air beside the blanket then warms it by as little as
    # would pass a first test.
    codes = []
    for warms_k in (0.15, 0.6):
        feed = Feed(120.0)
        doubt = feed.judge._doubt
        doubt._suspect(120.0, 1.0)
        feed.at_c = 70.0
        code = ""
        for _ in range(TURNS_S + TESTS + 1):
            warming = doubt._testing and doubt._failed
            code = code or feed.second(warms_k if warming else 0.0, feed.judge.cap, TARGET_C)
        codes.append(code)
    assert codes == ["detached", ""]


def test_as_little_passes_a_first_test():
    feed = Feed(120.0)
    doubt = feed.judge._doubt
    doubt._suspect(120.0, 1.0)
    feed.at_c = 70.0
    for _ in range((CAP_MS + TEST_MS) // 1000 + 1):
        assert feed.second(0.15 if doubt._testing else 0.0, feed.judge.cap, TARGET_C) == ""
    assert feed.judge.suspect == ""


def test_row_of_weak_answers_ends_by_progress_or_a_good_answer():
    for onsets_c, weakly, last in (
        ((60.0, 61.0, 62.5, 64.0, 66.0), (True,) * 4, True),
        ((60.0, 61.0, 62.5, 64.0, 69.0), (True,) * 4, False),
        ((60.0, 61.0, 62.5, 64.0, 66.0), (True, True, False, True), False),
    ):
        row = WeakRow()
        said = []
        for at in range(len(onsets_c)):
            said.append(row.doubted(onsets_c[at]))
            if at < len(weakly):
                row.answered(weakly[at])
        assert said == [False] * 4 + [last]
