"""What a plan says of itself, sentence by sentence: the same in the profile, on screen and on the page."""

from collections.abc import Mapping
from typing import Any

from ribwright_board.core.units import in_unit, in_unit_difference
from ribwright_host.book.quantities import MM_PER_INCH

Band = Mapping[str, float]
Figures = Mapping[str, Any]

# Rests on an unverified bridge between published facts.
MARK = "*"
PRACTICE = "common practice, no source"
CAUTION = (
    "Try it on a strip of the same wood first, watch the colour, ventilate, and stay with a heated rig. "
    "Hot steel and steam burn: gloves, and power off before the foil is opened."
)


def degrees(at_c: float, unit: str) -> str:
    """A temperature for people.

    at_c: C. unit: "C" or "F" to show.

    >>> degrees(127.0, "F")
    '261 F'
    """
    return f"{in_unit(at_c, unit):.0f} {unit}"


def margin(value_k: float, unit: str) -> str:
    """A margin above softening for people.

    value_k: K. unit: as degrees().

    >>> margin(-12.0, "C"), margin(5.0, "F")
    ('12 C below', '9 F above')
    """
    return f"{abs(in_unit_difference(value_k, unit)):.0f} {unit} {'below' if value_k < 0 else 'above'}"


def size(value_mm: float, figures: Figures) -> str:
    """A length for people, in the lengths of the plan.

    value_mm: mm. figures: of a plan.

    >>> size(55.0, {"lengths": "in"}), size(55.0, {})
    ('2.17 in', '55 mm')
    """
    if figures.get("lengths") == "in":
        inches = value_mm / MM_PER_INCH
        return f"{inches:.{2 if inches >= 1 else 3}f} in"
    return f"{value_mm:.3g} mm"


def place_words(figures: Figures, bend: int) -> str:
    """What is bent, in a word or two.

    figures: of a plan. bend: its number from 0.
    """
    if len(figures["bends"]) == 1:
        return "the strip"
    return ("the tightest place", "the bouts")[bend]


def target_sentence(figures: Figures, bend: int) -> str:
    """Why a bend has its target.

    figures: of a plan. bend: its number from 0.
    """
    unit, tried = figures["unit"], figures["bends"][bend]["tried"]
    practice = f"{in_unit(150.0, unit):.0f} to {degrees(180.0, unit)} is usual ({PRACTICE})"
    here_c = tried["target_c"]
    if figures["bends"][bend]["least_k"]["low"] < 0.0:
        # Saying why it is soft would contradict the next sentence.
        why = "the wood is not soft on all rigs here, and at this radius cold wood bears the bend"
    elif here_c < 148.0:
        why = "lower than usual, since the water of hotter wood leaves before the last cue is done"
    else:
        why = "the wood is soft while its water boils off, and stiffens as it dries"
    return f"{practice}; {why}"


def soft_sentence(figures: Figures, bend: int) -> str:
    """How soft the wood is while it is bent, and for how long.

    figures: of a plan. bend: its number from 0.
    """
    unit, one = figures["unit"], figures["bends"][bend]
    least, spread = one["least_k"], one["least_spread_k"]
    minutes = one["soft_s"] / 60.0
    for_s = f"{minutes:.1f} min or longer" if one["soft_s"] >= one["followed_s"] else f"{minutes:.1f} min"
    for_s = f"for {for_s} from the cue" if one["soft_s"] else "from the cue on"
    are = "are" if place_words(figures, bend).endswith("s") else "is"
    # What is below on the worst rig is less far below on all others.
    bound = "most" if least["low"] < 0 else "least"
    return (
        f"On every rig {place_words(figures, bend)} {are} at {bound} {margin(least['low'], unit)} "
        f"softening{MARK} while bent ({margin(least['mid'], unit)} on the middle rig; "
        f"{margin(spread['low'], unit)} by the stiff end of the curve), {for_s}"
    )


def wait_sentence(figures: Figures, bend: int) -> str:
    """Why there is a hold before the press.

    figures: of a plan. bend: its number from 0.
    """
    tried = figures["bends"][bend]["tried"]
    if tried["mid_wood_c"] is not None:
        return "the thermocouple is there before the wood is: its estimated middle ends this"
    return "the thermocouple is there before the middle of the wood; longer, and its water is gone"


def stretch_sentence(figures: Figures) -> str:
    """Stretch at the tightest place.

    figures: of a plan.
    """
    radius_mm = figures["piece"].get("tightest_radius_mm")
    if figures["strain_percent"] is None or radius_mm is None:
        return "Stretch: not known, since no tightest radius was given"
    thickness_mm = figures["bend_thickness_mm"]
    return (
        f"Stretch of the outer fibres at {size(radius_mm, figures)}, {size(thickness_mm, figures)} thick"
        f"{', each ply by itself' if (figures['piece'].get('plies') or 1) > 1 else ''}: t/(2R+t) = "
        f"{figures['strain_percent']:.2f} %; with a slat that takes it all, the inner face is pressed "
        f"{figures['strap_percent']:.2f} %"
    )


def set_sentence(figures: Figures) -> str:
    """Why the set is as it is.

    figures: of a plan.
    """
    settled, unit = figures["settled_min"], figures["unit"]
    return (
        f"the wood is below its softening{MARK} after {settled['mid']:.0f} min ({settled['low']:.0f} to "
        f"{settled['high']:.0f} over the rigs); about {degrees(127, unit)} for 15 min is usual ({PRACTICE})"
    )


def colour_sentence(figures: Figures) -> str:
    """The colour to expect where it is hottest.

    figures: of a plan.
    """
    unit = figures["unit"]
    name, darkest = max(figures["colours"].items(), key=lambda item: item[1]["minutes_at_177_c"]["high"])
    word = {"none": "none", "faint": "faint", "visible": "visible, sands out"}
    low, high = (word[darkest["words"][end]] for end in (0, 2))
    said = low if low == high else f"{low} to {high}"
    return (
        f"Colour{MARK} at the hottest place ({name}): {said}; hottest face "
        f"{degrees(darkest['hottest_c']['high'], unit)} at most, "
        f"{darkest['minutes_at_177_c']['high']:.1f} min at {degrees(177, unit)} at most"
    )


def practice_sentences(figures: Figures) -> list[str]:
    """The plan beside what makers do.

    figures: of a plan.
    """
    unit = figures["unit"]
    bends = " and ".join(degrees(one["tried"]["target_c"], unit) for one in figures["bends"])
    here = f"{degrees(figures['set_c'], unit)} for {figures['set_minutes']:.0f} min"
    usual = f"{in_unit(150.0, unit):.0f} to {degrees(180.0, unit)}"
    sides = f"{size(2.0, figures)} sides"
    return [
        f"{sides} are bent at {usual}, pale and figured wood at the low end; this plan: {bends}.",
        f"They are set near {degrees(127.0, unit)} for about 15 min; this plan: {here}.",
        "Wood is often only misted; on the simulated rigs its water has left before the wood is hot.",
    ]
