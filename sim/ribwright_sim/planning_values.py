"""What a plan was asked for, what was found, and why there is none: plain values in C, K, minutes."""

from __future__ import annotations

from dataclasses import dataclass, field

from ribwright_board.core.units import in_unit, in_unit_difference

from .colour import SHADES, Shade
from .planning_program import Order, Try
from .stage_figures import Band

# Words a plan may be asked to stay at or below; scorched wood is never asked for.
COLOUR_WORDS = tuple(one.word for one in SHADES[:-1])
# "Visible" lies near the face and comes off with the sanding: common practice, no source.
SANDS_OUT = "visible"
ORDINARY, CAREFUL, BEYOND = "ordinary", "careful", "beyond our evidence"
GRADES = (ORDINARY, CAREFUL, BEYOND)


def degrees(at_c: float, unit: str) -> str:
    """A temperature for people.

    Args:
        at_c: [C].
        unit: "C" or "F".

    >>> degrees(180.0, "F")
    '356 F'
    """
    return f"{in_unit(at_c, unit):.0f} {unit}"


def apart(by_k: float, unit: str) -> str:
    """A difference of temperatures for people.

    Args:
        by_k: [K].
        unit: "C" or "F".

    >>> apart(20.0, "F"), apart(20.0, "C")
    ('36 F', '20 K')
    """
    return f"{in_unit_difference(by_k, unit):.0f} {'F' if unit == 'F' else 'K'}"


MM_PER_INCH = 25.4


def length(of_mm: float, lengths: str) -> str:
    """A length for people.

    Args:
        of_mm: mm.
        lengths: "mm" or "in".

    >>> length(45.72, "in"), length(45.72, "mm")
    ('1.80 in', '45.7 mm')
    """
    if lengths == "in":
        inches = of_mm / MM_PER_INCH
        return f"{inches:.{2 if inches >= 1.0 else 3}f} in"
    return f"{of_mm:.3g} mm"


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked of a plan.

    colour: darkest word allowed, of COLOUR_WORDS. set_c: target of the set [C]. shape: of
    planning_program.SHAPES. bend_thickness_mm: of one ply at the tightest place, where it differs from the
    rest; None where not. unit, lengths: of what is said to people. targets_c: what may be tried for a bend,
    the ordinary ones first and what lies below them [C].
    """

    colour: str = SANDS_OUT
    set_c: float = 127.0
    shape: str = "waist"
    bend_thickness_mm: float | None = None
    unit: str = "C"
    lengths: str = "mm"
    targets_c: tuple[tuple[float, ...], tuple[float, ...]] = (
        (150.0, 160.0, 170.0, 180.0),
        (140.0, 130.0, 120.0),
    )


@dataclass(frozen=True, slots=True)
class BendFigures:
    """One bend on all rigs.

    tried: how it is heated. start_min: when its cue comes. first_k, least_k: margin above softening as the
    strip is first pressed, and the least until the last cue is done, by the middle of the softening curve.
    least_spread_k: the same with the curve moved within its spread. soft_s: from the cue on, at least this
    long on all rigs, followed for at most `followed_s`.
    """

    tried: Try
    start_min: Band
    first_k: Band
    least_k: Band
    least_spread_k: Band
    soft_s: float
    followed_s: float


@dataclass(frozen=True, slots=True)
class ColourFigures:
    """One column at the end of the set: minutes at 177 C, hottest face [C], the words low, middle, high."""

    minutes: Band
    hottest_c: Band
    shades: tuple[Shade, Shade, Shade]


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way that was tried at the tightest place: margin and colour there over the rigs.

    colour_min: minutes at 177 C by the end of that press. allowed: nothing forbids it.
    """

    tried: Try
    least_k: Band
    least_spread_k: Band
    colour_min: Band
    allowed: bool


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a plan has its grade: one sentence, and what that rests on."""

    grade: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Found:
    """A plan.

    bends: the tightest place first. set_minutes: as the profile states. settled_min: when the wood is below
    its softening in the set, over the rigs. colours: by column. highest_c: of the thermocouples, by zone.
    grade, reasons: the worst grade and every reason. strain_percent, strap_percent: outer fibres at the
    tightest radius, None where it is not known. bend_thickness_mm: of one ply there. tried: what was tried
    there. rigs, seed: of the draws. worst: places among these of the stiffest rig, then of those that are
    stiffest at other bends, and of the darkest.
    """

    order: Order
    bends: tuple[BendFigures, ...]
    set_c: float
    set_minutes: float
    settled_min: Band
    moisture_percent: Band
    colours: dict[str, ColourFigures]
    highest_c: dict[str, float]
    strain_percent: float | None
    strap_percent: float | None
    bend_thickness_mm: float | None
    tried: tuple[Candidate, ...]
    rigs: int
    seed: int
    worst: tuple[int, ...]
    grade: str = ORDINARY
    reasons: tuple[Reason, ...] = field(default=())


class RefusalError(Exception):
    """No plan, since a heat limit stands against it.

    limit: "softening", "colour", "ceiling", "power" or "set". seen: what was found, with the limit. fits:
    what would. best_k: highest margin above softening that was found, where that is the limit. tried: at the
    tightest place.
    """

    def __init__(
        self,
        limit: str,
        seen: str,
        fits: str,
        best_k: float | None = None,
        tried: tuple[Candidate, ...] = (),
    ) -> None:
        super().__init__(f"{limit}: {seen}; {fits}")
        self.limit, self.seen, self.fits = limit, seen, fits
        self.best_k, self.tried = best_k, tried
