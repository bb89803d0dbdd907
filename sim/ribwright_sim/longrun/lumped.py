"""A cheap stack for hours of virtual heat: a lump of blanket with slats, of wood and of junction per zone.

The long run asks what the board does for days, not what wood does in minutes: heat capacities and losses are
those the rig declares, so the guard sees a plausible answer, warm-up, loss and fall, and nothing here is
tuned to it. Water, the middle of the wood and the form's own warmth are left out; `make campaign` has them.
Handbook values from memory, rounded, as those of firmware core/expect.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

# Explicit steps; the quickest lump, the junction, takes 3 s.
STEP_S = 0.25
BLANKET_J_M3_K, STEEL_J_M3_K, WOOD_J_M3_K = 1.56e6, 3.77e6, 1.4e6
INTO_WOOD_W_M2_K = 300.0
LOSS_W_M2_K = 22.0
# The strip's wood gives to the form once it has met it.
FORM_W_M2_K = 12.0
JUNCTION_S = 3.0
CHIP_RISE_K = 4.0


@dataclass(slots=True)
class Lump:
    """One zone: areal power and heat capacities in W/m2 and J/m2/K, temperatures in C, area in m2.

    The junction follows the blanket. form_w_m2_k: 0 until the strip has met the form.
    """

    power_w_m2: float
    area_m2: float
    blanket_j_m2_k: float
    wood_j_m2_k: float
    blanket_c: float
    wood_c: float
    junction_c: float
    form_w_m2_k: float = 0.0

    def step(self, dt_s: float, share: float, room_c: float) -> tuple[float, float]:
        """Move on; return heat from the blanket and heat lost, J.

        share: of its power, 0 to 1, more where the mains are above the rated volts.
        """
        power = self.power_w_m2 * share
        into = INTO_WOOD_W_M2_K * (self.blanket_c - self.wood_c)
        lost = LOSS_W_M2_K * (self.blanket_c - room_c)
        form = self.form_w_m2_k * (self.wood_c - room_c)
        self.junction_c += (self.blanket_c - self.junction_c) * dt_s / JUNCTION_S
        self.blanket_c += (power - into - lost) * dt_s / self.blanket_j_m2_k
        self.wood_c += (into - form) * dt_s / self.wood_j_m2_k
        joule_s = dt_s * self.area_m2
        return power * joule_s, (lost + form) * joule_s

    def stored_j(self, room_c: float) -> float:
        """Heat above the room, J."""
        areal_j = self.blanket_j_m2_k * (self.blanket_c - room_c) + self.wood_j_m2_k * (self.wood_c - room_c)
        return areal_j * self.area_m2


class Lumped:
    """A rig's stack as one lump after another; what ribwright_sim.rig_physics asks of a plant.

    time_s: since the start. columns: one per zone.
    """

    def __init__(self, lumps: Sequence[Lump], room_c: float, square: float) -> None:
        """Args: lumps: one per zone, all at room_c; square: mains over rated volts, squared."""
        self.time_s = 0.0
        self.columns = tuple(f"part {place + 1}" for place in range(len(lumps)))
        self._lumps, self._room_c, self._square = list(lumps), room_c, square
        self._heater_j = self._lost_j = 0.0

    @classmethod
    def from_rig(
        cls,
        rig: Mapping[str, Any],
        piece: Mapping[str, Any],
        *,
        seed: int = 0,
        ambient_c: float | None = None,
        mains: float = 1.0,
    ) -> Lumped:
        """The lumps a rig and a piece declare.

        rig, piece: mappings as their files give them. seed: draws nothing here, the converters have the
        noise. ambient_c: of the room, None for the rig's. mains: over rated volts.
        """
        stack = rig["stack"]
        room_c = float(stack["ambient"] if ambient_c is None else ambient_c)
        slats_j = 2.0 * STEEL_J_M3_K * stack["slat_mm"] * 1e-3
        blanket_j = BLANKET_J_M3_K * stack["blanket_mm"] * 1e-3 + slats_j
        lumps = []
        for zone in rig["zones"]:
            area_m2 = zone["length_mm"] * zone["width_mm"] * 1e-6
            cover = min(1.0, piece["width_mm"] / zone["width_mm"])
            cover *= min(1.0, piece["length_mm"] / zone["length_mm"])
            wood_j = WOOD_J_M3_K * piece["thickness_mm"] * 1e-3 * cover
            areal = zone["power_w"] / area_m2
            lumps.append(Lump(areal, area_m2, blanket_j, wood_j, room_c, room_c, room_c))
        return cls(lumps, room_c, mains * mains)

    def advance(self, dt_s: float, on: Sequence[float]) -> None:
        """Move on by dt_s seconds with this share of its power, 0 to 1, in each zone's blanket."""
        steps = max(1, math.ceil(dt_s / STEP_S))
        step_s = dt_s / steps
        for lump, share in zip(self._lumps, on, strict=True):
            for _ in range(steps):
                heater_j, lost_j = lump.step(step_s, share * self._square, self._room_c)
                self._heater_j += heater_j
                self._lost_j += lost_j
        self.time_s += dt_s

    def thermocouple_c(self, zone: int) -> float:
        """Return the junction's temperature in degrees C."""
        return self._lumps[zone].junction_c

    def cold_junction_c(self, zone: int) -> float:
        """Return the chip's temperature in degrees C."""
        return self._room_c + CHIP_RISE_K

    def cutoff_place_c(self, zone: int) -> float:
        """Return the temperature where the blanket's own cut-off sits, in degrees C."""
        return self._lumps[zone].blanket_c

    def press_on_form(self, zone: int) -> None:
        """Let the strip of this zone touch the form."""
        self._lumps[zone].form_w_m2_k = FORM_W_M2_K

    def new_strip(self) -> None:
        """Take the bent strip off the form and lay another one in."""
        for lump in self._lumps:
            lump.form_w_m2_k = 0.0

    def sample(self) -> SimpleNamespace:
        """Return the true state, one entry per zone; what is not simulated here is missing as a number."""
        blankets = tuple(lump.blanket_c for lump in self._lumps)
        woods = tuple(lump.wood_c for lump in self._lumps)
        unknown = (math.nan,) * len(self._lumps)
        return SimpleNamespace(
            thermocouple_c=tuple(lump.junction_c for lump in self._lumps),
            blanket_core_c=blankets,
            slat_c=blankets,
            wood_mid_c=woods,
            wood_hot_c=woods,
            moisture_percent=unknown,
            free_percent=unknown,
        )

    def energy(self) -> SimpleNamespace:
        """Return the heat balance: the share of the heater's heat that the steps made or lost."""
        stored_j = sum(lump.stored_j(self._room_c) for lump in self._lumps)
        residual_j = self._heater_j - self._lost_j - stored_j
        return SimpleNamespace(residual_fraction=residual_j / max(1.0, self._heater_j))
