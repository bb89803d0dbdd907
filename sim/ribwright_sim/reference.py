"""The reference problem: a small closed-loop run with stated numbers, posed to the shipped solver.

Forty minutes of a steel | wood | silicone | element | silicone | steel stack under a plain PID, made to
compare solvers.  Its wood law is a stand-in of the right shape, not literature: nobody should bend with it.
The laws take the arguments of laws.Laws, in that order.
The reference solution (reference_samples.csv) is one of 384 cells at a tolerance of 1e-8, made by
`python -m ribwright_sim.measure.fine`.
"""

from __future__ import annotations

import csv
import math
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from .effects import KELVIN, STEFAN_BOLTZMANN, Real, contact_share
from .laws import Laws
from .layout import Stack

F64 = NDArray[np.float64]

# Layers: thickness in tenths of a millimetre.
TENTHS = (3, 24, 7, 4, 7, 3)
WOOD_LAYER, ELEMENT_LAYER = 1, 3
# Cells of each layer: as few as keep 0.05 K, and two even grids.
COARSE_CELLS = (1, 10, 3, 2, 3, 1)
EVEN_48_CELLS = TENTHS
STEEL_K, STEEL_J_M3_K = 16.0, 7900.0 * 480.0
SILICONE_K, SILICONE_J_M3_K = 0.30, 1300.0 * 1300.0
STEEL_ON_WOOD_M2K_W, WOOD_ON_BLANKET_M2K_W, BLANKET_ON_STEEL_M2K_W = 8e-4, 1e-3, 8e-4
WOOD_KG_M3, WOOD_PERCENT = 560.0, 14.0
HEATER_W_M2 = 7750.0
TOP_FACTOR, BOTTOM_FACTOR, EMISSIVITY = 1.52, 0.80, 0.60
ROOM_C = 20.0
# Between cells of one layer: so large that it is no joint.
NO_JOINT_W_M2_K = 1e12
LAG_S = 2.0
GAS_J_MOL_K, ACTIVATION_J_MOL = 8.314462618, 45e3
KP, KI, KD, FILTER_S, UNWIND_S = 0.05, 0.0006, 0.15, 2.0, 20.0
WINDOW_S, END_S = 1.0, 2400
# Until when [s] which set-point [C]; then off.
SCHEDULE = ((600, 140.0), (1500, 155.0), (1800, 130.0))


def conductivity_w_m_k(
    gravity: Real, factor: Real, rise_per_10k: Real, bound_percent: Real, at_c: Real
) -> Real:
    """Of the wood [W/(m K)], its volume fixed.

    Args:
        gravity: ovendry mass over the volume, as the stack has it [1].
        factor: over the mean wood [1].
        rise_per_10k: share gained per 10 K [1/(10 K)].
        bound_percent: bound water [%].
        at_c: temperature [C].
    """
    base = gravity * (0.1941 + 0.004064 * bound_percent) + 0.01864
    return factor * base * (1.0 + 0.1 * rise_per_10k * (at_c - 24.0))


def heat_terms_j_kg_k(bound_percent: Real, free_percent: Real) -> tuple[Real, Real]:
    """`(a, b)` of the heat capacity per kg of dry wood, a + b T, T in K."""
    x = bound_percent
    wet = 1.0 + 0.01 * x
    constant = 103.1 + 41.86 * x + wet * x * 1000.0 * (-0.06191 - 1.33e-4 * x)
    return constant, 3.867 + wet * x * 0.236


def drying_rates_percent_s(
    at_c: Real,
    bound_percent: Real,
    free_percent: Real,
    dry_kg_m2: Real,
    escape_s: Real,
    seep_s: Real,
    vent_kg_m2_s: Real,
    room_percent: Real,
    room_drive: Real,
) -> tuple[Real, Real]:
    """Bound water leaving [%/s]: relaxation with an Arrhenius rate, `escape_s` at 100 C; no free water.

    `dry_kg_m2`, `seep_s`, `vent_kg_m2_s`, `room_percent` and `room_drive` change nothing here.
    """
    rate = np.exp(ACTIVATION_J_MOL / GAS_J_MOL_K * (1.0 / 373.15 - 1.0 / (at_c + KELVIN))) / escape_s
    rest_percent = 8.0 * np.exp((20.0 - at_c) / 45.0)
    return rate * (bound_percent - rest_percent), 0.0 * free_percent


def vapour_heat_j_kg(at_c: Real, bound_percent: Real) -> tuple[Real, Real]:
    """Heat taken per kg of water [J/kg]."""
    latent = 2.501e6 - 2361.0 * at_c
    return latent + 1.17e6 * np.exp(-0.14 * bound_percent), latent


def face_flux_w_m2(surface_c: Real, ambient_c: Real, size_m: Real, emissivity: Real) -> Real:
    """Heat a face loses [W/m2]; `size_m` carries the factor of the third-root law here [W/(m2 K^(4/3))].

    Args:
        surface_c: face temperature [C].
        ambient_c: the room [C].
        size_m: that factor.
        emissivity: of the face, 0-1 [1].
    """
    above_k = surface_c - ambient_c
    face, room = surface_c + KELVIN, ambient_c + KELVIN
    radiated = emissivity * STEFAN_BOLTZMANN * (face * face * face * face - room * room * room * room)
    return size_m * np.cbrt(np.abs(above_k)) * above_k + radiated


LAWS = Laws(
    conductivity_w_m_k=conductivity_w_m_k,
    heat_terms_j_kg_k=heat_terms_j_kg_k,
    drying_rates_percent_s=drying_rates_percent_s,
    vapour_heat_j_kg=vapour_heat_j_kg,
    face_flux_w_m2=face_flux_w_m2,
    contact_share=contact_share,
)


def stack(cells: tuple[int, ...] = COARSE_CELLS, *, power: float = 1.0, density: float = 1.0) -> Stack:
    """The reference stack.

    Args:
        cells: of each of the six layers.
        power: heater over the stated one [1].
        density: wood density over the stated one [1].
    """
    edges = np.concatenate([[0], np.cumsum(cells)])
    count = int(edges[-1])
    wood = slice(int(edges[WOOD_LAYER]), int(edges[WOOD_LAYER + 1]))
    element = slice(int(edges[ELEMENT_LAYER]), int(edges[ELEMENT_LAYER + 1]))
    thickness = np.repeat([1e-4 * t / c for t, c in zip(TENTHS, cells, strict=True)], cells)
    k = np.repeat([STEEL_K, 1.0, SILICONE_K, SILICONE_K, SILICONE_K, STEEL_K], cells)
    volumetric = np.repeat(
        [STEEL_J_M3_K, 1.0, SILICONE_J_M3_K, SILICONE_J_M3_K, SILICONE_J_M3_K, STEEL_J_M3_K], cells
    )
    contact = np.full(count - 1, NO_JOINT_W_M2_K)
    for layer, resistance in (
        (0, STEEL_ON_WOOD_M2K_W),
        (1, WOOD_ON_BLANKET_M2K_W),
        (4, BLANKET_ON_STEEL_M2K_W),
    ):
        contact[edges[layer + 1] - 1] = 1.0 / resistance
    heater = np.zeros((1, 1, count))
    heater[0, 0, element] = 1.0 / cells[ELEMENT_LAYER]
    one, none = np.ones(1), np.zeros(1)
    dry_kg_m2 = density * WOOD_KG_M3 * thickness[wood][0]
    return Stack(
        columns=("reference",),
        zones=("reference",),
        own=((0,),),
        ambient_c=ROOM_C,
        wood=wood,
        area_m2=one,
        thickness_m=thickness[None],
        conductivity_w_m_k=k[None],
        capacity_j_m2_k=(volumetric * thickness)[None],
        contact_hanging_w_m2_k=contact[None],
        contact_pressed_w_m2_k=contact[None],
        form_ramp_s=one,
        back_w_m2_k=none,
        face_cell=np.array([0, count - 1]),
        face_covered=np.zeros(2),
        face_size_m=np.array([[TOP_FACTOR, BOTTOM_FACTOR]]),
        emissivity=np.full((1, 2), EMISSIVITY),
        power_w=np.array([power * HEATER_W_M2]),
        power_factor=one,
        heater_share=heater,
        gravity=np.array([density * WOOD_KG_M3 / 1000.0]),
        k_factor=one,
        k_rise=np.array([0.02]),
        dry_kg_m2=np.array([dry_kg_m2]),
        escape_s=np.array([150.0]),
        seep_s=one,
        vent_kg_m2_s=none,
        room_percent=none,
        bound_percent=np.full((1, cells[WOOD_LAYER]), WOOD_PERCENT),
        free_percent=np.zeros((1, cells[WOOD_LAYER])),
        along_from=np.zeros(0, dtype=np.int64),
        along_to=np.zeros(0, dtype=np.int64),
        along_w_k=np.zeros(0),
        junction_column=np.zeros(1, dtype=np.int64),
        junction_cell=np.array([wood.stop - 1]),
        junction_face_weight=one,
        junction_lag_s=np.array([LAG_S]),
        junction_j_m2_k=none,
        cold_rise_k=none,
        core=np.array([element.start]),
    )


def gains() -> dict[str, float]:
    """Of the reference controller, as `controller_kernel.PID_GAINS`."""
    return {
        "kp": KP,
        "ki": KI,
        "kd": KD,
        "filter_share": 1.0 - math.exp(-WINDOW_S / FILTER_S),
        "unwind_share": WINDOW_S / UNWIND_S,
        "window_s": WINDOW_S,
    }


def targets_c() -> F64:
    """Set-point of every window [C], (windows, 1); not a number once the heat is off."""
    result = np.full((int(END_S / WINDOW_S), 1), np.nan)
    begin = 0
    for until_s, target_c in SCHEDULE:
        result[begin : int(until_s / WINDOW_S)] = target_c
        begin = int(until_s / WINDOW_S)
    return result


@cache
def fine_samples_c() -> F64:
    """Thermocouple of the reference solution at the start and the end of every window [C]."""
    text = files(__package__ or "ribwright_sim").joinpath("reference_samples.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return np.array([float(row["thermocouple_c"]) for row in csv.DictReader(lines)])


def error_k(trace_c: F64) -> float:
    """Largest distance of a thermocouple trace from the reference solution [K]."""
    return float(np.abs(trace_c - fine_samples_c()).max())
