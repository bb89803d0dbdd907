"""Learning from the book: intervals hold the truth as often as they say; silence where nothing is known."""

import json

import numpy as np
import pytest
from click.testing import CliRunner
from scipy import optimize, stats

from ribwright_host.book.cases import collect
from ribwright_host.book.defects import SIGMA_LOG_ODDS, _fit, leanings
from ribwright_host.book.invented import CENTRE, LAW, fill, memory_book, true_gap
from ribwright_host.book.learn import CLAIM, FACTORS, INTERVAL, LEAST_SIDES, Case, learn
from ribwright_host.book.learn_words import as_json, learned_lines
from ribwright_host.book.models import Measurement, Side
from ribwright_host.book.store import opened
from ribwright_host.book.suggest import FARTHEST_STEP_K, suggest, try_to_learn
from ribwright_host.cli import cli

NOTEBOOKS = 200
# What is claimed: of every effect nine of ten, without any allowance for luck.
LEAST_HITS = round(NOTEBOOKS * CLAIM)


def learn_book(aim_mm=0.0, species=None):
    """All that a book's command works out."""
    found = collect(species)
    learned, why = try_to_learn(found.cases)
    return found, learned, suggest(learned, found.cases, aim_mm, why)


@pytest.mark.parametrize("pieces", [5, 12])
def test_nine_of_ten_intervals_hold_the_truth(pieces):
    hits, told, reached = dict.fromkeys(LAW, 0), 0, 0
    for seed in range(NOTEBOOKS):
        with memory_book():
            last = fill(seed, pieces)
            _, learned, suggestion = learn_book()
        for effect in learned.effects():
            hits[effect.factor.name] += effect.low <= LAW[effect.factor.name] <= effect.high
        if suggestion.interval_c is not None:
            told += 1
            at_centre = true_gap(last | {"set_c": CENTRE["set_c"]})
            wanted_c = CENTRE["set_c"] - at_centre / LAW["set_c"]
            reached += suggestion.interval_c[0] <= wanted_c <= suggestion.interval_c[1]
    assert LEAST_HITS == 180
    assert {name: count for name, count in hits.items() if count < LEAST_HITS} == {}
    # Ten sides do not always tell what the set does; twenty-four nearly always.
    assert told >= NOTEBOOKS * (0.4 if pieces == 5 else 0.95)
    assert reached >= CLAIM * told


def test_where_nothing_bears_on_spring_back_little_is_claimed():
    nothing = dict.fromkeys(LAW, 0.0)
    claims = 0
    for seed in range(NOTEBOOKS):
        with memory_book():
            fill(seed, 8, law=nothing)
            claims += sum(effect.told for effect in learn_book()[1].effects())
    assert claims <= NOTEBOOKS * len(LAW) * (1 - CLAIM)


def test_one_factor_alone_agrees_with_a_general_library():
    # One side to a piece and one factor: ordinary least squares, as scipy.stats.linregress does it, with the
    # t distribution of 38 degrees of freedom.
    dice = np.random.default_rng(3)
    set_c = dice.normal(126, 5, 40)
    gaps = 1.0 - 0.12 * (set_c - 126) + dice.normal(0, 0.4, 40)
    cases = [
        Case(i, {"set_c": float(c)}, float(gap)) for i, (c, gap) in enumerate(zip(set_c, gaps, strict=True))
    ]
    effect = learn(cases).effects()[0]
    line = stats.linregress(set_c, gaps)
    half = stats.t.ppf((1 + INTERVAL) / 2, 38) * line.stderr
    assert effect.mean == pytest.approx(line.slope, abs=0.05 * half)
    assert effect.high - effect.low == pytest.approx(2 * half, rel=0.08)


def test_most_likely_odds_agree_with_a_general_library():
    dice = np.random.default_rng(5)
    x = np.column_stack([np.ones(60), dice.normal(size=(60, 2))])
    seen = (dice.random(60) < 1 / (1 + np.exp(-x @ [0.2, 1.0, -0.5]))).astype(float)

    def loss(odds):
        line = x @ odds
        prior = 0.05 * odds[0] ** 2 + (odds[1:] ** 2).sum() / (2 * SIGMA_LOG_ODDS**2)
        return np.logaddexp(0, line).sum() - seen @ line + prior

    found = optimize.minimize(loss, np.zeros(3), tol=1e-12)
    odds, sigmas = _fit(x, seen)
    assert odds == pytest.approx(found.x, abs=1e-4)
    step = 1e-4
    eye = np.eye(3) * step

    def slope(odds, i):
        return (loss(odds + eye[i]) - loss(odds - eye[i])) / (2 * step)

    curve = [
        [(slope(odds + eye[j], i) - slope(odds - eye[j], i)) / (2 * step) for i in range(3)] for j in range(3)
    ]
    assert sigmas == pytest.approx(np.sqrt(np.diag(np.linalg.inv(curve))), rel=1e-3)


def test_too_few_sides_are_said_to_be_too_few():
    with memory_book():
        fill(1, LEAST_SIDES // 2 - 1)
        found, learned, suggestion = learn_book()
        words = " ".join(learned_lines(found, learned, suggestion))
    assert learned is None
    assert suggestion.suggested_set_c is None
    assert f"not enough yet: 6 real sides are measured, {LEAST_SIDES} are needed" in words.replace("N", "n")
    assert as_json(found, learned, suggestion)["sides_needed"] == LEAST_SIDES


def test_simulated_sides_are_never_learned_from():
    with memory_book():
        fill(2, 6)
        alone = learn_book()
        fill(3, 30, simulated=True, law=LAW | {"set_c": 0.5})
        beside = learn_book()
    assert alone[2] == beside[2]
    assert len(beside[0].cases) == 12
    assert beside[0].simulated == 60
    with memory_book():
        fill(3, 30, simulated=True)
        assert learn_book()[1] is None


def test_side_that_was_not_measured_teaches_nothing():
    with memory_book():
        fill(2, 6)
        Measurement.delete().where(
            Measurement.side.in_(Side.select().where(Side.which == "treble"))
        ).execute()
        assert len(learn_book()[0].cases) == 6


def test_one_wood_is_not_taken_for_another():
    with memory_book():
        fill(2, 12)
        Side.update(species="koa").where(Side.id <= 14).execute()
        found, _, _ = learn_book()
        assert (found.species, len(found.cases), found.others) == ("sapele", 10, 14)
        assert len(collect("all").cases) == 24
        assert len(collect("koa").cases) == 14


def test_wood_that_nobody_bent_is_said_with_what_there_is(tmp_path):
    book = tmp_path / "book.sqlite"
    with opened(book, make=True):
        fill(5, 4)
    done = CliRunner().invoke(cli, ["book", "learn", "--species", "koa", "--book", str(book)])
    assert done.exit_code == 3
    assert "measured are: sapele (8)" in done.stderr


def test_set_that_never_varied_is_left_out_and_varied_next():
    with memory_book():
        fill(4, 10)
        Side.update(set_c=127.0).execute()
        _, learned, suggestion = learn_book()
    assert "the same on all sides, 127 C" in learned.left_out["set_c"]
    assert suggestion.suggested_set_c is None
    assert "5 K hotter" in suggestion.reason


def test_moisture_that_few_noted_is_left_out():
    with memory_book():
        fill(4, 10)
        Side.update(moisture_percent=None).where(Side.which == "bass").execute()
        _, learned, _ = learn_book()
    assert learned.left_out == {"moisture_percent": "known of 10 of 20 sides only"}
    assert learned.sides == 20
    assert len(learned.factors) == len(FACTORS) - 1


def test_suggestion_goes_no_further_than_one_step_and_says_so():
    with memory_book():
        fill(7, 20)
        hottest = max(side.set_c for side in Side.select())
        found, learned, suggestion = learn_book(aim_mm=-6.0)
        words = " ".join(learned_lines(found, learned, suggestion, "F", "in"))
    assert suggestion.held_back
    assert suggestion.suggested_set_c == pytest.approx(min(hottest + FARTHEST_STEP_K, 145), abs=0.06)
    assert suggestion.interval_c[0] > suggestion.suggested_set_c
    assert "as far as one pair should go" in words
    assert "-0.236 in" in words


def test_same_book_says_the_same_twice():
    with memory_book():
        fill(8, 8)
        assert learn_book()[2] == learn_book()[2]


def test_defect_leans_on_what_it_was_made_from():
    seen = wrong = 0
    for seed in range(30):
        with memory_book():
            fill(seed, 20, crack_odds=2.0)
            found = collect()
        leaning, silent = leanings(found.cases, found.defects)
        names = [one.factor.name for one in leaning]
        seen += "moisture_percent" in names
        wrong += len(set(names) - {"moisture_percent"})
        assert all(one.high < 1 for one in leaning if one.factor.name == "moisture_percent")
        assert "not enough yet: 0 of 40 sides" in silent["scorched"]
    assert seen >= 27
    # Five factors that do nothing, thirty books, one claim in ten.
    assert wrong <= stats.binom.ppf(0.99, 150, 0.10)


def test_command_tells_it_to_people_and_programs(tmp_path):
    book = tmp_path / "book.sqlite"
    with opened(book, make=True):
        fill(5, 9)
    text = CliRunner().invoke(cli, ["book", "learn", "--book", str(book)]).stdout
    assert text.startswith("18 real, measured sides of sapele.")
    assert "scrap from the same board" in text
    told = json.loads(CliRunner().invoke(cli, ["book", "learn", "--json", "--book", str(book)]).stdout)
    low, high = told["interval_c"]
    assert low < told["suggested_set_c"] < high
    assert told["effects_mm_per_unit"]["set_c"]["told"]
    assert CliRunner().invoke(cli, ["book", "learn", "--aim", "far", "--book", str(book)]).exit_code == 2
