"""Constructs that behave differently in the board's interpreter, or are missing there."""

from pathlib import Path

import pytest

from dialect.banned import banned_in

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "firmware" / "ribwright_board"
FILES = [path.relative_to(PACKAGE) for path in sorted(PACKAGE.rglob("*.py"))]
# A board that cannot even start has no link; its last words go to whoever looks at the port.
LAST_WORDS = Path("root/main.py")


@pytest.mark.parametrize("path", FILES, ids=str)
def test_firmware_file_has_nothing_banned(path):
    found = banned_in(
        (PACKAGE / path).read_text(),
        may_print=path == LAST_WORDS,
        may_open=path.parts[0] != "core",
    )
    assert [f"{path}:{line}: {why}" for line, why in found] == []


@pytest.mark.parametrize(
    "source",
    [
        'print("late")',
        'open("runs/00001.rlg")',
        'text = "%.1f C" % value',
        'text = "%6.0f" % value',
        'text = b"%.1f" % value',
        'text = f"{value:.1f}"',
        'text = f"{value:>8.0f}"',
        'text = "{:.1f}".format(value)',
        'text = "{0:7.0f}".format(value)',
        'text = format(value, ".1f")',
        "tenths = round(value, 1)",
        "tenths = round(value, ndigits=1)",
        "try:\n    f()\nexcept:\n    pass",
        "from dataclasses import dataclass",
        "import typing",
        "from __future__ import annotations",
        "import enum",
        "WINDOW_MS = 1000.0",
        "self.late_ms = total / count",
        "self.late_ms += 0.5",
        "due_ms: int = 2 * 0.5",
        "step(dt_ms=0.1)",
        "def step(dt_ms=100.0):\n    pass",
        "def step(*, dt_ms=100.0):\n    pass",
        "def step(dt_ms: float) -> None:\n    pass",
        "hash = h.hexdigest()",
        "bits = value.bit_length()",
        "try:\n    f()\nexcept FileNotFoundError:\n    g()",
        "n = int.from_bytes(data, 'big', signed=True)",
        "pairs = zip(a, b, strict=True)",
    ],
)
def test_a_banned_construct_is_seen(source):
    assert len(banned_in(source, may_open=False)) == 1


@pytest.mark.parametrize(
    "source",
    [
        'text = "%.2f C" % value',
        'text = f"{value:.2f}"',
        'text = f"{value:.3f}"',
        'text = "version 1.0f"',
        '"""A docstring may say %.1f."""',
        "whole = round(value)",
        "WINDOW_MS = 1000",
        "late_ms = total // count",
        "hold_ms = int(minutes * 60000.0 + 0.5)",
        "hold_s = hold_ms / 1000.0",
        "def step(dt_ms: int) -> float:\n    pass",
        "self._carry_ms = 0.5 * left_ms",
        "try:\n    f()\nexcept (OSError, ValueError):\n    g()",
    ],
)
def test_an_allowed_construct_passes(source):
    assert banned_in(source, may_open=False) == []


def test_printing_and_opening_depend_on_the_room():
    assert banned_in('print("no pins.py")', may_print=True) == []
    assert banned_in('open("rig.json")', may_open=True) == []
