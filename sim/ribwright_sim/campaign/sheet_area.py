"""The area of a sheet: its columns along and across, where each blanket lies, fields that vary over it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ribwright_sim.cut import Column, cut, heated_share, places
from ribwright_sim.stack import Sandwich, Zone

from .sheet_parts import F64, I64

# Slabs of the longest blanket along the side, and columns of each across it.
SLABS, ACROSS = 12, 3


@dataclass(frozen=True, slots=True)
class Area:
    """Columns of a sheet; column = slab along the side * ACROSS + place across.

    Attributes:
        columns: how many. area_m2: of each. along, across: width over distance of each to the next [1], 0
            where there is none. rim_m: edge in the open, per column.
        layers: blankets that lie one on another at most.
        layer: of each zone, from the form outwards. lies: 1 where the zone's blanket lies, (zones, columns).
        own: columns each zone answers for. inner: those of them that are no end of the side, if any are.
        droop: watt density over its mean, (zones, columns).
    """

    columns: int
    area_m2: F64
    along: F64
    across: F64
    rim_m: F64
    layers: int
    layer: tuple[int, ...]
    lies: F64
    own: tuple[I64, ...]
    inner: tuple[I64, ...]
    droop: F64

    def covered(self, layer: int) -> F64:
        """1 where a blanket of this layer lies, else 0."""
        mine = [lies for lies, at in zip(self.lies, self.layer, strict=True) if at == layer]
        return np.asarray(np.array(mine).max(axis=0))


def lay_out(zones: Sequence[Zone], sandwich: Sandwich, *, short_inside: bool) -> Area:
    """The columns under these blankets; raises StackError where they do not fit beside one another.

    zones: the blankets, in the rig's order. sandwich: where the waist lies, how blankets droop at their ends.
    short_inside: the short blankets lie next to the foil, the long one over them. All are taken to be as wide
    as the longest; each keeps its own watt density.
    """
    parts = cut(zones, sandwich)
    total_m = parts[-1].end_m - parts[0].start_m
    slabs = []
    for part in parts:
        count = max(1, round(SLABS * part.length_m / total_m))
        edges = np.linspace(part.start_m, part.end_m, count + 1)
        slabs += [Column("", a, b, part.outwards) for a, b in pairwise(edges.tolist())]
    layers = max(len(part.outwards) for part in parts)
    layer = [0] * len(zones)
    for part in parts:
        for place, zone in enumerate(part.outwards):
            layer[zone] = layers - 1 - place if short_inside and layers > 1 else place
    longest = max(zones, key=lambda zone: zone.length_m)
    length = np.repeat([slab.length_m for slab in slabs], ACROSS)
    width_m = longest.width_m / ACROSS
    across = np.tile([1.0] * (ACROSS - 1) + [0.0], len(slabs)) * length / width_m
    along = np.zeros(len(length))
    along[:-ACROSS] = width_m / (0.5 * (length[:-ACROSS] + length[ACROSS:]))
    rim = np.zeros((len(slabs), ACROSS))
    rim[0] += width_m
    rim[-1] += width_m
    rim[:, 0] += [slab.length_m for slab in slabs]
    rim[:, -1] += [slab.length_m for slab in slabs]
    top = np.repeat([slab.outwards[-1] for slab in slabs], ACROSS)
    lies = np.array(
        [np.repeat([float(z in slab.outwards) for slab in slabs], ACROSS) for z in range(len(zones))]
    )
    own = [
        np.flatnonzero(top == z) if (top == z).any() else np.flatnonzero(lies[z]) for z in range(len(zones))
    ]
    inner = [mine[(mine >= ACROSS) & (mine < len(length) - ACROSS)] for mine in own]
    spans = places(zones, sandwich.waist_place)
    droop = np.array(
        [
            np.repeat(
                [
                    heated_share(span, slab, sandwich.edge_length_m, sandwich.edge_power) / slab.length_m
                    for slab in slabs
                ],
                ACROSS,
            )
            for span in spans
        ]
    )
    droop *= lies
    droop /= (droop * length).sum(axis=1, keepdims=True) / (lies * length).sum(axis=1, keepdims=True)
    return Area(
        columns=len(length),
        area_m2=length * width_m,
        along=along,
        across=across,
        rim_m=rim.ravel(),
        layers=layers,
        layer=tuple(layer),
        lies=lies,
        own=tuple(own),
        inner=tuple(few if few.size else mine for few, mine in zip(inner, own, strict=True)),
        droop=droop,
    )


def patches(area: Area, rng: np.random.Generator) -> F64:
    """A random field over the columns of an area: patches of two or three slabs, mean 0 and deviation 1.

    rng: is drawn from.
    """
    rough = rng.normal(size=(area.columns // ACROSS, ACROSS))
    ends = np.vstack((rough[:1], rough, rough[-1:]))
    field = (ends[:-2] + ends[1:-1] + ends[2:]).ravel()
    return np.asarray((field - field.mean()) / max(float(field.std()), 1e-9))
