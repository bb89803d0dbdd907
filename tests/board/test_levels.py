"""What a reading does in a proof, beside what it would do by itself."""

import math

from board.samples import near
from ribwright_board.core.levels import Levels

# In plain numbers: a rule that has grown weaker shows here.
BASE_S = 8
SLOPE_S = 4
ROOM = [20.0]


def kept(means_c, mark=True):
    levels = Levels(1)
    for mean_c in means_c:
        levels.keep([mean_c])
    if mark:
        levels.mark(ROOM)
    return levels


def test_rise_of_a_steady_zone_is_what_it_rose():
    levels = kept([25.0] * BASE_S)
    for at_c in (26.0, 27.0, 28.0):
        levels.keep([at_c])
    assert near(levels.rise_k(0), 2.5, 1e-6)
    assert near(levels.rogue_k(0), 3.0, 1e-6)
    assert near(levels.step_k(0), 1.0, 1e-6)


def cooling(seconds, above_k=100.0, settle_s=200.0):
    """Newton's cooling: exponentially towards the room."""
    return [20.0 + above_k * math.exp(-second / settle_s) for second in range(seconds)]


def test_cooling_zone_is_measured_against_its_own_fall():
    means_c = cooling(BASE_S + 8)
    levels = kept(means_c[:BASE_S])
    for mean_c in means_c[BASE_S:]:
        levels.keep([mean_c])
    # Without a pulse nothing shows, although it fell by 4 K.
    assert means_c[BASE_S] - means_c[-1] > 3.0
    assert near(levels.rise_k(0), 0.0, 0.1)
    # A part of the foreseen fall may stay away before that is heat.
    assert levels.rogue_k(0) < 0.0
    heated = kept(means_c[:BASE_S])
    for mean_c in means_c[BASE_S:]:
        heated.keep([mean_c + 4.0])
    assert near(heated.rise_k(0), 4.0, 0.1)
    assert 2.5 < heated.rogue_k(0) < 4.0


def test_zone_that_was_warm_still_falls_as_it_comes_near_its_converter():
    means_c = cooling(40, above_k=10.0, settle_s=30.0)
    levels = kept(means_c[:BASE_S])
    for mean_c in means_c[BASE_S:24]:
        levels.keep([mean_c])
    assert means_c[16] - 20.0 < 8.0
    levels.mark(ROOM)
    for second, mean_c in enumerate(means_c[24:32]):
        levels.keep([mean_c + 0.25 * second])
    assert levels.warm == [True]
    # All of the answer is seen, and not what is left of it beside the fall.
    assert near(levels.rise_k(0), 0.25 * 6.5, 0.25)


def test_cold_zone_and_one_that_climbs_are_foreseen_to_stand():
    # Close to its converter the slope is noise; a climb would hide the answer in itself.
    for means_c in ([20.0 + 0.1 * i for i in range(BASE_S)], [100.0 + 0.5 * i for i in range(BASE_S)]):
        levels = kept(means_c)
        for _ in range(4):
            levels.keep([means_c[-1]])
        level_c = sum(means_c) / BASE_S
        assert near(levels.rise_k(0), means_c[-1] - level_c, 1e-5)


def test_step_is_told_from_heat():
    heat = kept([25.0] * BASE_S)
    for i in range(6):
        heat.keep([25.0 + 0.5 * (i + 1)])
    assert not heat.steps(0)
    step = kept([25.0] * BASE_S)
    for at_c in (25.0, 29.0, 29.0, 29.1):
        step.keep([at_c])
    assert step.steps(0)


def test_noise_of_one_base_second_moves_the_base_by_its_share():
    levels = kept([25.0] * (BASE_S - 1) + [26.0])
    levels.keep([25.0])
    levels.keep([25.0])
    assert near(levels.rise_k(0), -1.0 / BASE_S, 1e-5)


def played(base_c, later_c, cold_c=20.0):
    """A mark after base_c, and the seconds after it; C."""
    levels = Levels(1)
    for mean_c in base_c:
        levels.keep([mean_c])
    levels.mark([cold_c])
    for mean_c in later_c:
        levels.keep([mean_c])
    return levels


HEAT_S = 5


def slowing(seconds):
    """A stack that falls fast at first and then ever more slowly, as heat spreads in it; C."""
    return [100.0 + 20.0 * math.exp(-second / 22.0) - 0.1 * second for second in range(seconds)]


def pulse(second, most_k):
    """What a pulse of HEAT_S seconds adds after so many seconds, K."""
    return most_k * min(1.0, max(0.0, second / (HEAT_S + 1.0)))


def test_fall_that_slows_down_by_itself_is_no_answer_and_a_pulse_on_top_of_it_is():
    means_c = slowing(BASE_S + 13)
    dead = played(means_c[:BASE_S], means_c[BASE_S:])
    assert dead.slows(0)
    # Foreseen from the slope at the mark it seems to have risen by more than most pulses bring.
    assert dead.rise_k(0) > 1.5
    assert dead.answer_k(0, HEAT_S) < 0.5 * dead.rise_k(0)
    heated_c = [means_c[BASE_S + i] + pulse(i + 1, 3.0) for i in range(13)]
    heated = played(means_c[:BASE_S], heated_c)
    assert heated.answer_k(0, HEAT_S) - dead.answer_k(0, HEAT_S) > 1.5


def test_junction_that_cools_in_air_answers_nothing_and_is_not_heated():
    means_c = cooling(BASE_S + 13, 60.0, 12.0)
    air = played(means_c[:BASE_S], means_c[BASE_S:])
    assert air.answer_k(0, HEAT_S) < 0.5
    assert air.rogue_zone() == -1
    assert air.unasked_zone(True) == -1
    quick_c = cooling(BASE_S + 5, 100.0, 8.0)
    assert played(quick_c[:BASE_S], quick_c[BASE_S:]).rogue_zone() == -1
    # What really climbs from there is seen all the same.
    climbs = played(means_c[:BASE_S], [means_c[BASE_S - 1] + 0.5 * i for i in range(8)])
    assert climbs.rogue_zone() == 0


def test_rise_that_has_only_begun_is_no_step():
    begun = played([25.0] * BASE_S, [25.0, 25.0, 25.4, 26.6])
    assert not begun.steps(0)
    assert begun.steps(0, True)
    # A second later it is: nothing followed.
    over = played([25.0] * BASE_S, [25.0, 25.0, 25.4, 26.6, 26.6])
    assert over.steps(0)


def test_slope_of_too_few_seconds_does_not_count():
    few = played([100.0 - i for i in range(SLOPE_S - 1)], [97.0, 97.0])
    assert not few.slows(0)
    enough = played([100.0 - i for i in range(SLOPE_S)], [97.0, 97.0])
    assert enough.slows(0)


def test_warmest_zone_is_measured_from_its_own_converter():
    levels = Levels(2)
    levels.keep([60.0, 45.0])
    assert near(levels.warmest_k([55.0, 25.0]), 20.0, 1e-6)


def test_reading_that_has_stepped_down_is_no_zone_that_fell():
    down = played([57.0] * (BASE_S - 3) + [40.0] * 3, [40.0] * 6)
    assert down.slows(0)
    assert down.steps(0)
    # A junction that was pulled off falls fast, and not so fast.
    assert not played(cooling(BASE_S, 60.0, 12.0), cooling(BASE_S + 6, 60.0, 12.0)[BASE_S:]).steps(0)


def test_zone_that_climbed_before_the_mark_is_heated_only_by_what_it_climbs_more():
    climbing = [30.0 + 0.2 * second for second in range(BASE_S + 6)]
    levels = kept(climbing[:BASE_S])
    for mean_c in climbing[BASE_S:]:
        levels.keep([mean_c])
    assert levels.rogue_zone() == -1
    for _ in range(4):
        levels.keep([levels.last_c(0) + 1.0])
    assert levels.rogue_zone() == 0
    # A trend as small as noise makes it is none.
    slow = [30.0 + 0.08 * second for second in range(BASE_S)]
    levels = kept(slow)
    for _ in range(3):
        levels.keep([levels.last_c(0) + 0.4])
    assert levels.rogue_k(0) > 1.3


def test_zone_that_fell_fast_and_has_all_but_stopped_is_heated():
    means_c = cooling(BASE_S + 8, 150.0, 200.0)
    falls = played(means_c[:BASE_S], means_c[BASE_S:])
    assert falls.unasked_zone(True) == -1
    assert played(means_c[:BASE_S], [means_c[BASE_S] - 0.05 * second for second in range(8)]).stalls(0)
    held = played(means_c[:BASE_S], [means_c[BASE_S] - 0.3 * second for second in range(7)])
    # It has not risen by enough yet.
    assert (held.rogue_zone(), held.unasked_zone(False), held.unasked_zone(True)) == (-1, -1, 0)
    rises = played(means_c[:BASE_S], [means_c[BASE_S] + 0.3 * second for second in range(4)])
    assert rises.unasked_zone(False) == 0
