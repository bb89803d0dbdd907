"""What faults of board, software, load and people do to a rig; see strikes.py.

rig, zone, draw: as in strike.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from .core_rig import CoreRig, draw_plant
from .meter import SECOND_US
from .rigs import Setting
from .strike import Strike

# A proof takes half a minute, and the maker some seconds to press start.
PROOF_S = 90


def hang(rig: CoreRig, _zone: int, _draw: Random) -> None:
    """The loop stops for good; pins stay as they are."""
    rig.hung = True


def stall(seconds: tuple[float, float]) -> Strike:
    """One step of the loop takes far too long; seconds: the least and the most it is drawn from."""

    def strike(rig: CoreRig, _zone: int, draw: Random) -> None:
        rig.stall_us = int(draw.uniform(*seconds) * SECOND_US)

    return strike


@dataclass
class SlowLoop:
    """Every tick comes late by the same time [us]."""

    late_us: int
    _done: bool = False

    def __call__(self, rig: CoreRig) -> None:
        """Stand still once before each tick."""
        self._done = not self._done
        if self._done and rig.stall_us == 0:
            rig.stall_us = self.late_us


def slow_loop(rig: CoreRig, _zone: int, draw: Random) -> None:
    """Something blocks the loop between 0.65 and 1.5 s, again and again."""
    rig.drivers.append(SlowLoop(int(draw.uniform(0.65, 1.5) * SECOND_US)))


def brown_out(rig: CoreRig, _zone: int, _draw: Random) -> None:
    """The board's supply dips: one reset."""
    rig.reset()


def mains_cut(rig: CoreRig, _zone: int, draw: Random) -> None:
    """Mains, and with it board and coil, are gone for some seconds."""
    rig.bench.lose_supply(rig.now_us)
    span_us = int(draw.uniform(1.0, 20.0) * SECOND_US)
    rig.mains_lost_us = rig.now_us + span_us
    rig.flow(span_us)
    rig.reset()


@dataclass
class SecondReset:
    """A second reset, some time after the first."""

    at_us: int

    def __call__(self, rig: CoreRig) -> None:
        """When it is time."""
        if rig.now_us >= self.at_us:
            rig.drivers.remove(self)
            rig.reset()


def reset_loop(rig: CoreRig, _zone: int, draw: Random) -> None:
    """The board is reset, and soon again."""
    rig.reset()
    rig.drivers.append(SecondReset(rig.now_us + int(draw.uniform(1.0, 40.0) * SECOND_US)))


def corrupt(what: str) -> Strike:
    """A limit, target or current in the board's memory changes by itself; what: "ceiling", "target", "branch"
    or "gain".
    """

    def strike(rig: CoreRig, zone: int, draw: Random) -> None:
        board = rig.controller.rig
        if what == "ceiling":
            board.zones[zone].ceiling_c += draw.uniform(20.0, 200.0)
        elif what == "target":
            stage = draw.choice(list(rig.profile.stages))
            more_k = draw.uniform(5.0, 60.0)
            if stage.target_c is None:
                # A cool stage has only an end.
                stage.below_c = (stage.below_c or 0.0) + more_k
            else:
                stage.target_c += more_k
        elif what == "branch":
            board.branch_limit_a *= draw.uniform(1.5, 3.0)
        else:
            board.zones[zone].gains["c_gain"] *= draw.choice((0.1, 10.0))

    return strike


def shown_responses(setting: Setting) -> list[float]:
    """Rise per second of full power that a rig shows in its proof with its load, at rated mains [K/s].

    setting: the drawn rig, whose mains are taken as 1. A proof that is refused shows nothing better than what
    its parts let expect.
    """
    rig = CoreRig(replace(setting, mains=1.0))
    rig.lay_out()
    end_us = rig.now_us + PROOF_S * SECOND_US
    while rig.now_us < end_us and rig.controller.mode != "running":
        rig.tick()
    expects = rig.controller.jury.expects
    return [expect.probe_k_per_s * ratio for expect, ratio in zip(expects, rig.proved_ratios(), strict=True)]


def unloaded(rig: CoreRig, _zone: int, _draw: Random) -> None:
    """The rig was put away; switched on again, its blankets lie bare and cold, which nobody declared. What it
    shows with its load is known: it was proved with one before.
    """
    for zone, response_k_per_s in enumerate(shown_responses(rig.setting)):
        rig.rig.zones[zone].response_k_per_s = response_k_per_s
    rig.reset()
    rig.plant = draw_plant(rig.setting, bare=True)


def air_gap(rig: CoreRig, zone: int, draw: Random) -> None:
    """A fold or a gap: heat finds its way out of the blanket three times as hard."""
    rig.plant.contact(zone, draw.uniform(0.3, 0.5))


def nothing(rig: CoreRig, zone: int, draw: Random) -> None:
    """Nothing strikes; time passes."""


def gone(rig: CoreRig, _zone: int, _draw: Random) -> None:
    """The maker walks away."""
    rig.hands.present = False
    rig.hands.starts = False
    rig.hands.plan = []
