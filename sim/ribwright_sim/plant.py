"""The simulated rig's stack: what its relays heat and its thermocouples see, with one side's true state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from .bookkeeping import content_j, water_kg
from .field import DUST_S, REFRESH_S, Field
from .laws import BENCH, Laws
from .layout import Stack, stack_for
from .materials import StackError
from .stack_file import check_conditions
from .truth import Energy, Sample, Water


class Plant:
    """Every zone and column of a side, stepped by the virtual rig.  Build it with `from_rig`."""

    def __init__(
        self,
        stack: Stack,
        *,
        laws: Laws = BENCH,
        mains: float = 1.0,
        start_c: float | None = None,
        refresh_s: float = REFRESH_S,
    ) -> None:
        """Args: the cut side, its laws, mains (volts over rated), start [C], refresh grid [s].

        Raises StackError for a grid not above 0, mains below 0, or a room or start out of range.
        """
        if not refresh_s > 0.0:
            raise StackError("range", "refresh_s", refresh_s, "must be above 0", "s", "use 1")
        start = float(stack.ambient_c if start_c is None else start_c)
        check_conditions(mains=mains, ambient_c=stack.ambient_c, start_c=start)
        self.stack = stack
        self.zones: tuple[str, ...] = stack.zones
        self.columns: tuple[str, ...] = stack.columns
        self.field = Field(stack, laws, mains=mains, start_c=start, refresh_s=refresh_s)
        self._on: tuple[float, ...] = (0.0,) * len(stack.zones)
        # What look_ahead worked out: from when on, for how long, and the field as it is then.
        self._ahead: tuple[float, float, Field] | None = None
        # Per zone the cells its element lies in, as positions in the field of all temperatures.
        self._element = [np.nonzero(share) for share in stack.heater_share]
        self._content_0, self._water_0 = self._held()

    @classmethod
    def from_rig(
        cls,
        rig: Mapping[str, object],
        piece: Mapping[str, object],
        *,
        seed: int = 0,
        ambient_c: float | None = None,
        mains: float = 1.0,
        start_c: float | None = None,
        refresh_s: float = REFRESH_S,
    ) -> Plant:
        """A plant for a rig file's mapping and a profile's [piece].

        Args:
            rig: with [[zones]] (power_w, length_mm, width_mm) and optional [stack].
            piece: species, thickness_mm, wetted or moisture_percent, plies.
            seed: 0 for nominal values, else a plant drawn within the stated ranges.
            ambient_c: room [C]; absent, the rig's [stack] ambient, else 20.
            mains: mains volts over rated volts.
            start_c: temperature of the stack at the start [C], the form apart; absent, the room's.
            refresh_s: grid of the coefficient refresh [s].

        Raises StackError naming the place, the value and its limit.
        """
        if ambient_c is not None:
            check_conditions(mains=mains, ambient_c=ambient_c, start_c=ambient_c)
        stack = stack_for(rig, piece, seed=seed, ambient_c=ambient_c)
        return cls(stack, mains=mains, start_c=start_c, refresh_s=refresh_s)

    @property
    def time_s(self) -> float:
        """Simulated time since the start [s]."""
        return self.field.time_s

    @property
    def mains(self) -> float:
        """Mains volts over rated volts; may be set while running."""
        return self.field.mains

    @mains.setter
    def mains(self, ratio: float) -> None:
        """Set it; ratio: mains volts over rated volts, from 0."""
        check_conditions(mains=ratio, ambient_c=self.stack.ambient_c, start_c=self.stack.ambient_c)
        self._ahead = None
        self.field.mains = ratio

    def advance(self, dt_s: float, on: Sequence[float]) -> None:
        """Move on by `dt_s` [s] with the share of its power, 0 to 1, that flows in each zone's blanket.

        Raises StackError for a time below 0, or not one share for each zone.
        """
        relays = tuple(on)
        if relays != self._on:
            if len(relays) != len(self.zones):
                raise StackError(
                    "range", "on", len(relays), f"must have {len(self.zones)}", "entries", "one per zone"
                )
            self._on, self._ahead = relays, None
            self.field.switch(np.array(relays, dtype=np.float64))
        if not dt_s >= 0.0:
            raise StackError("range", "dt_s", dt_s, "must be 0 or above", "s", "step forward in time")
        ahead, self._ahead = self._ahead, None
        if ahead is not None and ahead[0] == self.field.time_s and dt_s >= ahead[1] - DUST_S:
            self.field = ahead[2]
            dt_s -= ahead[1]
        self.field.advance(dt_s)

    def look_ahead(self, within_s: float) -> None:
        """Refresh the coefficients in advance, where that is due within so many seconds and power stays as it
        is until then.

        Worth it while nobody waits for the plant. It changes nothing: where another power, a touch of the
        form or another strip comes first, what was worked out is dropped; else the same figures are taken.
        """
        room_s = self.field.room_s
        if self._ahead is None and room_s <= within_s:
            ahead = self.field.fork()
            ahead.advance(room_s)
            self._ahead = self.field.time_s, room_s, ahead

    def thermocouple_c(self, zone: int) -> float:
        """Temperature of the zone's junction [C], without noise."""
        return self.field.junction_c(zone)

    def cold_junction_c(self, zone: int) -> float:
        """Temperature of the zone's reading chip [C]."""
        return self.stack.ambient_c + float(self.stack.cold_rise_k[zone])

    def hottest_blanket_c(self, zone: int) -> float:
        """Temperature of the hottest part of the zone's element [C], in whatever column it lies."""
        return float(self.field.now_c()[self._element[zone]].max())

    def cutoff_place_c(self, zone: int) -> float:
        """Temperature where the zone's cut-off is bonded [C]: at the element, over its junction."""
        return self.field.cell_c(int(self.stack.junction_column[zone]), int(self.stack.core[zone]))

    def press_on_form(self, zone: int) -> None:
        """The strip meets the form along this zone's own columns; where it lies there already, nothing."""
        self._ahead = None
        self.field.press(self.stack.own[zone])

    def lift_off_form(self, zone: int) -> None:
        """The strip leaves the form along this zone's own columns."""
        self._ahead = None
        self.field.lift(self.stack.own[zone])

    def take_out(self) -> None:
        """The side comes off the form and out of the stack, which lies open to the room until `lay_in`.

        What is between slat and blankets then is the next strip of the same board, wet as the first one was.
        The form keeps its heat; energy and water are counted on without what was carried out and in.
        """
        self._ahead = None
        before_j, before_kg = self._held()
        self.field.open()
        after_j, after_kg = self._held()
        self._content_0 += after_j - before_j
        self._water_0 += after_kg - before_kg

    def lay_in(self) -> None:
        """The next strip lies in the stack, away from the form; where one lies already, nothing."""
        self._ahead = None
        self.field.close()

    def _held(self) -> tuple[float, float]:
        """Heat content [J] and water [kg] of the stack now."""
        now = self.field.settle()
        content = content_j(self.stack, self.field.laws, now.at_c, now.bound_percent, now.free_percent)
        return content, water_kg(self.stack, now.bound_percent, now.free_percent)

    def sample(self) -> Sample:
        """The true state now."""
        now, s = self.field.settle(), self.stack
        wood = now.at_c[:, s.wood]
        hot = np.maximum(wood.max(axis=1), np.maximum(*self.field.wood_faces_c(now.at_c)))
        middle = wood.shape[1] // 2
        at = s.junction_column
        core = np.maximum(now.at_c[at, s.core], now.at_c[at, s.core + 1])
        return Sample(
            time_s=self.time_s,
            thermocouple_c=tuple(self.thermocouple_c(zone) for zone in range(len(self.zones))),
            blanket_core_c=tuple(core.tolist()),
            slat_c=tuple(now.at_c[at, s.face_cell[1]].tolist()),
            wood_mid_c=tuple((0.5 * (wood[:, middle - 1] + wood[:, middle])).tolist()),
            wood_hot_c=tuple(hot.tolist()),
            moisture_percent=tuple(now.bound_percent.mean(axis=1).tolist()),
            free_percent=tuple(now.free_percent.mean(axis=1).tolist()),
            wood_c=tuple(map(tuple, wood.tolist())),
            wood_moisture_percent=tuple(map(tuple, now.bound_percent.tolist())),
        )

    def energy(self) -> Energy:
        """Heat balance since the start."""
        content, _ = self._held()
        book = self.field.settle().ledger
        return Energy(
            heater_j=book.heater_j,
            lost_j=book.lost_j,
            vapour_j=book.latent_j + book.carried_j,
            stored_j=content - self._content_0,
            scheme_j=book.heater_j - book.lost_j - book.latent_j - book.stepped_j,
        )

    def water(self) -> Water:
        """Water balance since the start."""
        return Water(self._water_0, self._held()[1], self.field.settle().ledger.gone_kg)
