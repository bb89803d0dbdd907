"""Plants by candidates, and the control laws inside against the board's own."""

import numpy as np
import pytest

from ribwright_board.core.zone import ZoneLoop
from ribwright_sim import reference as ref
from ribwright_sim.batch import race
from ribwright_sim.controller_kernel import zone_control
from ribwright_sim.measure import ours
from ribwright_sim.rows import plan
from ribwright_sim.solver import PID, REPLAY, ZONE, Solver

GAINS = dict(ours.ZONE_GAINS)


def readings(seed, windows):
    """A rise with a lag, a hold with noise and a change of target: what a zone sees."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(windows)
    reach_c = 20.0 + 140.0 * (1.0 - np.exp(-np.maximum(time_s - 4.0, 0.0) / 60.0))
    return reach_c + 0.3 * rng.standard_normal(windows)


@pytest.mark.parametrize(("seed", "window_ms"), [(1, 1000), (2, 1000), (3, 1000), (4, 4000), (5, 20000)])
def test_law_in_the_batch_is_the_boards_law(seed, window_ms):
    windows = 420
    targets = np.full(windows, 140.0)
    targets[250:300] = 150.0
    targets[300:330] = 120.0
    targets[330:345] = np.nan
    targets[345:] = 130.0
    seen_c = readings(seed, windows)

    loop = ZoneLoop(dict(GAINS), window_ms)
    loop.ambient_c = ref.ROOM_C
    theirs = []
    for reading_c, target_c in zip(seen_c, targets, strict=True):
        wanted = None if np.isnan(target_c) else float(target_c)
        loop.aim(wanted)
        loop.add(float(reading_c))
        theirs.append(loop.window())

    rows, _ = plan(ref.stack(), 1, len(ZONE.memory), len(ZONE.gains), dense=False)
    w = np.zeros((rows.size, 1))
    w[rows.ambient] = ref.ROOM_C
    w[rows.control + ZONE.memory.index("old_target_c")] = np.nan
    for k, name in enumerate(ZONE.gains):
        w[rows.gains + k] = window_ms / 1000.0 if name == "window_s" else GAINS.get(name, 0.0)
    mine = []
    for reading_c, target_c in zip(seen_c, targets, strict=True):
        w[rows.junction_mean] = reading_c
        zone_control(w, rows, 0, target_c)
        mine.append(float(w[rows.duty, 0]))

    assert mine == pytest.approx(theirs, abs=1e-9)
    # Both were at full power, off and in between.
    assert max(mine) == 1.0
    assert min(mine) == 0.0
    assert any(0.0 < duty < 1.0 for duty in mine)


def test_race_gives_every_candidate_on_every_plant():
    stacks = ours.plants(3, ref.COARSE_CELLS, 4)
    solver = Solver(stacks, laws=ref.LAWS, control=PID, scheme=ours.SCHEME, use_numba=False)
    strong = {name: value for name, value in ref.gains().items() if name != "window_s"}
    weak = strong | {"kp": 0.02}
    targets = ref.targets_c()[:200]
    raced = race(solver, 2, [[strong], [weak]], targets)
    assert raced.highest_c.shape == (1, 2, 2)
    for c, gains in enumerate((strong, weak)):
        for p in range(2):
            alone = solver.run([[gains]], targets, lanes=[p])
            assert raced.highest_c[0, c, p] == pytest.approx(alone.highest_c[0, 0], abs=1e-9)
            assert raced.overshoot_k[0, c, p] == pytest.approx(alone.overshoot_k[0, 0], abs=1e-9)


def test_figures_say_what_the_trace_shows():
    solver = Solver([ref.stack()], laws=ref.LAWS, control=PID, scheme=ours.SCHEME, use_numba=False)
    gains = {name: value for name, value in ref.gains().items() if name != "window_s"}
    run = solver.run([[gains]], ref.targets_c()[:500], trace=True)
    trace = run.trace_c[:, 0, 0]
    away = trace[1:] - 140.0
    assert run.highest_c[0, 0] == pytest.approx(trace.max())
    assert run.overshoot_k[0, 0] == pytest.approx(away.max())
    arrive = int(np.argmax(away >= -2.0)) + 1
    assert run.arrive_s[0, 0] == arrive
    assert run.outside_s[0, 0] == np.flatnonzero(np.abs(away) > 2.0)[-1] + 1
    assert run.square_sum_k2[0, 0] == pytest.approx((away[arrive - 1 :] ** 2).sum())


def test_the_law_sees_the_mean_of_its_whole_window_and_figures_see_every_second():
    """A proportional law of the board's wrapper: what it gives tells what it read."""
    stack = ref.stack()
    gains = dict.fromkeys(ZONE.gains, 0.0) | {"c_gain": 1.0, "c_integral": 2.0, "kp": 0.004, "fixed": 1.0}
    long_s, target_c = 20, 140.0
    targets = np.full((20, 1), target_c)
    run = Solver([stack], window_s=long_s, use_numba=False).run([[gains]], targets)
    # The same duties, second by second, from the means of twenty seconds each.
    replay = np.zeros((400, 1))
    for window in range(20):
        seen = Solver([stack], control=REPLAY, use_numba=False).run(
            [[{}]], replay[: window * long_s], trace=True
        )
        last_c = seen.trace_c[-long_s - 1 :, 0, 0]
        mean_c = float((0.5 * (last_c[1:] + last_c[:-1])).mean()) if window else ref.ROOM_C
        duty = min(max(0.5 + 0.004 * (target_c - mean_c), 0.0), 1.0)
        on_s = duty * long_s - np.arange(long_s)
        replay[window * long_s : (window + 1) * long_s, 0] = np.clip(on_s, 0.0, 1.0)
    fine = Solver([stack], control=REPLAY, use_numba=False).run([[{}]], replay, trace=True)
    assert run.highest_c[0, 0] == pytest.approx(fine.trace_c[:, 0, 0].max(), abs=0.05)
    assert run.full_power_s[0, 0] == pytest.approx(replay.sum(), rel=2e-3)


def test_a_target_never_reached_has_no_arrival():
    solver = Solver([ref.stack()], laws=ref.LAWS, control=PID, scheme=ours.SCHEME, use_numba=False)
    gains = {name: value for name, value in ref.gains().items() if name != "window_s"}
    run = solver.run([[gains]], ref.targets_c()[:20])
    assert np.isnan(run.arrive_s[0, 0])
    assert run.full_power_s[0, 0] == pytest.approx(20.0)
