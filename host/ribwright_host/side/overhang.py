"""Where a profile's blankets reach past its strips, or its strips past them, in plain words."""

from collections.abc import Mapping, Sequence
from typing import Any

from ribwright_board.core.rig_values import Rig, Zone
from ribwright_host.book.quantities import show_mm

from .facts import HANDS, side_of

# Nearer than this nobody lays a blanket [mm].
LEAST_MM = 0.5
# A blanket a little wider than the side keeps its edges warm: up to so much to an edge is as it should be
# [mm]. PROPOSAL.
LITTLE_MM = 8.0
# A piece of this kind has the rest of its strip cold on purpose.
ONE_PLACE = "touch-up"


def _mm(value_mm: float, lengths: str) -> str:
    return show_mm(value_mm, lengths, decimals=0)


def overhang_lines(
    mapping: Mapping[str, Any], rig: Rig, lengths: str = "mm", stated: Mapping[str, Any] | None = None
) -> list[str]:
    """What hangs over, blanket by blanket; empty where all fit, or are a little wider than the strip.

    mapping: checked values of a profile. rig: checked against it. lengths: to show, "mm" or "in". stated: the
    profile's checked [side], whose taper counts, or None. Blankets are taken to lie in the middle of the
    strips, strips of a batch side by side without gaps.
    """
    piece = mapping["piece"]
    count = int(piece.get("pieces", 1))
    heated = {name for stage in mapping["stages"] for name in stage.get("zones", ())}
    zones = [zone for zone in rig.zones if zone.name in heated and zone.length_mm > 0]
    told = []
    for zone in zones:
        ends_mm = (zone.length_mm - float(piece["length_mm"])) / 2
        edges_mm = (zone.width_mm - float(piece["width_mm"]) * count) / 2
        told += _past_strip(zone.name, ends_mm, edges_mm, count, lengths)
    told += _past_taper(zones, stated, lengths)
    wood_mm = (float(piece["length_mm"]), float(piece["width_mm"]) * count)
    return told + _past_blanket(zones, *wood_mm, lengths, one_place=piece["kind"] == ONE_PLACE)


def _past_strip(name: str, ends_mm: float, edges_mm: float, count: int, lengths: str) -> list[str]:
    past = []
    if ends_mm > LEAST_MM:
        past.append(f"{_mm(ends_mm, lengths)} at each end")
    if edges_mm > LEAST_MM:
        past.append(f"{_mm(edges_mm, lengths)} along each edge")
    if ends_mm <= LEAST_MM and edges_mm <= LITTLE_MM:
        return []
    over = "the strip" if count == 1 else f"{count} strips side by side"
    seen = f"Blanket {name} overhangs {over} by {' and '.join(past)}"
    risk = (
        "No wood takes its heat there and no thermocouple sees it, so it may get hotter than any reading: "
        "slats as long and as wide as the blanket, and scrap of the same thickness beside the wood (common "
        "practice, no source)."
    )
    return [f"{seen}. {risk}"]


def _past_taper(zones: Sequence[Zone], stated: Mapping[str, Any] | None, lengths: str) -> list[str]:
    """Where the wider of the blankets stands over the narrower end of a tapered strip."""
    widths_mm: dict[str, float] = {}
    for hand in HANDS if stated is not None else ():
        side = side_of(stated or {}, hand)
        if side.neck_width_mm is not None and side.tail_width_mm is not None:
            least_mm, end = min((side.neck_width_mm, "neck"), (side.tail_width_mm, "tail"))
            widths_mm[end] = min(least_mm, widths_mm.get(end, least_mm))
    told = []
    for end, narrow_mm in widths_mm.items():
        widest = max(zones, key=lambda zone: (zone.width_mm, zone.length_mm), default=None)
        if widest is not None and (past_mm := (widest.width_mm - narrow_mm) / 2) > LITTLE_MM:
            told.append(
                f"At the {end} end the strip is {_mm(narrow_mm, lengths)} wide, so that blanket "
                f"{widest.name} overhangs it by {_mm(past_mm, lengths)} along each edge there."
            )
    return told


def _past_blanket(
    zones: Sequence[Zone], length_mm: float, width_mm: float, lengths: str, *, one_place: bool
) -> list[str]:
    """Wood that no blanket of the profile covers, along a strip only where more than one place is bent."""
    told = []
    covered_mm = sum(zone.length_mm for zone in zones)
    if zones and not one_place and length_mm - covered_mm > LEAST_MM:
        told.append(
            f"The strip is {_mm(length_mm, lengths)} long, the blankets of this profile end to end "
            f"{_mm(covered_mm, lengths)}: {_mm(length_mm - covered_mm, lengths)} of it stay cold."
        )
    told += [
        f"The wood is {_mm(width_mm, lengths)} wide, blanket {zone.name} "
        f"{_mm(zone.width_mm, lengths)}: {_mm((width_mm - zone.width_mm) / 2, lengths)} along each "
        "edge stay colder."
        for zone in zones
        if width_mm - zone.width_mm > LEAST_MM
    ]
    return told
