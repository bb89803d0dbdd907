"""The campaign's part that goes through the real interpreter: every case on a board of its own.

A start of the board costs some hundredths of a second, so nothing of one case is left for the next.
"""

from __future__ import annotations

import importlib
import shutil
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any, cast

from ribwright_sim.interpreter import Interpreter, RigError, choose, install_files

from .board_faults import board_fault
from .board_flash import FlashPlay
from .board_phase import plant_for, profile_for, reach
from .board_rig import BoardRig
from .core_rig import CoreRig
from .meter import SECOND_US
from .outcome import Case, Outcome
from .play import Play
from .rigs import Setting, draw_setting, rig_mapping
from .spread import Executor, processes
from .strikes_flash import bring, lived_in

# What a board carries is the computer's business: named here, so that this room need not know that one.
PAYLOAD = "ribwright_host.payload:board_files"
ROOM_C = 20.0
# What another hand does to a flash takes memory, which is the world's and none of the board's. The shim as a
# whole takes 18 of the board's 190 KB.
FLASH_HEAP = "200wk"
AFTER_S = 1.5
AT_ONCE = 20
# What an injected exception says, in shim/board_orders.py; any other is one of the firmware's own.
INJECTED = "an injected fault"


def board_setting(seed: int, mains: float, *, bare: bool) -> Setting:
    """The drawn rig, with what a board cannot vary set right: its clock is the simulation's.

    seed, mains, bare: as of rigs.draw_setting.
    """
    return replace(draw_setting(seed, mains, bare=bare), us_per_ms=1000, room_c=ROOM_C, tight=False)


class BoardPlay(Play):
    """One case on a board, which is too dear to be watched for long while nothing happens."""

    def _follow(self, seconds: float) -> None:
        """After the verdict: the board for long enough to open the contactor, then the stack alone."""
        super()._follow(min(seconds, AFTER_S))
        rig = cast("BoardRig", self.rig)
        share = rig.bench.powered()
        for _ in range(int(seconds - AFTER_S)):
            rig.plant.advance(1.0, share)
        rig.look()


def board_payload(rig: Mapping[str, Any], kind: Interpreter) -> dict[str, bytes]:
    """Path on the board and content of every file it carries.

    rig: checked values of a rig file. kind: CPython, standing in for the board, gets the sources.
    """
    module, _, name = PAYLOAD.partition(":")
    found: dict[str, bytes] = getattr(importlib.import_module(module), name)(
        rig, source=kind != "micropython"
    )
    return found


def fresh_flash(setting: Setting, folder: Path, more: Mapping[str, bytes] | None = None) -> Path:
    """A flash with the files of this rig on it and nothing else.

    setting: the drawn rig. folder: keeps one such flash for every kind of rig, and the one in use. more:
    files beside them.
    """
    blank = folder / f"blank_{setting.bare:d}{setting.feedback:d}{more is not None:d}"
    if not blank.is_dir():
        kind = choose()
        install_files(blank, {**board_payload(rig_mapping(setting), kind), **(more or {})}, kind)
    own = folder / "own"
    shutil.rmtree(own, ignore_errors=True)
    shutil.copytree(blank, own)
    return own


def play_on_board(case: Case, folder: Path, say: Callable[[str], None] | None = None) -> Outcome:
    """Play one case; folder: room for flashes; say: takes a line for everything the board told.

    A board that never comes into the case's phase is an outcome too: nothing named, with a note why. Where
    the board's interpreter is missing another one stands in for it, and the outcome says so.
    """
    setting = board_setting(case.seed, case.mains, bare=case.bare)
    plant, profile = plant_for(case.phase, setting), profile_for(case.phase, setting)
    fault = board_fault(case)
    on_flash = fault.kind == "flash"
    image = fresh_flash(setting, folder, lived_in() if on_flash else None)
    rig = BoardRig(setting, plant, image, profile, FLASH_HEAP if on_flash else "")
    real = rig.loop.kind == "micropython"
    if on_flash:
        bring(rig)
    try:
        refusals = reach(rig, case.phase, Random(f"board {case.name}"))  # noqa: S311 - a moment, no secret
        if on_flash:
            outcome = FlashPlay(case, rig, fault).run()
        else:
            outcome = BoardPlay(case, cast("CoreRig", rig), fault).run()
        own = [text for text in rig.crashes if INJECTED not in text]
        figures = {**outcome.figures, "refused_before": float(refusals)}
        return replace(outcome, board=real, note="; ".join(own), figures=figures)
    except RigError as error:
        return Outcome(case, board=real, note=str(error))
    finally:
        rig.close()
        if say is not None:
            for at_us, *entry in rig.told:
                say(f"{at_us / SECOND_US:8.1f} s -- {' '.join(map(str, entry))}")


def run_board_faults(cases: Sequence[Case], *, workers: int, executor: Executor = processes) -> list[Outcome]:
    """Play every case through the real interpreter, outcomes in the order of the cases.

    workers: processes, 1 for this one alone. executor: as of spread.py.
    """
    # Cases with the same stack lie side by side, so that it is warmed only once.
    order = sorted(
        range(len(cases)),
        key=lambda at: (cases[at].seed, cases[at].mains, cases[at].bare, cases[at].phase),
    )
    parts = [order[at : at + AT_ONCE] for at in range(0, len(order), AT_ONCE)]
    tasks = [[(place, cases[place]) for place in part] for part in parts]
    found = {place: outcome for part in executor(_play_some, tasks, workers) for place, outcome in part}
    return [found[place] for place in range(len(cases))]


def _play_some(cases: Sequence[tuple[int, Case]]) -> list[tuple[int, Outcome]]:
    with tempfile.TemporaryDirectory(prefix="ribwright_boards_") as folder:
        return [(place, play_on_board(case, Path(folder))) for place, case in cases]
