"""Work goes to processes, to an engine that is installed, or to a callable of one's own."""

import importlib.util
import os
import shutil
import subprocess
import time
from pathlib import Path

import pytest

from ribwright_sim.campaign import spread
from ribwright_sim.campaign.__main__ import main

ROOT = Path(__file__).resolve().parents[2]


def square(number):
    return number * number


def one_by_one(work, tasks, _workers):
    """An executor of one's own."""
    return [work(task) for task in tasks]


@pytest.mark.parametrize("name", ["processes", "here"])
def test_results_of_all_tasks_come_back(name):
    assert sorted(spread.executor(name)(square, range(5), 2)) == [0, 1, 4, 9, 16]


def fail_or_leave_a_file(place):
    """A task: the empty place fails, any other is written to after a moment."""
    if not place:
        raise ValueError("a task that fails")
    time.sleep(0.02)
    Path(place).write_text("done", encoding="utf-8")


def test_what_one_task_raises_ends_all_the_others(tmp_path):
    # Whoever waits for hours has to hear of it at once.
    tasks = ["", *(str(tmp_path / str(number)) for number in range(200))]
    with pytest.raises(ValueError, match="a task that fails"):
        list(spread.processes(fail_or_leave_a_file, tasks, 2))
    assert len(list(tmp_path.iterdir())) < 100


def test_one_worker_needs_no_second_process():
    # A local function cannot be sent anywhere.
    assert list(spread.processes(lambda number: number + 1, [1, 2], 1)) == [2, 3]


def test_joblib_takes_the_work():
    if importlib.util.find_spec("joblib") is None:
        with pytest.raises(spread.ExecutorError, match="joblib cannot be loaded"):
            list(spread.executor("joblib")(square, range(5), 1))
        return
    assert sorted(spread.executor("joblib")(square, range(5), 1)) == [0, 1, 4, 9, 16]


def test_callable_of_ones_own_is_found_by_its_place():
    assert list(spread.executor(f"{__name__}:one_by_one")(square, [3], 1)) == [9]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("threads", "executor threads is unknown; known are processes, here, joblib, dask"),
        ("no_such_engine:go", "no_such_engine cannot be loaded"),
        ("json:no_such_name", "json has no no_such_name"),
    ],
)
def test_executor_that_cannot_be_had_is_refused_in_one_line(name, said, capsys, tmp_path):
    with pytest.raises(spread.ExecutorError, match=said):
        spread.executor(name)
    assert main([str(tmp_path), "--quick", "--executor", name]) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert said in lines[0]


def test_cores_are_counted():
    assert spread.cores() >= 1


@pytest.mark.skipif(shutil.which("make") is None, reason="make is not installed")
@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "-m ribwright_sim.campaign build"),
        (["QUICK=1"], "--quick"),
        (["FULL=1"], "--full"),
        (["WORKERS=3", "EXECUTOR=joblib"], "--workers 3 --executor joblib"),
    ],
    ids=["plain", "quick", "full", "spread"],
)
def test_make_passes_on_how_much_and_where(words, said):
    own = ("MAKEFLAGS", "MAKELEVEL", "MAKEOVERRIDES", "MFLAGS")
    done = subprocess.run(
        ["make", "--no-print-directory", "--dry-run", "campaign", *words],
        cwd=ROOT,
        env={name: value for name, value in os.environ.items() if name not in own},
        capture_output=True,
        text=True,
        timeout=300,
        check=True,
    )
    assert said in " ".join(done.stdout.replace("\\\n", " ").split())
