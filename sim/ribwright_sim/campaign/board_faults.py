"""Which faults are played on boards: the campaign's list, with what only a real interpreter can suffer.

rig, zone: as in strike.py; a BoardRig always.
"""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING, cast

from . import acts, strikes
from .core_rig import CoreRig
from .faults import FAULTS, UNDER_WAY, Fault
from .faults_flash import flash_faults
from .outcome import Case
from .rigs import draw_setting
from .series import MAINS, ZONES

if TYPE_CHECKING:
    from .board_rig import BoardRig

RIGS = 12


def exception(rig: CoreRig, _zone: int, _draw: Random) -> None:
    """Something in the loop raises what nobody expects."""
    cast("BoardRig", rig).loop.order_board("fail()")


def inverted(rig: CoreRig, zone: int, _draw: Random) -> None:
    """A wrong polarity: this zone's relay is on while its pin says off."""
    rig.bench.inverted[zone] = True
    rig.bench.settle(rig.now_us)


BOARD_ONLY = {
    "C2": Fault(
        "C2",
        "",
        "an exception in the loop",
        "stalled",
        ("interrupted",),
        exception,
        acts.at_once,
        each_zone=False,
        phases=UNDER_WAY,
    ),
    **{fault.key: fault for fault in flash_faults()},
}
# Here the bench itself turns a pin's level over.
OTHERWISE: dict[strikes.Strike, strikes.Strike] = {strikes.inverted: inverted}


def board_fault(case: Case) -> Fault:
    """The fault of a case, as it strikes a board."""
    key = f"{case.fault}.{case.variant}" if case.variant else case.fault
    fault = BOARD_ONLY.get(key) or FAULTS[key]
    return replace(fault, strike=OTHERWISE.get(fault.strike, fault.strike))


def board_cases(count: int, seed: int) -> list[Case]:
    """Cases for boards: every fault in every phase once, and again with other rigs, until there are enough.

    Faults that show only after many minutes are left to the faster rigs of the core. Of a few cases a third
    strike the flash, which the core does not have.

    Args:
        count: how many.
        seed: of all that is drawn.
    """
    draw = Random(f"boards {seed}")  # noqa: S311 - a choice of cases, no secret
    places = [
        (fault, phase)
        for fault in (*FAULTS.values(), *BOARD_ONLY.values())
        if not fault.long
        for phase in fault.phases
    ]
    cases: list[Case] = []
    while len(cases) < count:
        draw.shuffle(places)
        if count < len(places):
            flash = [place for place in places if place[0].kind == "flash"][: count // 3]
            places = flash + [place for place in places if place not in flash]
        cases += [_case(fault, phase, draw, seed) for fault, phase in places[: count - len(cases)]]
    return cases


def _rigs() -> list[tuple[int, float, bool]]:
    """Number, mains and whether it is bare, of every drawn rig."""
    return [(number, MAINS[number % len(MAINS)], number // len(MAINS) % 2 == 1) for number in range(RIGS)]


def _case(fault: Fault, phase: str, draw: Random, seed: int) -> Case:
    number, mains, bare = draw.choice([rig for rig in _rigs() if not (fault.loaded_only and rig[2])])
    number += seed * RIGS
    return Case(
        fault.id,
        phase,
        fault.accepted(feedback=draw_setting(number, mains, bare=bare).feedback),
        fault.form,
        draw.randrange(ZONES) if fault.each_zone else -1,
        number,
        mains,
        bare,
    )
