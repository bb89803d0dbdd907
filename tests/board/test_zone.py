"""Control of one zone on a first-order plant seen through a lag, and what the loop does without readings."""

from array import array

from board.samples import near
from ribwright_board.core.gains import DEFAULT_GAINS
from ribwright_board.core.zone import SLOPE_LEAST, SLOPE_WINDOWS, ZoneLoop

AMBIENT_C = 20.0


class Plant:
    """dT/dt = (ambient + gain u - T) / lag, seen by a thermocouple with its own lag; ten steps a second."""

    def __init__(self, gain_k, lag_s, seen_lag_s, start_c=AMBIENT_C):
        self.body_c = start_c
        self.at_c = start_c
        self._gain_k = gain_k
        self._lag_s = lag_s
        self._seen_lag_s = seen_lag_s

    def step(self, duty):
        self.body_c += (AMBIENT_C + self._gain_k * duty - self.body_c) * 0.1 / self._lag_s
        self.at_c += (self.body_c - self.at_c) * 0.1 / self._seen_lag_s


def run(loop, plant, windows, seen=None):
    """Windows of one second; highest temperature and the duties used."""
    # Not a list: floats kept one by one among the short-lived ones leave the heap in splinters.
    duties = array("d", [0.0] * windows)
    highest_c = plant.at_c
    for i in range(windows):
        for _ in range(10):
            plant.step(loop.duty)
            loop.add(plant.at_c)
            highest_c = max(highest_c, plant.at_c)
        duties[i] = loop.window()
        if seen:
            seen(plant.at_c)
    return highest_c, duties


def heated(gain_k=400.0, lag_s=300.0, seen_lag_s=3.0, target_c=150.0, windows=600):
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(gain_k, lag_s, seen_lag_s)
    loop.aim(target_c)
    highest_c, duties = run(loop, plant, windows)
    return loop, plant, highest_c, duties


def test_no_target_means_no_heat():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    for _ in range(20):
        loop.add(20.0)
        assert loop.window() == 0.0
    loop.aim(150.0)
    loop.add(20.0)
    assert loop.window() == 1.0
    loop.aim(None)
    assert loop.duty == 0.0
    loop.add(20.0)
    assert loop.window() == 0.0


def test_several_plants_arrive_stay_and_overshoot_little():
    for gain_k, lag_s, seen_lag_s in (
        (400.0, 300.0, 3.0),
        (250.0, 200.0, 2.0),
        (800.0, 600.0, 5.0),
        (300.0, 120.0, 3.0),
    ):
        loop, plant, highest_c, duties = heated(gain_k, lag_s, seen_lag_s)
        assert near(plant.at_c, 150.0, 0.3), (gain_k, plant.at_c)
        assert highest_c < 152.0, (gain_k, highest_c)
        # Steady state of the plant: duty = (T - ambient) / gain.
        assert near(sum(duties[-60:]) / 60.0, 130.0 / gain_k, 0.01)
        assert min(duties) >= 0.0
        assert max(duties) <= 1.0
        assert loop.target_c == 150.0


def test_way_up_is_full_power_until_near_the_target():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(400.0, 300.0, 3.0)
    loop.aim(150.0)
    while plant.at_c < 140.0:
        _, duties = run(loop, plant, 1)
        assert list(duties) == [1.0]


def test_rise_teaches_the_slope_and_lag_of_the_plant():
    loop, _, _, _ = heated(400.0, 300.0, 3.0)
    # Full power from ambient: gain / lag = 1.333 K/s at first, a little less eight windows later.
    assert near(loop.best_slope_k_per_s, 400.0 / 300.0, 0.12)
    # The tangent of the steepest eight windows crosses the start close to the dead time of 3 s.
    assert near(loop.lag_s, 3.0, 1.5)


def test_short_rise_teaches_nothing_and_still_arrives():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(400.0, 300.0, 3.0)
    loop.aim(30.0)
    highest_c, _ = run(loop, plant, 900)
    assert loop.best_slope_k_per_s == 0.0
    assert near(plant.at_c, 30.0, 0.5)
    assert highest_c < 36.0


def test_rise_below_the_noise_teaches_nothing_however_long_it_takes():
    # 100 K on 300 s: 14 K take 45 windows of full power.
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(100.0, 300.0, 3.0)
    loop.aim(34.0)
    _, duties = run(loop, plant, 30)
    assert min(duties) == 1.0
    assert plant.at_c < 34.0
    run(loop, plant, 100)
    assert loop.best_slope_k_per_s == 0.0


def test_second_rise_goes_on_with_what_the_first_one_taught():
    for first_c, second_c in ((100.0, 150.0), (140.0, 150.0)):
        loop, plant, _, _ = heated(target_c=first_c)
        loop.aim(second_c)
        highest_c, duties = run(loop, plant, 600)
        assert duties[0] == 1.0
        assert near(plant.at_c, second_c, 0.3)
        assert highest_c < second_c + 2.0


def test_second_run_of_the_same_loop_works_like_the_first():
    loop, plant, first_c, _ = heated()
    loop.aim(None)
    run(loop, plant, 900)
    loop.aim(150.0)
    second_c, _ = run(loop, plant, 600)
    assert near(plant.at_c, 150.0, 0.3)
    assert second_c < 152.0
    assert first_c < 152.0


def test_set_down_hands_the_hold_power_over_in_proportion():
    loop, plant, _, _ = heated()
    loop.ambient_c = AMBIENT_C
    lowest_c = [150.0]

    def watch(at_c):
        lowest_c[0] = min(lowest_c[0], at_c)

    held = loop._pid.components[1]
    loop.aim(120.0)
    # What holds 100 K above the room is 100/130 of what holds 130 K.
    assert near(loop._pid.components[1], held * 100.0 / 130.0, 1e-4)
    _, duties = run(loop, plant, 900, watch)
    assert duties[0] == 0.0
    assert near(plant.at_c, 120.0, 0.3)
    # Without the hand-over the integral of 150 C would hold on, or that of nothing would let it fall far.
    assert lowest_c[0] > 118.5
    assert near(sum(duties[-60:]) / 60.0, 100.0 / 400.0, 0.01)


def test_integral_stands_still_while_the_output_is_saturated():
    loop, _, _, _ = heated()
    held = loop._pid.components[1]
    loop.aim(154.0)
    for _ in range(50):
        # A reading that does not move, 20 K below: the law asks for more than there is.
        loop.add(134.0)
        assert loop.window() == 1.0
    assert near(loop._pid.components[1], held * 134.0 / 130.0, 0.02)
    for _ in range(50):
        loop.add(174.0)
        assert loop.window() == 0.0
    assert near(loop._pid.components[1], held * 134.0 / 130.0, 0.02)


def test_branch_that_gives_less_teaches_nothing_and_winds_nothing_up():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(400.0, 300.0, 3.0)
    loop.aim(150.0)
    loop.cut = True
    highest_c = AMBIENT_C
    for _ in range(900):
        for _ in range(10):
            # Never more than half of the window.
            plant.step(min(loop.duty, 0.5))
            loop.add(plant.at_c)
            highest_c = max(highest_c, plant.at_c)
        loop.cut = loop.window() > 0.5
    assert loop.best_slope_k_per_s == 0.0
    assert near(plant.at_c, 150.0, 0.5)
    assert highest_c < 152.0
    loop, _, _, _ = heated()
    held = loop._pid.components[1]
    loop.cut = True
    for _ in range(50):
        loop.add(149.0)
        loop.window()
    assert loop._pid.components[1] == held
    loop.cut = False
    loop.add(149.0)
    loop.window()
    assert loop._pid.components[1] > held


def test_window_without_a_reading_gives_no_heat_and_the_next_one_goes_on():
    loop, plant, _, _ = heated()
    before = loop.duty
    assert loop.window() == 0.0
    assert loop.mean_c is None
    loop.add(plant.at_c)
    assert near(loop.window(), before, 0.15)


def test_missing_readings_during_the_rise_do_not_stop_it():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(400.0, 300.0, 3.0)
    loop.aim(150.0)
    highest_c = AMBIENT_C
    for i in range(600):
        for _ in range(10):
            plant.step(loop.duty)
            highest_c = max(highest_c, plant.at_c)
            if i % 20:
                loop.add(plant.at_c)
        duty = loop.window()
        assert i % 20 or duty == 0.0
    assert near(plant.at_c, 150.0, 4.0)
    assert highest_c < 153.0


def test_law_uses_the_mean_of_exactly_one_window():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    for value in (10.0, 20.0, 60.0):
        loop.add(value)
    loop.window()
    assert loop.mean_c == 30.0
    loop.add(50.0)
    loop.window()
    assert loop.mean_c == 50.0


def test_slope_is_that_of_a_straight_line_and_needs_about_eight_seconds():
    for window_ms, needed in ((500, SLOPE_WINDOWS), (1000, 8), (2000, 4), (20000, SLOPE_LEAST)):
        loop = ZoneLoop(DEFAULT_GAINS, window_ms)
        loop.aim(190.0)
        for i in range(20):
            loop.add(20.0 + 1.5 * i)
            loop.window()
            expected = 1500.0 / window_ms if i >= needed - 1 else 0.0
            assert near(loop._slope_k_per_s(), expected, 1e-5)


def test_slow_moving_target_is_followed():
    loop = ZoneLoop(DEFAULT_GAINS, 1000)
    plant = Plant(400.0, 300.0, 3.0)
    worst_k = 0.0
    for i in range(400):
        # 0.3 K/s, well inside what the plant can.
        target_c = min(20.0 + 0.3 * i, 110.0)
        loop.aim(target_c)
        run(loop, plant, 1)
        if i > 60:
            worst_k = max(worst_k, abs(plant.at_c - target_c))
    assert worst_k < 3.0
    assert near(plant.at_c, 110.0, 0.5)
