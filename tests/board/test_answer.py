"""What a missing answer to a zone's pulse shows: the rules alone, on seconds made for each."""

from ribwright_board.core.answer import beside, missed
from ribwright_board.core.levels import Levels

BASE_S = 8
HEAT_S = 5
TURN_S = 7  # a junction has turned by then
WATCHED_S = 13
WANTED_K = 4.0
PROBE_K_PER_S = 2.0
ROOM = [20.0, 20.0]
STILL_MS = [0, 0]


def levels_of(own, other, own_c=20.0, other_c=20.0):
    """Levels of a pulse: own and other say how far each zone is from its start so many seconds after the
    mark, K; before it the seconds are negative.
    """
    levels = Levels(2)
    for second in range(1 - BASE_S, WATCHED_S + 1):
        levels.keep([own_c + own(second), other_c + other(second)])
        if second == 0:
            levels.mark(ROOM)
    return levels


def pulse(most_k, turn_s=TURN_S):
    """Rise of a zone that was pulsed and stands from then on."""
    return lambda second: most_k * min(1.0, max(0.0, second / turn_s))


def beside_of(other, own_k=0.2):
    found = beside(levels_of(pulse(own_k), other), 0, own_k, WANTED_K, HEAT_S, PROBE_K_PER_S)
    assert found[0] == (1 if found[1] else -1)
    return found[1]


def missed_of(levels, own_k):
    return missed(levels, 0, own_k, WANTED_K, HEAT_S, STILL_MS)


def test_zone_that_follows_a_pulse_which_is_not_its_own_is_swapped():
    assert beside_of(pulse(1.0 * WANTED_K)) == "swapped"
    assert beside_of(pulse(1.7 * WANTED_K)) == "swapped"
    # Half the expected answer is the least that counts.
    assert beside_of(pulse(0.45 * WANTED_K)) == ""


def test_zone_beside_that_rises_by_more_than_two_pulses_has_a_heat_of_its_own():
    assert beside_of(pulse(2.5 * WANTED_K)) == "heat_while_off"


def test_zone_beside_that_climbed_before_the_pulse_has_a_heat_of_its_own():
    def climbing(slope):
        return lambda second: pulse(1.2 * WANTED_K)(second) + slope * second

    assert beside_of(climbing(0.03)) == "swapped"
    assert beside_of(climbing(0.12)) == "heat_while_off"


def test_zone_beside_that_climbs_on_after_the_pulse_has_a_heat_of_its_own():
    for share, wanted in ((0.05, "swapped"), (0.15, "heat_while_off")):
        slope = share * PROBE_K_PER_S

        def other(second, slope=slope):
            return pulse(WANTED_K)(second) + slope * max(0, second - TURN_S)

        assert beside_of(other) == wanted, share


def test_zone_beside_that_steps_has_leapt():
    assert beside_of(lambda second: 1.5 * WANTED_K if second >= 3 else 0.0) == "leap"


def test_zone_beside_that_climbs_steadily_follows_no_pulse():
    # The end is as slow as that of a slow thermocouple, and the line from start to end is straight.
    slope = 0.6 * WANTED_K / WATCHED_S
    levels = levels_of(pulse(0.1), lambda second: slope * max(0, second))
    assert levels.climb_k_per_s(1) < 0.12 * PROBE_K_PER_S
    assert beside(levels, 0, 0.1, WANTED_K, HEAT_S, PROBE_K_PER_S) == (1, "heat_while_off")


def test_cold_zone_that_falls_in_its_pulse_is_reversed_and_a_warm_one_is_not():
    for at_c, wanted in ((20.0, "reversed"), (60.0, "no_rise")):
        levels = levels_of(pulse(-0.5 * WANTED_K), pulse(0.0), own_c=at_c)
        assert missed_of(levels, -0.5 * WANTED_K) == wanted


def test_zone_that_leaves_its_own_fall_for_good_is_heated():
    levels = levels_of(lambda second: -(0.74 if second < 0 else 0.05) * second, pulse(0.0), own_c=144.0)
    assert missed_of(levels, 0.1 * WANTED_K) == "heat_while_off"


def test_answer_of_another_zone_shows_through_its_own_fast_fall():
    quick, slow, none = pulse(1.2 * WANTED_K), pulse(0.4 * WANTED_K, 10.0), pulse(0.0)
    for answers, wanted in ((quick, "swapped"), (slow, "swapped"), (none, "no_rise")):

        def falls(second, answers=answers):
            return answers(second) - 0.5 * second * (1.0 - 0.004 * second)

        assert missed_of(levels_of(none, falls, other_c=120.0), 0.0) == wanted


def test_what_falls_ever_more_slowly_follows_no_pulse_by_a_trifle():
    def slowing(bump_k):
        return lambda second: (
            -0.15 * second + 0.055 * max(0, second) + bump_k * max(0.0, 1.0 - abs(second - 6) / 4.0)
        )

    def named(bump_k):
        levels = levels_of(lambda second: -0.15 * second, slowing(bump_k), own_c=90.0, other_c=80.0)
        return missed(levels, 0, -0.07, 2.5, HEAT_S, STILL_MS)

    # 0.09 K above the line are noise, 0.2 K are an answer.
    assert named(0.15) == "no_rise"
    assert named(0.3) == "swapped"
