"""The rooms import each other in one direction only."""

import re
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

from dialect.rooms import CORE, imports_of, wrong_imports

ROOT = Path(__file__).resolve().parents[2]
FILES = [
    path.relative_to(ROOT)
    for home in ("firmware", "host", "sim")
    for path in sorted((ROOT / home).rglob("*.py"))
]


@pytest.fixture(scope="module")
def libraries():
    """Top-level modules of the dependencies that pyproject.toml declares."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = [word for words in project.get("optional-dependencies", {}).values() for word in words]
    declared = {
        re.match(r"[\w.-]+", word).group().lower().replace("_", "-")
        for word in project["dependencies"] + extras
    }
    return frozenset(
        module
        for module, packages in packages_distributions().items()
        if declared & {name.lower().replace("_", "-") for name in packages}
    )


@pytest.mark.parametrize("path", FILES, ids=str)
def test_file_imports_only_what_its_room_may(path, libraries):
    inside = Path(*path.parts[1:])
    assert wrong_imports((ROOT / path).read_text(), inside, libraries) == []


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("ribwright_board/__init__.py", "import sys"),
        ("ribwright_board/core/guard.py", "import time"),
        ("ribwright_board/core/guard.py", "from machine import Pin"),
        ("ribwright_board/core/guard.py", "from ..drivers import clock"),
        ("ribwright_board/core/guard.py", "def f():\n    import os"),
        ("ribwright_board/drivers/relay.py", "from ..app import run"),
        ("ribwright_board/drivers/relay.py", "import socket"),
        ("ribwright_board/drivers/relay.py", "import pins"),
        ("ribwright_board/app.py", "from .drivers import board"),
        ("ribwright_board/app.py", "import time"),
        ("ribwright_board/root/boot.py", "import ribwright_board.core"),
        ("ribwright_board/root/main.py", "import socket"),
        ("ribwright_sim/plant.py", "from ribwright_board.drivers import relay"),
        ("ribwright_sim/plant.py", "import ribwright_host"),
        ("ribwright_sim/plant.py", "import rich"),
        ("ribwright_host/report.py", "import ribwright_sim.plant"),
        ("ribwright_host/report.py", "from importlib import import_module\nimport_module('ribwright_sim')"),
        ("ribwright_host/report.py", "from ribwright_board import app"),
        ("ribwright_host/link.py", "import serial"),
        ("ribwright_host/link.py", "from serial.tools import list_ports"),
        ("ribwright_host/link.py", "import requests"),
    ],
)
def test_a_wrong_arrow_is_seen(path, source):
    libraries = frozenset({"rich", "serial", "click"})
    assert len(wrong_imports(source, Path(path), libraries)) == 1


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("ribwright_board/core/pid.py", "import struct\nfrom simple_pid import PID\nfrom . import units"),
        ("ribwright_board/drivers/board.py", "from machine import Pin\nfrom ..core import wire"),
        ("ribwright_board/drivers/board.py", "from . import clock\nimport pins"),
        ("ribwright_board/app.py", "import gc\nfrom .core.controller import Controller"),
        ("ribwright_board/root/main.py", "from ribwright_board.app import run"),
        ("ribwright_board/root/main.py", "from ribwright_board.drivers import board"),
        ("ribwright_sim/shim/machine.py", "import anything"),
        ("ribwright_sim/plant.py", "import numpy as np\nfrom ribwright_board.core.wire import decode"),
        ("ribwright_host/virtual.py", "from ribwright_sim import rig\nimport click"),
        ("ribwright_host/transport.py", "import serial"),
        ("ribwright_host/cli.py", "from ribwright_board import __version__"),
    ],
)
def test_a_right_arrow_passes(path, source):
    assert wrong_imports(source, Path(path), frozenset({"click", "serial"})) == []


# Who may know of the estimate of the wood; above all no guard, judge, trip or control loop.
WOOD_KNOWN_TO = {
    "wood": {"midwood", "profile", "wood_figures", "woods"},
    "midwood": {"woods"},
    "woods": {"course"},
    "ends": {"profile", "stages", "wood_ramp"},
    "wood_ramp": {"profile", "stages"},
}


def test_guard_and_control_import_nothing_of_the_wood():
    known: dict[str, set[str]] = {name: set() for name in WOOD_KNOWN_TO}
    for path in FILES:
        inside = Path(*path.parts[1:])
        if inside.parts[:2] != ("ribwright_board", "core"):
            continue
        for found in imports_of((ROOT / path).read_text(), inside):
            name = found.name.removeprefix(CORE + ".").split(".")[0]
            if name in known:
                known[name].add(path.stem)
    assert known == WOOD_KNOWN_TO
