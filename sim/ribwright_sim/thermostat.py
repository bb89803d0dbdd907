"""What heats the blankets of a rig that only watches: an on/off controller that no board knows of."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

DEAD_K = 3.0
SET_C = (0.0, 230.0)


@dataclass
class Thermostat:
    """On below what is set, off above it, for each blanket.

    set_c: per zone what is set, C; None is off. dead_k: as much below and above, K.
    """

    set_c: list[float | None]
    dead_k: float = DEAD_K
    _on: list[bool] = field(default_factory=list)

    @classmethod
    def from_mapping(cls, zones: int, values: Mapping[str, Any]) -> Thermostat:
        """One for so many zones; raises ValueError with the key, the value and what is allowed.

        values: set_c, a list with a number or null per zone, and dead_k, 0.5 to 20 K, if not 3.
        """
        for key in values:
            if key not in ("set_c", "dead_k"):
                raise ValueError(f"thermostat: {key!r} is unknown; known are set_c and dead_k")
        made = cls([None] * zones, float(values.get("dead_k", DEAD_K)))
        if not 0.5 <= made.dead_k <= 20.0:
            raise ValueError(f"thermostat: dead_k is {made.dead_k:g}, it must be from 0.5 to 20 K")
        made.dial(values.get("set_c"))
        return made

    def dial(self, set_c: object) -> None:
        """Set every zone anew; raises ValueError when that is no list of numbers and nulls for all of them.

        set_c: as from_mapping().
        """
        zones = len(self.set_c)
        least, most = SET_C
        good = isinstance(set_c, list) and len(set_c) == zones
        for value in set_c if good and isinstance(set_c, list) else ():
            number = isinstance(value, int | float) and not isinstance(value, bool)
            good = good and (value is None or (number and least <= value <= most))
        if not good or not isinstance(set_c, list):
            raise ValueError(
                f"thermostat: set_c is {set_c!r}, "
                f"it must be {zones} numbers from {least:g} to {most:g} C, or null"
            )
        self.set_c = list(set_c)

    def look(self, temps_c: Sequence[float]) -> list[bool]:
        """Whether each blanket heats from now on; temps_c: its own sensors, C."""
        self._on = self._on or [False] * len(temps_c)
        for zone, (wanted_c, now_c) in enumerate(zip(self.set_c, temps_c, strict=True)):
            dead_k = -self.dead_k if self._on[zone] else self.dead_k
            self._on[zone] = wanted_c is not None and now_c < wanted_c - dead_k
        return list(self._on)
