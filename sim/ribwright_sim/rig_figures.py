"""What a virtual rig measured of itself: time by the cost table, worst tick, lives, link traffic."""

from __future__ import annotations

import json
import time
from dataclasses import dataclass, field
from pathlib import Path

from .costs import OPERATIONS
from .lockstep import COUNTS, SLEEP, Frame
from .rig_physics import SECOND_US, Physics
from .rig_scenario import Scenario
from .serial_link import Cable

WRITE_EVERY_US = 30 * SECOND_US


@dataclass
class Figures:
    """Counts over the whole life of a rig; costs_us are the charges in us, in the order of OPERATIONS.

    physics, link: of the same rig, for its time, relays and energy, and for what went over the cable.
    """

    scenario: Scenario
    costs_us: tuple[int, ...]
    interpreter: str = ""
    heap_free_bytes: int = 0
    exchanges: int = 0
    lives: int = 0
    resets: int = 0
    crashes: int = 0
    # Of this life as its last frame had them: unpacked when somebody asks, since every frame brings them.
    _packed: bytes = bytes(COUNTS.size)
    _earlier: list[int] = field(default_factory=lambda: [0] * len(OPERATIONS))
    _worst_us: int = 0
    _worst_at_us: int = 0
    _setup_us: int = 0
    _in_setup: bool = True
    _started_s: float = field(default_factory=time.monotonic)
    _written_us: int = 0

    def begin_life(self) -> None:
        """Count a start of the board; its counters begin at zero again."""
        self.lives += 1
        self._earlier, self._packed = self._counts, bytes(COUNTS.size)
        self._in_setup = True

    @property
    def _counts(self) -> list[int]:
        return [a + b for a, b in zip(self._earlier, COUNTS.unpack(self._packed), strict=True)]

    def count(self, frame: Frame, now_us: int) -> None:
        """Take the charges of a frame at now_us; the first waking of a life is its setup and no tick."""
        self._packed = frame.counts
        if frame.kind != SLEEP:
            return
        if self._in_setup:
            self._in_setup = False
            self._setup_us = max(self._setup_us, frame.busy_us)
        elif frame.busy_us > self._worst_us:
            self._worst_us, self._worst_at_us = frame.busy_us, now_us

    def counted(self, operation: str) -> int:
        """Return how often an operation of the cost table was charged in all lives."""
        return self._counts[OPERATIONS.index(operation)]

    def summary(self, physics: Physics, link: Cable) -> dict[str, object]:
        """Return everything as one mapping of plain figures."""
        charged = {
            name: round(count * cost / 1000, 3)
            for name, count, cost in zip(OPERATIONS, self._counts, self.costs_us, strict=True)
        }
        return {
            "interpreter": self.interpreter,
            "seed": self.scenario.seed,
            "costs": self.scenario.costs,
            "simulated_s": round(physics.now_us / SECOND_US, 3),
            "wall_s": round(time.monotonic() - self._started_s, 3),
            "exchanges": self.exchanges,
            "tick_board_ms": self._worst_us / 1000,
            "tick_board_at_s": round(self._worst_at_us / SECOND_US, 3),
            "setup_board_ms": self._setup_us / 1000,
            "charges": dict(zip(OPERATIONS, self._counts, strict=True)),
            "charged_ms": charged,
            "relay_on_s": [round(us / SECOND_US, 3) for us in physics.on_us],
            "resets": self.resets,
            "crashes": self.crashes,
            "refused_computers": link.refused,
            "link_bytes_in": link.bytes_in,
            "link_bytes_out": link.bytes_out,
            "heap_free_at_start_bytes": self.heap_free_bytes,
            "energy_residual": float(physics.plant.energy().residual_fraction),
        }

    def write(self, physics: Physics, link: Cable, *, last: bool = False) -> None:
        """Write the summary file every 30 virtual seconds and at the end; a reader never sees half of one.

        last: this is the end.
        """
        path = self.scenario.summary_json
        if path is None or not (last or physics.now_us - self._written_us >= WRITE_EVERY_US):
            return
        self._written_us = physics.now_us
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh = Path(f"{path}.new")
        fresh.write_text(json.dumps(self.summary(physics, link), indent=1) + "\n", encoding="utf-8")
        fresh.replace(path)
