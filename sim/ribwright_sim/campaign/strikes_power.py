"""What faults of switches, contactor, supply and blankets do to a rig; see strikes.py.

rig, zone, draw: as in strike.py. What is drawn from two bounds is as likely at every value between them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from .core_rig import CoreRig
from .mains_side import ALIVE_PIN, RELAY_PINS
from .meter import SECOND_US
from .strike import Strike


def _set_now(rig: CoreRig) -> None:
    rig.bench.settle(rig.now_us)


def relay(state: str) -> Strike:
    """A zone's switch is stuck; state: "on", "off" or "half", as bench.STUCK."""

    def strike(rig: CoreRig, zone: int, _draw: Random) -> None:
        rig.bench.stuck[zone] = state
        _set_now(rig)

    return strike


def relay_pin(level: int) -> Strike:
    """A zone's driver or pin is stuck; level: 0 or 1."""

    def strike(rig: CoreRig, zone: int, _draw: Random) -> None:
        rig.bench.pin_stuck[RELAY_PINS[zone]] = level
        _set_now(rig)

    return strike


@dataclass
class ShortsAtNextOn:
    """A switch that conducts for good from its next switching on."""

    zone: int

    def __call__(self, rig: CoreRig) -> None:
        """Look at the pin."""
        if rig.bench.commanded[self.zone]:
            rig.bench.stuck[self.zone] = "on"
            rig.drivers.remove(self)


def shorts_at_next_on(rig: CoreRig, zone: int, _draw: Random) -> None:
    """A hot or worn switch fails when it is used next."""
    rig.drivers.append(ShortsAtNextOn(zone))


@dataclass
class StaysOn:
    """A hot switch that lets go only some seconds after it was told to."""

    zone: int
    seconds: float
    _was_on: bool = False
    _free_us: int = 0

    def __call__(self, rig: CoreRig) -> None:
        """Look at the pin."""
        on = rig.bench.commanded[self.zone]
        if on:
            self._free_us = rig.now_us + int(self.seconds * SECOND_US)
        self._was_on = self._was_on or on
        held = self._was_on and rig.now_us < self._free_us
        rig.bench.stuck[self.zone] = "on" if held else None


def stays_on(rig: CoreRig, zone: int, draw: Random) -> None:
    """A switch too hot to block: it conducts on for 15 s to two minutes after each command."""
    rig.drivers.append(StaysOn(zone, draw.uniform(15.0, 120.0)))


@dataclass
class Flicker:
    """Blankets that lose part of their power and get it back, again and again.

    zones: whose blankets, all at once. seed: of the times. low, off_s, on_s: as of flicker().
    """

    zones: tuple[int, ...]
    seed: int
    low: float
    off_s: tuple[float, float]
    on_s: tuple[float, float]
    _next_us: int = 0
    _low_now: bool = False
    _random: Random = field(default_factory=Random)

    def __post_init__(self) -> None:
        """Seed the times."""
        self._random = Random(f"flicker {self.seed}")  # noqa: S311 - a loose wire, no secret

    def __call__(self, rig: CoreRig) -> None:
        """Change over when it is time."""
        if rig.now_us < self._next_us:
            return
        self._low_now = not self._low_now
        span_s = self.off_s if self._low_now else self.on_s
        self._next_us = rig.now_us + int(self._random.uniform(*span_s) * SECOND_US)
        for zone in self.zones:
            rig.plant.power_factor[zone] = self.low if self._low_now else 1.0


def flicker(low: float, off_s: tuple[float, float], on_s: tuple[float, float], *, rig_wide: bool) -> Strike:
    """Power that comes and goes, in one blanket or in the supply of all.

    low: share of its power that a blanket keeps while it is gone, 0 to 1. off_s, on_s: shortest and longest
    time with so little, and with all of it. rig_wide: all blankets lose it together.
    """

    def strike(rig: CoreRig, zone: int, draw: Random) -> None:
        zones = tuple(range(rig.zones)) if rig_wide else (zone,)
        rig.drivers.append(Flicker(zones, draw.randrange(2**30), low, off_s, on_s))

    return strike


def contactor(state: str) -> Strike:
    """The master contactor is stuck; state: "closed" or "open"."""

    def strike(rig: CoreRig, _zone: int, _draw: Random) -> None:
        # A weld shows itself only in a contact that was closed; it is struck as found.
        rig.bench.contactor_stuck = state
        _set_now(rig)

    return strike


def alive_pin(level: int) -> Strike:
    """The alive line is stuck; level: 0 or 1."""

    def strike(rig: CoreRig, _zone: int, _draw: Random) -> None:
        rig.bench.pin_stuck[ALIVE_PIN] = level
        _set_now(rig)

    return strike


def racing_alive(rig: CoreRig, _zone: int, draw: Random) -> None:
    """The alive line toggles by itself, every 2 to 40 ms."""
    rig.bench.race_us = draw.randrange(2_000, 40_000)
    _set_now(rig)


def crossed_relays(rig: CoreRig, _zone: int, _draw: Random) -> None:
    """A wrong pin map: each relay switches the other's blanket."""
    rig.bench.crossed = tuple(reversed(range(rig.zones)))
    _set_now(rig)


def inverted(rig: CoreRig, zone: int, _draw: Random) -> None:
    """A wrong polarity: this zone's relay is on while its pin says off."""
    rig.bench.inverted[zone] = True
    _set_now(rig)


def power(factor: tuple[float, float]) -> Strike:
    """A blanket takes another power than its label says; factor: bounds of the one over the other."""

    def strike(rig: CoreRig, zone: int, draw: Random) -> None:
        rig.plant.power_factor[zone] = draw.uniform(*factor)

    return strike


def power_all(factor: tuple[float, float]) -> Strike:
    """Every blanket takes another power, e.g. on another mains voltage; factor: as power(), one for all."""

    def strike(rig: CoreRig, _zone: int, draw: Random) -> None:
        found = draw.uniform(*factor)
        for each in range(rig.zones):
            rig.plant.power_factor[each] = found

    return strike


def emergency_stop(rig: CoreRig, _zone: int, draw: Random) -> None:
    """The button in the coil's loop is pressed and released some seconds later."""
    rig.bench.estop = True
    _set_now(rig)
    rig.drivers.append(Release(rig.now_us + int(draw.uniform(1.0, 30.0) * SECOND_US)))


@dataclass
class Release:
    """The emergency stop is turned back."""

    at_us: int

    def __call__(self, rig: CoreRig) -> None:
        """When it is time."""
        if rig.now_us >= self.at_us:
            rig.bench.estop = False
            rig.bench.settle(rig.now_us)
            rig.drivers.remove(self)
