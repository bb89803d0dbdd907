"""Rehearsals: the drawn rigs, the firmware's controller on each, and what is made of their runs."""

import tomllib
from importlib.resources import files

import numpy as np
import pytest

from ribwright_sim import rehearsal
from ribwright_sim.colour import ACTIVATION_HIGH_J_MOL, ACTIVATION_LOW_J_MOL
from ribwright_sim.ensemble import MAINS_SHARE, MOST_PLANTS, draws
from ribwright_sim.materials import StackError
from ribwright_sim.plant import Plant
from ribwright_sim.rehearsal import BRIDGES, SERIES, Trips, rehearse
from ribwright_sim.scenario import run_core
from ribwright_sim.softening import SPREAD_K, margin_k
from ribwright_sim.stage_figures import Band, band

LIBRARY = files("ribwright_host") / "library"
RIG = tomllib.loads((LIBRARY / "rig_two_zone_120v.toml").read_text(encoding="utf-8"))
PIECE = {
    "kind": "side",
    "species": "sapele",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "tightest_radius_mm": 45,
    "wetted": "misted",
}
WAIST = {"zones": ["waist"], "target": 105}
# Short, but with every kind of stage.
PROFILE = {
    "schema": 1,
    "name": "short bend",
    "unit": "C",
    "piece": PIECE,
    "stages": [
        WAIST | {"kind": "ramp", "name": "warm", "longest_min": 12},
        WAIST | {"kind": "hold", "until": "maker", "longest_min": 5, "cues": ["home"]},
        WAIST | {"kind": "set", "target": 100, "minutes": 0.5},
        {"kind": "cool", "below": 90},
    ],
}


@pytest.fixture(scope="module")
def found():
    return rehearse(RIG, PROFILE, plants=3, seed=5, workers=1)


def middle(place):
    """Middle of a band, of a rehearsal's stage figure."""
    assert place is not None
    return place.mid


def test_nominal_rig_comes_first_and_drawn_ones_stay_in_their_ranges():
    nominal, *drawn = draws(PIECE, 40, 7)
    assert (nominal.seed, nominal.mains, nominal.shift_k) == (0, 1.0, 0.0)
    assert len({one.seed for one in drawn}) == 40
    for one in drawn:
        assert abs(one.mains - 1.0) <= MAINS_SHARE
        assert abs(one.shift_k) <= SPREAD_K
        assert ACTIVATION_LOW_J_MOL <= one.activation_j_mol <= ACTIVATION_HIGH_J_MOL
        assert abs(one.moisture_percent - nominal.moisture_percent) <= 3.0


def test_a_dozen_drawn_rigs_reach_both_ends_of_a_bridge():
    for seed in range(5):
        shifts = sorted(one.shift_k for one in draws(PIECE, 12, seed)[1:])
        # One in each twelfth of the range.
        edges = np.linspace(-SPREAD_K, SPREAD_K, 13)
        assert all(low <= shift <= high for low, shift, high in zip(edges, shifts, edges[1:], strict=False))


def test_stated_water_is_trusted_more_than_a_word_for_it():
    stated = [one.moisture_percent for one in draws(PIECE | {"moisture_percent": 12}, 30, 1)]
    assert max(abs(water - 12.0) for water in stated) <= 1.0
    assert min(one.moisture_percent for one in draws(PIECE | {"moisture_percent": 2}, 30, 1)) >= 2.0


@pytest.mark.parametrize("plants", [-1, MOST_PLANTS + 1])
def test_number_of_rigs_is_bounded(plants):
    with pytest.raises(StackError, match="plants"):
        draws(PIECE, plants, 1)


def test_band_leaves_out_rigs_without_the_figure():
    # Percentiles of 0..20 in steps of 1 are known: 5 % is 1, 95 % is 19.
    assert band([float(n) for n in range(21)] + [float("nan")]) == Band(1.0, 10.0, 19.0)
    assert band([float("nan")]) is None


def test_ranked_values_are_percentiles_of_those_there():
    rng = np.random.default_rng(3)
    values = rng.normal(size=(9, 50, 2))
    values[5:, 30:] = np.nan
    ordered = np.sort(values, axis=0)
    last = (~np.isnan(values)).sum(axis=0) - 1
    for percent in (5.0, 50.0, 95.0):
        expected = np.nanpercentile(values, percent, axis=0)
        assert rehearsal._ranked(ordered, last * percent / 100.0) == pytest.approx(expected)


def test_one_rig_alone_is_what_the_plant_says():
    alone = rehearse(RIG, PROFILE, plants=0, workers=1)
    samples = []

    def look(_trace, plant):
        samples.append(plant.sample())
        return True

    trace = run_core(RIG, PROFILE, Plant.from_rig(RIG, PIECE), each_second=look)
    assert trace.names()[-1] == "done"
    assert alone.columns == ("upper bout", "waist", "lower bout")
    assert alone.over == ((1,), (0, 1), (1,))
    for name, field in (("mid_c", "wood_mid_c"), ("hot_c", "wood_hot_c"), ("moisture_percent",) * 2):
        bands = alone.series[name]
        assert (bands.low == bands.high).all()
        expected = np.array([getattr(sample, field) for sample in samples])
        # Rows fall within a tick of whole seconds; in slow stages the wood is looked at less often, and a
        # face ripples with the relay.
        assert bands.mid == pytest.approx(expected[: len(bands.mid)], abs=1.0)
    margin = alone.series["margin_k"].mid
    assert margin == pytest.approx(
        margin_k(alone.series["mid_c"].mid, alone.series["moisture_percent"].mid), abs=0.5
    )


def test_bands_hold_their_middle_and_have_a_width(found):
    assert set(found.series) == set(SERIES)
    for bands in found.series.values():
        assert bands.mid.shape == (len(found.time_s), 3)
        assert (bands.low <= bands.mid).all()
        assert (bands.mid <= bands.high).all()
        assert not np.isnan(bands.mid).any()
        assert (bands.high - bands.low).max() > 0.0


def test_stages_follow_one_another_and_the_heated_waist_is_the_hottest(found):
    assert [stage.kind for stage in found.stages] == ["ramp", "hold", "set", "cool"]
    assert [stage.reached for stage in found.stages] == [4] * 4
    for before, after in zip(found.stages, found.stages[1:], strict=False):
        assert before.end_s is not None
        assert before.end_s < after.start_s
    for stage in found.stages[:3]:
        assert stage.minutes.mid * 60.0 == pytest.approx(stage.end_s - stage.start_s + 1.0, rel=0.2)
        assert all(middle(soft) <= stage.minutes.high * 60.0 for soft in stage.soft_s)
        upper, waist, lower = (middle(peak) for peak in stage.peak_c)
        assert waist > max(upper, lower) + 20.0
    doses = [middle(stage.colour_min[1]) for stage in found.stages]
    assert doses == sorted(doses)
    water = [middle(stage.moisture_percent[1]) for stage in found.stages]
    assert water == sorted(water, reverse=True)


def test_bend_speaks_of_the_columns_the_hold_answers_for(found):
    assert [(bend.stage, bend.columns) for bend in found.bends] == [(2, (1,))]
    bend = found.bends[0]
    assert bend.press_margin_k.low <= bend.best_margin_k.low
    assert (bend.soft_after_s is None) == (bend.never_soft == 4)


def test_stretch_is_judged_where_the_form_is_tightest(found):
    stretch = found.stretch
    assert found.columns[stretch.column] == "waist"
    # 1.7 / (2 x 45 + 1.7) worked by hand; alone at the same strain a strip bears (1 - e) t / (2 e).
    assert stretch.strain_percent == pytest.approx(1.854, abs=0.001)
    limit = stretch.limit_percent.mid / 100.0
    assert stretch.least_radius_mm == pytest.approx(1.7 * (1.0 - limit) / (2.0 * limit))
    assert stretch.verdict == "over"


def test_without_a_radius_no_stretch_is_told():
    piece = {key: value for key, value in PIECE.items() if key != "tightest_radius_mm"}
    assert rehearse(RIG, PROFILE | {"piece": piece}, plants=0, workers=1).stretch is None


def test_gentle_heat_colours_nothing(found):
    # Feher et al. 2014 (abstract): below 160 C a change is hardly visible.
    for colour in found.colours:
        assert colour.hottest_c.high < 160.0
        assert [shade.word for shade in colour.shades] == ["none"] * 3


def test_the_same_seed_gives_the_same_figures_on_one_process_or_two(found):
    done = []
    again = rehearse(RIG, PROFILE, plants=3, seed=5, workers=2, progress=lambda *at: done.append(at))
    assert done == [(1, 4), (2, 4), (3, 4), (4, 4)]
    assert again.stages == found.stages
    assert again.bends == found.bends
    assert all((again.series[name].mid == found.series[name].mid).all() for name in SERIES)
    assert rehearse(RIG, PROFILE, plants=3, seed=6, workers=1).stages != found.stages


def test_helper_processes_that_end_are_done_without(monkeypatch, found):
    def broken(*_args, **_kwargs):
        raise OSError("no more processes")

    monkeypatch.setattr("ribwright_sim.ensemble.ProcessPoolExecutor.submit", broken)
    assert rehearse(RIG, PROFILE, plants=3, seed=5, workers=2).stages == found.stages


def test_a_rig_that_cannot_keep_up_is_counted_as_a_trip():
    weak = PROFILE | {"stages": [WAIST | {"kind": "ramp", "longest_min": 0.5}, {"kind": "cool", "below": 50}]}
    result = rehearse(RIG, weak, plants=2, workers=1)
    assert result.ending == "trip"
    assert result.trips == (Trips("ramp_late", "waist", 1, 3),)
    assert [stage.reached for stage in result.stages] == [3, 0]
    assert result.stages[1].minutes is None
    assert result.stages[1].start_s is None


def test_wood_the_table_lacks_is_named():
    with pytest.raises(StackError, match="cardboard"):
        rehearse(RIG, PROFILE | {"piece": PIECE | {"species": "cardboard"}}, plants=0, workers=1)


def test_every_bridge_says_what_it_rests_on():
    assert {"softening", "colour", "stretch", "drying"} <= {bridge.name for bridge in BRIDGES}
    assert all(bridge.what and bridge.rests_on for bridge in BRIDGES)
