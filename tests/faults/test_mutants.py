"""The list of weakened rules fits the firmware, and a sample is noticed; `make mutants` plays them all."""

import ast

import pytest

from faults.mutants import FIRMWARE, ListError, Mutant, everything, source
from faults.mutation import played

EVERY = everything()
# One for each who may notice: a test of a threshold, a fault of the campaign, the walk of the modes.
SAMPLE = (
    "core/guard.py: CEILING_TRIP_MS = -> 2",
    "core/unasked.py: def _judge_warmth -> return",
    "core/doubt.py: def _collect -> return",
    "core/levels.py: def stalls -> return False",
)
BY_FAULTS = 'core/answer.py: return "swapped" -> pass'
BY_WALK = "core/proving.py: self.alive = alive -> self.alive = True"


def named(name):
    return next(mutant for mutant in EVERY if mutant.name == name)


@pytest.mark.parametrize("mutant", EVERY, ids=lambda mutant: mutant.name)
def test_change_fits_the_firmware_and_changes_it(mutant):
    changed = source(mutant)
    assert changed != (FIRMWARE / mutant.file).read_text(encoding="utf-8")
    ast.parse(changed)
    assert mutant.faults or mutant.tests or mutant.walk


def test_every_mutant_is_listed_once():
    names = [mutant.name for mutant in EVERY]
    assert sorted(set(names)) == sorted(names)
    assert len(names) > 300


@pytest.mark.parametrize("old", ["no such text in there", "NO_SUCH =", "def no_such"])
def test_change_that_has_lost_its_place_is_an_error(old):
    with pytest.raises(ListError):
        source(Mutant("core/guard.py", old, "2", "nothing"))


@pytest.mark.parametrize("name", SAMPLE)
def test_weakened_rule_is_noticed_by_a_test(name):
    assert played(named(name), [])["by"].startswith("tests/")


def test_weakened_rule_is_noticed_by_the_faults_it_is_for():
    mutant = named(BY_FAULTS)
    alone = Mutant(mutant.file, mutant.old, mutant.new, mutant.what, faults=("B7",))
    assert played(alone, [])["by"].startswith("B7")


def test_weakened_rule_is_noticed_by_the_walk_of_the_modes():
    mutant = named(BY_WALK)
    alone = Mutant(mutant.file, mutant.old, mutant.new, mutant.what, walk=True)
    assert played(alone, [])["by"].startswith("walk of")


def test_firmware_as_it_is_is_not_noticed():
    same = Mutant("core/guard.py", "CEILING_TRIP_MS =", "1", "nothing", tests=("board/test_guard.py",))
    assert played(same, [])["by"] == ""
