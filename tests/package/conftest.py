"""Builds of the project without a network, made once and shared by the tests of this folder."""

import json
import shutil
import subprocess
import sys
import tarfile
import textwrap
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
# Left out of the copy that is built: folders that are made, not written.
MADE = shutil.ignore_patterns(".git", ".venv", "build", "dist", "__pycache__", ".*_cache", ".hypothesis")

# What host code does when it lists the firmware: every file of the installed package, hashed.
LIST_HASHES = textwrap.dedent(
    """
    import hashlib, importlib.metadata, importlib.resources, json, sys

    def walk(folder, name):
        for item in folder.iterdir():
            if item.name == "__pycache__":
                continue
            inner = name + item.name
            if item.is_dir():
                yield from walk(item, inner + "/")
            else:
                yield inner, hashlib.sha256(item.read_bytes()).hexdigest()

    import ribwright_board
    files = dict(walk(importlib.resources.files("ribwright_board"), ""))
    version = importlib.metadata.version("ribwright")
    print(json.dumps({"files": files, "version": version, "literal": ribwright_board.__version__}))
    """
)

# The first releases of Python 3.11 know no filter; the archive is our own.
FILTERED = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}


def run(*command, cwd):
    """Run a tool; what it printed is in the message if it fails."""
    done = subprocess.run(
        [str(word) for word in command], cwd=cwd, capture_output=True, text=True, timeout=600, check=False
    )
    assert done.returncode == 0, f"{command}:\n{done.stdout}\n{done.stderr}"
    return done.stdout


def built(kind, source, out):
    """The one file that hatchling builds: kind is sdist, wheel or editable."""
    code = f"import hatchling.build as b; print(b.build_{kind}({str(out)!r}))"
    out.mkdir(parents=True, exist_ok=True)
    return out / run(sys.executable, "-c", code, cwd=source).split()[-1]


@pytest.fixture(scope="session")
def source_tree(tmp_path_factory):
    """A copy of the project, so that a build cannot touch the original and sees nothing ignored."""
    tree = tmp_path_factory.mktemp("source") / "ribwright"
    shutil.copytree(ROOT, tree, ignore=MADE)
    return tree


@pytest.fixture(scope="session")
def sdist(source_tree, tmp_path_factory):
    """The source archive."""
    return built("sdist", source_tree, tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="session")
def wheels(source_tree, sdist, tmp_path_factory):
    """Wheels by the way they were made: from the tree, from the unpacked sdist, editable."""
    out = tmp_path_factory.mktemp("wheels")
    with tarfile.open(sdist) as archive:
        archive.extractall(out, **FILTERED)  # noqa: S202 - filtered where there is a filter
    unpacked = out / sdist.name.removesuffix(".tar.gz")
    return {
        "wheel": built("wheel", source_tree, out / "tree"),
        "wheel from sdist": built("wheel", unpacked, out / "sdist"),
        "editable": built("editable", source_tree, out / "editable"),
    }


@pytest.fixture(scope="session")
def installed(wheels, tmp_path_factory):
    """What a fresh environment finds after each installation: files with hashes, and versions."""
    found = {}
    for kind, wheel in wheels.items():
        place = tmp_path_factory.mktemp("environment")
        run(sys.executable, "-m", "venv", "--without-pip", place, cwd=place)
        python = next(p for p in (place / "bin/python", place / "Scripts/python.exe") if p.exists())
        run(
            *(sys.executable, "-m", "pip", "--python", python, "install", "--quiet"),
            *("--no-deps", "--no-index", "--disable-pip-version-check", wheel),
            cwd=place,
        )
        found[kind] = json.loads(run(python, "-I", "-c", LIST_HASHES, cwd=place))
    return found
