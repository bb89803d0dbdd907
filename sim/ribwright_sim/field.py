"""The scalar solver: one stack's temperatures and water, moved on through switching relays.

It knows `layout.Stack` and `laws.Laws`, nothing of rigs.  Coefficients (conductivity, heat capacity, face
losses, drying, heat along the side) are refreshed on a fixed grid of simulated time; between refreshes the
cells move exactly.  Results therefore do not depend on how callers chop their steps.
"""

from __future__ import annotations

import copy

import numpy as np
from numpy.typing import NDArray

from .beside import along_w_m2, tie_beads
from .bookkeeping import Ledger, Settled, content_j
from .changing import AROUND_K, apart, lose_inside, strip_cells
from .column import Modes, chain, half_resistance, link
from .effects import KELVIN, vapour_drive
from .evaporation import Evaporation, evaporation
from .laws import BENCH, Laws
from .layout import Stack

F64 = NDArray[np.float64]

# One second keeps a junction within 0.1 K of a sixteen times finer grid (see tests/sim/test_plant.py).
REFRESH_S = 1.0
# Steps of less than a nanosecond are float dust from chopping at the grid.
DUST_S = 1e-9
# A rate of change taken over less than this would be mostly round-off.
SHORTEST_S = 1e-3
# What steps and refreshes write into where it stands.
_MOVED_IN_PLACE = ("_on_s", "_k", "_capacity", "_ties", "_flux")


class Field:
    """Temperatures and water of one stack."""

    def __init__(
        self,
        stack: Stack,
        laws: Laws = BENCH,
        *,
        mains: float = 1.0,
        start_c: float | None = None,
        refresh_s: float = REFRESH_S,
    ) -> None:
        """Args: stack, laws, mains (volts over rated), start [C] (absent, the room's), refresh grid [s]."""
        self.stack, self.laws = stack, laws
        self.time_s = 0.0
        self._mains, self._refresh_s = mains, refresh_s
        columns, cells = stack.thickness_m.shape
        self._met_s = np.full(columns, np.inf)
        self._open = False
        self._room_drive = float(vapour_drive(stack.ambient_c))
        self._place_beads(columns, cells)
        start = stack.ambient_c if start_c is None else start_c
        self._at_c = np.full((columns, cells + self._beads), start)
        if stack.back_w_m2_k.any():
            # The form waits at room temperature, whatever the strip comes with.
            self._at_c[:, : int(stack.face_cell[0])] = stack.ambient_c
        self._bound, self._free = stack.bound_percent.copy(), stack.free_percent.copy()
        self._rate = np.zeros_like(self._at_c)
        self._ties = np.zeros((columns, cells + self._beads - 1))
        self._water_rate = np.zeros((2, *self._bound.shape))
        self._k, self._capacity = stack.conductivity_w_m_k.copy(), np.ones_like(self._at_c)
        self._capacity[:, :cells] = stack.capacity_j_m2_k
        self._capacity[stack.junction_column, self._bead] = stack.junction_j_m2_k
        self._ledger = Ledger()
        self._on_s = np.zeros(len(stack.zones))
        self._on = np.zeros(len(stack.zones))
        self._heat_in(mains)
        self._grid = 0
        self._fresh: Settled | None = None  # what stands at a point of the grid
        self._rebuild()

    def _place_beads(self, columns: int, cells: int) -> None:
        """Give every junction a cell of its own behind the last cell of its column."""
        taken = np.zeros(columns, dtype=np.int64)
        self._bead = np.empty(len(self.stack.zones), dtype=np.int64)
        for zone, column in enumerate(self.stack.junction_column):
            self._bead[zone] = cells + taken[column]
            taken[column] += 1
        self._beads = int(taken.max())

    def _heat_in(self, mains: float) -> None:
        """Flux of each zone into each cell while it is on, from the mains (volts over rated)."""
        s = self.stack
        self._mains = mains
        self.power_w = s.power_w * s.power_factor * mains * mains
        flux = self.power_w[:, None, None] * s.heater_share / s.area_m2[None, :, None]
        padded = np.pad(flux, ((0, 0), (0, 0), (0, self._beads)))
        # The held losses come first, so that all sources go into modal form together.
        self._flux = np.concatenate((np.zeros_like(padded[:1]), padded))

    @property
    def mains(self) -> float:
        """Mains volts over rated volts."""
        return self._mains

    @mains.setter
    def mains(self, ratio: float) -> None:
        """Set it; ratio: mains volts over rated volts."""
        self._commit()
        self._heat_in(ratio)
        self._rebuild()

    def press(self, columns: tuple[int, ...]) -> None:
        """These columns meet the form now; those that lie there already stay as they are."""
        self._commit()
        for column in columns:
            self._met_s[column] = min(self._met_s[column], self.time_s)
        self._rebuild()

    def lift(self, columns: tuple[int, ...]) -> None:
        """These columns leave the form now."""
        self._commit()
        self._met_s[list(columns)] = np.inf
        self._rebuild()

    @property
    def room_s(self) -> float:
        """Time until the coefficients are refreshed next [s]."""
        return self._end_s - self.time_s

    def fork(self) -> Field:
        """The same field once more, to be moved on by itself; what no step writes into is shared."""
        other = copy.copy(self)
        other.__dict__["_modes"] = self._modes.fork()
        for name in _MOVED_IN_PLACE:
            setattr(other, name, getattr(self, name).copy())
        return other

    def open(self) -> None:
        """All leaves the form, the strip the stack; the next one waits at room temperature, wet as it was."""
        self._commit()
        s, cells = self.stack, strip_cells(self.stack)
        self._met_s[:], self._water_rate[:] = np.inf, 0.0
        self._at_c[:, cells], self._rate[:, cells] = s.ambient_c, 0.0
        self._bound, self._free = s.bound_percent.copy(), s.free_percent.copy()
        self._open = True
        self._rebuild()

    def close(self) -> None:
        """The strip that waited lies in the stack now, away from the form."""
        if self._open:
            self._commit()
            self._open = False
            self._rebuild()

    def switch(self, on: F64) -> None:
        """Turn zones on (1) and off (0)."""
        self._on = on
        self._source = self._base
        for share, heater in zip(on.tolist(), self._heaters, strict=True):
            if share:
                self._source = self._source + share * heater

    def advance(self, dt_s: float) -> None:
        """Move on by `dt_s` [s] with the zones as last switched."""
        left = dt_s
        while left > DUST_S:
            room = self._end_s - self.time_s
            if left < room - DUST_S:
                self._modes.step(left, self._source)
                self._on_s += self._on * left
                self.time_s += left
                return
            self._modes.step(room, self._source)
            self._on_s += self._on * room
            left -= room
            self.time_s = self._end_s
            now = self._commit()
            self._grid += 1
            self._rebuild()
            self._fresh = now

    def junction_c(self, zone: int) -> float:
        """Temperature of a zone's junction [C], without noise."""
        return self._modes.one_c(int(self.stack.junction_column[zone]), int(self._bead[zone]))

    def cell_c(self, column: int, cell: int) -> float:
        """Temperature of a cell by its positions, `column` and `cell` [C], not settled since the refresh."""
        return self._modes.one_c(column, cell)

    def now_c(self) -> F64:
        """Temperature of every cell [C], (columns, cells and beads), as in `cell_c`."""
        return self._modes.temperatures_c()

    def wood_faces_c(self, at_c: F64) -> tuple[F64, F64]:
        """Temperature of the wood's two faces [C], (columns,) each, for the cells `at_c`."""
        first, last = self.stack.wood.start, self.stack.wood.stop - 1
        inner = self._link[:, first - 1] * self._half[:, first] * (at_c[:, first - 1] - at_c[:, first])
        outer = self._link[:, last] * self._half[:, last] * (at_c[:, last + 1] - at_c[:, last])
        return at_c[:, first] + inner, at_c[:, last] + outer

    def _rebuild(self) -> None:
        """Fresh coefficients from the present state, held until the next point of the grid."""
        self._fresh = None
        s, laws = self.stack, self.laws
        cells = s.thickness_m.shape[1]
        self._end_s = (self._grid + 1) * self._refresh_s
        span_s = self._end_s - self.time_s
        at_c = self._at_c
        # Properties are taken where the state will be half-way, if it goes on as in the last span.
        ahead_c = at_c + 0.5 * span_s * self._rate
        bound = np.maximum(self._bound + 0.5 * span_s * self._water_rate[0], 0.0)
        free = np.maximum(self._free + 0.5 * span_s * self._water_rate[1], 0.0)
        self._k[:, s.wood] = laws.conductivity_w_m_k(
            s.gravity[:, None], s.k_factor[:, None], s.k_rise[:, None], bound, ahead_c[:, s.wood]
        )
        constant, slope = laws.heat_terms_j_kg_k(bound, free)
        self._capacity[:, s.wood] = s.dry_kg_m2[:, None] * (constant + slope * (ahead_c[:, s.wood] + KELVIN))

        share = np.asarray(laws.contact_share(self.time_s + 0.5 * span_s - self._met_s, s.form_ramp_s))
        self._half = half_resistance(s.thickness_m, self._k)
        contact = s.contact_hanging_w_m2_k + share[:, None] * (
            s.contact_pressed_w_m2_k - s.contact_hanging_w_m2_k
        )
        self._link = link(self._half, apart(s, contact) if self._open else contact)
        self._sink = np.zeros_like(at_c)
        self._sink_slope = np.zeros_like(at_c)
        self._lose_to_room(share)
        wet = evaporation(s, laws, span_s, at_c[:, s.wood], self._bound, self._free, self._room_drive)
        self._wet: Evaporation = (wet := wet.none() if self._open else wet)
        self._sink[:, s.wood] += wet.flux_w_m2.sum(axis=0)
        self._sink_slope[:, s.wood] += wet.slope_w_m2_k.sum(axis=0)

        self._ties[:, : cells - 1] = self._link
        stiffness = chain(self._ties, self._sink_slope)
        tie_beads(s, stiffness, self._bead, self._half, self._link)
        self._modes = Modes(self._capacity, stiffness, at_c)
        held = self._flux[0]
        np.multiply(self._sink_slope, at_c, out=held)
        held -= self._sink
        held[:, :cells] += along_w_m2(s, ahead_c[:, :cells])
        self._base, *self._heaters = self._modes.sources(self._flux)
        self._started_s = self.time_s
        self._on_s[:] = 0.0
        self.switch(self._on)

    def _lose_to_room(self, share: F64) -> None:
        s = self.stack
        face_c = self._at_c[:, s.face_cell]
        around = face_c + AROUND_K
        flux = np.asarray(self.laws.face_flux_w_m2(around, s.ambient_c, s.face_size_m, s.emissivity))
        bare = 1.0 - s.face_covered * share[:, None]
        self._sink[:, s.face_cell] = bare * flux[1]
        self._sink_slope[:, s.face_cell] = bare * (flux[2] - flux[0])
        if self._open:
            lose_inside(s, self.laws, self._at_c, self._sink, self._sink_slope)
        back = s.back_w_m2_k / (1.0 + s.back_w_m2_k * self._half[:, 0])
        self._sink[:, 0] += back * (self._at_c[:, 0] - s.ambient_c)
        self._sink_slope[:, 0] += back

    def settle(self) -> Settled:
        """Temperatures, water and totals now, from the moving state and the held coefficients."""
        s, wet = self.stack, self._wet
        span_s = self.time_s - self._started_s
        if self._fresh is not None and span_s == 0.0:
            return self._fresh
        at_c = self._modes.temperatures_c()
        rise_c_s = self._modes.integral_c_s() - self._at_c * span_s
        out_j_m2 = self._sink * span_s + self._sink_slope * rise_c_s
        dry = s.dry_kg_m2[:, None]
        charged = wet.flux_w_m2 * span_s + wet.slope_w_m2_k * rise_c_s[:, s.wood]
        out_j_m2[:, s.wood] -= charged.sum(axis=0)
        asked = charged / wet.heat_j_kg
        # The straight-line rate may ask for water that is not there, or give some back: neither happens,
        # and the heat it was charged with returns to the cell.
        gone = np.minimum(np.maximum(asked, 0.0), 0.01 * dry * np.array((self._bound, self._free)))
        at_c[:, s.wood] += ((asked - gone) * wet.heat_j_kg).sum(axis=0) / self._capacity[:, s.wood]
        bound = np.maximum(self._bound - 100.0 * gone[0] / dry, 0.0)
        free = np.maximum(self._free - 100.0 * gone[1] / dry, 0.0)
        # What the water that left has carried: the cells' content without it, at the same temperatures.
        carried_j = content_j(s, self.laws, at_c, self._bound, self._free) - content_j(
            s, self.laws, at_c, bound, free
        )
        old, area = self._ledger, s.area_m2[:, None]
        ledger = Ledger(
            heater_j=old.heater_j + float(self._on_s @ self.power_w),
            lost_j=old.lost_j + float((out_j_m2 * area).sum()),
            latent_j=old.latent_j + float((gone * wet.heat_j_kg * area).sum()),
            carried_j=old.carried_j + carried_j,
            stepped_j=old.stepped_j + float((self._capacity * (at_c - self._at_c) * area).sum()),
            gone_kg=old.gone_kg + float((gone * area).sum()),
        )
        return Settled(at_c, bound, free, ledger)

    def _commit(self) -> Settled:
        """Make the settled state the new starting point, and give it; `_rebuild` must follow."""
        now = self.settle()
        span_s = self.time_s - self._started_s
        if span_s > SHORTEST_S:
            self._rate = (now.at_c - self._at_c) / span_s
            change = np.array((now.bound_percent - self._bound, now.free_percent - self._free))
            self._water_rate = change / span_s
        self._at_c, self._bound, self._free = now.at_c, now.bound_percent, now.free_percent
        self._ledger = now.ledger
        return now
