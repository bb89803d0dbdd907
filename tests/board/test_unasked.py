"""Heat that nobody asked for: each rule trips when it should, and not a second sooner."""

from board.judging import Feed, expectation
from ribwright_board.core.errors import FAULTS

# In plain numbers: a rule that has grown weaker shows here.
AHEAD_MS = 1000
AHEAD_S = 25.0
AIMED_MS = 12000
BURST_LEAST_K = 20.0
BURST_WINDOW = 6
COOL_MS = 10000
COOL_WINDOW = 30
EXCESS_K = 3.0
EXCESS_MS = 8000
EXCESS_SLOPE_K = 0.6
EXCESS_SLOPE_S = 4
EXCESS_WEIGHT_MOST = 4.0
FAST_LEAST_K = 25.0
FAST_MS = 3000
FAST_SHARE = 1.8
FAST_WINDOW = 45
NEAR_LAG_K = 12.0
LAG_S = 4.0
MOST_SHARE = 1.6
RISE_MOST = 1.3
TOO_HOT_K = 15.0
TOO_HOT_MS = 3000
TOO_HOT_STEP_K = 3.0
NEVER = (0, "")
# More than a bare blanket at high mains makes in a second counts as that.
MOST_K = RISE_MOST * expectation().bare_k_per_s


def seconds_of_excess(rise_k, powered=True):
    """Second in which a rise without any heat is too much, by the rule's own figures."""
    spent_ms = 0
    second = 0
    # With the contactor open it takes twice the evidence.
    while spent_ms < EXCESS_MS * (1 if powered else 2):
        second += 1
        # The first second has nothing before it, and a slope takes EXCESS_SLOPE_S of them.
        excess_k = min(rise_k, MOST_K) * (second - 1)
        if excess_k > EXCESS_K and second > EXCESS_SLOPE_S:
            spent_ms += int(1000 * min(excess_k / EXCESS_K, EXCESS_WEIGHT_MOST))
    return second


def test_rise_that_nobody_asked_for_trips_the_sooner_the_faster_it_is():
    for powered in (True, False):
        seen = []
        for rise_k in (0.2, 0.5, 1.0, 2.0):
            feed = Feed()
            feed.judge.powered = powered
            count, code = feed.until(60, rise_k)
            assert (count, code) == (seconds_of_excess(rise_k, powered), "heat_while_off"), rise_k
            seen.append(count)
        assert seen == sorted(seen, reverse=True)
    # A loaded stack at full power rises by at least half a kelvin in a second.
    assert seconds_of_excess(0.5) <= 16


def test_heat_of_before_a_reset_is_allowed_for():
    # What was given before power-on nobody knows: a climb that dies away is the lag of it.
    fresh = Feed(rested=False)
    assert [fresh.second(1.5 * 0.78**second) for second in range(40)] == [""] * 40
    count, code = Feed(rested=False).until(60, 0.5)
    assert code == "heat_while_off"
    assert seconds_of_excess(0.5) < count <= seconds_of_excess(0.5) + 12


def lost_k(at_c):
    """What a zone loses in a second, K."""
    expect = expectation()
    return expect.hold_share(at_c) * expect.rate_k_per_s


def test_drift_below_the_slope_of_a_heated_blanket_is_none():
    slow_k = 0.9 * EXCESS_SLOPE_K / EXCESS_SLOPE_S
    # For as long as it is not so warm that it should cool.
    assert Feed().until(300, slow_k) == NEVER


def test_noise_is_no_rise():
    feed = Feed()
    for second in range(600):
        assert feed.second(0.8 if second % 2 else -0.8) == ""


def test_rise_that_the_heat_explains_is_allowed():
    feed = Feed()
    rise_k = 0.99 * MOST_SHARE * feed.judge.expect.most_rise_k(0.5, 1.0)
    # At half power, as steep as the nearest layers alone could be.
    assert feed.until(FAST_WINDOW - 1, rise_k, 0.5, 1000.0) == NEVER
    over = Feed()
    assert over.until(40, rise_k + 0.6, 0.5, 1000.0)[1] == "heat_while_off"


def test_rise_that_goes_on_after_the_heat_is_the_lag_and_no_fault():
    feed = Feed()
    feed.until(20, 1.2, 1.0, 1000.0)
    for second in range(60):
        # What is under way to the junction dies away with its lag of four seconds.
        assert feed.second(1.2 * 0.78**second, 0.0) == ""


def test_rise_that_a_neighbour_explains_is_allowed():
    feed = Feed()
    for _ in range(60):
        assert feed.second(1.0, 0.0, None, 1.1) == ""


def beside_heat(target_c):
    """A feed that its neighbour has long warmed, more than its own loss takes."""
    feed = Feed()
    for _ in range(40):
        assert feed.second(1.0, 0.0, target_c, 1.5) == ""
    return feed


def test_neighbours_heat_that_is_under_way_still_explains_a_rise():
    # It comes through the layers between, as late as it is remembered; with a target far below and without.
    for target_c in (None, 25.0):
        feed = beside_heat(target_c)
        near_s = NEAR_LAG_K / feed.judge.expect.rate_k_per_s
        for second in range(20):
            assert feed.second(0.9 * (1.0 - 1.0 / near_s) ** second, 0.0, target_c) == "", second


def test_neighbours_heat_of_long_ago_explains_no_rise():
    for target_c in (None, 25.0):
        feed = beside_heat(target_c)
        for _ in range(60):
            feed.second(0.0, 0.0, target_c)
        count, code = feed.until(40, 0.6, 0.0, target_c)
        assert code == "heat_while_off"
        assert count <= seconds_of_excess(0.6) + 1


def test_evidence_of_a_rise_decays_when_it_ends():
    feed = Feed()
    for _ in range(6):
        feed.until(seconds_of_excess(0.5) - 3, 0.5)
        for _ in range(20):
            feed.second(-0.5)
    assert set(feed.codes) == {""}


def test_evidence_of_a_rise_outlasts_a_second_without_it():
    feed = Feed()
    assert feed.until(seconds_of_excess(0.3) - 1, 0.3) == NEVER
    assert feed.until(1, -1.0) == NEVER
    # The slope needs four seconds to show again; the evidence of before is still there.
    count, code = feed.until(40, 0.3)
    assert code == "heat_while_off"
    assert count <= 7


def test_leap_in_three_seconds_counts_as_no_more_than_a_bare_blanket_could_do():
    feed = Feed(power_w=120)
    feed.until(8)
    assert feed.until(3, 5.0) == NEVER
    assert feed.until(60) == NEVER


def test_heat_of_a_neighbour_goes_into_what_is_lost_first():
    rise_k = 0.4
    feed = Feed(150.0)
    codes = [feed.second(rise_k, 0.0, None, rise_k) for _ in range(60)]
    assert "heat_while_off" in codes
    # Of a zone as cold as the room nothing is lost.
    feed = Feed(20.0)
    assert [feed.second(0.0 if second % 2 else 0.1, 0.0, None, 0.1) for second in range(60)] == [""] * 60


# A share that control still gives, so that the heat is its own.
DRIVEN = 0.5


def over_target(over_k, share=DRIVEN):
    """Seconds that a reading so far over the limit needs, and the code."""
    feed = Feed(100.0)
    feed.judge._share = share
    # Once the heat of before the target changed has had its time to arrive.
    feed.until(AIMED_MS // 1000 + 1, 0.0, share, 100.0)
    feed.at_c = 100.0 + TOO_HOT_K + over_k
    return feed.until(30, 0.0, share, 100.0)


def test_reading_far_above_its_target_trips_the_sooner_the_farther():
    # A second counts once, and once more for every TOO_HOT_STEP_K; TOO_HOT_MS is enough.
    step_k = TOO_HOT_STEP_K
    assert over_target(-0.1) == NEVER
    assert over_target(0.01) == (TOO_HOT_MS // 1000, "too_hot")
    assert over_target(step_k + 0.01) == (2, "too_hot")
    assert over_target(2.0 * step_k + 0.01) == (1, "too_hot")


def test_slow_drift_above_its_target_without_heat_is_a_hot_form_and_no_fault():
    feed = Feed(100.0)
    feed.until(AIMED_MS // 1000 + 1, 0.0, 0.0, 100.0)
    slow_k = 0.9 * EXCESS_SLOPE_K / EXCESS_SLOPE_S
    # Its neighbours make up for what it loses, so nobody expects it to cool.
    for _ in range(int(2.0 * TOO_HOT_K / slow_k)):
        assert feed.second(slow_k, 0.0, 100.0, lost_k(feed.at_c)) == ""


def test_reading_on_its_way_down_to_a_lower_target_is_not_too_hot():
    feed = Feed(170.0)
    feed.second(0.0, 0.0, 170.0)
    for _ in range(200):
        assert feed.second(-0.35, 0.0, 100.0) == ""


def test_reading_that_turns_on_its_way_down_is_too_hot():
    feed = Feed(170.0)
    feed.second(0.0, 0.0, 170.0)
    for _ in range(60):
        assert feed.second(-0.35, 0.0, 100.0) == ""
    feed.at_c += EXCESS_K + 0.1
    feed.judge._share = DRIVEN
    assert feed.until(5, 0.0, DRIVEN, 100.0) == (TOO_HOT_MS // 1000, "too_hot")


def test_short_visits_above_are_forgotten():
    feed = Feed(100.0)
    feed.second(0.0, 0.0, 100.0)
    for _ in range(50):
        for at_c in (115.5, 115.5, 114.0, 114.0, 114.0):
            feed.at_c = at_c
            assert feed.second(0.0, 0.0, 100.0, lost_k(at_c)) == ""


def test_rise_faster_than_the_declared_load_can_be_is_no_load():
    window_s = FAST_WINDOW
    rate = Feed().judge.expect.rate_k_per_s
    # Lagged by LAG_S, the first window of full power is worth about 2.25 s less than its length.
    lost_s = (1.0 - 1.0 / LAG_S) ** 2 * LAG_S
    rise_k = FAST_SHARE * rate * (window_s - lost_s) / window_s
    wanted = window_s + FAST_MS // 1000
    assert Feed().until(2 * window_s, rise_k * 1.05, 1.0, 1000.0) == (wanted, "fast_rise")
    assert Feed().until(2 * window_s, rise_k * 0.95, 1.0, 1000.0) == NEVER


def test_rise_of_another_voltage_is_noticed_in_seconds():
    window_s = BURST_WINDOW
    rate = Feed().judge.expect.rate_k_per_s
    # It counts as soon as its window is full; nearly four times the power is noticed sooner still.
    assert Feed().until(60, 2.75 * rate, 1.0, 1000.0) == (window_s + 1, "fast_rise")
    count, code = Feed().until(60, 3.7 * rate, 1.0, 1000.0)
    assert count <= window_s + 1
    assert FAULTS[code][1] == FAULTS["fast_rise"][1]
    # A small rise is none, however little was given for it.
    feed = Feed()
    slow_k = 0.95 * BURST_LEAST_K / window_s
    for _ in range(window_s + 1):
        assert feed.second(slow_k, 0.0, None, slow_k) == ""


def test_small_rise_is_never_too_fast_however_little_heat_there_was():
    feed = Feed()
    slow_k = 0.95 * FAST_LEAST_K / FAST_WINDOW
    for _ in range(2 * FAST_WINDOW):
        assert feed.second(slow_k, 0.0, None, slow_k) == ""


def test_rise_of_thirty_kelvin_is_too_fast_for_a_third_of_that_heat():
    feed = Feed()
    share = 0.25 / feed.judge.expect.rate_k_per_s
    assert feed.until(2 * FAST_WINDOW, 30.0 / FAST_WINDOW, share, 1000.0) == (FAST_WINDOW + 3, "fast_rise")


def ahead(at_c, rise_k, ceiling_c, share=0.0, most=60):
    """Seconds to the first code of a reading that climbs towards a ceiling, and the code."""
    feed = Feed(at_c, ceiling_c=ceiling_c)
    return feed.until(most, rise_k, share)


def test_climb_towards_the_ceiling_while_off_trips_before_it_is_there():
    # 0.4 K/s are 10 K in AHEAD_S, and evidence of AHEAD_MS is enough once a slope is known.
    rise_k, ceiling_c = 0.4, 190.0
    reach_k = rise_k * AHEAD_S
    count, code = ahead(ceiling_c - reach_k - 8.5 * rise_k, rise_k, ceiling_c)
    assert (count, code) == (8 + AHEAD_MS // 1000, "heat_while_off")
    # Far below it the ordinary evidence decides, later.
    count, code = ahead(60.0, rise_k, ceiling_c)
    assert (count, code) == (seconds_of_excess(rise_k), "heat_while_off")
    # Falling near it is nothing.
    assert ahead(188.0, -0.1, ceiling_c, most=30) == NEVER


def test_climb_that_the_heat_makes_is_not_judged_by_where_it_leads():
    feed = Feed(150.0, ceiling_c=190.0)
    for _ in range(15):
        assert feed.second(1.0, 1.0, 1000.0) == ""


def warm_for(fall_k, at_c=150.0, powered=True, near_k=0.0):
    """Seconds until a warm zone without heat that falls by so much a second is believed to be heated."""
    feed = Feed(at_c)
    feed.judge.powered = powered
    for count in range(1, 120):
        code = feed.second(-fall_k, 0.0, None, near_k)
        if code:
            assert code == "heat_while_off"
            return count
    return 0


def test_warm_zone_that_does_not_cool_alone_is_heated():
    expect = expectation()
    fall_k = expect.hold_share(150.0) * expect.rate_k_per_s
    # A window to look at, then COOL_MS of evidence.
    wanted_s = COOL_WINDOW + COOL_MS // 1000
    assert warm_for(0.0) == wanted_s
    assert warm_for(0.1 * fall_k) > 0
    # Half the expected fall is a thick load, and no fault.
    assert warm_for(0.5 * fall_k) == 0
    # Three tenths of it are asked for, less a kelvin.
    asked_k = 0.3 * fall_k * COOL_WINDOW
    assert warm_for((asked_k - 0.6) / COOL_WINDOW) == 0
    assert warm_for((asked_k - 1.5) / COOL_WINDOW) == wanted_s


def test_zone_that_may_be_warm_for_another_reason_is_not_judged_by_its_cooling():
    assert warm_for(0.0, powered=False) == 0
    assert warm_for(0.0, near_k=lost_k(150.0)) == 0
    # A little heat beside it does not explain it.
    assert warm_for(0.0, near_k=0.2 * lost_k(150.0)) > 0
    assert warm_for(0.0, at_c=30.0) == 0
    # A twentieth of full power is not off.
    assert Feed(150.0).until(120, 0.0, 0.05) == NEVER


def test_zone_that_stays_warm_is_heated_however_often_the_maker_presses():
    feed = Feed(150.0)
    codes = []
    for second in range(COOL_WINDOW + COOL_MS // 1000):
        if second % 12 == 5:
            # What a press at the rig says of the strip, and what a new stage does to the target.
            feed.judge.meet_form()
            feed.judge.restart()
        codes.append(feed.second())
    assert codes[-1] == "heat_while_off"
    assert not any(codes[:-1])
