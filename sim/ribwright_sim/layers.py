"""The cells of each column and what joins them: layers through the thickness, links along the side."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from .cut import BLANKET_CELLS, Column
from .stack import Sandwich, Spot, WoodPiece
from .wood import wood_conductivity_w_m_k

F64 = NDArray[np.float64]
I64 = NDArray[np.int64]

FORM_CELLS, WOOD_CELLS = 5, 6
INNER_SLAT = FORM_CELLS
INNER_FOIL = INNER_SLAT + 1
WOOD = slice(INNER_FOIL + 1, INNER_FOIL + 1 + WOOD_CELLS)
OUTER_FOIL = WOOD.stop
BLANKETS = slice(OUTER_FOIL + 1, OUTER_FOIL + 1 + BLANKET_CELLS)
OUTER_SLAT = BLANKETS.stop
CELLS = OUTER_SLAT + 1

# Contact conductance inside one material [W/(m2 K)]: so large that it is no joint at all.
WITHIN = 1e12


def blanket_cells(column: Column) -> dict[int, range]:
    """Which cells each zone's blanket has in a column; every blanket an even number of them."""
    count = len(column.zones)
    pairs = np.array_split(np.arange(BLANKET_CELLS // 2), count)
    first = BLANKETS.start
    return {
        zone: range(first + 2 * int(pair[0]), first + 2 * int(pair[-1]) + 2)
        for zone, pair in zip(column.outwards, pairs, strict=True)
    }


def core_of(cells: range) -> int:
    """First of the two cells the element lies between: in the middle of the mat."""
    return cells.start + len(cells) // 2 - 1


def cells_of(sandwich: Sandwich, columns: Sequence[Column], wood: WoodPiece) -> tuple[F64, F64, F64]:
    """Thickness [m], conductivity [W/(m K)] and heat capacity [J/(m2 K)] of every cell, (columns, CELLS).

    Args:
        sandwich: the layers.
        columns: from the upper bout's end; each cuts its blankets into cells.
        wood: the strip, of which only the thickness counts here: its cells have 1 for the other two.
    """
    shape = (len(columns), CELLS)
    thickness, k, capacity = np.empty(shape), np.ones(shape), np.ones(shape)
    # Form cells grow away from the strip, where the field is flat.
    growth = 2.0 ** np.arange(FORM_CELLS)[::-1]
    thickness[:, :FORM_CELLS] = sandwich.form.thickness_m * growth / growth.sum()
    thickness[:, WOOD] = wood.thickness_m / WOOD_CELLS
    layers = [
        (slice(0, FORM_CELLS), sandwich.form),
        (BLANKETS, sandwich.blanket),
    ]
    for cell, solid in (
        (INNER_SLAT, sandwich.slat),
        (OUTER_SLAT, sandwich.slat),
        (INNER_FOIL, sandwich.foil),
        (OUTER_FOIL, sandwich.foil),
    ):
        thickness[:, cell] = solid.thickness_m
        layers.append((slice(cell, cell + 1), solid))
    for c, column in enumerate(columns):
        for cells in blanket_cells(column).values():
            thickness[c, cells.start : cells.stop] = sandwich.blanket.thickness_m / len(cells)
    for at, solid in layers:
        k[:, at] = solid.conductivity_w_m_k
        capacity[:, at] = solid.volumetric_j_m3_k * thickness[:, at]
    return thickness, k, capacity


def contacts_of(columns: Sequence[Column], spots: Sequence[Spot]) -> tuple[F64, F64]:
    """Contact between each cell and the next, hanging free and lying on the form [W/(m2 K)].

    Args:
        columns: from the upper bout's end.
        spots: contacts of each column.

    Both are (columns, CELLS - 1): 0 where nothing touches, WITHIN inside one material.
    """
    hanging = np.full((len(columns), CELLS - 1), WITHIN)
    for c, (column, spot) in enumerate(zip(columns, spots, strict=True)):
        hanging[c, FORM_CELLS - 1] = 0.0
        hanging[c, INNER_SLAT] = spot.slat_on_foil
        hanging[c, [INNER_FOIL, WOOD.stop - 1]] = spot.foil_on_wood_hanging
        hanging[c, OUTER_FOIL] = spot.foil_on_blanket
        for cells in blanket_cells(column).values():
            hanging[c, cells.stop - 1] = spot.blanket_on_blanket
        hanging[c, BLANKETS.stop - 1] = spot.slat_on_blanket
    pressed = hanging.copy()
    for c, spot in enumerate(spots):
        pressed[c, FORM_CELLS - 1] = spot.slat_on_form
        pressed[c, [INNER_FOIL, WOOD.stop - 1]] = spot.foil_on_wood_pressed
    return hanging, pressed


def along_links(
    sandwich: Sandwich, columns: Sequence[Column], width_m: F64, wood: WoodPiece
) -> tuple[I64, I64, F64]:
    """Links between neighbouring columns: from cell, to cell (counted through all columns), W/K.

    Each layer conducts between the columns' middles over the narrower width.  Steel carries most of it; the
    wood conducts better along its grain than across, and the rubber next to nothing.

    Args:
        sandwich: the layers, with the share by which wood conducts better along the grain.
        columns: from the upper bout's end.
        width_m: (columns,) of the widest blanket over each [m].
        wood: the strip; it conducts as at 100 C.
    """
    thickness, k, _ = cells_of(sandwich, columns, wood)
    across = wood_conductivity_w_m_k(
        wood.basic_gravity, wood.conductivity_factor, wood.conductivity_rise, wood.bound_percent, 100.0
    )
    k[:, WOOD] = sandwich.along_grain * across
    found: list[tuple[int, int, float]] = []
    for c, (here, there) in enumerate(pairwise(columns)):
        per_m = float(min(width_m[c], width_m[c + 1])) / (0.5 * (here.length_m + there.length_m))
        found += [
            (c * CELLS + cell, (c + 1) * CELLS + cell, k[c, cell] * thickness[c, cell] * per_m)
            for cell in (*range(BLANKETS.start), *range(BLANKETS.stop, CELLS))
        ]
        beyond = blanket_cells(there)
        for zone, cells in blanket_cells(here).items():
            if zone in beyond:
                for cell, other, share in _facing(cells, beyond[zone]):
                    w_k = k[c, cell] * share * sandwich.blanket.thickness_m * per_m
                    found.append((c * CELLS + cell, (c + 1) * CELLS + other, w_k))
    return (
        np.array([link[0] for link in found], dtype=np.int64),
        np.array([link[1] for link in found], dtype=np.int64),
        np.array([link[2] for link in found], dtype=np.float64),
    )


def _facing(cells: range, others: range) -> list[tuple[int, int, float]]:
    """Which cells of one mat, cut in two ways, face each other and over what share of its thickness."""
    found = []
    for i, cell in enumerate(cells):
        for j, other in enumerate(others):
            low = max(i / len(cells), j / len(others))
            high = min((i + 1) / len(cells), (j + 1) / len(others))
            if high - low > 1e-9:
                found.append((cell, other, high - low))
    return found
