"""The state of a sheet: one flat array, views of it by name, and its heat content."""

from __future__ import annotations

import numpy as np

from .sheet_draw import Drawn
from .sheet_parts import (
    BOOKS,
    CLOCK,
    COLUMNS,
    DOINGS,
    DRAUGHT,
    FACTOR,
    FIRST_J,
    FROM_BLANKET,
    FROM_NEXT,
    JUNCTIONS,
    LAG_S,
    READING_C,
    ROWS,
    WATER_J_KG_K,
    WOOD,
    WOOD_FIRST,
    ZONES,
    number_parts,
    state_parts,
)


class State:
    """What changes in a sheet; cheap to copy, and the numbers are shared.

    Attributes:
        drawn: what never changes.
    """

    def __init__(self, drawn: Drawn, start_c: float) -> None:
        """Args: what was drawn, temperature of all but the form at the start [C]."""
        self.drawn = drawn
        plan = drawn.plan
        over_columns = 5 * plan[ROWS] + plan[WOOD] + DOINGS + BOOKS
        self._w = np.zeros(int(over_columns * plan[COLUMNS] + JUNCTIONS * plan[ZONES] + CLOCK))
        self._bind()
        self._t[:] = start_c
        # The form is heavy: a stack that starts hot lies in it for the first time.
        self._t[: max(0, drawn.slat)] = drawn.ambient_c
        self._water[:] = drawn.water_kg_m2
        self._doings[FACTOR] = 1.0
        self._clock[DRAUGHT] = 1.0
        self._ends[READING_C] = start_c
        for zone in range(int(plan[ZONES])):
            self._fasten(zone)
        self._clock[FIRST_J] = self._content_j()

    def _bind(self) -> None:
        """Name the parts of the flat array."""
        s = state_parts(self._w, self.drawn.plan)
        self._t, self._water, self._doings, self._book, self._ends, self._clock = s[0], s[1], *s[6:]

    def _fasten(self, zone: int) -> None:
        """A junction where it belongs."""
        one = self.drawn.junctions[zone]
        self._ends[LAG_S, zone] = one.lag_s
        self._ends[FROM_BLANKET, zone] = one.face_share
        self._ends[FROM_NEXT, zone] = 1.0 - one.face_share

    def _content_j(self) -> float:
        """Heat content over 0 C."""
        p, plan = number_parts(self.drawn.numbers, self.drawn.plan), self.drawn.plan
        first = int(plan[WOOD_FIRST])
        wood = self._t[first : first + int(plan[WOOD])]
        per_m2 = (p[0] * self._t).sum(axis=0) + (WATER_J_KG_K * self._water * wood).sum(axis=0)
        return float((per_m2 * p[7][0]).sum())

    def __getstate__(self) -> dict[str, object]:
        return {name: value for name, value in self.__dict__.items() if name not in _VIEWS} | {
            "_w": self._w.copy()
        }

    def __setstate__(self, state: dict[str, object]) -> None:
        self.__dict__.update(state)
        self._bind()


_VIEWS = frozenset(("_t", "_water", "_doings", "_book", "_ends", "_clock"))
