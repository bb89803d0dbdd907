"""The laws of the stack in one bundle: what a solver steps, whichever solver it is.

Each law is a function of floats or float arrays, made of arithmetic and numpy ufuncs alone, so the same
function serves an array solver and one that compiles it.  The numbers they take are the arrays of
`layout.Stack`, the time and the state.  Another problem (another wood, another room) is another bundle.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from .drying import drying_rates_percent_s
from .effects import Real, contact_share, face_flux_w_m2
from .wood import heat_terms_j_kg_k, vapour_heat_j_kg, wood_conductivity_w_m_k


class Laws(NamedTuple):
    """What the cells of a stack obey.

    Attributes:
        conductivity_w_m_k: of a wood cell, (gravity, factor, rise per 10 K, bound %, C) -> W/(m K).
        heat_terms_j_kg_k: (bound %, free %) -> (a, b); heat capacity per kg of dry wood a + b T, T in K.
        drying_rates_percent_s: (C, bound %, free %, dry kg/m2, escape s, seep s, vent kg/(m2 s), room %,
            room drive) -> (bound, free) water leaving, % of dry mass per second.
        vapour_heat_j_kg: (C, bound %) -> (bound, free) heat taken per kg of water leaving.
        face_flux_w_m2: (face C, room C, face size, emissivity) -> W/m2 out of an outer face.
        contact_share: (seconds since the strip met the form, ramp s) -> 0-1.
    """

    conductivity_w_m_k: Callable[[Real, Real, Real, Real, Real], Real]
    heat_terms_j_kg_k: Callable[[Real, Real], tuple[Real, Real]]
    drying_rates_percent_s: Callable[
        [Real, Real, Real, Real, Real, Real, Real, Real, Real], tuple[Real, Real]
    ]
    vapour_heat_j_kg: Callable[[Real, Real], tuple[Real, Real]]
    face_flux_w_m2: Callable[[Real, Real, Real, Real], Real]
    contact_share: Callable[[Real, Real], Real]


BENCH = Laws(
    conductivity_w_m_k=wood_conductivity_w_m_k,
    heat_terms_j_kg_k=heat_terms_j_kg_k,
    drying_rates_percent_s=drying_rates_percent_s,
    vapour_heat_j_kg=vapour_heat_j_kg,
    face_flux_w_m2=face_flux_w_m2,
    contact_share=contact_share,
)
