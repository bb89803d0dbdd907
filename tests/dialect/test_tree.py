"""The tree as a whole: sizes of files, and words that must not be in it."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LONGEST_LINES = 300
PACKAGES = ("firmware/ribwright_board", "host/ribwright_host", "sim/ribwright_sim")
UNTRACKED = {".git", ".venv", "build", "dist", "__pycache__"}

# Folders of one machine: a path that starts at its root and names a person's or a scratch place.
MACHINE_PATH = re.compile(r"(?<![\w.~/])/(?:home|root|Users|work|mnt|media|tmp)/\w|\b[A-Z]:\\\\?Users\b")
OUTSIDE_PATH = re.compile(r"\.\./" + "shared")
# A remark about work to come belongs to no released file.
UNFINISHED = re.compile(r"\b(?:TO" + "DO|FIX" + "ME|XX" + "X)\\b")
FORBIDDEN = {"a machine's own path": MACHINE_PATH, "a path outside": OUTSIDE_PATH, "a remark": UNFINISHED}


def project_files() -> list[Path]:
    """Files that are, or would be, under version control; in an unpacked sdist, all of them."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if listed.returncode == 0 and listed.stdout:
        names = [Path(name) for name in listed.stdout.split("\0") if name]
    else:
        names = [p.relative_to(ROOT) for p in ROOT.rglob("*") if not UNTRACKED & set(p.parts)]
    return sorted(name for name in names if (ROOT / name).is_file())


def forbidden_in(text: str) -> list[str]:
    """Kind and text of each forbidden passage."""
    return [f"{kind}: {found.group()}" for kind, rule in FORBIDDEN.items() for found in rule.finditer(text)]


def test_no_file_of_the_packages_is_too_long():
    lengths = {
        str(path.relative_to(ROOT)): len(path.read_text().splitlines())
        for home in PACKAGES
        for path in (ROOT / home).rglob("*.py")
    }
    assert lengths
    assert {name: lines for name, lines in lengths.items() if lines > LONGEST_LINES} == {}


def test_no_file_names_a_machine_or_an_unfinished_piece():
    found = {}
    for name in project_files():
        try:
            text = (ROOT / name).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture or the like
        if wrong := forbidden_in(text):
            found[str(name)] = wrong
    assert found == {}


def test_tracked_files_include_the_sources():
    names = {str(name) for name in project_files()}
    assert {"pyproject.toml", "LICENSE", "firmware/ribwright_board/__init__.py"} <= names
    assert not [name for name in names if name.startswith((".venv/", "build/"))]


@pytest.mark.parametrize(
    "text",
    [
        "see /" + "home/ann/rig.toml",
        'open("/' + 'tmp/x")',
        "C:" + "\\Users\\ann",
        "../" + "shared/x.md",
        "TO" + "DO: later",
    ],
)
def test_a_forbidden_passage_is_seen(text):
    assert len(forbidden_in(text)) == 1


@pytest.mark.parametrize(
    "text", ["the form's home/start", "~/rigs/rig.toml", "build/demo/", "https://a.b/home/x"]
)
def test_an_ordinary_path_passes(text):
    assert forbidden_in(text) == []
