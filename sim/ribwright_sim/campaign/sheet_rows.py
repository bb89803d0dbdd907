"""The rows of a sheet through its thickness: what each holds, what it conducts, what it gives to the room."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ribwright_sim.stack import Sandwich, Spot, WoodPiece
from ribwright_sim.wood import heat_terms_j_kg_k, wood_conductivity_w_m_k

from .sheet_area import Area
from .sheet_parts import APART, F64, KELVIN, ON_FORM, RUBBER, SOLID, WOOD_IN, WOOD_OUT

# Cells of the form from its back, shares of its thickness: fine where the heat comes in.
FORM_SHARES = (0.55, 0.3, 0.15)
WOOD_CELLS, BLANKET_CELLS = 3, 3
# What a cell holds [J/(m2 K)] and half of it resists [m2 K/W] where no blanket lies: next to nothing.
EMPTY_J_M2_K, EMPTY_M2_K_W = 2.0, 1e-5
# At which the wood's conductivity and heat capacity are taken [C].
MIDDLE_C = 80.0


@dataclass
class Rows:
    """Rows from the form outwards, arrays over the columns.

    cap: heat capacity without water [J/(m2 K)]. half: resistance of half a cell [m2 K/W]. sheet: conductivity
    times thickness [W/K]. kind, touch: of the joint to the row before, touch in m2 K/W. face: share of a face
    in the open. rim, opened, hand: losses [W/(m2 K)] at the rim, with the foil open, to a hand lying there.
    form: row of the slat that meets the form. wood: first of the wood. blankets: first of each layer. slat:
    of the outer slat. What is not there has -1, the wood 0.

    Layers come from `sandwich`, their contacts [W/(m2 K)] from `spot`, which `grip` multiplies: (columns,),
    contact over its mean. pick: numbers of the sheet by the names of sheet_draw.RANGES.
    """

    area: Area
    cap: list[F64] = field(default_factory=list)
    half: list[F64] = field(default_factory=list)
    sheet: list[float] = field(default_factory=list)
    kind: list[int] = field(default_factory=list)
    touch: list[F64] = field(default_factory=list)
    face: list[F64] = field(default_factory=list)
    rim: list[F64] = field(default_factory=list)
    opened: list[float] = field(default_factory=list)
    hand: list[float] = field(default_factory=list)
    form: int = -1
    wood: int = 0
    blankets: list[int] = field(default_factory=list)
    slat: int = -1

    def add(
        self,
        cap: float | F64,
        half: float | F64 = 0.0,
        *,
        sheet: float = 0.0,
        kind: int = SOLID,
        touch: float | F64 = 1.0,
        face: float | F64 = 0.0,
        rim: float | F64 = 0.0,
        opened: float = 0.0,
        hand: float = 0.0,
    ) -> int:
        """Place of a new row."""
        for into, what in (
            (self.cap, cap),
            (self.half, half),
            (self.touch, touch),
            (self.face, face),
            (self.rim, rim),
        ):
            into.append(np.full(self.area.columns, 1.0) * what)
        self.sheet.append(sheet)
        self.kind.append(kind)
        self.opened.append(opened)
        self.hand.append(hand)
        return len(self.cap) - 1

    def add_form_and_slat(self, sandwich: Sandwich, spot: Spot, grip: F64) -> None:
        """The form, and the slat that meets it."""
        form, slat = sandwich.form, sandwich.slat
        for share in FORM_SHARES:
            thick_m = share * form.thickness_m
            half = 0.5 * thick_m / form.conductivity_w_m_k
            self.add(form.volumetric_j_m3_k * thick_m, half, sheet=form.conductivity_w_m_k * thick_m)
        self.form = self.add(
            slat.volumetric_j_m3_k * slat.thickness_m,
            sheet=slat.conductivity_w_m_k * slat.thickness_m,
            kind=ON_FORM,
            touch=1.0 / (spot.slat_on_form * grip),
            face=1.0,
        )

    def add_wood(self, wood: WoodPiece, sandwich: Sandwich, spot: Spot, grip: F64, opened: float) -> F64:
        """The strip, of this wood; gives its water [kg/m2], (cells, columns).

        opened: loss of its outer cell while the foil lies open [W/(m2 K)].
        """
        thick_m = wood.thickness_m / WOOD_CELLS
        dry_kg_m2 = wood.dry_kg_m3 * thick_m
        constant, slope = heat_terms_j_kg_k(0.0, 0.0)
        cap = dry_kg_m2 * float(constant + slope * (MIDDLE_C + KELVIN))
        conductivity = float(
            wood_conductivity_w_m_k(
                wood.basic_gravity,
                wood.conductivity_factor,
                wood.conductivity_rise,
                wood.bound_percent,
                MIDDLE_C,
            )
        )
        touch = (1.0 / spot.slat_on_foil + 1.0 / spot.foil_on_wood_hanging) / grip
        half, sheet = 0.5 * thick_m / conductivity, sandwich.along_grain * conductivity * thick_m
        self.wood = self.add(cap, half, sheet=sheet, kind=WOOD_IN, touch=touch)
        for _ in range(1, WOOD_CELLS):
            last = self.add(cap, half, sheet=sheet)
        self.opened[last] = opened
        water = np.full(
            (WOOD_CELLS, self.area.columns), 0.01 * dry_kg_m2 * (wood.bound_percent + wood.free_percent)
        )
        water[0] += wood.face_water_kg_m2
        water[-1] += wood.face_water_kg_m2
        return water

    def add_blankets(
        self, sandwich: Sandwich, spot: Spot, grip: F64, pick: Mapping[str, float], *, bare: bool
    ) -> None:
        """Every layer of blankets; where none lies, cells of next to nothing that let heat pass.

        bare: no heat passes from layer to layer, and both faces of each are in the open.
        """
        rubber = sandwich.blanket
        thick_m = rubber.thickness_m / BLANKET_CELLS
        cap = pick["blanket_heat"] * rubber.volumetric_j_m3_k * thick_m
        edge = self.area.rim_m / self.area.area_m2 * pick["rim_w_m_k"]
        before = np.ones(self.area.columns)
        for layer in range(self.area.layers):
            lies = self.area.covered(layer)
            held = np.where(lies > 0.0, cap, EMPTY_J_M2_K)
            half = np.where(lies > 0.0, 0.5 * thick_m / rubber.conductivity_w_m_k, EMPTY_M2_K_W)
            outer = {"face": lies, "hand": pick["hand_w_m2_k"]} if bare else {}
            if bare:
                kind, touch = APART, np.ones(self.area.columns)
            elif layer == 0:
                kind = WOOD_OUT
                touch = (1.0 / spot.foil_on_wood_hanging + 1.0 / spot.foil_on_blanket) / grip
            else:
                kind = RUBBER
                touch = np.where(before * lies > 0.0, 1.0 / (spot.blanket_on_blanket * grip), EMPTY_M2_K_W)
            opened = pick["open_w_m2_k"] if layer == 0 and not bare else 0.0
            sheet = rubber.conductivity_w_m_k * thick_m if lies.all() else 0.0
            first = self.add(
                held, half, sheet=sheet, kind=kind, touch=touch, face=lies if bare else 0.0, opened=opened
            )
            self.add(held, half, sheet=sheet, rim=0.25 * edge * lies)
            self.add(held, half, sheet=sheet, **outer)  # type: ignore[arg-type]
            self.blankets.append(first)
            before = lies

    def add_outer_slat(self, sandwich: Sandwich, spot: Spot, grip: F64, pick: Mapping[str, float]) -> None:
        """The slat over the blankets."""
        slat = sandwich.slat
        self.slat = self.add(
            slat.volumetric_j_m3_k * slat.thickness_m,
            sheet=slat.conductivity_w_m_k * slat.thickness_m,
            kind=RUBBER,
            touch=1.0 / (spot.slat_on_blanket * grip),
            face=1.0,
            rim=0.5 * self.area.rim_m / self.area.area_m2 * pick["rim_w_m_k"],
            opened=pick["open_w_m2_k"],
            hand=pick["hand_w_m2_k"],
        )

    def solid(self) -> F64:
        """Resistance of each joint but for its contact [m2 K/W], rows by columns; nothing in the last."""
        half = np.array(self.half)
        return np.vstack((half[:-1] + half[1:], np.ones(self.area.columns)))
