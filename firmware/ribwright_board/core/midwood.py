"""What the middle of the wood is about at: a slab of wood driven by the thermocouple that lies beside it.

An estimate, never a reading. It is shown, logged, may end a stage and may raise a ramp's targets within
limits of their own; the guard does not know of it.

A few cells across the wood (six, fewer where it is thinner than the step allows) take heat from the
thermocouple, whose slope says how far the blanket is ahead of it, through the blanket, the joints and
whatever blanket lies between. The other face carries a slat and loses heat to the room, or to the form once
the maker has said that the strip lies on it. Bound water leaves while a cell climbs from 90 to 130 C for the
first time, which is the plateau that the thermocouple does not see. Resistance, loss, escape, lead and both
bands were measured on simulated rigs; a second thermocouple in a piece of scrap can set them for a rig.
"""

import math

from .expect import SILICONE_J_M3_K, STEEL_J_M3_K
from .rig_values import SLAT_MM
from .wood import basic_gravity_of, conductivity_w_m_k, gravity_at, heat_j_kg_k
from .wood_figures import ESCAPE_S, LEAD_S, LOSS_W_M2_K, RESISTANCE_M2_K_W

# Through a blanket between, and its joint with the next one: values of the simulator's materials.csv.
SILICONE_W_M_K = 0.30
BETWEEN_M2_K_W = 1.7e-3
SLOPE_S = 5.0
# Bound water in balance falls from all of it to none between these.
DRY_FROM_C = 90.0
DRY_AT_C = 130.0
CELLS = 6
STEPS = 5
STEPS_MOST = 8
# Explicit steps are stable to a Fourier number of 0.5. Heat spreads fastest in dry wood at room temperature,
# whose volume holds this much for each unit of gravity.
MOST_FOURIER = 0.45
LEAST_J_M3_K = 1.25e6
# A form of plywood near room temperature: foil and slat on the way, PROPOSAL; effusivity from 0.12 W/(m K),
# 545 kg/m3 and 1215 J/(kg K), a handbook's plywood (from memory).
FORM_RESISTANCE_M2_K_W = 7.2e-3
FORM_EFFUSIVITY = 282.0
FORM_SETTLES_S = 10.0
# After so many of its own lags without a reading, nothing counts of what the slab was.
FORGET_LAGS = 4.0


class WoodEstimate:
    """One zone's slab, from the free face to the heated one.

    thickness_mm: of all plies together. density_kg_m3: at 12 % moisture. moisture_percent: at the start.
    ambient_c: room and form. resistance_m2_k_w: thermocouple to wood. loss_w_m2_k: of the free face.
    escape_s: time constant of bound water above 90 C. slat_mm: steel on the free face. under_mm: another
    zone's blanket between this thermocouple's and the wood, 0 for none. lead_s: by so much at its slope the
    blanket is ahead of the thermocouple.

    forget_s: readings for so long are enough to go by, whatever was before.

    >>> one = WoodEstimate(1.7, 675.0, 11.0)
    >>> one.mid_c is None
    True
    >>> one.second(20.0)
    >>> one.mid_c
    20.0
    """

    def __init__(
        self,
        thickness_mm: float,
        density_kg_m3: float,
        moisture_percent: float,
        ambient_c: float = 20.0,
        resistance_m2_k_w: float = RESISTANCE_M2_K_W,
        loss_w_m2_k: float = LOSS_W_M2_K,
        escape_s: float = ESCAPE_S,
        slat_mm: float = SLAT_MM,
        under_mm: float = 0.0,
        lead_s: float = LEAD_S,
    ) -> None:
        self._gravity = gravity_at(basic_gravity_of(density_kg_m3), moisture_percent)
        cells = CELLS
        while cells > 2 and _steps(thickness_mm, cells, self._gravity) > STEPS_MOST:
            cells -= 2
        self._steps = max(STEPS, _steps(thickness_mm, cells, self._gravity))
        self._dt_s = 1.0 / self._steps
        self._cell_m = 1e-3 * thickness_mm / cells
        self._dry_kg_m2 = 1000.0 * self._gravity * self._cell_m
        self._moisture = moisture_percent + 0.0
        self._resistance = resistance_m2_k_w
        self._loss = loss_w_m2_k
        self._escape_s = escape_s
        self._lead_s = lead_s
        self.ambient_c = ambient_c
        self._slat_j = STEEL_J_M3_K * 1e-3 * slat_mm
        self._temps_c = [ambient_c] * cells
        self._water = [self._moisture] * cells
        self._conductance = [0.0] * (cells + 1)  # free face, between cells, heated face
        self._per_j = [0.0] * cells
        self._cooled = [0.0] * cells  # K per percent of moisture that leaves and J/kg that it takes
        self._left_kg = 0.01 * self._dry_kg_m2 * self._steps
        self._left_per_k = self._moisture / (DRY_AT_C - DRY_FROM_C)
        # The blanket between is one more layer, which the wood's own resistance lies under.
        self._beside_c = ambient_c
        self._under = under_mm > 0.0
        self._under_per_j = 0.0
        self._under_w_m2_k = 0.0
        if self._under:
            self._under_per_j = self._dt_s / (SILICONE_J_M3_K * 1e-3 * under_mm)
            self._under_w_m2_k = 1.0 / (1e-3 * under_mm / SILICONE_W_M_K + BETWEEN_M2_K_W)
        self._last_c: float | None = None
        self._started = False
        self._drive_c = ambient_c
        self._slope_k_per_s = 0.0
        self._blind_s = 0
        self._form_s = -1.0
        self.forget_s = self._forget_s(thickness_mm, under_mm)

    @property
    def mid_c(self) -> float | None:
        """The middle, C; None while there is nothing to go by."""
        if not self._started or self._blind_s:
            return None
        temps_c = self._temps_c
        half = len(temps_c) // 2
        return 0.5 * (temps_c[half - 1] + temps_c[half])

    @property
    def moisture_percent(self) -> float:
        """Mean moisture left, % of ovendry mass."""
        return sum(self._water) / len(self._water)

    def beside_c(self, face_c: float) -> float | None:
        """Where the thermocouple may stand while the wood's heated face is at `face_c`, C.

        The heat that flows now, through what lies between, on top of the face; None where mid_c is. Held
        there, the face comes to `face_c` from below and stays, while the thermocouple comes down by itself.
        """
        if self.mid_c is None:
            return None
        last = len(self._temps_c) - 1
        flow_w_m2 = self._conductance[last + 1] * (self._beside_c - self._temps_c[last])
        here_c = face_c + flow_w_m2 * self._resistance
        if self._under:
            here_c += flow_w_m2 / self._under_w_m2_k
        return here_c - self._lead_s * self._slope_k_per_s

    @property
    def face_c(self) -> float | None:
        """The heated face, which is the wood's hottest, C; None where mid_c is."""
        if self.mid_c is None:
            return None
        last = len(self._temps_c) - 1
        return self._beside_c - self._conductance[last + 1] * self._resistance * (
            self._beside_c - self._temps_c[last]
        )

    def _forget_s(self, thickness_mm: float, under_mm: float) -> int:
        """Whole seconds after which the slab follows from its readings alone."""
        wood_m2_k_w = 0.5e-3 * thickness_mm / conductivity_w_m_k(self._gravity, 0.0, 24.0)
        heat_j = self._dry_kg_m2 * len(self._temps_c) * heat_j_kg_k(self._moisture, 100.0) + self._slat_j
        lag_s = heat_j * (self._resistance + wood_m2_k_w)
        if under_mm:
            lag_s += (heat_j + SILICONE_J_M3_K * 1e-3 * under_mm) / self._under_w_m2_k
        return int(FORGET_LAGS * lag_s) + 1

    def meet_form(self) -> None:
        """The strip has come to lie on the form here; a form at the room's temperature draws heat."""
        self._form_s = 0.0

    def second(self, reading_c: float | None, under_w_m2: float = 0.0) -> None:
        """Let one second pass.

        reading_c: the thermocouple's mean in it, C; None when it is missing or not to be believed.
        under_w_m2: what the blanket between is heated with, if there is one.

        Without a reading the heat is off and what lies around the wood keeps about its heat, so the slab goes
        on beside the last reading. How wrong that is nobody knows, so there is no estimate until readings
        have come for as long as they were missing, or for forget_s: by then it no longer matters.
        """
        if reading_c is None:
            if self._last_c is not None:
                self._drive_c = self._last_c
            self._last_c = None
            self._slope_k_per_s = 0.0
            self._blind_s = min(self._blind_s + 1, self.forget_s)
        else:
            if not self._started:
                self._started = True
                self._blind_s = 0
                for cell in range(len(self._temps_c)):
                    self._temps_c[cell] = reading_c
                self._beside_c = reading_c
            if self._last_c is not None:
                self._slope_k_per_s += (reading_c - self._last_c - self._slope_k_per_s) / SLOPE_S
            self._last_c = reading_c
            self._blind_s = max(0, self._blind_s - 1)
            self._drive_c = reading_c + self._lead_s * self._slope_k_per_s
        if self._started:
            self._set_laws()
            for _ in range(self._steps):
                self._step(under_w_m2)

    def _set_laws(self) -> None:
        """Conductances and heat capacities of this second, from the temperatures it begins with."""
        temps_c, water, conductance = self._temps_c, self._water, self._conductance
        last = len(temps_c) - 1
        before = 0.0
        for cell in range(last + 1):
            own = conductivity_w_m_k(self._gravity, water[cell], temps_c[cell]) / self._cell_m
            conductance[cell] = 2.0 * before * own / (before + own) if cell else own
            heat_j = self._dry_kg_m2 * heat_j_kg_k(water[cell], temps_c[cell])
            self._per_j[cell] = self._dt_s / (heat_j if cell else heat_j + self._slat_j)
            self._cooled[cell] = self._left_kg * self._per_j[cell]
            before = own
        conductance[last + 1] = 1.0 / (self._resistance + 0.5 / before)
        free = self._loss
        if self._form_s >= 0.0:
            # Into a thick body the flux falls with the root of time (half-space, its face held: textbook).
            self._form_s += 1.0
            taken = 1.0 / (FORM_RESISTANCE_M2_K_W + math.sqrt(math.pi * self._form_s) / FORM_EFFUSIVITY)
            free += max(0.0, taken - free) * min(1.0, self._form_s / FORM_SETTLES_S)
        conductance[0] = free / (1.0 + 0.5 * free / conductance[0])

    def _step(self, under_w_m2: float) -> None:
        """One explicit step of every cell: what flows in, what flows out, what water takes along."""
        temps_c, water, conductance = self._temps_c, self._water, self._conductance
        per_j, left_per_k = self._per_j, self._left_per_k
        last = len(temps_c) - 1
        share = self._dt_s / self._escape_s
        if self._under:
            beside_c = self._beside_c
            gain_w_m2 = self._under_w_m2_k * (self._drive_c - beside_c) + under_w_m2
            gain_w_m2 -= conductance[last + 1] * (beside_c - temps_c[last])
            self._beside_c = beside_c + gain_w_m2 * self._under_per_j
        else:
            self._beside_c = self._drive_c
        before_w_m2 = conductance[0] * (self.ambient_c - temps_c[0])
        for cell in range(last + 1):
            at_c = temps_c[cell]
            beside_c = temps_c[cell + 1] if cell < last else self._beside_c
            # Positive towards the heated face, as is the one before.
            after_w_m2 = conductance[cell + 1] * (at_c - beside_c)
            gained_k = (before_w_m2 - after_w_m2) * per_j[cell]
            before_w_m2 = after_w_m2
            if at_c > DRY_FROM_C:
                lost = water[cell] * share
                if at_c < DRY_AT_C:
                    lost -= left_per_k * (DRY_AT_C - at_c) * share
                if lost > 0.0:
                    water[cell] -= lost
                    # Latent heat, and 100 kJ/kg of sorption, J/kg.
                    gained_k -= lost * (2.601e6 - 2400.0 * at_c) * self._cooled[cell]
            temps_c[cell] = at_c + gained_k


def _steps(thickness_mm: float, cells: int, gravity: float) -> int:
    """Steps in a second that this many cells need."""
    cell_m = 1e-3 * thickness_mm / cells
    diffusivity_m2_s = conductivity_w_m_k(gravity, 0.0, 24.0) / (LEAST_J_M3_K * gravity)
    return int(diffusivity_m2_s / (MOST_FOURIER * cell_m * cell_m)) + 1
