"""From targets to relays: what the relays do, how long, and that no permission is taken for granted."""

from board.samples import bench_rig, near, put
from ribwright_board.core.drive import LIMITED_QUIET_MS, PROOF_WINDOW_MS, Drive
from ribwright_board.core.guard import Guard
from ribwright_board.core.sensing import Missing, Reading

NARROW = put("mains", "branch_limit_a", 3)


class Bench:
    """A drive with its guard, both zones seen good."""

    def __init__(self, change=None, temp_c=25.0):
        self.rig = bench_rig(change)
        self.now_ms = 10000
        self.drive = Drive(self.rig, self.now_ms)
        self.guard = Guard([zone.ceiling_c for zone in self.rig.zones], self.now_ms)
        self.temps_c = [temp_c, temp_c]
        self.see()

    def see(self):
        for zone in (0, 1):
            self.guard.admit(zone, Reading(self.temps_c[zone], 20.0, self.now_ms), self.now_ms, 100)
            self.drive.loops[zone].add(self.temps_c[zone])

    def window(self, targets_c):
        """The next window is planned."""
        self.now_ms += self.drive._windows.window_ms
        self.see()
        assert self.drive.window_due(self.now_ms)
        self.drive.open_window(targets_c, self.guard, self.now_ms)

    def on_ms(self, heat=True, length_ms=1000):
        """How long each relay is on, looked at every 10 ms."""
        total = [0, 0]
        for at_ms in range(self.now_ms, self.now_ms + length_ms, 10):
            states = self.drive.outputs(heat, self.guard, at_ms)
            total = [ms + 10 * on for ms, on in zip(total, states)]
        return total


def test_zone_below_its_target_heats_and_one_without_rests():
    bench = Bench()
    bench.window([150.0, None])
    assert bench.on_ms() == [1000, 0]


def test_nothing_is_on_without_permission_whatever_is_planned():
    bench = Bench()
    bench.window([150.0, 150.0])
    assert bench.on_ms(heat=False) == [0, 0]
    bench.guard.admit(1, Missing("open", bench.now_ms), bench.now_ms, 100)
    assert bench.on_ms() == [1000, 0]


def test_no_targets_at_all_mean_no_heat():
    bench = Bench()
    bench.window([150.0, 150.0])
    bench.window(None)
    assert bench.on_ms() == [0, 0]


def test_rest_takes_the_plan_back_at_once():
    bench = Bench()
    bench.window([150.0, 150.0])
    bench.drive.rest()
    assert bench.on_ms() == [0, 0]


def test_suspicion_caps_the_duty_and_teaches_the_law_nothing():
    bench = Bench()

    class Doubtful:
        cap = 0.25

    bench.guard.judges = [Doubtful(), Doubtful()]
    bench.window([150.0, None])
    assert near(bench.on_ms()[0], 250, 10)
    bench.window([150.0, None])
    assert bench.drive.loops[0].cut


def test_pulse_of_the_proof_is_cut_from_windows_of_one_second_on_every_rig():
    bench = Bench(put("control", {"window_ms": 10000}))
    assert not bench.drive.window_due(bench.now_ms + 9999)
    bench.drive.pulse([0.3, 0.0], bench.now_ms)
    assert bench.on_ms() == [300, 0]
    assert bench.drive.window_due(bench.now_ms + PROOF_WINDOW_MS)
    bench.drive.pulse([0.0, 0.0], bench.now_ms + PROOF_WINDOW_MS)
    bench.now_ms += PROOF_WINDOW_MS
    assert bench.on_ms() == [0, 0]


def test_goal_15_branch_limit_holds_in_every_half_cycle_of_pulse_run_and_the_change_between():
    bench = Bench(NARROW)
    drive = bench.drive
    was = [False, False]
    off_ms = [0, 0]
    plans = [[1.0, 1.0], [0.3, 0.7], None, None, [0.5, 0.5], None, [1.0, 1.0], None]
    for number in range(len(plans)):
        plan = plans[number]
        if plan is None:
            drive.begin([20.0, 20.0], bench.now_ms)
            bench.see()
            drive.open_window([150.0, 150.0], bench.guard, bench.now_ms)
        else:
            drive.pulse(plan, bench.now_ms)
        # Cut short at odd places: the next plan meets relays that are still on.
        for at_ms in range(bench.now_ms, bench.now_ms + 310 + 137 * number, 1):
            states = drive.outputs(True, bench.guard, at_ms)
            assert states != [True, True]
            for zone in (0, 1):
                if states[zone] and not was[zone]:
                    assert at_ms - off_ms[1 - zone] >= 9
                if was[zone] and not states[zone]:
                    off_ms[zone] = at_ms
            was = list(states)
        bench.now_ms += 310 + 137 * number
        bench.see()


def test_figures_and_shares_of_a_second_count_what_was_on():
    bench = Bench()
    bench.drive.begin([20.0, 20.0], bench.now_ms)
    bench.drive.pulse([0.3, 0.0], bench.now_ms)
    for at_ms in range(bench.now_ms, bench.now_ms + 1000, 10):
        bench.drive.outputs(True, bench.guard, at_ms)
    assert bench.drive.second([25.0, None], ["", "open"], False, bench.now_ms + 999) == 0
    assert bench.drive.second([25.0, None], ["", "open"], False, bench.now_ms + 1000) == 1000
    assert near(bench.drive.shares[0], 0.3, 0.011)
    assert bench.drive.shares[1] == 0.0
    assert bench.drive.figures.rows[0][1] == 250
    assert bench.drive.figures.rows[1][1] == -32768


def test_seconds_that_were_missed_are_one_long_one():
    bench = Bench()
    bench.drive.begin([20.0, 20.0], bench.now_ms)
    assert bench.drive.second([25.0, 25.0], ["", ""], False, bench.now_ms + 2350) == 2000
    assert bench.drive.second([25.0, 25.0], ["", ""], False, bench.now_ms + 2900) == 0
    assert bench.drive.second([25.0, 25.0], ["", ""], False, bench.now_ms + 3000) == 1000


def test_binding_branch_is_news_only_after_a_minute_without():
    bench = Bench(NARROW)
    drive = bench.drive
    bench.window([150.0, 150.0])
    assert 0 < drive.limited(bench.now_ms) < 1000
    bench.window([150.0, 150.0])
    assert drive.limited(bench.now_ms) == -1
    assert drive.limited(bench.now_ms + LIMITED_QUIET_MS) > 0
    bench.window([150.0, None])
    assert drive.limited(bench.now_ms + 3 * LIMITED_QUIET_MS) == -1


def test_missed_windows_keep_the_grid():
    bench = Bench()
    bench.window([150.0, None])
    start_ms = bench.now_ms
    bench.drive.open_window([150.0, None], bench.guard, start_ms + 2300)
    assert not bench.drive.window_due(start_ms + 2999)
    assert bench.drive.window_due(start_ms + 3000)


def test_law_begins_with_the_last_window_of_the_proof_and_not_with_its_mean():
    bench = Bench()
    for second in range(20):
        bench.drive.pulse([0.3, 0.0], bench.now_ms)
        bench.now_ms += PROOF_WINDOW_MS
        # The pulse warms the zone; where a rise begins decides what the law learns of its lag.
        bench.temps_c = [25.0 + second, 25.0]
        bench.see()
    bench.drive.begin([20.0, 20.0], bench.now_ms)
    bench.drive.open_window([150.0, None], bench.guard, bench.now_ms)
    assert bench.drive.loops[0].mean_c == 44.0
