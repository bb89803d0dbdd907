"""What holds a target: learned while steady, and what is odd about it later."""

from ribwright_board.core.holding import Holding

# In plain numbers: a rule that has grown weaker shows here.
HOLD_LEAST = 0.5
HOLD_MOST = 1.6
LEAST_HOLD_SHARE = 0.05
STEADY_K = 3.0
STEADY_S = 60
USUAL_S = 20


def minutes(holding, count, share, mean_c=150.0, target_c=150.0):
    for _ in range(count * STEADY_S):
        holding.second(mean_c, target_c, share)
    return holding


def test_first_steady_minute_is_what_later_ones_are_measured_by():
    for share, odd in (
        (0.4, False),
        (0.4 * HOLD_MOST - 0.01, False),
        (0.4 * HOLD_MOST + 0.01, True),
        (0.4 * HOLD_LEAST + 0.01, False),
        (0.4 * HOLD_LEAST - 0.01, True),
    ):
        holding = minutes(Holding(), 1, 0.4)
        assert not holding.odd
        assert minutes(holding, 1, share).odd == odd, share


def test_strip_that_dries_takes_ever_less_and_nothing_is_odd_about_that():
    # Shares of whole minutes of a soaked sapele side in its set, from a rehearsal.
    holding = minutes(Holding(), 1, 0.61)
    for share in (0.52, 0.44, 0.38, 0.33, 0.29, 0.29):
        assert not minutes(holding, 1, share).odd, share
    # What changes from one minute to the next is no wood, and more than the wet strip took is none either.
    assert minutes(holding, 1, 0.29 * HOLD_LEAST - 0.01).odd
    assert not minutes(holding, 1, 0.6).odd
    assert minutes(holding, 1, 0.61 * HOLD_MOST + 0.01).odd


def test_odd_minute_is_over_with_the_next_good_one():
    holding = minutes(Holding(), 1, 0.4)
    assert minutes(holding, 1, 0.9).odd
    assert not minutes(holding, 1, 0.4).odd


def test_whole_minute_is_needed_and_a_break_begins_it_anew():
    holding = minutes(Holding(), 1, 0.4)
    for _ in range(5):
        for _ in range(STEADY_S - 1):
            holding.second(150.0, 150.0, 0.9)
        holding.second(150.0 - STEADY_K - 0.1, 150.0, 0.9)
    assert not holding.odd


def test_reading_away_from_its_target_teaches_nothing():
    for mean_c, target_c in ((150.0 + STEADY_K + 0.1, 150.0), (150.0, None)):
        holding = minutes(Holding(), 3, 0.7, mean_c, target_c)
        assert holding.usual_share is None
        assert not holding.odd


def test_usual_share_follows_slowly():
    holding = Holding()
    holding.second(150.0, 150.0, 0.4)
    assert holding.usual_share == 0.4
    holding.second(150.0, 150.0, 1.0)
    assert abs(holding.usual_share - (0.4 + 0.6 / USUAL_S)) < 1e-6
    minutes(holding, 2, 1.0)
    assert holding.usual_share > 0.99


def test_almost_no_power_is_no_measure():
    # A zone that a neighbour keeps warm needs nothing by itself.
    holding = minutes(Holding(), 1, 0.0)
    least = LEAST_HOLD_SHARE
    assert not minutes(holding, 1, least * HOLD_MOST - 0.01).odd
    assert minutes(holding, 1, least * HOLD_MOST + 0.05).odd
