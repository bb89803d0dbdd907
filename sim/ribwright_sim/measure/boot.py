"""What the firmware takes on a board: bytes of flash, memory after its start, and the time to get there.

Times of a board are estimates: what the same code takes in the same interpreter here, by how much longer one
step of simple_pid takes on a board, the one such figure that is known (PID_STEP_US).
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from ribwright_sim.campaign.board_cable import ShortCable, Talk
from ribwright_sim.campaign.board_runs import fresh_flash
from ribwright_sim.campaign.rigs import Setting, piece_mapping, rig_mapping
from ribwright_sim.costs import read_costs
from ribwright_sim.flash.play import ask, payload
from ribwright_sim.interpreter import RigError
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_physics import SECOND_US
from ribwright_sim.rig_scenario import from_mapping

# One step of simple_pid on a Pico at 125 MHz, as board_costs.csv names it for a tick's code.
PID_STEP_US = 500.0
# As of the virtual rig: pointers are twice as long here as on a board, and so is this.
HEAP = "190wk"
TIMES = 20
LIVES = 3
SETTLED_S = 5.0
SEED = 11
MOST_SAFE_MS = 50.0


def firmware_bytes() -> dict[str, object]:
    """What is on the flash of a board with two zones: bytes as shipped, bytes as sources, files."""
    shipped, sources = payload(), payload("cpython")
    return {
        "firmware_bytes": sum(map(len, shipped.values())),
        "firmware_source_bytes": sum(map(len, sources.values())),
        "firmware_files": len(shipped),
    }


def heap_after_boot() -> dict[str, object]:
    """`heap_free_after_boot_bytes`: the least that was free in the first seconds, as the board says it.

    In bytes of a heap of twice the length; what is built in on a board lies beside it. Raises RigError when
    the board does not come up.
    """
    setting, talk = Setting(SEED), Talk(ShortCable())
    with tempfile.TemporaryDirectory(prefix="ribwright_boot_") as folder:
        scenario = {
            "image": fresh_flash(setting, Path(folder)),
            "rig": rig_mapping(setting),
            "piece": piece_mapping(setting),
            "idle_speed": 1e12,
            "heap": HEAP,
        }
        loop = RigLoop(from_mapping(scenario), lambda _: None, cable=talk.cable)
        try:
            asked = -1
            while True:
                loop.step()
                if loop.quit is not None:
                    raise RigError(f"board: {loop.quit}")
                talk.read()
                if asked < 0 and loop.physics.now_us > SETTLED_S * SECOND_US:
                    asked = talk.ask("status", {})
                answer = talk.answer(asked)
                if answer is not None:
                    return {"heap_free_after_boot_bytes": int(answer.data["heap"])}
        finally:
            loop.close()


def boot_times() -> dict[str, object]:
    """Times of a start, and the largest piece of memory when all is loaded.

    `boot_to_safe_ms`: from the first line of boot.py until every output is off, its two files read and
    compiled. `start_ms`: of main.py until the loop begins, the files held against the manifest, every module
    loaded, with its collections by the cost table. Both of a board, estimated; `start_here_ms` is the second
    on this computer. Raises RigError when MicroPython is missing.
    """
    plain = [ask("boot_play.py", {"times": TIMES, "plain": True}, heap=HEAP)[0] for _ in range(LIVES)]
    (shipped,) = ask("boot_play.py", {"times": 1, "plain": False}, heap=HEAP)
    least = {name: min(float(one[name]) for one in plain) for name in ("boot", "main", "pid")}
    slower = PID_STEP_US / least["pid"]
    # What is taken here in pointers is half as long there.
    collections = plain[0]["taken"] / 2 / shipped["often"]
    collected_us = collections * read_costs()["gc_collect"].typical_us
    return {
        "boot_to_safe_ms": round(least["boot"] * slower / 1000.0, 1),
        "start_ms": round((least["main"] * slower + collected_us) / 1000.0),
        "start_here_ms": round(float(shipped["main"]) / 1000.0, 1),
        "board_slower_by": round(slower),
        "heap_largest_piece_bytes": int(shipped["largest"]),
    }


def measured() -> dict[str, object]:
    """All of it; raises RigError when MicroPython is missing."""
    return {**firmware_bytes(), **heap_after_boot(), **boot_times()}


def broken(found: dict[str, object]) -> list[str]:
    """Names of the figures that are beyond what is asked: outputs off within MOST_SAFE_MS of a start.

    found: as measured().
    """
    return ["boot_to_safe_ms"] if float(str(found["boot_to_safe_ms"])) > MOST_SAFE_MS else []
