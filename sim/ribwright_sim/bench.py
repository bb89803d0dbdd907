"""What hangs on the board's pins: alive detector, master contactor, relays. Power flows only through all of
them.

Alive detector (project design): one edge per completed tick, gaps of 60 to 600 ms are accepted, it drops 720
ms after the last accepted edge; the contactor follows within 100 ms. Times are integer microseconds of the
simulation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

GAP_LEAST_US = 60_000
GAP_MOST_US = 600_000
DROP_US = 720_000
EDGES_TO_START = 3
CONTACTOR_US = 100_000


@dataclass
class AliveDetector:
    """Window detector of the alternating alive signal; a pin that sticks or races counts as dead."""

    on: bool = False
    _last_edge_us: int | None = None
    _last_good_us: int = 0
    _good_edges: int = 0

    def edge(self, now_us: int) -> None:
        """Take one edge of the alive pin at now_us."""
        gap_us = None if self._last_edge_us is None else now_us - self._last_edge_us
        self._last_edge_us = now_us
        if gap_us is None or not GAP_LEAST_US <= gap_us <= GAP_MOST_US:
            self._good_edges = 0
            return
        self._good_edges += 1
        if self.on or self._good_edges >= EDGES_TO_START:
            self.on = True
            self._last_good_us = now_us

    @property
    def drop_us(self) -> int | None:
        """Return when the detector lets go if no further good edge comes; None while it is off."""
        return self._last_good_us + DROP_US if self.on else None

    def drop(self) -> None:
        """Let go, as the time has come."""
        self.on = False
        self._good_edges = 0


@dataclass
class Bench:
    """Relays behind a contactor behind the alive detector.

    relay_pins: pin of each zone's relay, in order of the zones; alive_pin: the pin the detector listens to.
    stuck: a relay that is welded ("on") or dead ("off") whatever its pin says; None follows the pin.
    """

    relay_pins: Sequence[int]
    alive_pin: int
    detector: AliveDetector = field(default_factory=AliveDetector)
    contactor: bool = False

    def __post_init__(self) -> None:
        """Start with everything off."""
        self.levels = [False] * len(self.relay_pins)
        self.stuck: list[str | None] = [None] * len(self.relay_pins)
        self._alive_level = 0
        self._contactor_due_us: int | None = None

    def set_pin(self, pin: int, level: int, now_us: int) -> None:
        """Take an output level of the board at now_us."""
        if pin == self.alive_pin:
            if level != self._alive_level:
                self._alive_level = level
                was_on = self.detector.on
                self.detector.edge(now_us)
                if self.detector.on and not was_on:
                    self._contactor_due_us = now_us + CONTACTOR_US
        elif pin in self.relay_pins:
            self.levels[self.relay_pins.index(pin)] = bool(level)

    def release(self, now_us: int) -> None:
        """Let every pin float as in a reset: pull-downs make it low, and the alive line falls."""
        for pin in self.relay_pins:
            self.set_pin(pin, 0, now_us)
        self.set_pin(self.alive_pin, 0, now_us)

    def next_us(self) -> int | None:
        """Return when something changes by itself next, or None."""
        due = [t for t in (self.detector.drop_us, self._contactor_due_us) if t is not None]
        return min(due) if due else None

    def settle(self, now_us: int) -> None:
        """Carry out what is due by now_us."""
        drop_us = self.detector.drop_us
        if drop_us is not None and now_us >= drop_us:
            self.detector.drop()
            self._contactor_due_us = now_us + CONTACTOR_US
        if self._contactor_due_us is not None and now_us >= self._contactor_due_us:
            self.contactor = self.detector.on
            self._contactor_due_us = None

    def powered(self) -> tuple[bool, ...]:
        """Return which blankets carry current: relay closed and contactor closed."""
        if not self.contactor:
            return (False,) * len(self.levels)
        return tuple(
            level if stuck is None else stuck == "on"
            for level, stuck in zip(self.levels, self.stuck, strict=True)
        )
