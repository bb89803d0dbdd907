"""The board's floats have 24 bits: the same numbers in single and double precision stay close together.

Boards of this rig (RP2, ESP32) are built with 32-bit floats. numpy.float32 keeps every sum and product single
as long as both sides are; gains, temperatures and times enter as float32 here.
"""

import numpy as np
import pytest

from board.judging import CEILING_C, TARGET_C, expectation
from board.samples import profile_of
from ribwright_board.core import sensing, units
from ribwright_board.core.gains import DEFAULT_GAINS
from ribwright_board.core.guard import Guard
from ribwright_board.core.judge import Judge
from ribwright_board.core.midwood import WoodEstimate
from ribwright_board.core.sensing import Reading
from ribwright_board.core.stages import StageRunner
from ribwright_board.core.window import Windows
from ribwright_board.core.zone import ZoneLoop

F32 = np.float32


class Plant:
    """One heat capacity and the lag of its thermocouple."""

    def __init__(self):
        self.body_c = 20.0
        self.seen_c = 20.0

    def step(self, duty):
        self.body_c += (20.0 + 400.0 * duty - self.body_c) * 0.1 / 300.0
        self.seen_c += (self.body_c - self.seen_c) * 0.1 / 3.0
        return self.seen_c


def single_loop():
    """A loop whose every number is single, its PID included."""
    loop = ZoneLoop({key: F32(value) for key, value in DEFAULT_GAINS.items()}, 1000)
    for name in ("_dt_s", "_sum_c", "ambient_c", "best_slope_k_per_s", "lag_s", "_rise_s", "_rise_from_c"):
        setattr(loop, name, F32(getattr(loop, name)))
    loop._means = [F32(0.0)] * len(loop._means)
    return loop


def closed_loop(loop, kind):
    """Temperatures and duties of a run: up to 150 C, a rise of 20 K, down to 120 C."""
    plant = Plant()
    temps_c, duties = [], []
    targets = [(0, 150.0), (400, 170.0), (600, 120.0)]
    for second in range(900):
        for at, target_c in targets:
            if second == at:
                loop.aim(kind(target_c))
        for _ in range(10):
            loop.add(kind(plant.step(float(loop.duty))))
        loop.window()
        temps_c.append(plant.body_c)
        duties.append(float(loop.duty))
    return np.array(temps_c), np.array(duties)


def test_float32_stays_single_through_the_loop():
    loop = single_loop()
    closed_loop(loop, F32)
    kept = (loop.mean_c, loop._sum_c, loop.best_slope_k_per_s, loop.lag_s, loop._rise_s, *loop._means)
    assert {type(value) for value in kept if value != 0.0} == {F32}


def test_control_in_single_precision_gives_the_same_temperatures():
    double_c, double_duty = closed_loop(ZoneLoop(DEFAULT_GAINS, 1000), float)
    single_c, single_duty = closed_loop(single_loop(), F32)
    assert np.max(np.abs(double_c - single_c)) < 0.05
    assert np.mean(np.abs(double_duty - single_duty)) < 0.002
    assert abs(np.max(double_c) - np.max(single_c)) < 0.02


def test_type_k_in_single_precision_gives_the_same_temperatures():
    worst_k = 0.0
    for quarters in range(-80, 1400, 3):
        for cold_c in (0.0, 18.0625, 25.0, 60.5):
            wide_c = sensing.corrected_c(quarters / 4.0, cold_c)
            narrow_c = sensing.corrected_c(F32(quarters / 4.0), F32(cold_c))
            worst_k = max(worst_k, abs(wide_c - float(narrow_c)))
    # 16400 uV have steps of 1/512 uV in single precision, that is 0.00005 K.
    assert worst_k < 0.001


def test_conversions_in_single_precision_give_the_same_tenths():
    for tenth in range(-200, 3500):
        value_c = tenth / 10.0
        assert abs(units.tenths(F32(value_c)) - units.tenths(value_c)) <= 1
        assert abs(float(units.c_from(F32(units.f_from_c(value_c)), "F")) - value_c) < 1e-3


def test_slow_ramp_in_single_precision_has_the_same_targets():
    stages = [{"kind": "ramp", "zones": ["waist"], "target": 190, "rate_per_min": 0.7, "longest_min": 240}]
    wide = StageRunner(profile_of(stages), 2)
    narrow = StageRunner(profile_of(stages), 2)
    ramp = narrow.profile.stages[0]
    ramp.rate_k_per_min, ramp.target_c, ramp.band_k = F32(0.7), F32(190.0), F32(ramp.band_k)
    wide.begin(0)
    narrow.begin(0)
    worst_k = 0.0
    for _ in range(4 * 3600):
        wide.step([20.0, 20.0], 1000)
        narrow.step([F32(20.0), F32(20.0)], 1000)
        # The run trips at its longest time with both in the same second.
        assert (wide.late_zone, wide.index) == (narrow.late_zone, narrow.index)
        if wide.targets_c[0] is not None:
            worst_k = max(worst_k, abs(wide.targets_c[0] - float(narrow.targets_c[0])))
    assert wide.late_zone == 0
    assert worst_k < 0.001


@pytest.mark.parametrize("duty", [0.001, 0.1, 1 / 3, 0.4999, 0.9995])
def test_windows_in_single_precision_lose_no_heat(duty):
    wide = Windows([2.0], 12.0, 1000, 9)
    narrow = Windows([F32(2.0)], F32(12.0), 1000, 9)
    narrow._carry_ms = [F32(0.0)]
    wide_ms = narrow_ms = 0
    for _ in range(3600):
        wide.plan([duty])
        narrow.plan([F32(duty)])
        wide_ms += wide.on_ms[0]
        narrow_ms += narrow.on_ms[0]
    # An hour of windows: 24 bits of duty are 6e-8 of 3.6e6 ms, and each sum adds half a step of its carry.
    assert abs(wide_ms - narrow_ms) <= 20


def single(thing):
    """An object of ours with every number of its own made single."""
    for name, value in vars(thing).items():
        if isinstance(value, float):
            setattr(thing, name, F32(value))
        elif isinstance(value, list) and value and isinstance(value[0], float):
            setattr(thing, name, [F32(part) for part in value])
    return thing


@pytest.mark.parametrize(
    ("rise_k", "share"),
    [(0.0, 1.0), (0.2, 1.0), (-0.5, 1.0), (1.0, 0.0), (0.5, 0.0), (2.9, 1.0), (0.7, 1.0), (0.0, 0.0)],
)
def test_judge_in_single_precision_gives_the_same_verdict_in_the_same_second(rise_k, share):
    wide = Judge(expectation())
    narrow = single(Judge(single(expectation())))
    single(narrow.unasked)
    narrow._recent._means_c = [F32(0.0)] * len(narrow._recent._means_c)
    wide.powered = narrow.powered = True
    verdicts = []
    for second in range(240):
        at_c = 60.0 + min(rise_k * second, 100.0) + 0.25 * (second % 3)
        first = wide.second(at_c, share, 0.0, TARGET_C, CEILING_C, 1000)
        given = (F32(at_c), F32(share), F32(0.0), F32(TARGET_C), F32(CEILING_C))
        assert narrow.second(*given, 1000) == first, second
        assert narrow.suspect == wide.suspect
        assert abs(float(narrow.cap) - wide.cap) < 1e-5
        verdicts.append(first)
    assert len(verdicts) == 240


def test_guard_in_single_precision_admits_and_trips_alike():
    rng = np.random.default_rng(5)
    wide, narrow = Guard([190.0, 190.0], 0), Guard([F32(190.0), F32(190.0)], 0)
    wide.heating = narrow.heating = True
    at_c = 150.0
    for tick in range(1, 3000):
        now_ms = 100 * tick
        wide.tick(now_ms)
        narrow.tick(now_ms)
        at_c = min(max(at_c + float(rng.normal(0.0, 1.0)), 20.0), 189.0)
        shown_c = at_c + (60.0 if rng.random() < 0.1 else 0.0)
        first = wide.admit(0, Reading(shown_c, 20.0, now_ms), now_ms, 100)
        second = narrow.admit(0, Reading(F32(shown_c), F32(20.0), now_ms), now_ms, 100)
        assert (first is None) == (second is None)
        assert abs(wide.allow(0, 0.7, now_ms) - float(narrow.allow(0, F32(0.7), now_ms))) < 1e-5
        assert (wide.trip is None) == (narrow.trip is None)
    assert wide.trip is None


@pytest.mark.parametrize("moisture", [8.0, 24.0])
@pytest.mark.parametrize("thickness_mm", [0.6, 1.7, 5.0])
def test_wood_in_single_precision_is_estimated_alike(thickness_mm, moisture):
    wide = WoodEstimate(thickness_mm, 675.0, moisture, under_mm=1.4)
    narrow = single(WoodEstimate(F32(thickness_mm), F32(675.0), F32(moisture), F32(20.0), under_mm=F32(1.4)))
    worst_k = 0.0
    for second in range(1500):
        if second == 700:
            wide.meet_form()
            narrow.meet_form()
        reading_c = min(150.0, 20.0 + 0.7 * second) if second < 1000 else 120.0
        wide.second(reading_c, 500.0)
        narrow.second(F32(reading_c), F32(500.0))
        worst_k = max(worst_k, abs(wide.mid_c - float(narrow.mid_c)))
    assert {type(value) for value in narrow._temps_c + narrow._water + narrow._per_j} == {F32}
    assert worst_k < 0.05
