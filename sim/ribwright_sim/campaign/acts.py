"""Whether a fault has begun to act: to change a current or a reading. Until then it is latent, and nobody can
see it. Asked after every tick, with what had flowed when it struck.

rig: the struck rig, a CoreRig or its twin BoardRig. zone: the struck one, by its place in the rig's order; of
a fault of the rig 0, and -1 where it is asked as a Kind's `counts`. flowed_s: per blanket, seconds of full
power up to the strike, as rig.flowed_s was then.
"""

from __future__ import annotations

from collections.abc import Callable

from .core_rig import CoreRig
from .meter import SECOND_US

# acts(rig, zone, flowed_s at the strike)
Acts = Callable[[CoreRig, int, list[float]], bool]

# A reading this far from the junction is another one.
READING_K = 3.0
# Seconds of full power that a junction in its place would have shown.
SHOWN_S = 1.5
# Twice the dead time of a stack (from memory): heat that flows so
# long after the last command is taken back by no control.
UNCONTROLLED_US = 8 * SECOND_US
# A zone heated in pulses is heated all the time.
HEATED_US = 2 * SECOND_US
# The contactor has followed the alive line by now.
FOLLOWED_US = SECOND_US


def at_once(_rig: CoreRig, _zone: int, _flowed_s: list[float]) -> bool:
    """From the strike on."""
    return True


def loop_runs(rig: CoreRig, _zone: int, _flowed_s: list[float]) -> bool:
    """The loop runs again: while it stands still nothing of it can say so, and nothing heats."""
    return rig.stall_us == 0 and not rig.hung


def second_boot(rig: CoreRig, _zone: int, _flowed_s: list[float]) -> bool:
    """The second reset is over."""
    return rig.boots >= 2


def current(rig: CoreRig, _zone: int, _flowed_s: list[float]) -> bool:
    """The current is not what was commanded."""
    bench = rig.bench
    if not bench.contactor:
        return False
    wanted = [1.0 if on else 0.0 for on in rig.wanted]
    return list(bench.powered()) != wanted


def uncontrolled(rig: CoreRig, zone: int, _flowed_s: list[float]) -> bool:
    """Current flows in a zone that was told to be off long ago, as were its neighbours.

    Before, control takes the surplus back; and what a neighbour's blanket over it may do explains its rise.
    """
    if rig.bench.powered()[zone] == 0.0:
        return False
    return not any(rig.wanted) and rig.now_us - max(rig.bench.commanded_us) >= UNCONTROLLED_US


def reads_wrong(rig: CoreRig, zone: int, _flowed_s: list[float]) -> bool:
    """The converter shows another temperature than the junction that belongs to it has."""
    plant = rig.plant
    hot_c = plant.thermocouple_c(rig.plug[zone])
    wrong_k = rig.converters[zone].wrong_k(hot_c, plant.cold_junction_c(zone))
    return wrong_k + abs(hot_c - plant.thermocouple_c(zone)) > READING_K


def off_the_stack(rig: CoreRig, zone: int, flowed_s: list[float]) -> bool:
    """The junction is not where the heat is: it was hot there, or has been heated since."""
    return rig.flowed_s[zone] - flowed_s[zone] > SHOWN_S or rig.plant.cutoff_place_c(zone) > (
        rig.setting.room_c + 10.0
    )


def any_heat(rig: CoreRig, _zone: int, flowed_s: list[float]) -> bool:
    """Something has been heated since, so that a reading should have moved."""
    return sum(rig.flowed_s) > sum(flowed_s)


def own_heat(rig: CoreRig, zone: int, flowed_s: list[float]) -> bool:
    """Its zone's blanket has been heated since."""
    return rig.flowed_s[zone] > flowed_s[zone]


def commanded(rig: CoreRig, zone: int, _flowed_s: list[float]) -> bool:
    """Its zone is commanded on behind a closed contactor, so that a missing current is missed."""
    return rig.bench.contactor and rig.wanted[zone]


def commanded_any(rig: CoreRig, _zone: int, _flowed_s: list[float]) -> bool:
    """Some zone is commanded on while the contactor should be closed."""
    since_us = rig.alive_since_us
    given = since_us is not None and rig.now_us - since_us > FOLLOWED_US
    return given and (rig.rig.feedback or any(rig.wanted))


def heated(rig: CoreRig, zone: int, _flowed_s: list[float]) -> bool:
    """Its zone, or any where the fault is the rig's, is told to heat."""
    commanded_us = rig.bench.commanded_us
    last_us = max(commanded_us) if zone < 0 else commanded_us[zone]
    return rig.controller.mode in ("proving", "running") and rig.now_us - last_us <= HEATED_US


def closed_anyway(rig: CoreRig, _zone: int, _flowed_s: list[float]) -> bool:
    """The contactor is closed though nothing holds it, and feedback or a zone that is on shows it."""
    held = rig.now_us - rig.alive_us <= FOLLOWED_US
    return rig.bench.contactor and not held and (rig.rig.feedback or any(rig.bench.powered()))
