"""Plants for the campaign: two-dimensional sheets drawn by a seed, with laws the guard was never tuned on.

Not the simulator's own field: another scheme (rows by columns, see sheet_kernel.py), other laws of drying,
contact and loss, junctions that lag 2 to 8 s behind the blanket.  Power goes with the square of the mains.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ribwright_sim.materials import StackError
from ribwright_sim.stack_file import ambient_of, check_conditions

from .sheet_doings import Doings
from .sheet_draw import STRUCTURES, Drawn, Structure, draw
from .sheet_fast import best_advance
from .sheet_parts import FIRST_J, HEATER_J, LOST_J, MOVED_J, READING_C, STEP_S, STEPS, VAPOUR_J
from .sheet_rows import BLANKET_CELLS

__all__ = ["STRUCTURES", "Heat", "Sheet", "Structure"]

# Below this a rest of time is rounding [s].
NO_TIME_S = 1e-9


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat balance since the start [J].

    heater: from the blankets. lost: to room, form's back and hands. vapour: with the water that left. moved:
    brought by a strip or water put in. stored: more than at the start.
    """

    heater_j: float
    lost_j: float
    vapour_j: float
    moved_j: float
    stored_j: float

    @property
    def residual_j(self) -> float:
        """What the scheme made or lost; rounding alone."""
        return self.heater_j + self.moved_j - self.lost_j - self.vapour_j - self.stored_j


class Sheet(Doings):
    """A rig's stack, or its blankets bare, as one sheet.  Build it with `draw`.

    Attributes:
        zones: names, in the rig's order.
        mains: volts over rated volts; may be set.
        power_factor: per zone, power of its blanket over what it should be; entries may be set.

    A method's `zone` is its place in `zones`.
    """

    def __init__(self, drawn: Drawn, zones: tuple[str, ...], *, mains: float, start_c: float) -> None:
        """Args: what was drawn, names of the zones, mains (volts over rated), start [C], the form apart."""
        super().__init__(drawn, start_c)
        self.zones = zones
        self.mains = mains
        self.power_factor = [1.0] * len(zones)
        self._drive = np.zeros(len(zones))
        self._pending_s = 0.0
        # Never written to, as copies share it.
        self._none = [0.0] * len(zones)
        self._pending = self._none

    @classmethod
    def draw(
        cls,
        rig: Mapping[str, object],
        piece: Mapping[str, object],
        *,
        seed: int,
        mains: float = 1.0,
        ambient_c: float | None = None,
        start_c: float | None = None,
        bare: bool = False,
    ) -> Sheet:
        """The sheet of a seed.

        Args:
            rig: mapping of a rig file.
            piece: a profile's [piece].
            seed: picks the structure and every number.
            mains: volts over rated volts.
            ambient_c: room [C]; absent, the rig's own.
            start_c: temperature of all but the form at the start [C]; absent, the room's.
            bare: blankets alone, apart from one another, both faces to the air.

        Raises StackError naming the place, the value and its limit.
        """
        room_c = ambient_of(rig) if ambient_c is None else ambient_c
        begin_c = room_c if start_c is None else start_c
        check_conditions(mains=mains, ambient_c=room_c, start_c=begin_c)
        drawn = draw(rig, piece, seed, bare=bare, ambient_c=room_c)
        return cls(drawn, drawn.zones, mains=mains, start_c=begin_c)

    @property
    def structure(self) -> Structure:
        """Laws of this sheet."""
        return self.drawn.structure

    @property
    def time_s(self) -> float:
        """Simulated time since the start [s]."""
        return float(self._clock[STEPS]) * STEP_S + self._pending_s

    def advance(self, dt_s: float, share: Sequence[float]) -> None:
        """Move on by `dt_s` [s] with `share` (0-1) of its power flowing in each blanket.

        The sheet moves on a grid of 0.1 s with the mean power of each interval: how time is chopped does not
        matter, and what is read is at most 0.1 s old.

        Raises StackError for time backwards and for a share per zone missing.
        """
        if not dt_s >= 0.0:
            raise StackError("range", "dt_s", dt_s, "must be 0 or above", "s", "step forward in time")
        if len(share) != len(self.zones):
            raise StackError(
                "range", "share", len(share), f"must have {len(self.zones)}", "entries", "one per zone"
            )
        drive = self._none
        if any(share):
            square = self.mains * self.mains
            drive = [one * factor * square for one, factor in zip(share, self.power_factor, strict=True)]
        if self._pending_s > 0.0:
            part_s = STEP_S - self._pending_s
            if dt_s < part_s - NO_TIME_S:
                self._keep(dt_s, drive)
                return
            for zone, one in enumerate(drive):
                self._drive[zone] = (self._pending[zone] + one * part_s) / STEP_S
            self._run(1)
            dt_s -= part_s
            self._pending_s = 0.0
            self._pending = self._none
        steps = int((dt_s + NO_TIME_S) / STEP_S)
        if steps:
            self._drive[:] = drive
            self._run(steps)
            dt_s -= steps * STEP_S
        if dt_s > NO_TIME_S:
            self._keep(dt_s, drive)

    def _run(self, steps: int) -> None:
        """Whole steps with the drive as it stands."""
        best_advance()(self._w, self.drawn.numbers, self.drawn.plan, steps, self._drive)

    def _keep(self, dt_s: float, drive: Sequence[float]) -> None:
        """Remember a part of an interval, in a new list: copies may share the old one."""
        self._pending_s += dt_s
        if drive is not self._none:
            self._pending = [kept + one * dt_s for kept, one in zip(self._pending, drive, strict=True)]

    def thermocouple_c(self, zone: int) -> float:
        """Temperature of the zone's junction [C], without noise."""
        return float(self._ends.item(READING_C, zone))

    def cold_junction_c(self, zone: int) -> float:
        """Temperature of the zone's reading chip [C]."""
        return self.drawn.ambient_c + self.drawn.junctions[zone].chip_rise_k

    def hottest_blanket_c(self, zone: int) -> float:
        """Temperature of the hottest node of the zone's blanket [C]."""
        first, (start, stop) = self.drawn.blankets[zone], self.drawn.spans[zone]
        return float(self._t[first : first + BLANKET_CELLS, start:stop].max())

    def cutoff_place_c(self, zone: int) -> float:
        """Temperature of the blanket where its cut-off is bonded [C], without the cut-off's own lag."""
        return float(self._t[self.drawn.cutoffs[zone]])

    def water_kg(self) -> float:
        """Water in the wood [kg]."""
        return float((self._water * self.drawn.area.area_m2).sum())

    def heat(self) -> Heat:
        """Heat balance since the start."""
        book = self._book.sum(axis=1)
        return Heat(
            heater_j=float(book[HEATER_J]),
            lost_j=float(book[LOST_J]),
            vapour_j=float(book[VAPOUR_J]),
            moved_j=float(self._clock[MOVED_J]),
            stored_j=self._content_j() - float(self._clock[FIRST_J]),
        )

    def copy(self) -> Sheet:
        """An independent sheet with the same future."""
        other = object.__new__(type(self))
        state = self.__getstate__()
        state["power_factor"], state["_drive"] = list(self.power_factor), self._drive.copy()
        other.__setstate__(state)
        return other
