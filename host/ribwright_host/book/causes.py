"""Why a run was shut down or a start refused, in words, from its log."""

from pathlib import Path

from ribwright_board.core.errors import FAULTS, fault_name
from ribwright_host.errors import FileError
from ribwright_host.logbook import read_run
from ribwright_host.runlog import RunLog


def cause_in(run: RunLog) -> str | None:
    """Why a run was shut down or refused, with where and what to do; None for one that was not.

    run: as read.
    """
    told = [event for event in run.events if event.name in ("trip", "refused")]
    if not told:
        return None
    # The first shutdown is the cause, later ones follow from it; of starts the last one counts.
    event = next((event for event in told if event.name == "trip"), told[-1])
    name = fault_name(event.a)
    advice = str(FAULTS.get(name, (0, "see the notes of the firmware that wrote this log"))[1])
    where = run.zones[event.zone] if 0 <= event.zone < len(run.zones) else "the rig"
    return f"{name.replace('_', ' ')}, {where}: {advice}"


def known_cause(ending: str | None, file: Path | None) -> str | None:
    """The cause of a run that the book holds, from its file; None where it needs none or nothing tells.

    ending: as the book has it. file: the run's, None where it is gone.
    """
    if ending not in ("trip", "refused") or file is None:
        return None
    try:
        return cause_in(read_run(file))
    except FileError:
        return None
