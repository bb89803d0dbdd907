"""The proof before heat: what it shows, in which order, and what each fault is refused as."""

from board.controller_bench import PROOF_S, SHORT_PROOF_S
from board.proof_feed import WANTED_K, Feed, heated
from board.samples import near

# In plain numbers: a rule that has grown weaker shows here.
CLIMB_K_PER_S = 0.15
COLD_SPREAD_K = 8.0
GOOD_S = 2
LIMIT_S = 10
LOST_S = 4
LOST_TICKS = 3
OFF_S = 5
PULSE_DUTY = 0.3
REST_S = 30
SHORT_REST_S = 20
ROGUE_RISE_K = 0.9
ROGUE_WATCH_S = 3
WELD_S = 3
WELD_WATCH_S = 3


def test_healthy_rig_is_proved_in_the_time_it_says():
    feed = Feed().to_pulses()
    assert feed.asked == 1
    assert feed.pulse([WANTED_K, 0.0]) == "stay"
    assert feed.pulse([0.0, WANTED_K]) == "proved"
    assert [near(ratio, 1.0, 0.01) for ratio in feed.proof.ratios] == [True, True]


def test_goal_14_steps_come_in_their_order_and_heat_only_as_each_allows():
    feed = Feed()
    seen = []
    for _ in range(PROOF_S - 1):
        seen.append((feed.proof.alive, tuple(feed.proof.duties)))
        if feed.proof.duties in ([0.3, 0.0], [0.0, 0.3]) and feed.proof.alive:
            feed.temps_c[feed.proof.duties.index(0.3)] += WANTED_K / 5.0
        assert feed.second() == "stay"
    pulse = PULSE_DUTY
    rest = (0.0, 0.0)
    wanted = [(False, rest)] * 2 + [(False, (1.0, 1.0))] * 3 + [(False, rest)] * 3 + [(True, rest)] * 5
    wanted += [(True, (pulse, 0.0))] * 5 + [(True, rest)] * 3
    wanted += [(True, (0.0, pulse))] * 5 + [(True, rest)] * 2
    assert seen == wanted
    # Never a zone at more than the pulse's duty while the contactor may be closed.
    assert max(max(duties) for alive, duties in seen if alive) == pulse


def test_short_proof_of_a_pause_gives_no_heat_at_all():
    feed = Feed(short=True)
    for second in range(SHORT_PROOF_S):
        assert feed.proof.duties == [0.0, 0.0]
        verdict = feed.second()
        assert verdict == ("proved" if second == SHORT_PROOF_S - 1 else "stay")
    assert feed.asked == 1


def test_a_fault_in_between_begins_the_settling_anew():
    feed = Feed()
    feed.seconds(1)
    for _ in range(LOST_TICKS):
        feed.tick(held=["", "bus"])
    for _ in range(10 - LOST_TICKS):
        feed.tick()
    feed.seconds(1)
    assert feed.asked == 0
    feed.seconds(1)
    assert feed.asked == 1


def test_lasting_fault_refuses_by_its_name():
    feed = Feed()
    feed.held = ["", "open"]
    feed.seconds(LIMIT_S - 1)
    assert feed.second() == "open"
    assert feed.proof.zone == 1


def test_reading_lost_in_a_later_step_takes_everything_off_and_refuses_by_its_name():
    for seconds in range(2, PROOF_S - 1):
        feed = Feed()
        for done in range(seconds):
            if feed.proof.alive and 0.3 in feed.proof.duties:
                feed.temps_c[feed.proof.duties.index(0.3)] += WANTED_K / 5.0
            assert feed.second() == "stay", done
        feed.held = ["open", ""]
        feed.seconds(1)
        assert (feed.proof.alive, feed.proof.duties) == (False, [0.0, 0.0])
        # Its own cause may show only after a moment: what is seen last counts.
        assert feed.verdict(10) == (LOST_S, "open")
        assert feed.proof.zone == 0


def test_spike_that_the_guard_passed_over_does_not_end_a_proof():
    feed = Feed()
    feed.seconds(6)
    feed.tick(temps_c=[None, 20.0])
    for _ in range(9):
        feed.tick()
    feed.seconds(3)


def test_converters_of_one_box_must_agree():
    feed = Feed()
    feed.cold_c = [20.0, 20.0 + COLD_SPREAD_K]
    feed.seconds(2)
    assert feed.asked == 1
    feed = Feed()
    feed.cold_c = [20.0, 20.5 + COLD_SPREAD_K]
    feed.seconds(LIMIT_S - 1)
    assert feed.second() == "cold_spread"
    assert feed.proof.zone == -1
    assert near(feed.proof.seen, 0.5 + COLD_SPREAD_K, 1e-6)


def test_reading_that_comes_and_goes_refuses_by_its_own_name():
    feed = Feed()
    for second in range(LIMIT_S - 1):
        feed.held = ["", "" if second % 2 else "bus"]
        feed.seconds(1)
    # Good in the last second, and yet it is not the converters that disagree.
    feed.held = ["", ""]
    assert feed.second() == "bus"
    assert feed.proof.zone == 1


def test_climb_right_after_heat_is_waited_for():
    feed = Feed()
    feed.temps_c = [60.0, 60.0]
    for _ in range(8):
        feed.temps_c[0] += 2.0 * CLIMB_K_PER_S
        feed.seconds(1)
    assert feed.asked == 0
    # The slope is taken over three seconds.
    feed.seconds(3)
    assert feed.asked == 1


def test_pulses_wait_until_a_stack_that_was_just_heated_can_be_foreseen():
    # The steps before the pulses count as rest.
    before_s = WELD_S + WELD_WATCH_S + OFF_S
    for rested_s in (0, 4, 100):
        feed = Feed(rested_ms=1000 * rested_s)
        wanted_s = max(GOOD_S, REST_S - rested_s - before_s)
        for second in range(1, 20):
            feed.seconds(1)
            assert feed.asked == (1 if second >= wanted_s else 0)


def test_heat_in_the_weld_test_names_the_contactor():
    steps_s = WELD_S + WELD_WATCH_S
    limit_k = ROGUE_RISE_K
    for rise_k, wanted in (
        (limit_k - 0.1, "stay"),
        (limit_k + 0.1, "contactor_closed"),
        (8.0, "contactor_closed"),
    ):
        feed = Feed()
        feed.seconds(2)
        # Heat comes gradually, over all the seconds of the test.
        heated(feed, steps_s - 1, (0.0, rise_k / steps_s))
        assert feed.verdict(1, (0.0, rise_k / steps_s))[1] == wanted
    assert (feed.proof.zone, feed.proof.unit) == (1, "K")


def test_heat_with_zones_off_names_a_relay_after_a_closer_look():
    feed = Feed()
    feed.seconds(8)
    rise_k = 0.5
    noticed_s = int(ROGUE_RISE_K / rise_k) + 1
    heated(feed, noticed_s, (rise_k, 0.0))
    # Everything is off again from the second that showed it.
    assert (feed.proof.alive, feed.proof.duties) == (False, [0.0, 0.0])
    assert feed.verdict(9, (rise_k, 0.0)) == (ROGUE_WATCH_S, "heat_while_off")
    assert feed.proof.zone == 0


def test_reading_that_stepped_is_no_heat_but_a_leap():
    for back_k in (0.0, -4.0):
        feed = Feed()
        feed.seconds(8)
        feed.temps_c = [20.0, 24.0]
        feed.seconds(1)
        feed.temps_c = [20.0, 24.0 + back_k]
        assert feed.verdict(9) == (ROGUE_WATCH_S, "leap")
        assert feed.proof.zone == 1


def test_stack_that_stops_falling_as_its_relays_should_be_off_is_heated():
    for slowed, wanted in ((0.3, "heat_while_off"), (0.8, "stay")):
        feed = Feed()
        feed.temps_c = [150.0, 20.0]
        verdict = "stay"
        closed_s = 0
        for _ in range(40):
            closed_s += feed.proof.alive
            # Its heat takes three seconds to arrive, so that it has hardly risen yet when the test ends.
            fall_k = 0.74 * (slowed if closed_s > 3 else 1.0)
            feed.temps_c = [feed.temps_c[0] - fall_k, 20.0]
            verdict = feed.second()
            if verdict != "stay" or feed.proof.duties[0] == PULSE_DUTY:
                break
        assert verdict == wanted, slowed


def test_what_was_read_before_a_gap_counts_no_more():
    feed = Feed()
    feed.seconds(1)
    feed.held = ["bus", ""]
    feed.seconds(1)
    feed.held = ["", ""]
    feed.temps_c = [22.0, 20.0]
    feed.seconds(GOOD_S)
    # With the second before it would still seem to climb.
    assert feed.asked == 1


def test_cooling_stack_is_no_heat():
    feed = Feed()
    feed.temps_c = [120.0, 90.0]
    for _ in range(13):
        assert feed.second() == "stay"
        feed.temps_c = [feed.temps_c[0] - 0.8, feed.temps_c[1] - 0.3]


def test_pause_is_followed_by_a_shorter_rest():
    for rested_s, settled_s in ((0, SHORT_REST_S), (10, SHORT_REST_S - 10), (100, 4)):
        feed = Feed(short=True, rested_ms=1000 * rested_s)
        feed.seconds(settled_s - 1)
        assert feed.asked == 0
        feed.seconds(1)
        assert feed.asked == 1
