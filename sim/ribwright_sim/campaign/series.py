"""Which cases are played: every fault in every phase it can strike, on every kind of rig, from a seed."""

from __future__ import annotations

from dataclasses import dataclass

from .core_rig import CoreRig
from .faults import FAULTS, Fault
from .outcome import Case, Outcome
from .phases import WarmStates
from .play import Play, fault_of
from .rigs import draw_setting

MAINS = (0.9, 1.0, 1.1)
ZONES = 2


@dataclass(frozen=True)
class Series:
    """One warm rig and its share of the fault list.

    number: draws the rig. part, parts: of each fault the rig plays every parts-th phase and zone.
    """

    number: int
    mains: float
    bare: bool
    part: int = 0
    parts: int = 1


def share_of(series: Series, *, long: bool = False) -> list[tuple[Fault, str, int]]:
    """A series' share of the list: of each fault every parts-th entry, or one where it has no more.

    long: of the faults that take hours to show, else of the others. Gives fault, phase and zone, -1 for the
    rig itself.
    """
    found = []
    for number, fault in enumerate(FAULTS.values()):
        if fault.long != long or (fault.loaded_only and series.bare):
            continue
        own = [(fault, phase, zone) for phase in fault.phases for zone in fault.zones(ZONES)]
        step = min(series.parts, len(own))
        found += own[(series.part + number) % step :: step]
    return found


def cases_of(series: Series, *, long: bool = False) -> list[Case]:
    """The cases of a series; long: of the faults that take hours to show."""
    setting = draw_setting(series.number, series.mains, bare=series.bare)
    return [
        Case(
            fault=fault.id,
            variant=fault.form,
            phase=phase,
            zone=zone,
            expected=fault.accepted(feedback=setting.feedback),
            seed=series.number,
            mains=series.mains,
            bare=series.bare,
        )
        for fault, phase, zone in share_of(series, long=long)
    ]


def all_series(rigs: int, bare_rigs: int, parts: int, seed: int = 0) -> list[Series]:
    """Every mains voltage, `rigs` drawn rigs of each with a strip in and `bare_rigs` without, which share the
    list in `parts`.
    """
    found = []
    for number in range(max(rigs, bare_rigs)):
        for kind in range(2 * len(MAINS)):
            mains, bare = MAINS[kind % len(MAINS)], kind >= len(MAINS)
            if number >= (bare_rigs if bare else rigs):
                continue
            # Also with one rig of each kind the kinds take different parts of the list.
            part = (number + kind) % parts
            found.append(Series(seed * 1000 + number * 6 + kind, mains, bare, part, parts))
    return found


def state_for(warm: WarmStates, case: Case) -> bytes | None:
    """The warm state a case starts from, one of those of its phase; None where the run never got there."""
    copies = warm.by_phase.get(case.phase)
    if not copies:
        return None
    return copies[sum(case.name.encode()) % len(copies)]


def play_case(warm: WarmStates, case: Case) -> Outcome | None:
    """Play one case; warm: of its own rig. None where its phase was never reached."""
    state = state_for(warm, case)
    if state is None:
        return None
    return Play(case, CoreRig.from_snapshot(state), fault_of(case)).run()
