"""What a maker writes on the command line, as facts of a side."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from ribwright_host.errors import UsageError

from .intake import WHOLE, Given
from .quantities import length_mm, temperature_c, weight_g

# What may lie between the slats at all; a slip of the decimal point is caught, nothing else.
THICKNESS_MM = (0.3, 12.0)
RADIUS_MM = (5.0, 2000.0)


def day(text: str) -> str:
    """A day as ISO 8601 writes it.

    text: as written. Raises UsageError.
    """
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise UsageError(f"{text!r} is not a day", "write it like 2026-11-28") from None


def thickness_by_place(written: Sequence[str]) -> dict[str, float]:
    """Thickness in mm by place, from texts like "1.7" and "1.65@waist".

    written: the texts. Raises UsageError.

    >>> thickness_by_place(["1.7@waist", "0.07in@lower bout"])
    {'waist': 1.7, 'lower bout': 1.778}
    """
    found = {}
    for text in written:
        size, _, place = text.partition("@")
        name = place.strip() or WHOLE
        if name in found:
            raise UsageError(f"the thickness {name} is given twice", "give each place once")
        found[name] = length_mm(size, f"the thickness {name}", *THICKNESS_MM)
    return found


def given_from(
    piece: str, which: str, thickness: Sequence[str], facts: Mapping[str, Any], *, move: bool
) -> Given:
    """What `book add` was told, read and checked.

    piece, which: the side. thickness: as thickness_by_place(). facts: the other options by name. move: as
    Given. Raises UsageError.
    """
    radius, before, after = (facts.get(name) for name in ("radius", "before", "after"))
    form, slat = (facts.get(name) for name in ("form_at", "slat_at"))
    before_g = weight_g(before, "the weight before wetting") if before else None
    after_g = weight_g(after, "the weight after wetting") if after else None
    if before_g and after_g and after_g < before_g:
        raise UsageError(
            f"the blank weighs {after_g:g} g after wetting and {before_g:g} g before",
            "exchange --before and --after, or weigh again",
        )
    made_on = facts.get("made_on")
    words = ("species", "wetted", "show_face", "top_edge", "neck_end", "waist_mark", "taper", "remark")
    side = {name: (facts.get(name) or "").strip() or None for name in words}
    return Given(
        piece,
        which,
        {"instrument": facts.get("instrument"), "made_on": day(made_on) if made_on else None},
        side
        | {
            "tightest_radius_mm": length_mm(radius, "the tightest radius", *RADIUS_MM) if radius else None,
            "weight_before_g": before_g,
            "weight_after_g": after_g,
            "moisture_percent": facts.get("moisture"),
            "form_start_c": temperature_c(form, "the form at the start") if form else None,
            "slat_start_c": temperature_c(slat, "the slat at the start") if slat else None,
        },
        thickness_by_place(thickness),
        move,
    )
