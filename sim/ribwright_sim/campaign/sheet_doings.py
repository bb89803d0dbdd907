"""What people and weather do to a sheet in ordinary use, and a thermocouple that comes loose.

Each acts on the columns a zone answers for.  Sizes are of the sheet's own seed, see sheet_draw.py.  zone: by
its place in the rig's order.  Raises StackError for a factor outside 0 to 100, both excluded.
"""

from __future__ import annotations

from ribwright_sim.materials import StackError

from .sheet_laws import lapse
from .sheet_parts import (
    DRAUGHT,
    FACTOR,
    FOIL_S,
    FROM_BLANKET,
    FROM_NEXT,
    HAND_S,
    I64,
    LAG_S,
    MOVED_J,
    PRESS_TO,
    RAMP,
    UNTIL,
    WATER_J_KG_K,
    WOOD,
    WOOD_FIRST,
    number_parts,
)
from .sheet_state import State


class Doings(State):
    """A state that people do things to."""

    def press(self, zone: int, *, cold_wet: bool = False) -> None:
        """The strip meets the cold form; with `cold_wet` it is another strip, colder and dripping."""
        own = self._own(zone)
        self._doings[PRESS_TO, own] = 1.0
        plan, drawn = self.drawn.plan, self.drawn
        first, cells = int(plan[WOOD_FIRST]), int(plan[WOOD])
        if not cold_wet or not cells:
            return
        before_j = self._content_j()
        # The inner slat comes with the strip.
        colder = self._t[first - 1 : first + cells, own]
        self._t[first - 1 : first + cells, own] = colder - drawn.cold_share * (colder - drawn.ambient_c)
        self._water[:, own] = drawn.water_kg_m2[:, own]
        self._water[0, own] += drawn.soaked_kg_m2
        self._water[-1, own] += drawn.soaked_kg_m2
        self._clock[MOVED_J] += self._content_j() - before_j

    def lift(self, zone: int) -> None:
        """The strip leaves the form."""
        self._doings[PRESS_TO, self._own(zone)] = 0.0

    def open_foil(self, zone: int, seconds: float) -> None:
        """The foil lies open for `seconds` [s]: air reaches blanket and wood, they hardly touch."""
        self._doings[FOIL_S, self._own(zone)] = seconds

    def hand(self, zone: int, seconds: float) -> None:
        """A gloved hand lies on the outside for `seconds` [s]."""
        self._own(zone)
        self._doings[HAND_S, self.drawn.hands[zone]] = seconds

    def spray(self, zone: int, kg: float) -> None:
        """Water at the room's temperature [kg] comes to the wood's outer face, or over a bare blanket."""
        own = self._own(zone)
        more = kg / float(self.drawn.area.area_m2[own].sum())
        before_j = self._content_j()
        p, plan = number_parts(self.drawn.numbers, self.drawn.plan), self.drawn.plan
        if plan[WOOD]:
            row = int(plan[WOOD_FIRST] + plan[WOOD]) - 1
            held = p[0][row, own] + WATER_J_KG_K * self._water[-1, own]
            self._water[-1, own] += more
        else:
            row = self.drawn.blankets[zone]
            held = p[0][row, own]
        share = WATER_J_KG_K * more / (held + WATER_J_KG_K * more)
        self._t[row, own] += share * (self.drawn.ambient_c - self._t[row, own])
        self._clock[MOVED_J] += self._content_j() - before_j

    def contact(self, zone: int, factor: float) -> None:
        """Every contact conductance times `factor` from now on (1: as drawn)."""
        self._doings[FACTOR, self._own(zone)] = self._positive("factor", factor)

    def draught(self, factor: float) -> None:
        """Losses of faces and rim times `factor` from now on (1: as drawn)."""
        self._settle()
        self._clock[DRAUGHT] = self._positive("factor", factor)

    def detach(self, zone: int) -> None:
        """The zone's thermocouple comes loose and hangs in the air near the stack."""
        one = self.drawn.junctions[zone]
        self._ends[LAG_S, zone] = one.hanging_lag_s
        self._ends[FROM_BLANKET, zone] = 0.0
        self._ends[FROM_NEXT, zone] = one.hanging_share

    def attach(self, zone: int) -> None:
        """It is back in its place."""
        self._fasten(zone)

    def _own(self, zone: int) -> I64:
        """Columns of a zone, for something that happens to them now."""
        self._settle()
        return self.drawn.area.own[zone]

    def _settle(self) -> None:
        """Let what was going on run up to now, and have everything looked at anew in the next step."""
        ramp_s = float(number_parts(self.drawn.numbers, self.drawn.plan)[9][RAMP])
        lapse(self._doings, self._clock, ramp_s)
        self._clock[UNTIL] = 0.0

    def _positive(self, where: str, value: float) -> float:
        if not 0.0 < value < 100.0:
            raise StackError("range", where, value, "must be above 0 and below 100", "", "1 is as drawn")
        return value
