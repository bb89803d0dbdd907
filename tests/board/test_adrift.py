"""An unheated zone beside heated ones: what falls faster than a loaded stack is a junction in air."""

from board.judging import Feed

# In plain numbers: a rule that has grown weaker shows here.
FALL_SHARE = 0.54
FALL_S = 30
FALL_MS = 3000
START_C = 150.0


def fallen(share, near=1.0, own=0.0, start_c=START_C, seconds=FALL_S + FALL_MS // 1000 + 1):
    """Code of a zone that loses so much of what it stood above the room in half a minute, all along."""
    feed = Feed(start_c)
    expect = feed.judge.expect
    near_k = near * expect.rate_k_per_s
    for _ in range(FALL_S + 1):
        assert feed.second(0.0, own, None, near_k) == ""
    code = ""
    left = (1.0 - share) ** (1.0 / FALL_S)
    for _ in range(seconds):
        fall_k = (feed.at_c - expect.ambient_c) * (1.0 - left)
        code = code or feed.second(-fall_k, own, None, near_k)
    return code


def test_zone_that_falls_as_a_junction_in_air_is_named_detached():
    assert fallen(FALL_SHARE + 0.04) == "detached"
    assert fallen(FALL_SHARE - 0.05) == ""


def test_fall_of_less_than_half_a_minute_is_cold_wood():
    assert fallen(FALL_SHARE + 0.15, seconds=12) == ""


def test_single_second_proves_nothing():
    # Past the limit for two seconds of the three it takes, and back.
    feed = Feed(START_C)
    near_k = feed.judge.expect.rate_k_per_s
    for _ in range(FALL_S + 1):
        feed.second(0.0, 0.0, None, near_k)
    for rise_k in (-80.0, 0.0, 60.0, 0.0, 0.0):
        feed.second(rise_k, 0.0, None, near_k)
    assert "detached" not in feed.codes


def test_zone_that_is_heated_itself_has_a_test_of_its_own():
    assert fallen(FALL_SHARE + 0.04, own=0.3) != "detached"


def test_zone_beside_nothing_hot_may_cool_as_it_likes():
    assert fallen(FALL_SHARE + 0.04, near=0.0) == ""
    assert fallen(FALL_SHARE + 0.04, near=0.1) == ""


def test_fall_near_the_room_says_little():
    assert fallen(FALL_SHARE + 0.1, start_c=65.0) == ""


def test_bare_blanket_cools_as_fast_by_itself():
    feed = Feed(START_C)
    feed.judge.expect.loaded = False
    near_k = feed.judge.expect.rate_k_per_s
    for _ in range(FALL_S + 1):
        feed.second(0.0, 0.0, None, near_k)
    for _ in range(FALL_S):
        feed.second(-(feed.at_c - 20.0) * 0.03, 0.0, None, near_k)
    assert "detached" not in feed.codes
