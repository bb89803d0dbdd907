"""Relay windows: the branch limit at every instant, the mean over many windows, the pause between zones."""

from board.samples import Draws, near
from ribwright_board.core.window import GRAIN_MS, Windows

WINDOW_MS = 1000
HALF_CYCLE_MS = 9  # 60 Hz: 8.33 ms


def conducting(windows, tail_ms):
    """Per grain of the planned window the set of zones that may conduct, and what reaches into the next.

    A relay that switches at the zero crossing may conduct for one half-cycle after its on-time.
    tail_ms: per zone how far the window before reaches into this one.
    """
    spans = []
    after = []
    for zone in range(len(windows.on_ms)):
        end = windows.start_ms[zone] + windows.on_ms[zone] + HALF_CYCLE_MS if windows.on_ms[zone] else 0
        spans.append((windows.start_ms[zone], end))
        after.append(max(0, end - WINDOW_MS))
    grains = []
    for at in range(0, WINDOW_MS, GRAIN_MS):
        live = set()
        for zone in range(len(spans)):
            start, end = spans[zone]
            # Any part of the grain counts.
            if at < tail_ms[zone] or (start < at + GRAIN_MS and at < end):
                live.add(zone)
        grains.append(live)
    return grains, after


def assert_branch_is_kept(windows, currents_a, limit_a, tail_ms):
    grains, after = conducting(windows, tail_ms)
    for live in grains:
        assert sum([currents_a[zone] for zone in live]) <= limit_a, (windows.start_ms, windows.on_ms, tail_ms)
    return after


def test_zero_duty_is_off_and_full_duty_is_on_throughout():
    windows = Windows([2.0, 2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([0.0, 1.0])
    for offset_ms in range(0, WINDOW_MS, GRAIN_MS):
        assert not windows.on(0, offset_ms)
        assert windows.on(1, offset_ms)
    assert not windows.on(1, WINDOW_MS)
    assert not windows.limited


def test_zero_duty_drops_what_rounding_left_over():
    windows = Windows([2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([0.0049])
    assert windows.on_ms == [0]
    windows.plan([0.0])
    for _ in range(3):
        windows.plan([0.0])
        assert windows.on_ms == [0]
    windows.plan([0.0049])
    assert windows.on_ms == [0]


def test_duty_that_is_no_number_is_off():
    windows = Windows([2.0, 2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([float("nan"), -0.5])
    assert windows.on_ms == [0, 0]


def test_on_times_are_multiples_of_the_grain_inside_the_window():
    draws = Draws(1)
    windows = Windows([2.0, 3.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    for _ in range(200):
        windows.plan([draws.share(), draws.share()])
        for zone in (0, 1):
            assert windows.on_ms[zone] % GRAIN_MS == 0
            assert windows.start_ms[zone] % GRAIN_MS == 0
            assert windows.start_ms[zone] >= 0
            assert windows.start_ms[zone] + windows.on_ms[zone] <= WINDOW_MS


def test_mean_over_many_windows_is_the_wanted_duty():
    # The rest carried on is never more than one grain, so over n windows: grain / (n window).
    draws = Draws(2)
    for count in (1, 10, 100):
        for _ in range(20):
            duty = (1 + draws.below(9998)) / 10000.0
            windows = Windows([2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
            total_ms = 0
            for _ in range(count):
                windows.plan([duty])
                total_ms += windows.on_ms[0]
            assert near(total_ms / (count * WINDOW_MS), duty, GRAIN_MS / (count * WINDOW_MS) + 1e-4 / count)


def test_changing_duties_keep_their_sum_too():
    draws = Draws(3)
    windows = Windows([2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    wanted_ms = 0.0
    total_ms = 0
    for _ in range(300):
        duty = 0.05 + 0.9 * draws.share()
        wanted_ms += duty * WINDOW_MS
        windows.plan([duty])
        total_ms += windows.on_ms[0]
        assert near(total_ms, wanted_ms, GRAIN_MS + 0.1)


def test_zones_that_fit_the_branch_together_do_not_hinder_each_other():
    windows = Windows([5.0, 7.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([1.0, 1.0])
    assert windows.on_ms == [1000, 1000]
    assert windows.start_ms == [0, 0]
    assert not windows.limited


def test_zones_that_exclude_each_other_follow_with_a_half_cycle_between():
    windows = Windows([7.0, 7.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([0.5, 0.4])
    assert windows.on_ms == [500, 400]
    assert windows.start_ms[1] - (windows.start_ms[0] + windows.on_ms[0]) >= HALF_CYCLE_MS
    assert not windows.limited


def test_two_zones_that_want_more_than_there_is_share_equally():
    windows = Windows([7.0, 7.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    for _ in range(5):
        windows.plan([0.7, 0.7])
        assert windows.limited
        assert windows.on_ms[0] == windows.on_ms[1]
        # Two pauses of one grain are the price; a step of the sharing is 1/32.
        assert 900 <= windows.on_ms[0] + windows.on_ms[1] <= WINDOW_MS - GRAIN_MS


def test_unequal_wishes_are_cut_by_the_same_share():
    windows = Windows([7.0, 7.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([0.9, 0.45])
    assert windows.limited
    assert near(windows.on_ms[0] / windows.on_ms[1], 2.0, 0.25)


def test_limit_is_forgotten_when_the_wishes_fit_again():
    windows = Windows([7.0, 7.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([0.9, 0.9])
    assert windows.limited
    windows.plan([0.3, 0.3])
    assert not windows.limited
    assert windows.on_ms == [300, 300]


def test_branch_limit_holds_at_every_instant_also_across_window_borders():
    draws = Draws(20261125)
    for _ in range(250):
        zones = 2 + draws.below(3)
        currents_a = [1 + draws.below(6) for _ in range(zones)]
        limit_a = max(currents_a + [4 + draws.below(9)])
        windows = Windows(currents_a, limit_a, WINDOW_MS, HALF_CYCLE_MS)
        tail_ms = [0] * zones
        for _ in range(6):
            duties = []
            for _ in range(zones):
                kind = draws.below(5)
                duties.append((0.0, 1.0, 0.01)[kind] if kind < 3 else draws.share())
            windows.plan(duties)
            tail_ms = assert_branch_is_kept(windows, currents_a, limit_a, tail_ms)


def test_zone_that_ended_a_window_leaves_a_pause_to_another_one_in_the_next():
    windows = Windows([7.0, 7.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    windows.plan([0.0, 1.0])
    windows.plan([0.5, 0.0])
    assert windows.start_ms[0] >= HALF_CYCLE_MS
    # A zone that follows itself needs none.
    windows.plan([0.0, 1.0])
    windows.plan([0.0, 1.0])
    assert (windows.start_ms[1], windows.on_ms[1]) == (0, 1000)


def test_gap_fits_the_half_cycle_of_slow_and_fast_mains():
    for half_cycle_ms in (9, 10, 11):
        windows = Windows([7.0, 7.0], 12.0, WINDOW_MS, half_cycle_ms)
        windows.plan([0.4, 0.4])
        assert windows.start_ms[1] - windows.start_ms[0] - windows.on_ms[0] >= half_cycle_ms


def test_no_edge_is_missed_when_walking_from_edge_to_edge():
    draws = Draws(7)
    windows = Windows([7.0, 7.0, 2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    for _ in range(30):
        windows.plan([draws.share() * 0.5, draws.share() * 0.5, draws.share()])
        offset_ms = 0
        total_ms = [0, 0, 0]
        while offset_ms < WINDOW_MS:
            following_ms = windows.next_edge(offset_ms)
            assert offset_ms < following_ms <= WINDOW_MS
            for zone in range(3):
                if windows.on(zone, offset_ms):
                    total_ms[zone] += following_ms - offset_ms
            offset_ms = following_ms
        assert total_ms == windows.on_ms


def test_room_counts_what_is_on_and_what_has_just_gone_off():
    windows = Windows([7.0, 7.0, 2.0], 12.0, WINDOW_MS, HALF_CYCLE_MS)
    long_ago = [-1000, -1000, -1000]
    assert windows.room(0, [False, False, False], long_ago, 0)
    assert not windows.room(0, [False, True, False], long_ago, 0)
    assert windows.room(0, [False, False, True], long_ago, 0)
    assert not windows.room(0, [False, False, False], [-1000, 500, -1000], 500 + HALF_CYCLE_MS)
    assert windows.room(0, [False, False, False], [-1000, 500, -1000], 500 + GRAIN_MS)
    # Its own last half-cycle is no hindrance.
    assert windows.room(0, [False, False, False], [500, -1000, -1000], 501)
