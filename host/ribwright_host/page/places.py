"""Which part of the strip each zone speaks for: upper bout, waist and lower bout, as it lies on the form."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ribwright_board.core.woods import LONG_RATIO

# The same names as the notebook's places and the simulator's columns.
UPPER, WAIST, LOWER = PLACES = ("upper bout", "waist", "lower bout")
WORDS = {"upper": UPPER, "waist": WAIST, "lower": LOWER}


@dataclass(frozen=True)
class Part:
    """One part of the strip. name: for people. zone: the position of the zone that speaks for it."""

    name: str
    zone: int


def parts_of(zones: Sequence[str], lengths_mm: Mapping[str, float] | None = None) -> list[Part]:
    """The parts of a strip from the upper bout's end, each with the zone nearest to its wood.

    zones: names, in the rig's order. lengths_mm: of their blankets, where a rig file states them. Names say
    where a blanket lies; else one short blanket on a long one lies at the waist. What cannot be told apart is
    one part for each zone, under its own name.

    >>> [(part.name, part.zone) for part in parts_of(["waist", "full"])]
    [('upper bout', 1), ('waist', 0), ('lower bout', 1)]
    >>> [part.name for part in parts_of(["a", "b"])]
    ['a', 'b']
    """
    if len(zones) == 1:
        return [Part(place, 0) for place in PLACES]
    placed = {
        place: position
        for position, name in reversed(list(enumerate(zones)))
        for word, place in WORDS.items()
        if word in name.lower()
    }
    if not placed and lengths_mm and len(zones) == 2:
        short, long = sorted(range(2), key=lambda zone: lengths_mm.get(zones[zone], 0.0))
        if lengths_mm.get(zones[long], 0.0) >= LONG_RATIO * lengths_mm.get(zones[short], 0.0) > 0:
            placed = {WAIST: short}
    rest = [position for position in range(len(zones)) if position not in placed.values()]
    missing = [place for place in PLACES if place not in placed]
    if placed and (len(rest) == 1 or not missing):
        placed |= dict.fromkeys(missing, rest[0] if rest else 0)
        return [Part(place, placed[place]) for place in PLACES]
    return [Part(name, position) for position, name in enumerate(zones)]
