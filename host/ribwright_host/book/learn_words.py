"""What was learned, in plain words and for programs."""

from collections.abc import Iterator
from typing import Any

from ribwright_board.core.units import in_unit_difference

from .cases import EVERY_WOOD, Cases
from .defects import leanings
from .learn import CLAIM, LEAST_SIDES, Effect, Learned
from .listing import counted
from .quantities import MM_PER_INCH, show_c, show_mm
from .suggest import Suggestion

TITLES = {
    "set_c": "set temperature",
    "set_min": "set time",
    "heat_min": "time at bending heat",
    "thickness_mm": "thickness",
    "moisture_percent": "moisture",
    "tightest_radius_mm": "tightest radius",
}
CAUTION = (
    "It is what your own sides had in common, not a law. Try it on scrap from the same board first, watch "
    "the colour, and stay with a heated rig."
)


def _step_words(effect: Effect, unit: str, lengths: str) -> str:
    """The step of a factor in the user's units."""
    name, step = effect.factor.name, effect.factor.step
    if name == "set_c" and unit == "F":
        return f"a set {in_unit_difference(step, 'F'):g} F hotter"
    if name.endswith("_mm") and lengths == "in":
        return effect.factor.words.replace(f"{step:g} mm", f"{step / MM_PER_INCH:.3f} in")
    return effect.factor.words


def effect_line(effect: Effect, unit: str = "C", lengths: str = "mm") -> str:
    """An effect for people.

    effect: per unit. unit, lengths: to show.
    """
    step = effect.factor.step
    low, mean, high = (
        show_mm(v * step, lengths, signed=True) for v in (effect.low, effect.mean, effect.high)
    )
    words = _step_words(effect, unit, lengths)
    if not effect.told:
        return f"{words}: cannot be told yet, {low} to {high} of gap"
    return f"{words}: {mean} of gap ({low} to {high})"


def learned_lines(
    found: Cases,
    learned: Learned | None,
    suggestion: Suggestion,
    unit: str = "C",
    lengths: str = "mm",
) -> Iterator[str]:
    """All that the book tells, for people.

    found, learned, suggestion: of the steps before. unit, lengths: to show.
    """
    wood = "all woods" if found.species == EVERY_WOOD else found.species
    aside = [counted(found.others, "side") + " of other woods"] if found.others else []
    aside += [counted(found.simulated, "SIMULATED side")] if found.simulated else []
    left = f"; left aside: {', '.join(aside)}" if aside else ""
    yield f"{counted(len(found.cases), 'real, measured side')} of {wood}{left}."
    if learned is None:
        yield suggestion.reason[0].upper() + suggestion.reason[1:] + "."
        return
    yield (
        f"Learned from {learned.sides} of them; in brackets where the truth lies, nine "
        "times in ten or more often; below 0 is less spring-back:"
    )
    for effect in learned.effects():
        yield f"  {effect_line(effect, unit, lengths)}"
    for name, why in learned.left_out.items():
        yield f"  {TITLES[name]} is left out: {why}"
    yield from _defect_lines(found)
    yield from suggestion_lines(suggestion, unit, lengths)


def _defect_lines(found: Cases) -> Iterator[str]:
    leaning, _ = leanings(found.cases, found.defects)
    for one in leaning:
        yield (
            f"  {one.kind}: {one.factor.words} multiplies the odds by {one.odds:.2g} "
            f"({one.low:.2g} to {one.high:.2g})"
        )


def suggestion_lines(suggestion: Suggestion, unit: str = "C", lengths: str = "mm") -> Iterator[str]:
    """The suggestion for people.

    suggestion: for the next pair. unit, lengths: to show.
    """
    if suggestion.suggested_set_c is None or suggestion.interval_c is None:
        yield suggestion.reason[0].upper() + suggestion.reason[1:] + "."
        return
    aim = show_mm(suggestion.aim_mm, lengths, signed=True) if suggestion.aim_mm else "nothing"
    low, high = (show_c(value, unit) for value in suggestion.interval_c)
    yield (
        f"Next pair, all else as on the newest side: set it at {show_c(suggestion.suggested_set_c, unit)}. "
        f"A mean gap of {aim} needs {low} to {high}."
    )
    if suggestion.held_back:
        yield "That is as far as one pair should go; measure it, then ask again."
    if suggestion.gap_mm is not None and suggestion.gap_interval_mm is not None:
        gap = show_mm(suggestion.gap_mm, lengths, signed=True)
        ends = [show_mm(value, lengths, signed=True) for value in suggestion.gap_interval_mm]
        yield f"Expect {gap} ({ends[0]} to {ends[1]} for a single side)."
    yield CAUTION


def as_json(found: Cases, learned: Learned | None, suggestion: Suggestion) -> dict[str, Any]:
    """All that the book tells, for a program: figures per unit, in C and mm.

    found, learned, suggestion: of the steps before.
    """
    leaning, silent = leanings(found.cases, found.defects) if learned else ([], {})
    effects = learned.effects() if learned else []
    return {
        "species": found.species,
        "sides": len(found.cases),
        "sides_needed": LEAST_SIDES,
        "simulated_left_out": found.simulated,
        "learned": learned is not None,
        "intervals_hold_at_least": CLAIM,
        "effects_mm_per_unit": {
            one.factor.name: {"mean": one.mean, "interval": [one.low, one.high], "told": one.told}
            for one in effects
        },
        "left_out": learned.left_out if learned else {},
        "defects": [one.as_json() for one in leaning],
        "defects_not_told": silent,
        **suggestion.as_json(),
    }
