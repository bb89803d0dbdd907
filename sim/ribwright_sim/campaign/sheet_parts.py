"""Where everything of a sheet lies: the state is one flat array, its numbers another, the plan whole numbers.

A sheet is rows through the thickness, from the form outwards, by columns over the area.  As plain Python with
numpy a statement works on all columns at once; compiled (see sheet_fast.py) the same statement is a loop over
columns.  `each` and `at` are what differs.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]
Parts = tuple[F64, ...]

STEP_S = 0.1
EVERY = 10

# Places in the plan, whole numbers; HEAD is where the lists begin: kind of each joint, then per zone the row
# of the heated core, the junction's column and its two rows.
ROWS, COLUMNS, ZONES, WOOD, WOOD_FIRST, ACROSS, DRYING, CONTACT, FACES, FORM, HEAD = range(11)
# Kinds of joints between a row and the next.
SOLID, APART, WOOD_IN, WOOD_OUT, RUBBER, ON_FORM = range(6)
# Laws of drying, contact and faces; what each does is said where it is computed.
FRONT, ACTIVATED, VENTED = range(3)
STEADY, WARM, DAMP = range(3)
STRAIGHT, CURVED = range(2)

# Single numbers of a sheet.
NUMBERS = (
    "ambient_c",
    "latent_j_kg",
    "thin_kg_m2",
    "film_m2_k_w",
    "dry_layer_m2_k_w",
    "rate_100_s",
    "activation_k",
    "vent_kg_m2_s",
    "seep_s",
    "warm_slope",
    "damp_drop",
    "face_w_m2_k",
    "convection_w_m2_k",
    "glow",
    "back_w_m2_k",
    "gap_w_m2_k",
    "ramp_s",
    "open_joint",
    "press_gain",
)
(
    AMBIENT,
    LATENT,
    THIN,
    FILM,
    DRY_LAYER,
    RATE_100,
    ACTIVATION,
    VENT,
    SEEP,
    WARM_SLOPE,
    DAMP_DROP,
    FACE,
    CONVECTION,
    GLOW,
    BACK,
    GAP,
    RAMP,
    OPEN_JOINT,
    PRESS_GAIN,
) = range(len(NUMBERS))

# Rows of what a person did to a column, of the heat book, of the junctions, and places of the clock.
PRESSED, PRESS_TO, FACTOR, FOIL_S, HAND_S, DOINGS = range(6)
HEATER_J, LOST_J, VAPOUR_J, BOOKS = range(4)
READING_C, LAG_S, FROM_BLANKET, FROM_NEXT, JUNCTIONS = range(5)
UNTIL, STEPS, LAPSED, DRAUGHT, MOVED_J, FIRST_J, CLOCK = range(7)

# CODATA-based, from memory: 0 C in K and the Stefan-Boltzmann constant [W/(m2 K4)].
KELVIN, STEFAN_BOLTZMANN = 273.15, 5.670374e-8
BOILING_C, BOILING_K = 100.0, 373.15
# Clausius and Clapeyron with the latent heat at 100 C, 2257 kJ/kg (steam tables, from memory) by 18.015 g/mol
# over 8.3145 J/(mol K): vapour pressure in atmospheres is exp(4890 K (1/373.15 K - 1/T)).
VAPOUR_K = 4890.0
# Specific heat of liquid water, middle of 20-100 C (as wood.WATER_J_KG_K).
WATER_J_KG_K = 4190.0
# A hand in a glove: skin temperature (common practice, no source).
HAND_C = 34.0


def each(count: int) -> Iterable[slice]:
    """The columns below `count` at once."""
    return (slice(0, count),)


def at(columns: slice, by: int) -> slice:
    """The columns `by` further on."""
    return slice(columns.start + by, columns.stop + by)


def state_parts(w: F64, plan: I64) -> Parts:
    """Views of a state w: temperature [C], water [kg/m2], joints and losses [W/(m2 K)], what the surroundings
    give and what comes sideways [W/m2], doings, heat book [J], junctions, clock.
    """
    rows, columns, zones, wood = plan[ROWS], plan[COLUMNS], plan[ZONES], plan[WOOD]
    a = rows * columns
    b = a + wood * columns
    c = b + 4 * a
    d = c + DOINGS * columns
    e = d + BOOKS * columns
    f = e + JUNCTIONS * zones
    return (
        w[:a].reshape(rows, columns),
        w[a:b].reshape(wood, columns),
        w[b : b + a].reshape(rows, columns),
        w[b + a : b + 2 * a].reshape(rows, columns),
        w[b + 2 * a : b + 3 * a].reshape(rows, columns),
        w[b + 3 * a : c].reshape(rows, columns),
        w[c:d].reshape(DOINGS, columns),
        w[d:e].reshape(BOOKS, columns),
        w[e:f].reshape(JUNCTIONS, zones),
        w[f : f + CLOCK],
    )


def number_parts(p: F64, plan: I64) -> Parts:
    """Views of a sheet's numbers p: heat capacity [J/(m2 K)]; resistance of a joint without and in its
    contact [m2 K/W]; rim loss [W/(m2 K)]; share of a face in the open; power of the zones [W/m2]; water at
    the start and water that stays [kg/m2]; area, links along and across [m2, 1, 1]; per row the sheet
    conductance [W/K], loss with the foil open and to a hand [W/(m2 K)]; single numbers.
    """
    rows, columns, zones, wood = plan[ROWS], plan[COLUMNS], plan[ZONES], plan[WOOD]
    a = rows * columns
    b = 5 * a
    c = b + zones * columns
    d = c + 2 * wood * columns
    e = d + 3 * columns
    return (
        p[:a].reshape(rows, columns),
        p[a : 2 * a].reshape(rows, columns),
        p[2 * a : 3 * a].reshape(rows, columns),
        p[3 * a : 4 * a].reshape(rows, columns),
        p[4 * a : b].reshape(rows, columns),
        p[b:c].reshape(zones, columns),
        p[c:d].reshape(2 * wood, columns),
        p[d:e].reshape(3, columns),
        p[e : e + 3 * rows].reshape(3, rows),
        p[e + 3 * rows :],
    )
