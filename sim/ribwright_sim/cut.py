"""Where the blankets lie along the side, and the columns the side is cut into at their edges.

A blanket half again as long as the next is the long one, against the foil; the others lie on its outer side
one after another in the file's order, centred at the waist.  Without a long one all lie one after another.
The strip is taken to reach as far as the blankets: overhang is not modelled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ribwright_board.core.woods import LONG_RATIO

from .materials import StackError
from .stack import Sandwich, Zone

# Cuts nearer than this are one cut: the field along the steel is smooth over such lengths.
SLIVER_M = 0.02
# Cells for the blankets of one column, all together; each blanket needs two.
BLANKET_CELLS = 8


@dataclass(frozen=True, slots=True)
class Column:
    """One piece of the side: name, where it begins and ends [m], the zones over it from the foil outwards."""

    name: str
    start_m: float
    end_m: float
    outwards: tuple[int, ...]

    @property
    def zones(self) -> tuple[int, ...]:
        """The zones over it, in the rig's order."""
        return tuple(sorted(self.outwards))

    @property
    def length_m(self) -> float:
        """Length along the side [m]."""
        return self.end_m - self.start_m


def places(zones: Sequence[Zone], waist_place: float) -> list[tuple[float, float]]:
    """Where each blanket begins and ends along the side [m].

    Args:
        zones: the blankets, in the rig's order.
        waist_place: middle of the waist, share of the length from the upper bout's end.

    Raises StackError when the short blankets do not fit beside one another on the long one.
    """
    lengths = [zone.length_m for zone in zones]
    order = sorted(range(len(zones)), key=lambda z: -lengths[z])
    long = order[0]
    alone = len(zones) == 1 or lengths[long] < LONG_RATIO * lengths[order[1]]
    row = [z for z in range(len(zones)) if alone or z != long]
    total = sum(lengths[z] for z in row)
    room = lengths[long] - total
    if not alone and room < 0.0:
        raise StackError(
            "range",
            "rig.zones",
            f"{1e3 * total:.0f} mm of short blankets",
            f"on the long one there is room for {1e3 * lengths[long]:.0f}",
            "mm",
            "measure the blankets' lengths again",
        )
    at = 0.0 if alone else min(max(0.0, waist_place * lengths[long] - 0.5 * total), room)
    found = [(0.0, lengths[long])] * len(zones)
    for z in row:
        found[z] = (at, at + lengths[z])
        at += lengths[z]
    return found


def cut(zones: Sequence[Zone], sandwich: Sandwich) -> tuple[Column, ...]:
    """The columns of a side, from the upper bout's end.

    Args:
        zones: the blankets, in the rig's order.
        sandwich: says where the middle of the waist lies.

    Raises StackError when short blankets do not fit beside one another on the long one.
    """
    lying = places(zones, sandwich.waist_place)
    edges = sorted({edge for span in lying for edge in span})
    kept = [edges[0]]
    kept += [edge for edge in edges[1:-1] if edge - kept[-1] >= SLIVER_M and edges[-1] - edge >= SLIVER_M]
    kept.append(edges[-1])
    result = []
    for start, end in pairwise(kept):
        middle = 0.5 * (start + end)
        over = [z for z, (a, b) in enumerate(lying) if a <= middle <= b]
        over.sort(key=lambda z: -zones[z].length_m)
        result.append(Column("", start, end, tuple(over)))
    return tuple(
        Column(name, column.start_m, column.end_m, column.outwards)
        for name, column in zip(_names(zones, result), result, strict=True)
    )


def _names(zones: Sequence[Zone], columns: Sequence[Column]) -> list[str]:
    if len(columns) == 1:
        return ["side"]
    if len(columns) == 3 and [len(column.zones) for column in columns] == [1, 2, 1]:
        return ["upper bout", "waist", "lower bout"]
    names: list[str] = []
    for column in columns:
        name = zones[column.outwards[-1]].name
        names.append(name if name not in names else f"{name} {len(names) + 1}")
    return names


def own_columns(columns: Sequence[Column], zone: int) -> tuple[int, ...]:
    """The columns a zone answers for: those where no shorter blanket lies, else all it covers."""
    outermost = tuple(i for i, column in enumerate(columns) if column.outwards[-1] == zone)
    return outermost or tuple(i for i, column in enumerate(columns) if zone in column.zones)


def heated_share(span: tuple[float, float], column: Column, edge_m: float, edge_power: float) -> float:
    """Share of a blanket's power that goes into a column [1]; over all its columns they sum to 1.

    Args:
        span: where the blanket begins and ends [m].
        column: the piece of the side.
        edge_m: length of the weaker part at each end [m].
        edge_power: watt density there over that of the rest [1].
    """
    start, end = span
    edge_m = min(edge_m, 0.5 * (end - start))

    def until(at: float) -> float:
        inside = min(max(at - start, 0.0), end - start)
        weak = min(inside, edge_m) + max(0.0, inside - (end - start - edge_m))
        return inside - (1.0 - edge_power) * weak

    return (until(column.end_m) - until(column.start_m)) / until(end)
