"""How far the evidence carries a plan: ordinary, careful, or beyond it; and every reason for that.

Each reason names its source.  A grade forbids nothing: only heat limits refuse a plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from .colour import REFERENCE_C, VISIBLE_ABOVE_C
from .materials import StackError
from .planning_values import BEYOND, CAREFUL, GRADES, ORDINARY, Found, Reason, Wanted, apart, degrees, length
from .softening import SPREAD_K
from .strain import (
    COLD,
    HOT,
    RADIUS_RULE,
    outer_strain_percent,
    strap_compression_percent,
    tension_limit_percent,
)
from .wood import species

PRACTICE = "common practice, no source"
PROPOSAL = "proposal"
# Thickness of sides that makers bend [mm].
USUAL_MM = (1.5, 2.5)
# A plan's prediction lies on simulated rigs; wood this much lighter or heavier was not among the examples.
AS_USUAL = Wanted()
PLAIN = ("", "plain", "straight", "none")
QUARTERED = ("quarter", "quartersawn", "quarter-sawn", "quarter sawn", "semi-quartersawn")


def strain_of(
    piece: Mapping[str, object], bend_thickness_mm: float | None = None
) -> tuple[float | None, float | None]:
    """Stretch of the outer fibres at the tightest radius, and compression with a strap, of one ply [%].

    Args:
        piece: a profile's [piece].
        bend_thickness_mm: of a ply at that place, where it differs from the rest.
    """
    radius_mm, thickness_mm = piece.get("tightest_radius_mm"), bend_thickness_mm or piece.get("thickness_mm")
    if not isinstance(radius_mm, int | float) or not isinstance(thickness_mm, int | float):
        return None, None
    return outer_strain_percent(thickness_mm, radius_mm), strap_compression_percent(thickness_mm, radius_mm)


def graded(found: Found, piece: Mapping[str, object], wanted: Wanted = AS_USUAL) -> Found:
    """The plan with its reasons and its grade, the worst of them.

    Args:
        found: of the search.
        piece: a profile's [piece].
        wanted: what was asked; units of what is said to people.
    """
    reasons = tuple(reason for rule in RULES for reason in rule(found, piece, wanted))
    worst = max((GRADES.index(reason.grade) for reason in reasons), default=0)
    return replace(found, grade=GRADES[worst], reasons=reasons)


def _number(piece: Mapping[str, object], key: str) -> float | None:
    value = piece.get(key)
    return float(value) if isinstance(value, int | float) else None


def _word(piece: Mapping[str, object], key: str) -> str:
    return str(piece.get(key, "")).strip().lower()


def _softness(found: Found, _piece: Mapping[str, object], wanted: Wanted) -> Iterator[Reason]:
    middle = min(bend.least_k.low for bend in found.bends)
    spread = min(bend.least_spread_k.low for bend in found.bends)
    if middle < 0.0:
        yield Reason(
            CAREFUL,
            f"the wood is up to {apart(-middle, wanted.unit)} below softening while it is bent; at this "
            "radius cold wood bears it",
            f"{COLD.source}: {COLD.tension_percent:g} % cold",
        )
    elif spread < 0.0:
        yield Reason(
            CAREFUL,
            f"soft on all rigs by the middle of the softening curve, at least {apart(middle, wanted.unit)} "
            f"above it; by its stiff end ({apart(SPREAD_K, wanted.unit)}) up to "
            f"{apart(-spread, wanted.unit)} below: try a strip first",
            "the curve is an unverified bridge between 170 C dry and 60 C wet",
        )
    else:
        yield Reason(
            ORDINARY,
            f"soft on all rigs even by the stiff end of the softening curve, by {apart(spread, wanted.unit)}",
            "the curve is an unverified bridge between 170 C dry and 60 C wet",
        )


def _stretch(found: Found, piece: Mapping[str, object], wanted: Wanted) -> Iterator[Reason]:
    radius_mm, thickness_mm = _number(piece, "tightest_radius_mm"), found.bend_thickness_mm
    if found.strain_percent is None or radius_mm is None or thickness_mm is None:
        yield Reason(CAREFUL, "the tightest radius is not known, so stretch cannot be judged", "none")
        return
    bears = float(tension_limit_percent(found.bends[0].least_k.low))
    source = f"{COLD.tension_percent:g} % cold and dry, {HOT.tension_percent:g} % hot and wet: {HOT.source}"
    seen = f"stretch {found.strain_percent:.2f} % at {length(radius_mm, wanted.lengths)}"
    if found.strain_percent > HOT.tension_percent:
        yield Reason(
            BEYOND,
            f"{seen} is more than wood bears at its softest without a strap; only a slat that takes the "
            "stretch "
            f"can do it, and presses the inner face by {found.strap_percent:.1f} %",
            source,
        )
    elif found.strain_percent > bears:
        yield Reason(
            CAREFUL,
            f"{seen}, the wood bears about {bears:.1f} % here: hold the outer slat tight, it takes the "
            "stretch",
            source,
        )
    else:
        yield Reason(ORDINARY, f"{seen}, the wood bears about {bears:.1f} % here", source)
    least, most = RADIUS_RULE
    ratio = radius_mm / thickness_mm
    rule = "Wengert, as summarised: 20 to 30 thicknesses without steam or end pressure"
    if ratio < least:
        yield Reason(BEYOND, f"the radius is {ratio:.0f} thicknesses of a ply, under {least:.0f}", rule)
    elif ratio < most:
        yield Reason(CAREFUL, f"the radius is {ratio:.0f} thicknesses of a ply", rule)


def _thickness(_found: Found, piece: Mapping[str, object], wanted: Wanted) -> Iterator[Reason]:
    thickness_mm = _number(piece, "thickness_mm") or 0.0
    plies = _number(piece, "plies") or 1.0
    least, most = USUAL_MM
    if plies == 1.0 and thickness_mm > 2.0 * most:
        yield Reason(
            BEYOND, f"{length(thickness_mm, wanted.lengths)} is twice what sides are bent at", PRACTICE
        )
    elif plies == 1.0 and not least <= thickness_mm <= most:
        usual = f"{length(least, wanted.lengths)} to {length(most, wanted.lengths)}"
        here = length(thickness_mm, wanted.lengths)
        yield Reason(CAREFUL, f"sides are bent at {usual}, this is {here}", PRACTICE)
    if plies > 1.0:
        yield Reason(
            CAREFUL,
            f"{plies:g} plies that slip are bent as single ones but heat as "
            f"{length(plies * thickness_mm, wanted.lengths)} of wood; what lies between them is not modelled",
            PROPOSAL,
        )


def _wood(_found: Found, piece: Mapping[str, object], _wanted: Wanted) -> Iterator[Reason]:
    if piece.get("density_kg_m3") is None:
        kind = species(str(piece.get("species", "")))
        if "from memory" in kind.source or "inconsistent" in kind.source:
            yield Reason(
                CAREFUL, f"the weight of {kind.name} is not well known here: weigh a strip", kind.source
            )
    else:
        try:
            species(str(piece.get("species", "")))
        except StackError:
            yield Reason(CAREFUL, "the species is not known here; only its stated density was used", PROPOSAL)
    if _word(piece, "figure") not in PLAIN:
        yield Reason(
            CAREFUL, "figured wood runs out of the face and breaks sooner; go slower and no hotter", PRACTICE
        )
    cut = _word(piece, "cut")
    if cut and cut not in QUARTERED:
        yield Reason(
            CAREFUL,
            f"{cut} sawn: the published best is quarter-sawn or semi-quarter-sawn",
            "Forests 2023, 14(5):1047 (abstract), European oak",
        )
    if _word(piece, "oiliness") not in ("", "dry", "low", "none"):
        yield Reason(
            CAREFUL, "oily wood takes up water slowly and may darken or smoke sooner; ventilate", PRACTICE
        )


def _colour(found: Found, _piece: Mapping[str, object], wanted: Wanted) -> Iterator[Reason]:
    darkest = max(found.colours.values(), key=lambda one: one.minutes.high)
    word = darkest.shades[2].word
    hottest, at = degrees(darkest.hottest_c.high, wanted.unit), degrees(REFERENCE_C, wanted.unit)
    hot = f"hottest face {hottest}, {darkest.minutes.high:.1f} min at {at} at most"
    if word == "visible":
        yield Reason(
            CAREFUL,
            f"plainly darker at the hottest place on some rigs, it sands out ({hot})",
            f"visible above {VISIBLE_ABOVE_C:.0f} C (Feher et al. 2014); that it sands out is {PRACTICE}",
        )
    else:
        yield Reason(ORDINARY, f"colour {word} on the hottest rig ({hot})", "index and words are proposals")


RULES: tuple[Callable[[Found, Mapping[str, object], Wanted], Iterator[Reason]], ...] = (
    _softness,
    _stretch,
    _thickness,
    _wood,
    _colour,
)
