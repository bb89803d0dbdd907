"""The Makefile says in one line what is missing on a machine, before it installs anything."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

pytestmark = pytest.mark.skipif(shutil.which("make") is None, reason="make is not installed")


def make(tree, *words):
    """Run make as a person would, also when these tests were themselves started by make."""
    own = ("MAKEFLAGS", "MAKELEVEL", "MAKEOVERRIDES", "MFLAGS")
    return subprocess.run(
        ["make", "--no-print-directory", *words],
        cwd=tree,
        env={name: value for name, value in os.environ.items() if name not in own},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )


@pytest.fixture
def bare_tree(tmp_path):
    """A tree with nothing but the Makefile, and no environment in it."""
    shutil.copy(ROOT / "Makefile", tmp_path)
    (tmp_path / "pyproject.toml").touch()
    return tmp_path


def stand_in(folder, *lines):
    """An executable that takes the place of Python."""
    script = folder / "stand-in"
    script.write_text("\n".join(["#!/bin/sh", *lines, ""]))
    script.chmod(0o755)
    return f"PYTHON={script}"


@pytest.mark.parametrize(
    ("script", "expected"),
    [
        (["exit 127"], "install Python 3.11 or later"),
        (
            ['case "$*" in *version_info*) exit 1;; *--version*) echo Python 3.9.2;; esac'],
            "Python 3.9.2 is too old, 3.11 is needed",
        ),
        (['case "$*" in *ensurepip*) exit 1;; esac'], "sudo apt install python3-venv"),
    ],
    ids=["no python", "old python", "no venv module"],
)
def test_missing_tool_is_named_in_one_line(script, expected, bare_tree):
    done = make(bare_tree, "demo", stand_in(bare_tree, *script))
    assert done.returncode == 2
    said = [line for line in done.stderr.splitlines() if not line.startswith("make: ***")]
    assert len(said) == 1
    assert expected in said[0]
    assert done.stdout == ""
    assert not (bare_tree / ".venv").exists()


def test_every_documented_target_exists():
    for target in "demo test check venv bench control campaign mutants longrun docs".split():
        done = make(ROOT, "--dry-run", target)
        assert done.returncode == 0, f"{target}: {done.stderr}"


@pytest.mark.parametrize(("target", "room"), [("bench", "measure"), ("longrun", "longrun")])
def test_measurement_is_a_command_and_no_longer_without_work(target, room):
    done = make(ROOT, "--dry-run", target)
    assert f"-m ribwright_sim.{room} build" in done.stdout
    assert "no work behind it" not in done.stdout
