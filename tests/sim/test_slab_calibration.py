"""The board's estimate calibrated: a known slab found back through the firmware's own code."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest

from host.fit_files import PIECE, RIG, THIN
from ribwright_board.core.rig import parse
from ribwright_board.core.wood_figures import BAND_K, CALIBRATED_BAND_K
from ribwright_sim.slab_calibration import Replay, band_k, calibrate, second_means
from ribwright_sim.slab_fit import NOMINAL
from ribwright_sim.warmup import Warmup, WoodReadings
from sim.warmups import problem_for, recorded

TRUTH = (9.5e-3, 4.5, 60.0, 5.0)
NOISE_K, ROOM_C = 0.6, 22.0
SECONDS = 500
EVERY = slice(9, None, 10)
TWO_ZONES = RIG.replace("relay_pin = 11", "relay_pin = 10").replace("select_pin = 20", "select_pin = 17")
TWO_ZONES = TWO_ZONES.replace('"full"', '"waist"').replace("length_mm = 600", "length_mm = 150")
TWO_ZONES += RIG[RIG.index("[[zones]]") : RIG.index("[stack]")]


def rig_of(text=RIG):
    return parse(tomllib.loads(text))


def heated(zones=1, piece=THIN):
    """A log that rises to 150 C and falls again."""
    at_s = np.arange(1.0, SECONDS + 1.0)
    one_c = np.minimum(ROOM_C + 0.8 * at_s, 150.0) - np.maximum(0.0, 0.5 * (at_s - 420.0))
    on = np.where(one_c[:, None] < 149.0, 0.8, 0.3) * np.ones((1, zones))
    return Warmup("log", piece, at_s, one_c[:, None] + np.zeros((1, zones)), on)


def with_wood(log, rig, truth=TRUTH, *, zone=0, noise_k=NOISE_K, late_s=0.0):
    """The log with a second thermocouple that reads what the board would estimate of another slab."""
    course_c = Replay(rig, log, zone, ROOM_C).course(truth)
    away_k = noise_k * np.random.default_rng(4).standard_normal(len(course_c))
    at_s = log.row_s[EVERY] - late_s
    return replace(log, wood=WoodReadings(at_s, (course_c + away_k)[EVERY], zone))


@pytest.fixture(scope="module")
def found():
    rig = rig_of()
    return calibrate(rig, with_wood(heated(), rig, late_s=7.0), room_c=ROOM_C, late_s=7.0)


def test_known_slab_is_found_back_at_the_noise_of_the_readings(found):
    assert [one.name for one in found.figures] == ["resistance", "loss", "escape_s", "lead_s"]
    assert tuple(one.before for one in found.figures) == NOMINAL
    for one, true in zip(found.figures, TRUTH, strict=True):
        assert abs(one.value - true) <= 3.0 * one.sigma, one.name
        assert one.value == pytest.approx(true, rel=0.2), one.name
        assert one.verdict == "identified", one.name
    assert found.residual_k == pytest.approx(NOISE_K, rel=0.15)
    assert found.before_k > 3.5 * found.residual_k
    assert found.readings == 50
    assert found.told
    assert found.useful


def test_courses_are_the_boards_own(found):
    read = Replay(rig_of(), heated(), 0, ROOM_C)
    assert found.before_c == pytest.approx(read.course(NOMINAL))
    assert found.after_c == pytest.approx(read.course(found.values))
    assert np.sqrt(np.mean((found.after_c - read.course(TRUTH)) ** 2)) < 0.5 * NOISE_K


def test_band_is_two_sigma_of_all_rounded_up_between_its_limits(found):
    assert found.off_k >= 2.0 * found.residual_k
    assert found.band_k == CALIBRATED_BAND_K
    assert [band_k(off_k) for off_k in (0.1, 3.5, 3.6, 4.0, 6.01, 7.9, 40.0)] == [3.5, 3.5, 4, 4, 6.5, 8, 8]
    assert BAND_K == 8.0


def test_readings_that_say_nothing_keep_the_nominal_figures():
    # Somebody has written down room temperature all along, or what has nothing to do with the wood.
    log = heated()
    at_s = log.row_s[EVERY]
    deaf = replace(log, wood=WoodReadings(at_s, 90.0 + 60.0 * np.sin(at_s / 40.0), 0))
    found = calibrate(rig_of(), deaf, room_c=ROOM_C)
    assert [one.verdict for one in found.figures] == ["not identified"] * 4
    assert found.values == pytest.approx(NOMINAL)
    assert found.after_c == pytest.approx(found.before_c)
    assert not found.told
    assert not found.useful
    assert found.band_k == BAND_K


def test_log_that_never_dries_the_wood_keeps_the_nominal_escape():
    rig = rig_of()
    cool = replace(heated(), measured_c=np.minimum(heated().measured_c, 85.0))
    found = calibrate(rig, with_wood(cool, rig), room_c=ROOM_C)
    assert found.figures[2].verdict == "not identified"
    assert found.figures[2].value == NOMINAL[2]
    assert found.figures[0].verdict == "identified"
    assert found.useful


def test_before_is_what_the_board_goes_by_now():
    rig = rig_of(
        RIG.replace("[stack]", "[zones.wood]\nresistance = 0.0095\nloss = 4.5\nescape_s = 60\n[stack]")
    )
    found = calibrate(rig, with_wood(heated(), rig), room_c=ROOM_C)
    assert tuple(one.before for one in found.figures) == TRUTH
    assert found.before_k == pytest.approx(NOISE_K, rel=0.15)


def test_zone_behind_the_long_blanket_is_fed_with_the_long_ones_heat():
    rig = rig_of(TWO_ZONES)
    log = heated(2)
    dark = replace(log, on_s=log.on_s * [1.0, 0.0])
    lit, unlit = (Replay(rig, one, 0, ROOM_C).course(NOMINAL) for one in (log, dark))
    assert lit[200] > unlit[200] + 3.0
    found = calibrate(rig, with_wood(log, rig), room_c=ROOM_C)
    assert found.residual_k == pytest.approx(NOISE_K, rel=0.15)
    assert found.values[0] == pytest.approx(TRUTH[0], rel=0.25)


def test_simulated_stack_is_followed_better_than_before():
    raw = tomllib.loads(RIG)
    problem = problem_for(raw, THIN, wood=True)
    steps = np.clip(0.8 * np.random.default_rng(1).standard_normal(len(problem.slots)), -1.5, 1.5)
    log = recorded(raw, THIN, steps, [(400, [135.0]), (60, [None])], wood=True, seed=1)
    found = calibrate(rig_of(), log, room_c=21.0, late_s=problem.values(steps, 0)["clock"])
    assert found.useful
    assert found.residual_k < 0.6 * found.before_k
    assert found.residual_k < 1.5


def of_rig(piece, plan, seed):
    """A log of the drawn rig of a seed, with this piece in it; and how late its second clock is."""
    raw = tomllib.loads(RIG)
    widest = problem_for(raw, THIN, wood=True).slots
    drawn = np.clip(0.8 * np.random.default_rng(seed).standard_normal(len(widest)), -1.5, 1.5)
    step = {slot.parameter.name: one for slot, one in zip(widest, drawn, strict=True)}
    problem = problem_for(raw, piece, wood=True)
    steps = np.array([step[slot.parameter.name] for slot in problem.slots])
    return recorded(raw, piece, steps, plan, wood=True, seed=seed), problem.values(steps, 0)["clock"]


@pytest.mark.parametrize("seed", [1, 4])
def test_figures_hold_for_wood_like_the_scrap_and_mislead_in_other_wood(seed):
    side = {**PIECE, "plies": 1, "wetted": "misted"}
    log, late_s = of_rig(side, [(420, [155.0])], seed)
    bend = Replay(rig_of(), log, 0, 21.0)

    def away_k(values):
        return np.interp(log.wood.time_s + late_s, bend.time_s, bend.course(values)) - log.wood.wood_c

    def off_k(values):
        return np.sqrt(np.mean(away_k(values) ** 2))

    def from_scrap(piece):
        scrap, late = of_rig(piece, [(400, [135.0]), (60, [None])], seed)
        return calibrate(rig_of(), scrap, room_c=21.0, late_s=late)

    like, other = from_scrap(THIN), from_scrap(PIECE)
    assert off_k(like.values) < 0.8 * off_k(NOMINAL)
    assert np.mean(np.abs(away_k(like.values)) <= like.band_k) >= 0.95
    assert off_k(other.values) > off_k(NOMINAL)


def test_second_without_a_reading_is_none_and_long_windows_are_taken_in_their_middle():
    log = heated()
    measured = log.measured_c.copy()
    measured[100] = np.nan
    means_c = second_means(replace(log, measured_c=measured), 0, log.row_s)
    assert [second for second, value in enumerate(means_c) if value is None] == [100]
    assert means_c[99] == pytest.approx(log.measured_c[99, 0])
    # Windows of 20 s over a rise of 0.8 K/s: what the row at 40 s tells was so at 30 s.
    slow = replace(log, window_s=20.0)
    assert second_means(slow, 0, log.row_s)[29] == pytest.approx(log.measured_c[39, 0] - 0.4, abs=0.5)


def test_wood_nobody_can_weigh_has_no_estimate_to_calibrate():
    unknown = {**THIN, "species": "a tree of no name"}
    log = replace(heated(piece=unknown), wood=WoodReadings(np.arange(1.0, 40.0), np.full(39, 50.0), 0))
    assert calibrate(rig_of(), log, room_c=ROOM_C) is None


def test_log_without_the_wood_is_refused():
    with pytest.raises(ValueError, match="no second thermocouple"):
        calibrate(rig_of(), heated(), room_c=ROOM_C)
    early = replace(heated(), wood=WoodReadings(np.arange(-40.0, 0.0), np.full(40, 50.0), 0))
    with pytest.raises(ValueError, match="0 readings"):
        calibrate(rig_of(), early, room_c=ROOM_C)
