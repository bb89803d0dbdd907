"""The examples in the core's docstrings give what they say."""

import doctest
import importlib
from pathlib import Path

import pytest

import ribwright_board.core as core_package

NAMES = sorted(
    path.stem for path in Path(core_package.__file__).parent.glob("*.py") if path.stem != "__init__"
)


@pytest.mark.parametrize("name", NAMES)
def test_examples_in_docstrings_hold(name):
    module = importlib.import_module(f"ribwright_board.core.{name}")
    assert doctest.testmod(module).failed == 0


def test_examples_are_found():
    module = importlib.import_module("ribwright_board.core.units")
    assert doctest.testmod(module).attempted >= 6
