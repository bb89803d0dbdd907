"""Every example in a docstring gives what it says, in all three rooms."""

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
NAMES = [
    ".".join(path.relative_to(ROOT / room).with_suffix("").parts).removesuffix(".__init__")
    for room in ("firmware", "host", "sim")
    for path in sorted((ROOT / room).glob("ribwright_*/**/*.py"))
    if ">>> " in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", NAMES)
def test_examples_in_docstrings_hold(name):
    result = doctest.testmod(importlib.import_module(name))
    # None where an example stands outside of a docstring, and is never played.
    assert result.attempted
    assert not result.failed


@pytest.mark.parametrize("room", ["ribwright_board.", "ribwright_host.", "ribwright_sim."])
def test_examples_are_found_in_every_room(room):
    assert sum(name.startswith(room) for name in NAMES) >= 10
