"""The simulated stack of every zone: what a rig's relays heat and its thermocouples see.

Coefficients (conductivity, heat capacity, face losses, drying) are refreshed on a fixed grid of
simulated time; between refreshes the column moves exactly.  Results therefore do not depend on how
callers chop their steps.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from . import stack as st
from .column import Modes, chain, half_resistance, link
from .effects import KELVIN, FaceLoss, contact_share
from .layout import Layout
from .materials import StackError
from .truth import Energy, Ledger, Sample, Settled, Water
from .wood import conductivity_w_m_k, gravity_at, heat_content_j_kg, heat_terms_j_kg_k

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

F64 = NDArray[np.float64]

# One second keeps the nonlinear terms within 0.1 K of a four times finer grid (see tests/sim/test_plant.py).
REFRESH_S = 1.0
# Steps of less than a nanosecond are float dust from chopping at the grid.
DUST_S = 1e-9
# A rate of change taken over less than this would be mostly round-off.
SHORTEST_S = 1e-3


class Plant:
    """Every zone's stack, stepped by the virtual rig.  Build it with `from_rig`."""

    def __init__(
        self,
        zones: Sequence[st.ZoneStack],
        wood: st.WoodPiece,
        *,
        ambient_c: float = 20.0,
        mains: float = 1.0,
        start_c: float | None = None,
        refresh_s: float = REFRESH_S,
    ) -> None:
        """Args: zone stacks, the strip, room [C], mains (volts over rated), start [C], refresh grid [s]."""
        if not refresh_s > 0.0:
            raise StackError("range", "refresh_s", refresh_s, "must be above 0", "s", "use 1")
        start = ambient_c if start_c is None else start_c
        st.check_conditions(mains=mains, ambient_c=ambient_c, start_c=start)
        self.zones: tuple[str, ...] = tuple(zone.name for zone in zones)
        self.time_s = 0.0
        self.stacks = tuple(zones)
        self.wood = wood
        self._ambient_c = ambient_c
        self._mains = mains
        self._refresh_s = refresh_s
        self._met_s: list[float | None] = [None] * len(zones)
        self._faces = [FaceLoss(ambient_c, zone.height_m, zone.emissivity) for zone in zones]
        self._plan = Layout(zones, wood)
        self._drying = self._plan.drying(ambient_c)
        self._flux = np.array([zone.flux_w_m2(mains) for zone in zones])

        self._at_c = np.full((len(zones), st.CELLS), start)
        self._at_c[:, : st.FORM_CELLS] = ambient_c
        self._moisture = np.full((len(zones), st.WOOD_CELLS), wood.moisture_percent)
        self._rate_k_s = np.zeros((len(zones), st.WOOD_CELLS))
        self._ledger = Ledger()
        self._content_0 = self._plan.content_j(self._at_c, self._moisture)
        self._water_0 = self._plan.water_kg(self._moisture)
        self._on: tuple[bool, ...] = (False,) * len(zones)
        self._on_s = np.zeros(len(zones))
        self._grid = 0
        self._rebuild()

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
            start_c: temperature of the whole stack at the start [C]; absent, the room's.
            refresh_s: grid of the coefficient refresh [s].

        Raises StackError naming the place, the value and its limit.
        """
        rng = np.random.default_rng(seed) if seed else None
        room = st.ambient_of(rig) if ambient_c is None else ambient_c
        wood = st.read_piece(piece, rng)
        return cls(
            st.read_zones(rig, rng), wood, ambient_c=room, mains=mains, start_c=start_c, refresh_s=refresh_s
        )

    @property
    def mains(self) -> float:
        """Mains volts over rated volts; may be set while running."""
        return self._mains

    @mains.setter
    def mains(self, ratio: float) -> None:
        """Set it; ratio: mains volts over rated volts, from 0."""
        st.check_conditions(mains=ratio, ambient_c=self._ambient_c, start_c=self._ambient_c)
        self._commit()
        self._mains = ratio
        self._flux = np.array([zone.flux_w_m2(ratio) for zone in self.stacks])
        self._rebuild()

    def advance(self, dt_s: float, on: Sequence[bool]) -> None:
        """Move on by `dt_s` [s] with the relays as in `on`, one entry per zone."""
        relays = tuple(on)
        if relays != self._on:
            self._switch(relays)
        if not dt_s >= 0.0:
            raise StackError("range", "dt_s", dt_s, "must be 0 or above", "s", "step forward in time")
        left = dt_s
        while left > DUST_S:
            room = self._end_s - self.time_s
            if left < room - DUST_S:
                self._modes.step(left, self._source)
                self._on_s += self._on_share * left
                self.time_s += left
                return
            self._modes.step(room, self._source)
            self._on_s += self._on_share * room
            left -= room
            self.time_s = self._end_s
            self._commit()
            self._grid += 1
            self._rebuild()

    def thermocouple_c(self, zone: int) -> float:
        """Temperature of the zone's junction [C], without noise."""
        return self._modes.one_c(zone, st.BEAD)

    def cold_junction_c(self, zone: int) -> float:
        """Temperature of the zone's reading chip [C]."""
        return self._ambient_c + self.stacks[zone].cold_junction_rise_k

    def press_on_form(self, zone: int) -> None:
        """The strip meets the form at this zone; does nothing when it lies there already."""
        if self._met_s[zone] is None:
            self._commit()
            self._met_s[zone] = self.time_s
            self._rebuild()

    def lift_off_form(self, zone: int) -> None:
        """The strip leaves the form at this zone; does nothing when it hangs free."""
        if self._met_s[zone] is not None:
            self._commit()
            self._met_s[zone] = None
            self._rebuild()

    def sample(self) -> Sample:
        """The true state now."""
        now = self._settle()
        at_c, wood = now.at_c, now.at_c[:, st.WOOD]
        faces = [
            wood[:, edge] + (at_c[:, foil] - wood[:, edge]) * self._link[:, joint] * self._resistance[:, cell]
            for edge, foil, joint, cell in (
                (0, st.INNER_FOIL, st.INNER_FOIL, st.WOOD.start),
                (-1, st.OUTER_FOIL, st.WOOD.stop - 1, st.WOOD.stop - 1),
            )
        ]
        hot = np.maximum(wood.max(axis=1), np.maximum(faces[0], faces[1]))
        middle = st.WOOD_CELLS // 2
        return Sample(
            time_s=self.time_s,
            thermocouple_c=tuple(at_c[:, st.BEAD].tolist()),
            blanket_core_c=tuple(at_c[:, list(st.ELEMENT)].max(axis=1).tolist()),
            slat_c=tuple(at_c[:, st.OUTER_SLAT].tolist()),
            wood_mid_c=tuple((0.5 * (wood[:, middle - 1] + wood[:, middle])).tolist()),
            wood_hot_c=tuple(hot.tolist()),
            moisture_percent=tuple(now.moisture_percent.mean(axis=1).tolist()),
        )

    def energy(self) -> Energy:
        """Heat balance since the start."""
        now = self._settle()
        stored_j = self._plan.content_j(now.at_c, now.moisture_percent) - self._content_0
        return now.ledger.energy(stored_j)

    def water(self) -> Water:
        """Water balance since the start."""
        now = self._settle()
        return Water(self._water_0, self._plan.water_kg(now.moisture_percent), now.ledger.gone_kg)

    def _rebuild(self) -> None:
        """Fresh coefficients from the present state, held until the next point of the grid."""
        self._end_s = (self._grid + 1) * self._refresh_s
        span_s = self._end_s - self.time_s
        at_c, wood_c = self._at_c, self._at_c[:, st.WOOD]
        # Wood properties are taken where the cell will be half-way, if it goes on as in the last span.
        ahead_c = wood_c + 0.5 * span_s * self._rate_k_s
        gravity = gravity_at(self.wood.basic_gravity, self._moisture)
        self._plan.k[:, st.WOOD] = self.wood.conductivity_factor * conductivity_w_m_k(
            gravity, self._moisture, ahead_c, self.wood.conductivity_rise
        )
        constant, slope = heat_terms_j_kg_k(self._moisture)
        self._plan.capacity[:, st.WOOD] = self._plan.dry_kg_m2 * (constant + slope * (ahead_c + KELVIN))

        self._resistance = half_resistance(self._plan.thickness[:, :-1], self._plan.k[:, :-1])
        self._sink = np.zeros_like(at_c)
        self._sink_slope = np.zeros_like(at_c)
        share = np.array(
            [
                contact_share(None if met is None else self.time_s + 0.5 * span_s - met, zone.form_ramp_s)
                for met, zone in zip(self._met_s, self.stacks, strict=True)
            ]
        )
        self._plan.settle_joints(share)
        for z, zone in enumerate(self.stacks):
            for cell, bare in ((st.INNER_SLAT, 1.0 - share[z]), (st.OUTER_SLAT, 1.0)):
                flux, steep = self._faces[z].linear(at_c[z, cell])
                self._sink[z, cell], self._sink_slope[z, cell] = bare * flux, bare * steep
            back = 1.0 / (1.0 / zone.form_back + self._resistance[z, 0])
            self._sink[z, 0], self._sink_slope[z, 0] = back * (at_c[z, 0] - self._ambient_c), back
        self._link = link(self._resistance, self._plan.joint)
        self._link[:, st.FORM_CELLS - 1] *= share > 0.0

        wet = self._drying.over(span_s, wood_c, self._moisture)
        self._sink[:, st.WOOD], self._sink_slope[:, st.WOOD] = wet.flux_w_m2, wet.slope_w_m2_k
        self._heat_j_kg = wet.heat_j_kg

        stiffness = chain(np.pad(self._link, ((0, 0), (0, 1))), self._sink_slope)
        self._plan.tie_bead(stiffness, self._resistance, self._link)
        self._modes = Modes(self._plan.capacity, stiffness, at_c)
        self._base = self._modes.source(self._sink_slope * at_c - self._sink)
        heater = np.zeros_like(at_c)
        heater[:, list(st.ELEMENT)] = 0.5 * self._flux[:, None]
        self._heater = self._modes.source(heater)
        self._started_s = self.time_s
        self._on_s[:] = 0.0
        self._switch(self._on)

    def _switch(self, relays: tuple[bool, ...]) -> None:
        if len(relays) != len(self.zones):
            raise StackError(
                "range", "on", len(relays), f"must have {len(self.zones)}", "entries", "one per zone"
            )
        self._on = relays
        self._on_share = np.array(relays, dtype=np.float64)
        self._source = self._base + self._heater * self._on_share[:, None]

    def _settle(self) -> Settled:
        """Temperatures, moisture and totals now, from the moving state and the held coefficients."""
        span_s = self.time_s - self._started_s
        at_c = self._modes.temperatures_c()
        rise_c_s = self._modes.integral_c_s() - self._at_c * span_s
        out_j_m2 = self._sink * span_s + self._sink_slope * rise_c_s
        gone = out_j_m2[:, st.WOOD] / self._heat_j_kg
        held = 0.01 * self._plan.dry_kg_m2 * self._moisture
        # The straight-line rate may ask for water that is not there, or give some back: neither happens,
        # and the heat it was charged with returns to the cell.
        real = np.clip(gone, 0.0, held)
        at_c[:, st.WOOD] += (gone - real) * self._heat_j_kg / self._plan.capacity[:, st.WOOD]
        moisture = np.maximum(self._moisture - 100.0 * real / self._plan.dry_kg_m2, 0.0)
        out_j_m2[:, st.WOOD] = 0.0
        carried = self._plan.dry_kg_m2 * (
            heat_content_j_kg(self._moisture, at_c[:, st.WOOD])
            - heat_content_j_kg(moisture, at_c[:, st.WOOD])
        )
        old, area = self._ledger, self._plan.area[:, None]
        return Settled(
            at_c,
            moisture,
            Ledger(
                heater_j=old.heater_j + float((self._on_s * self._flux * self._plan.area).sum()),
                lost_j=old.lost_j + float((out_j_m2 * area).sum()),
                latent_j=old.latent_j + float((real * self._heat_j_kg * area).sum()),
                carried_j=old.carried_j + float((carried * area).sum()),
                stepped_j=old.stepped_j + float((self._plan.capacity * (at_c - self._at_c) * area).sum()),
                gone_kg=old.gone_kg + float((real * area).sum()),
            ),
        )

    def _commit(self) -> None:
        """Make the settled state the new starting point; `_rebuild` must follow."""
        now = self._settle()
        span_s = self.time_s - self._started_s
        if span_s > SHORTEST_S:
            self._rate_k_s = (now.at_c[:, st.WOOD] - self._at_c[:, st.WOOD]) / span_s
        self._at_c, self._moisture, self._ledger = now.at_c, now.moisture_percent, now.ledger
