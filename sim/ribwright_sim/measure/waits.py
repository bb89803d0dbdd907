"""What somebody waits for at the terminal: the start of the command, a demo, a tuning, a virtual bend.

Wall time of fresh processes, as a user has it: a machine that is busy with something else shows in it, so the
CPU time stands beside it.
"""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from ribwright_board.core.wire import Message
from ribwright_sim.interpreter import COLLECT_EVERY, choose
from ribwright_sim.longrun.board import LongBoard
from ribwright_sim.longrun.setting import PIECE, profile_mapping, rig_mapping
from ribwright_sim.longrun.tells import Tells
from ribwright_sim.plant import Plant

COMMAND = (sys.executable, "-m", "ribwright_host")
PLANNED = "--species sapele --thickness 1.7 --width 80 --length 560 --radius 55 --wetted soaked".split()
STARTS = 9
BENDS = 3
SEED = 7
# A bend as long as the example's, most of it in the set.
HEAT_MIN = 36.0
LONGEST_S = 2.0 * 3600.0
# What is asked of each: at most, and of the virtual rig at least.
MOST = {
    "cli_start_help_ms": 250.0,
    "cli_start_check_ms": 400.0,
    "demo_run_wall_s": 30.0,
}
LEAST = {"virtual_rig_realtime_factor": 300.0}
NOTES = {
    "cli_start_help_ms": f"median of {STARTS} fresh interpreters; interpreter_start_ms is one that does "
    "nothing, by turns with them",
    "demo_run_wall_s": "the whole demo, its two bends and what lies around them, compiled code of the solver "
    "being there; demo_run_cpu_s is of all its processes, demo_parts_s says where it went",
    "virtual_rig_realtime_factor": f"median of {BENDS} two-zone bends, press to end: seconds simulated over "
    "wall seconds, the shipped firmware in the board's interpreter, every column of the stack; "
    "virtual_rig_cpu_s_per_hour is what board and simulation take together",
    "tune_wall_s": "the example rig, with what is compiled being there, as for rehearse_wall_s",
}


def _run(arguments: Sequence[str]) -> tuple[float, float, str]:
    """Wall seconds, CPU seconds with all it started, and the words of one process.

    Raises CalledProcessError when it fails.
    """
    before, begun = os.times(), time.monotonic()
    done = subprocess.run(arguments, capture_output=True, text=True, check=True)
    wall_s, after = time.monotonic() - begun, os.times()
    cpu_s = after.children_user + after.children_system - before.children_user - before.children_system
    return wall_s, cpu_s, done.stdout


def starts(times: int = STARTS) -> dict[str, object]:
    """What the command takes to begin, by turns with an interpreter that does nothing.

    Args:
        times: rounds.
    """
    with TemporaryDirectory(prefix="ribwright_waits_") as room:
        rig, profile = _library(Path(room))
        asked = {
            "interpreter_start_ms": (sys.executable, "-c", ""),
            "cli_start_help_ms": (*COMMAND, "--help"),
            "cli_start_check_ms": (*COMMAND, "check", str(rig), str(profile)),
        }
        seen: dict[str, list[float]] = {name: [] for name in asked}
        for command in asked.values():
            _run(command)
        for _ in range(times):
            for name, command in asked.items():
                seen[name].append(_run(command)[0])
    return {name: round(statistics.median(walls) * 1e3, 1) for name, walls in seen.items()}


def _library(room: Path) -> tuple[Path, Path]:
    """The shipped rig and profile, as `ribwright demo` and its neighbours read them."""
    # The command's own package knows where they are; this room may not load it.
    code = (
        "from importlib.resources import files; from ribwright_host import virtual as v; "
        "print(files('ribwright_host') / 'library' / v.EXAMPLE_RIG); "
        "print(files('ribwright_host') / 'library' / v.EXAMPLE_PROFILE)"
    )
    rig, profile = _run((sys.executable, "-c", code))[2].splitlines()
    own = room / "rig.toml"
    own.write_bytes(Path(rig).read_bytes())
    return own, Path(profile)


def demo() -> dict[str, object]:
    """The whole demo, and the tuning, the rehearsal and the report of what it made, each by its command."""
    with TemporaryDirectory(prefix="ribwright_waits_") as room:
        out = Path(room) / "demo"
        rig, _ = _library(Path(room))
        # Whoever tunes for the first time compiles the solver; that is tune_wall_first_s of `make control`.
        _run((*COMMAND, "tune", str(rig), "--json"))
        # And whoever plans for the first time what the search runs.
        _run((*COMMAND, "plan", *PLANNED, "--rig", str(rig), "-o", str(Path(room) / "planned.toml")))
        tune_s, _, _ = _run((*COMMAND, "tune", str(rig), "--json"))
        demo_s, cpu_s, said = _run((*COMMAND, "demo", "--out", str(out), "--json"))
        figures = json.loads(said)
        profile, run = str(out / "profile.toml"), str(out / "bass" / "run.csv")
        # What it runs is compiled by now, as the tuning and the plan needed it.
        rehearse = (*COMMAND, "rehearse", profile, "--rig", str(rig), "--out", str(out / "seen"))
        rehearse_s, _, _ = _run(rehearse)
        report_s, _, _ = _run((*COMMAND, "report", run, "-o", str(out / "told")))
    return {
        "demo_run_wall_s": round(demo_s, 2),
        "demo_run_cpu_s": round(cpu_s, 2),
        "demo_parts_s": figures["parts_s"],
        "demo_bend_wall_s": [figures["run_wall_s"], figures["treble"]["run_wall_s"]],
        "tune_wall_s": round(tune_s, 2),
        "rehearse_wall_s": round(rehearse_s, 2),
        "report_wall_s": round(report_s, 2),
    }


def bend(room: Path, heat_min: float = HEAT_MIN) -> tuple[float, float, float, str]:
    """One two-zone bend on the virtual rig: seconds simulated, wall and CPU seconds, and what ran the board.

    Args:
        room: for the flash.
        heat_min: of its stages.

    Raises RigError when the board falls or refuses.
    """
    tells = Tells()

    def hear(message: Message, second: float) -> None:
        tells.take(message, second)

    used = os.times()
    # As `ribwright` itself starts one.
    plant = Plant.from_rig(rig_mapping(), PIECE, seed=SEED)
    board = LongBoard(room, SEED, hear, plant=plant, collect_every=COLLECT_EVERY, awake=True)
    try:
        board.lay_out(board.upload(profile_mapping(heat_min)))
        begun_s, begun = board.now_s, time.monotonic()
        while tells.ending is None and board.now_s - begun_s < LONGEST_S:
            board.step()
        simulated_s, wall_s = board.now_s - begun_s, time.monotonic() - begun
        interpreter = board.loop.figures.interpreter
    finally:
        board.close()
    if tells.ending is None or tells.ending.name != "done":
        raise RuntimeError(f"measured bend: it ended by {tells.ending}, not as its profile says")
    now = os.times()
    cpu_s = sum(now[:4]) - sum(used[:4])
    return simulated_s, wall_s, cpu_s, interpreter


def virtual_rig(times: int = BENDS) -> dict[str, object]:
    """How much faster than real time the virtual rig goes, and what it takes.

    Args:
        times: bends.
    """
    seen = []
    for _ in range(times):
        with TemporaryDirectory(prefix="ribwright_waits_") as room:
            seen.append(bend(Path(room)))
    return {
        "virtual_rig_realtime_factor": round(statistics.median(one[0] / one[1] for one in seen), 1),
        "virtual_rig_cpu_s_per_hour": round(statistics.median(one[2] / one[0] for one in seen) * 3600.0, 2),
        "virtual_rig_interpreter": seen[0][3],
    }


def measured(say: Callable[[str], None]) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes.

    Args:
        say: takes a line of progress.
    """
    say("waits: the command's start")
    figures = starts()
    say(f"waits: {BENDS} bends on the virtual rig")
    figures |= virtual_rig()
    say("waits: a tuning, a demo, a rehearsal and a report")
    figures |= demo()
    return figures, dict(NOTES)


def broken(figures: Mapping[str, object]) -> list[str]:
    """Names of the figures that are not what they have to be.

    Where there is no MicroPython the board's code runs in another interpreter, whose pace says nothing.

    Args:
        figures: of measured().
    """
    wrong = [name for name, most in MOST.items() if float(str(figures[name])) > most]
    if choose() == "micropython":
        wrong += [name for name, least in LEAST.items() if float(str(figures[name])) < least]
    return wrong
