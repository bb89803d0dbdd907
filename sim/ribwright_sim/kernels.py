"""The steps of the fast solver, written once for two ways of running.

As plain Python with numpy each statement works on all cells and lanes at once; compiled (see compiled.py)
the same statements become loops over one lane after the other.  The three small functions below are what
differs: `each_lane` and `span` give slices here and numbers there, `at` moves either by a number of rows.

Everything lies in one array `w` of rows by lanes; `rows.Rows` says where.  Cell values are scaled by the
root of the cell's heat capacity, which makes the system symmetric: one row of factors serves both ways.

Arguments that all share: `w` is that array, changed in place; `r` its rows; `ix` its lists (rows.Index); `z`
a zone's position; `j` a lane, or a slice of them.  `state` is the first row of the scaled temperatures that
are stepped, `junction` that of the junctions beside them [C]: of the side itself (r.state, r.junction), or of
the field that one zone's pulse leaves.  `depth` cells of every column are meant, from its first; `stage_s` is
GAMMA times a step's length [s]; `stiff` as in steps.run.

Scheme: SDIRK2 (two equal stages, L-stable, order 2; Alexander 1977) with coefficients held between refreshes
and taken where the state will be half-way, if it goes on as before.  A relay is on from the start of a step
for a share of it: its mean enters both stages; what its place in the step adds (the first moment) is a
field computed once.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .laws import BENCH
from .rows import Index, Rows

F64 = NDArray[np.float64]

# Root that makes the pair of equal stages L-stable and of order 2.
GAMMA = 1.0 - 0.5**0.5
BLEND = (1.0 - GAMMA) / GAMMA
# Faces lose about this much more for each kelvin [W/(m2 K)]; what it is off by is put right at every refresh.
FACE_SLOPE = 12.0
KELVIN = 273.15
# Rise over which the slope of the drying is taken [K].
SLOPE_K = 0.5
# Steps in which the field of a relay's first moment is found.
PULSE_STEPS = 8

# Replaced by another bundle's when that is compiled or run.
conductivity_w_m_k = BENCH.conductivity_w_m_k
heat_terms_j_kg_k = BENCH.heat_terms_j_kg_k
drying_rates_percent_s = BENCH.drying_rates_percent_s
vapour_heat_j_kg = BENCH.vapour_heat_j_kg
face_flux_w_m2 = BENCH.face_flux_w_m2
contact_share = BENCH.contact_share


def each_lane(lanes: int) -> Iterable[Any]:
    """All lanes at once."""
    return (slice(None),)


def span(first: int, stop: int) -> Iterable[Any]:
    """The rows `first` to `stop` at once."""
    return (slice(first, stop),)


def at(base: int, i: Any) -> Any:
    """Row or rows `i` counted from `base`."""
    return slice(base + i.start, base + i.stop) if isinstance(i, slice) else base + i


def settle_water(w: F64, r: Rows, span_s: float, steps: float) -> None:
    """Take the water that left in the past `span_s` [s] out of the wood; `steps` were made."""
    for c in range(r.columns):
        first = c * r.cells + r.wood_first
        for cell in span(first, first + r.wood_count):
            for j in each_lane(r.lanes):
                root = w[at(r.root, cell), j]
                away_k = w[at(r.total, cell), j] / (steps * root) - w[at(r.ahead, cell), j]
                bound, free = w[at(r.bound, cell), j], w[at(r.free, cell), j]
                rate, rate_free = w[at(r.bound_rate, cell), j], w[at(r.free_rate, cell), j]
                asked = span_s * (rate + w[at(r.bound_slope, cell), j] * away_k)
                asked_free = span_s * (rate_free + w[at(r.free_slope, cell), j] * away_k)
                # The slope alone brings no water back, and what is not there cannot leave.
                gone = np.minimum(np.maximum(asked, np.minimum(span_s * rate, 0.0)), bound)
                gone_free = np.minimum(np.maximum(asked_free, np.minimum(span_s * rate_free, 0.0)), free)
                # What was charged for and stays gives its heat back.
                back_j_m2 = (
                    0.01
                    * w[at(r.dry, cell), j]
                    * (
                        (asked - gone) * w[at(r.bound_heat, cell), j]
                        + (asked_free - gone_free) * w[at(r.free_heat, cell), j]
                    )
                )
                w[at(r.state, cell), j] += back_j_m2 / root
                w[at(r.bound, cell), j] = bound - gone
                w[at(r.free, cell), j] = free - gone_free
                w[at(r.bound_rate, cell), j] = gone / span_s
                w[at(r.free_rate, cell), j] = gone_free / span_s
                w[at(r.total, cell), j] = 0.0


def look_ahead(w: F64, r: Rows, past_s: float, span_s: float) -> None:
    """Where every cell will be half-way through the next `span_s` [s], from the past `past_s` [s]."""
    for i in span(0, r.chain):
        for j in each_lane(r.lanes):
            now_c = w[at(r.state, i), j] * w[at(r.inverse, i), j]
            rise_k = (now_c - w[at(r.last, i), j]) * (0.5 * span_s / past_s)
            w[at(r.ahead, i), j] = now_c + rise_k
            w[at(r.last, i), j] = now_c
            w[at(r.source, i), j] = 0.0


def wood_ahead(w: F64, r: Rows, span_s: float) -> None:
    """Water half-way through the next `span_s` [s], and properties and heat capacity of the wood there."""
    for c in range(r.columns):
        first = c * r.cells + r.wood_first
        for cell in span(first, first + r.wood_count):
            for j in each_lane(r.lanes):
                at_c = w[at(r.ahead, cell), j]
                bound = w[at(r.bound, cell), j] - 0.5 * span_s * w[at(r.bound_rate, cell), j]
                free = w[at(r.free, cell), j] - 0.5 * span_s * w[at(r.free_rate, cell), j]
                bound = np.maximum(bound, 0.0)
                free = np.maximum(free, 0.0)
                constant, linear = heat_terms_j_kg_k(bound, free)
                root = np.sqrt(w[at(r.dry, cell), j] * (constant + linear * (at_c + KELVIN)))
                k = conductivity_w_m_k(
                    w[at(r.gravity, cell), j],
                    w[at(r.k_factor, cell), j],
                    w[at(r.k_rise, cell), j],
                    bound,
                    at_c,
                )
                w[at(r.bound_ahead, cell), j] = bound
                w[at(r.free_ahead, cell), j] = free
                w[at(r.root, cell), j] = root
                w[at(r.inverse, cell), j] = 1.0 / root
                w[at(r.state, cell), j] = w[at(r.last, cell), j] * root
                w[at(r.half, cell), j] = 0.5 * w[at(r.thickness, cell), j] / k


def drying(w: F64, r: Rows) -> None:
    """Water leaving the wood until the next refresh, and the heat it takes."""
    for c in range(r.columns):
        first = c * r.cells + r.wood_first
        for cell in span(first, first + r.wood_count):
            for j in each_lane(r.lanes):
                bound = w[at(r.bound_ahead, cell), j]
                rate, rate_free = drying_rates_percent_s(
                    w[at(r.ahead, cell), j],
                    bound,
                    w[at(r.free_ahead, cell), j],
                    w[at(r.dry, cell), j],
                    w[at(r.escape, cell), j],
                    w[at(r.seep, cell), j],
                    w[at(r.vent, cell), j],
                    w[at(r.room, cell), j],
                    w[at(r.room_drive, cell), j],
                )
                heat, heat_free = vapour_heat_j_kg(w[at(r.ahead, cell), j], bound)
                w[at(r.bound_rate, cell), j] = rate
                w[at(r.free_rate, cell), j] = rate_free
                w[at(r.bound_heat, cell), j] = heat
                w[at(r.free_heat, cell), j] = heat_free
                w[at(r.source, cell), j] = (
                    -0.01 * w[at(r.dry, cell), j] * (rate * heat + rate_free * heat_free)
                )


def drying_slopes(w: F64, r: Rows) -> None:
    """How much more water leaves for each kelvin, and what heat it takes [W/(m2 K)]."""
    for c in range(r.columns):
        first = c * r.cells + r.wood_first
        for cell in span(first, first + r.wood_count):
            for j in each_lane(r.lanes):
                at_c = w[at(r.ahead, cell), j]
                above, above_free = drying_rates_percent_s(
                    at_c + SLOPE_K,
                    w[at(r.bound_ahead, cell), j],
                    w[at(r.free_ahead, cell), j],
                    w[at(r.dry, cell), j],
                    w[at(r.escape, cell), j],
                    w[at(r.seep, cell), j],
                    w[at(r.vent, cell), j],
                    w[at(r.room, cell), j],
                    w[at(r.room_drive, cell), j],
                )
                steep = np.maximum(above - w[at(r.bound_rate, cell), j], 0.0) / SLOPE_K
                steep_free = np.maximum(above_free - w[at(r.free_rate, cell), j], 0.0) / SLOPE_K
                heat = steep * w[at(r.bound_heat, cell), j] + steep_free * w[at(r.free_heat, cell), j]
                slope = 0.01 * w[at(r.dry, cell), j] * heat
                w[at(r.bound_slope, cell), j] = steep
                w[at(r.free_slope, cell), j] = steep_free
                w[at(r.slope, cell), j] = slope
                w[at(r.source, cell), j] += slope * at_c


def outer_terms(w: F64, r: Rows, ix: Index, middle_s: float) -> None:
    """Faces, the form's back, contacts and the links along the side, as they are at `middle_s` [s]."""
    for c in range(r.columns):
        row = c * r.cells
        for j in each_lane(r.lanes):
            share = contact_share(middle_s - w[r.met + row, j], w[r.ramp + row, j])
            room_c = w[r.ambient, j]
            bare = 1.0 - r.covered_0 * share
            face_c = w[r.ahead + row + r.face_0, j]
            flux = face_flux_w_m2(face_c, room_c, w[r.size_0 + row, j], w[r.emissivity_0 + row, j])
            w[r.source + row + r.face_0, j] = bare * (FACE_SLOPE * face_c - flux)
            w[r.slope + row, j] = 0.0
            w[r.slope + row + r.face_0, j] = bare * FACE_SLOPE
            w[r.source + row, j] += w[r.back + row, j] * room_c
            w[r.slope + row, j] += w[r.back + row, j]
            outer_c = w[r.ahead + row + r.face_1, j]
            flux = face_flux_w_m2(outer_c, room_c, w[r.size_1 + row, j], w[r.emissivity_1 + row, j])
            w[r.source + row + r.face_1, j] = FACE_SLOPE * outer_c - flux
            w[r.slope + row + r.face_1, j] = FACE_SLOPE
    for p in range(r.links):
        a, b = ix.along[p, 0], ix.along[p, 1]
        for j in each_lane(r.lanes):
            drop_k = w[r.ahead + b, j] - w[r.ahead + a, j]
            w[r.source + a, j] += w[r.along_from + p, j] * drop_k
            w[r.source + b, j] -= w[r.along_to + p, j] * drop_k


def join(w: F64, r: Rows, ix: Index, middle_s: float, depth: int) -> None:
    """Conductance between neighbours in the first `depth` cells of columns, and the junctions' shares."""
    for c in range(r.columns):
        for i in span(c * r.cells, c * r.cells + depth):
            for j in each_lane(r.lanes):
                share = contact_share(middle_s - w[at(r.met, i), j], w[at(r.ramp, i), j])
                hanging = w[at(r.hanging, i), j]
                contact = hanging + share * (w[at(r.pressed, i), j] - hanging)
                w[at(r.link, i), j] = contact / (
                    1.0 + contact * (w[at(r.half, i), j] + w[at(r.half + 1, i), j])
                )
    for z in range(r.zones):
        cell = ix.junction[z]
        for j in each_lane(r.lanes):
            near = w[r.junction_weight + z, j] * (1.0 - w[r.half + cell, j] * w[r.link + cell, j])
            w[r.near + z, j] = near * w[r.inverse + cell, j]
            w[r.next + z, j] = (1.0 - near) * w[r.inverse + cell + 1, j]


def factorise(w: F64, r: Rows, stage_s: float, depth: int) -> None:
    """Factors of 1 + stage_s * K, from the last of the first `depth` cells of every column inwards."""
    for c in range(r.columns):
        for i in range(c * r.cells + depth - 1, c * r.cells - 1, -1):
            for j in each_lane(r.lanes):
                inverse = w[r.inverse + i, j]
                off = stage_s * w[r.link + i, j] * inverse * w[r.inverse + i + 1, j]
                factor = off * w[r.weight + i + 1, j]
                ground = w[r.link + i - 1, j] + w[r.link + i, j] + w[r.slope + i, j]
                w[r.factor + i, j] = factor
                w[r.weight + i, j] = 1.0 / (1.0 + stage_s * ground * inverse * inverse - off * factor)


def scale_sources(w: F64, r: Rows, ix: Index, stage_s: float) -> None:
    """What is pushed into every cell in one stage; heated rows are kept apart."""
    for i in span(0, r.chain):
        for j in each_lane(r.lanes):
            w[at(r.push, i), j] = stage_s * w[at(r.inverse, i), j] * w[at(r.source, i), j]
    for e in range(r.heated):
        for j in each_lane(r.lanes):
            w[r.rest + e, j] = w[r.push + ix.heated[e, 0], j]
