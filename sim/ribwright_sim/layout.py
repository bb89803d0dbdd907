"""Where each cell of the column lies and what of it never changes: thickness, joints, solid layers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from . import stack as st
from .drying import Drying
from .wood import heat_content_j_kg

if TYPE_CHECKING:
    from collections.abc import Sequence

F64 = NDArray[np.float64]

# Contact conductance inside one material [W/(m2 K)]: no joint at all.
WITHIN = np.inf


class Layout:
    """The column's arrays, (zones, cells) per square metre; wood entries are filled at each refresh.

    Attributes:
        thickness: of each cell [m].
        k: conductivity [W/(m K)].
        capacity: heat capacity [J/(m2 K)].
        joint: contact conductance between a cell and the next [W/(m2 K)], without the bead.
        area: of each zone, (zones,) [m2].
        dry_kg_m2: dry mass of one wood cell [kg/m2].
    """

    def __init__(self, zones: Sequence[st.ZoneStack], wood: st.WoodPiece) -> None:
        self._zones = zones
        shape = (len(zones), st.CELLS)
        self.thickness, self.k, self.capacity = np.ones(shape), np.ones(shape), np.ones(shape)
        self.joint = np.full((len(zones), st.CELLS - 2), WITHIN)
        self.area = np.array([zone.area_m2 for zone in zones])
        # Form cells grow away from the strip, where the field is flat.
        growth = 2.0 ** np.arange(st.FORM_CELLS)[::-1]
        for z, zone in enumerate(zones):
            layers = (
                (zone.form, range(st.FORM_CELLS), growth / growth.sum()),
                (zone.slat, (st.INNER_SLAT, st.OUTER_SLAT), np.ones(2)),
                (zone.foil, (st.INNER_FOIL, st.OUTER_FOIL), np.ones(2)),
                (
                    zone.blanket,
                    range(st.BLANKET.start, st.BLANKET.stop),
                    np.full(st.BLANKET_CELLS, 1.0 / st.BLANKET_CELLS),
                ),
            )
            for solid, cells, share in layers:
                at = list(cells)
                self.thickness[z, at] = solid.thickness_m * share
                self.k[z, at] = solid.conductivity_w_m_k
                volumetric = solid.density_kg_m3 * solid.specific_heat_j_kg_k
                self.capacity[z, at] = volumetric * self.thickness[z, at]
            self.capacity[z, st.BEAD] = zone.junction_j_m2_k
            self.joint[z, st.INNER_SLAT] = zone.slat_on_foil
            self.joint[z, st.OUTER_FOIL] = zone.foil_on_blanket
            self.joint[z, st.BLANKET.stop - 1] = zone.slat_on_blanket
        self.thickness[:, st.WOOD] = wood.thickness_m / st.WOOD_CELLS
        self.dry_kg_m2 = wood.dry_kg_m3 * wood.thickness_m / st.WOOD_CELLS

    def drying(self, ambient_c: float) -> Drying:
        """The drying effect of these zones in a room of `ambient_c` [C]."""

        def each(name: str) -> F64:
            return np.array([[getattr(zone, name)] for zone in self._zones])

        return Drying(
            self.dry_kg_m2, ambient_c, each("escape_s"), each("seep_s"), each("room_moisture_percent")
        )

    def settle_joints(self, share: F64) -> None:
        """Set the joints that depend on how far each zone lies on the form (`share` 0-1)."""
        for z, zone in enumerate(self._zones):
            gain = zone.foil_on_wood_pressed - zone.foil_on_wood_hanging
            self.joint[z, [st.INNER_FOIL, st.WOOD.stop - 1]] = zone.foil_on_wood_hanging + share[z] * gain
            # The caller opens this joint altogether while the strip hangs free.
            self.joint[z, st.FORM_CELLS - 1] = zone.slat_on_form * max(share[z], 1e-3)

    def tie_bead(self, stiffness: F64, resistance: F64, links: F64) -> None:
        """Tie the bead to the blanket's face and the slat, so that it lags by its time constant.

        The face has no cell of its own: its temperature lies between the last blanket cell and the slat.

        Args:
            stiffness: of the column, changed in place [W/(m2 K)].
            resistance: half resistance of every cell [m2 K/W].
            links: conductance between neighbouring cells [W/(m2 K)].
        """
        cell, slat, bead = st.BLANKET.stop - 1, st.OUTER_SLAT, st.BEAD
        for z, zone in enumerate(self._zones):
            total = zone.junction_j_m2_k / zone.junction_lag_s
            to_cell = zone.junction_face_weight * (1.0 - resistance[z, cell] * links[z, cell]) * total
            for other, tie in ((cell, to_cell), (slat, total - to_cell)):
                stiffness[z, other, other] += tie
                stiffness[z, bead, bead] += tie
                stiffness[z, bead, other] -= tie
                stiffness[z, other, bead] -= tie

    def content_j(self, at_c: F64, moisture_percent: F64) -> float:
        """Heat content above 0 C from the property equations, all zones [J]."""
        content = self.capacity * at_c
        content[:, st.WOOD] = self.dry_kg_m2 * heat_content_j_kg(moisture_percent, at_c[:, st.WOOD])
        return float((content * self.area[:, None]).sum())

    def water_kg(self, moisture_percent: F64) -> float:
        """Water in the wood, all zones [kg]."""
        return float((0.01 * self.dry_kg_m2 * moisture_percent * self.area[:, None]).sum())
