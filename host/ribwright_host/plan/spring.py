"""Spring-back of the planned side, by the maker's own measured sides: how far to over-bend the next form."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ribwright_host.book.cases import Cases, collect
from ribwright_host.book.learn import INTERVAL, Learned
from ribwright_host.book.quantities import show_c, show_mm
from ribwright_host.book.store import book_path, opened
from ribwright_host.book.suggest import Suggestion, suggest, try_to_learn

# The set stays this near to what is usual, whatever was learned [C]: common practice, no source.
SET_C = (112.0, 142.0)
# A target is written in whole degrees.
SAME_SET_K = 0.6


@dataclass(frozen=True)
class Spring:
    """What the notebook tells.

    why_not: why it tells nothing, "" where it does. sides: measured ones of this wood. set_c: suggested set,
    None without one. learned, found: of the notebook. suggestion: whole, with its interval or its reason.
    """

    why_not: str
    sides: int
    set_c: float | None
    learned: Learned | None
    found: Cases | None
    suggestion: Suggestion | None = None


NO_BOOK = Spring("not enough yet: no notebook is there; `ribwright book add` begins one", 0, None, None, None)


def learned_from(book: Path | None, species: str) -> Spring:
    """What the notebook has learned of a wood.

    book: as --book; None for the usual one, where it is there. species: of the piece. Raises FileError for a
    notebook that was named and cannot be opened.
    """
    path = book_path(book)
    if book is None and not path.is_file():
        return NO_BOOK
    with opened(path):
        found = collect(species)
    learned, why_not = try_to_learn(found.cases)
    if learned is None:
        return Spring(why_not, len(found.cases), None, None, found)
    suggestion = suggest(learned, found.cases, 0.0, why_not)
    set_c = suggestion.suggested_set_c
    within = None if set_c is None else min(max(set_c, SET_C[0]), SET_C[1])
    return Spring("", len(found.cases), within, learned, found, suggestion)


def over_bend(spring: Spring, figures: Mapping[str, Any]) -> dict[str, Any]:
    """How far the side will open, and so how far to close the next form.

    spring: of learned_from(). figures: of the plan. Gives why_not, or gap_mm with its interval; and what set
    the notebook suggests, with its interval or why there is none.
    """
    return {**_gap(spring, figures), **_suggested(spring)}


def _suggested(spring: Spring) -> dict[str, Any]:
    """What the notebook suggests of the set; nothing where it tells nothing."""
    suggestion = spring.suggestion
    if suggestion is None:
        return {}
    return {
        "suggested_set_c": spring.set_c,
        "suggested_interval_c": suggestion.interval_c,
        "suggested_why": suggestion.reason,
        "held_back": suggestion.held_back or spring.set_c != suggestion.suggested_set_c,
    }


def _gap(spring: Spring, figures: Mapping[str, Any]) -> dict[str, Any]:
    """The mean gap to expect, mm, with its interval, or why_not."""
    learned, found = spring.learned, spring.found
    if learned is None or found is None:
        return {"why_not": spring.why_not or "not enough yet", "sides": spring.sides}
    heats = [value for case in found.cases if (value := case.values.get("heat_min")) is not None]
    piece = figures["piece"]
    values: dict[str, float | None] = {
        "set_c": figures["set_c"],
        "set_min": figures["set_minutes"],
        # Time at readings of bending heat is not planned: as on the sides so far.
        "heat_min": float(np.median(heats)) if heats else None,
        "thickness_mm": piece["thickness_mm"],
        "moisture_percent": piece.get("moisture_percent"),
        "tightest_radius_mm": piece.get("tightest_radius_mm"),
    }
    last = found.cases[-1].values
    values = {key: last.get(key) if value is None else value for key, value in values.items()}
    missing = [factor.name for factor in learned.factors if values.get(factor.name) is None]
    if missing:
        return {"why_not": f"this piece does not state {', '.join(missing)}", "sides": spring.sides}
    drawn = learned.gap_draws(values)
    tail = (1 - INTERVAL) / 2
    low, high = (float(one) for one in np.quantile(drawn, [tail, 1 - tail]))
    return {"why_not": "", "sides": learned.sides, "gap_mm": float(drawn.mean()), "interval_mm": [low, high]}


def over_bend_sentence(told: Mapping[str, Any], lengths: str = "mm") -> str:
    """The same for people.

    told: of over_bend(). lengths: "mm" or "in".
    """
    if told["why_not"]:
        return f"Over-bend of the next form: {told['why_not']}."
    gap = show_mm(told["gap_mm"], lengths, signed=True)
    low, high = (show_mm(one, lengths, signed=True) for one in told["interval_mm"])
    if told["interval_mm"][0] <= 0.0 <= told["interval_mm"][1]:
        way = "which may as well be none, so leave the next form as it is, and measure one side first"
    else:
        way = "close the next form" if told["gap_mm"] > 0 else "open the next form"
        way += " by that much, and try it on one side first"
    return (
        f"Spring-back by {told['sides']} of your own sides: a mean gap of {gap} ({low} to {high}, "
        f"nine times in ten or more often); {way}."
    )


def suggested_sentence(told: Mapping[str, Any], set_c: float, unit: str = "C") -> str:
    """What the maker's own sides say of the set, for people; "" where no notebook tells anything.

    told: of over_bend(). set_c: of the plan. unit: to show.
    """
    if "suggested_why" not in told:
        return ""
    suggested_c = told["suggested_set_c"]
    if suggested_c is None:
        return f"Your own sides suggest no set: {told['suggested_why']}."
    low, high = (show_c(one, unit) for one in told["suggested_interval_c"])
    held = "; it goes no further than one pair should" if told["held_back"] else ""
    said = (
        f"{told['sides']} of your own sides suggest a set at {show_c(suggested_c, unit)} (a mean gap of "
        f"nothing needs {low} to {high}{held})"
    )
    if abs(suggested_c - set_c) <= SAME_SET_K:
        return f"{said}: this plan uses it."
    return f"{said}; this plan has {show_c(set_c, unit)}, as it was asked for."
