"""The alive detector as it is drawn against the one of the virtual rig, edge by edge."""

from itertools import pairwise

from hypothesis import example, given, settings
from hypothesis import strategies as st

from ribwright_host.wiring.draw_alive import SPREAD, TIMING, seconds
from ribwright_sim.bench import DROP_US, GAP_LEAST_US, GAP_MOST_US, AliveDetector

FIRST_GOOD = 3
TICK_US = 100_000


def drawn(edges_us, fast_us, slow_us, hold_us):
    """Spans in which HOLD is high, by the logic of the sheet: from the fourth good edge on each holds.

    A good edge comes when FAST is low; it starts SEEN and, with ENOUGH, HOLD again, and counts as it ends.
    An early one clears the count, as does the end of SEEN.
    """
    fast_until = seen_until = -1
    count = 0
    spans = []
    for at_us in edges_us:
        if at_us >= seen_until:
            count = 0
        if at_us < fast_until:
            count = 0
        else:
            if count >= FIRST_GOOD:
                spans.append((at_us, at_us + hold_us))
            seen_until = at_us + slow_us
            count = min(FIRST_GOOD, count + 1)
        fast_until = at_us + fast_us
    return spans


def simulated(edges_us):
    """Spans in which the virtual rig's detector is on, as the last good edge extends them."""
    detector = AliveDetector()
    spans = []
    for at_us in edges_us:
        if detector.drop_us is not None and at_us >= detector.drop_us:
            # It lets go; the count of good gaps, which it also forgets then, is the drawn one's own business.
            detector.on = False
        before = detector.drop_us
        detector.edge(at_us)
        if detector.drop_us is not None and detector.drop_us != before:
            spans.append((at_us, detector.drop_us))
    return spans


def covered(at_us, spans):
    return any(start <= at_us < end for start, end in spans)


GAPS = st.lists(
    st.one_of(
        st.just(TICK_US),
        st.integers(1, 59_999),
        st.integers(60_000, 600_000),
        st.integers(600_001, 2_000_000),
    ),
    max_size=60,
)


def edges(gaps):
    at_us, found = 1_000_000, []
    for gap in gaps:
        at_us += gap
        found.append(at_us)
    return found


@settings(max_examples=400, deadline=None)
@given(GAPS)
@example([TICK_US] * 4 + [600_001] + [TICK_US] * 3)
def test_drawn_one_never_holds_when_the_simulated_one_does_not(gaps):
    times = edges(gaps)
    ours, theirs = drawn(times, GAP_LEAST_US, GAP_MOST_US, DROP_US), simulated(times)
    for start, end in ours:
        for at_us in (start, (start + end) // 2, end - 1):
            assert covered(at_us, theirs)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(60_000, 599_999), min_size=4, max_size=40))
def test_both_do_the_same_while_no_edge_comes_early(gaps):
    times = edges(gaps)
    assert drawn(times, GAP_LEAST_US, GAP_MOST_US, DROP_US) == simulated(times)


def test_healthy_rounds_hold_with_the_times_of_the_parts():
    fast, slow, hold = (int(1e6 * seconds(stage)) for stage in ("fast", "slow", "hold"))
    times = edges([TICK_US] * 50)
    spans = drawn(times, fast, slow, hold)
    assert spans[0][0] == times[3]
    for (_, end), (start, _) in pairwise(spans):
        assert start < end
    # One early edge, as after a late round, takes four rounds to be forgiven: the hold lasts longer.
    late = edges([TICK_US] * 10 + [150_000, 50_000] + [TICK_US] * 10)
    spans = drawn(late, fast, slow, hold)
    assert all(start < end for (_, end), (start, _) in pairwise(spans))


def test_racing_and_stopped_lines_let_go():
    fast, slow, hold = (int(1e6 * seconds(stage)) for stage in ("fast", "slow", "hold"))
    race = edges([TICK_US] * 10 + [5_000] * 400)
    assert max(end for _, end in drawn(race, fast, slow, hold)) <= race[9] + DROP_US
    # Bursts with good gaps between them are no sign of life.
    bursts = edges([TICK_US, 5_000, 5_000] * 30)
    assert drawn(bursts, fast, slow, hold) == []


def test_times_keep_to_the_contract_with_all_their_tolerances():
    # The contract of the bench: gaps of 60 to 600 ms are accepted, 720 ms after the last good edge it drops.
    low, high = 1 - SPREAD, 1 + SPREAD
    assert low * seconds("fast") * 1e6 >= GAP_LEAST_US
    assert high * seconds("fast") * 1e6 <= 0.9 * TICK_US
    assert low * seconds("slow") * 1e6 >= GAP_MOST_US
    assert high * seconds("hold") * 1e6 <= DROP_US
    # 1 % of the resistor, 5 % of the capacitor, 2 % of the chip.
    assert round(0.01 + 0.05 + 0.02, 9) <= SPREAD
    assert set(TIMING) == {"fast", "slow", "hold"}
