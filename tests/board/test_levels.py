"""What a reading does in a proof, beside what it would do by itself."""

import math

from board.samples import near
from ribwright_board.core.levels import BASE_S, Levels

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
