"""The search for gains: better than its start, repeatable, within limits, the same with either solver."""

import numpy as np
import pytest

from ribwright_board.core.gains import gains_for
from ribwright_sim import compiled
from ribwright_sim import reference as ref
from ribwright_sim.campaign.spread import processes
from ribwright_sim.control.tune_report import RIG as TUNED_RIG
from ribwright_sim.controller_kernel import noise_k
from ribwright_sim.rows import plan
from ribwright_sim.solver import ZONE
from ribwright_sim.tuned import fixed_gains, tune_rig
from ribwright_sim.tuning import HIGH, LOW, SCALED, Effort, RigBench, Warmups, search
from ribwright_sim.verifying import limit_k, taught
from sim.example_rig import PIECE, RIG

needs_numba = pytest.mark.skipif(not compiled.HAVE_NUMBA, reason="numba, the optional compiler, is missing")

ONE = {**RIG, "zones": RIG["zones"][1:]}
FEW = Effort(rigs=2, candidates=8, rounds=3)
# Full power comes to 150 C in about two minutes.
REACHED_S = 120.0


def found(start, seed, *, rig=ONE, numba=False, effort=FEW):
    bench = RigBench(rig, PIECE, 1.0, 150.0, rigs=effort.rigs, seed=11, use_numba=numba)
    return search(bench, 0, start, reached_s=REACHED_S, effort=effort, seed=seed)


@pytest.fixture(scope="module")
def bad_start():
    """Too much gain, and an integral that starts far too low."""
    return {**gains_for(1000), "c_gain": 3.0, "kappa": 2.6}


@pytest.fixture(scope="module")
def first(bad_start):
    return found(bad_start, 5)


def test_search_makes_a_bad_start_better(first, bad_start):
    assert first.cost < 0.8 * first.cost_before
    assert first.gains["c_gain"] < bad_start["c_gain"]
    # The fixed gains are no part of the search.
    assert first.gains["kp"] == bad_start["kp"]


def test_search_is_repeatable_from_its_seed(first, bad_start):
    assert found(bad_start, 5).gains == first.gains
    assert found(bad_start, 6).gains != first.gains


def test_search_keeps_within_its_limits():
    edge = {**gains_for(1000), **{name: HIGH[name] for name in SCALED}}
    best = found(edge, 3, effort=Effort(rigs=1, candidates=6, rounds=1)).gains
    assert all(LOW[name] <= best[name] <= HIGH[name] for name in SCALED)


@needs_numba
def test_compiled_and_plain_search_find_the_same(bad_start):
    # The rig with two zones: its shape is compiled for other tests as well.
    effort = Effort(rigs=2, candidates=4, rounds=1)
    plain, fast = (found(bad_start, 9, rig=RIG, numba=numba, effort=effort) for numba in (False, True))
    assert fast.gains == plain.gains
    assert fast.cost == pytest.approx(plain.cost, abs=1e-6)


def test_bench_tells_what_the_boards_own_loop_does_without_noise():
    for window_ms in (1000, 4000):
        gains = gains_for(window_ms)
        bench = RigBench(ONE, PIECE, window_ms / 1000.0, 150.0, rigs=1, seed=1, use_numba=False)
        loop = taught(bench.stacks[0], 0, gains, 150.0, window_ms)
        bench.last(0, loop.arrive_s + 240.0)
        seen = bench.warmups(0, [gains], noise=False)[0]
        assert seen.overshoot_k[0] == pytest.approx(loop.overshoot_k, abs=0.15)
        assert seen.ripple_k[0] == pytest.approx(loop.ripple_k, abs=0.1)


def test_cost_counts_overshoot_ripple_and_late_settling():
    seen = Warmups(
        np.array([1.0, 1.0]), np.array([100.0, np.nan]), np.array([110.0, 400.0]), np.array([0.5, 0.0])
    )
    # 1 + 1.5 + 2 on the first rig, 1 + 200 on the one that never arrives.
    each = np.array([4.5, 201.0])
    assert seen.cost(np.array([100.0, 100.0])) == pytest.approx(
        each.mean() + np.percentile(each, 95.0) + 0.2 * each.max()
    )


def test_fixed_gains_are_what_the_law_scales_itself_to():
    bench = RigBench(ONE, PIECE, 1.0, 150.0, rigs=1, seed=1, use_numba=False)
    gains = gains_for(1000)
    seen = taught(bench.stacks[0], 0, gains, 150.0, 1000)
    fixed = fixed_gains(gains, seen, 1000)
    bench.last(0, 300.0)
    scaled, kept = bench.warmups(0, [fixed, {**fixed, "fixed": 1.0}], noise=False)
    assert kept.overshoot_k[0] == pytest.approx(scaled.overshoot_k[0], abs=0.1)
    assert fixed["kp"] != gains["kp"]


def test_limit_of_disagreement_grows_with_what_both_saw():
    assert limit_k(0.0, 5.0) == pytest.approx(0.4)
    assert limit_k(5.0, 4.0) == pytest.approx(1.2)


def noise_rows(start, spread_k):
    rows, _ = plan(ref.stack(), 1, len(ZONE.memory), len(ZONE.gains), dense=False)
    w = np.zeros((rows.size, 1))
    w[rows.control + ZONE.memory.index("noise")] = start
    w[rows.gains + ZONE.gains.index("noise_k")] = spread_k
    return w, rows


def test_noise_is_the_minimal_standard_generator():
    # Park and Miller 1988, Communications of the ACM 31 (10): from 1, the 10,000th value is 1043618065.
    w, rows = noise_rows(1.0, 0.3)
    for _ in range(2500):
        noise_k(w, rows.control, rows.gains, 0)
    assert w[rows.control + ZONE.memory.index("noise"), 0] == 1043618065.0


def test_noise_has_the_stated_spread():
    w, rows = noise_rows(77.0, 0.3)
    drawn = np.array([noise_k(w, rows.control, rows.gains, 0) for _ in range(20000)])
    assert drawn.mean() == pytest.approx(0.0, abs=0.01)
    assert drawn.std() == pytest.approx(0.3, rel=0.02)
    assert abs(drawn).max() > 0.8


def test_zones_spread_over_workers_come_to_the_same_gains():
    whole = TUNED_RIG
    few, told = Effort(rigs=2, candidates=4, rounds=1), []
    alone = tune_rig(whole, effort=few, use_numba=compiled.HAVE_NUMBA)
    spread = tune_rig(
        whole,
        effort=few,
        use_numba=compiled.HAVE_NUMBA,
        workers=2,
        executor=processes,
        tell=lambda done, total, what: told.append((done, total, what)),
    )
    assert [zone.gains for zone in spread.zones] == [zone.gains for zone in alone.zones]
    assert [zone.core for zone in spread.zones] == [zone.core for zone in alone.zones]
    assert spread.trials == alone.trials
    # Progress ends where it says it will.
    assert told[-1][0] == told[-1][1]
