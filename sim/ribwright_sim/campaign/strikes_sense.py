"""What faults of thermocouples, wires, plugs and converters do to a rig; see strikes.py.

rig, zone, draw: as in strike.py. A pair of numbers is the least and the most of what is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from .core_rig import CoreRig
from .meter import SECOND_US
from .strike import Strike


def chip(state: str) -> Strike:
    """A converter or its wire is in a state of chips.Max31855; state: its name, one of its STATES."""

    def strike(rig: CoreRig, zone: int, _draw: Random) -> None:
        rig.converters[zone].chip.state = state

    return strike


def wire(gain: tuple[float, float], offset_k: tuple[float, float] = (0.0, 0.0)) -> Strike:
    """The wire passes on only a part of the junction's voltage, or adds to it.

    gain: what it passes on, 1 for all of it. offset_k: what it adds [K]; both as of signals.Wire.
    """

    def strike(rig: CoreRig, zone: int, draw: Random) -> None:
        found = rig.converters[zone].wire
        found.gain = draw.uniform(*gain)
        found.offset_k = draw.uniform(*offset_k)

    return strike


def cold_off(rig: CoreRig, zone: int, draw: Random) -> None:
    """A chip's own temperature sensor is wrong by 12 to 25 K either way."""
    rig.converters[zone].cold_offset_k = draw.uniform(12.0, 25.0) * draw.choice((-1.0, 1.0))


def noise(spread_k: tuple[float, float]) -> Strike:
    """Hum and sparks on the thermocouple's wire; spread_k: standard deviation of a disturbed reading [K]."""

    def strike(rig: CoreRig, zone: int, draw: Random) -> None:
        found = rig.converters[zone].chip
        found.burst_k = draw.uniform(*spread_k)
        found.state = "noisy"

    return strike


def select_low(rig: CoreRig, zone: int, _draw: Random) -> None:
    """A chip's select line is stuck: two chips answer."""
    rig.select_low = zone


def detach(rig: CoreRig, zone: int, _draw: Random) -> None:
    """The thermocouple has slipped out and hangs beside the stack."""
    rig.plant.detach(zone)


@dataclass
class Replug:
    """Plugs that are pulled now and put back wrongly: open circuits first, then what was done."""

    at_us: int
    zones: tuple[int, ...]
    state: str

    def __call__(self, rig: CoreRig) -> None:
        """Put them back when it is time."""
        if rig.now_us >= self.at_us:
            put_in(rig, self.zones, self.state)
            rig.drivers.remove(self)


def put_in(rig: CoreRig, zones: tuple[int, ...], state: str) -> None:
    """Plugs are in; state: "reversed", "double_reversed" or "swapped". zones: whose, two for "swapped"."""
    for zone in zones:
        rig.converters[zone].wire.open = False
        rig.converters[zone].chip.state = "good" if state == "swapped" else state
    if state == "swapped":
        one, other = zones
        rig.plug[one], rig.plug[other] = rig.plug[other], rig.plug[one]


def replug_off(state: str) -> Strike:
    """Plugs put in wrongly while the rig was switched off; state: as of put_in()."""

    def strike(rig: CoreRig, zone: int, _draw: Random) -> None:
        put_in(rig, tuple(range(rig.zones)) if state == "swapped" else (zone,), state)
        rig.reset()

    return strike


def replug(state: str) -> Strike:
    """Plugs pulled, and put in wrongly some seconds later; state: as of put_in()."""

    def strike(rig: CoreRig, zone: int, draw: Random) -> None:
        zones = tuple(range(rig.zones)) if state == "swapped" else (zone,)
        for each in zones:
            rig.converters[each].wire.open = True
        rig.drivers.append(Replug(rig.now_us + int(draw.uniform(3.0, 8.0) * SECOND_US), zones, state))

    return strike
