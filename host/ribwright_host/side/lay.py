"""How one strip lies on the rig, as plain figures: which face is up, which edge is near, what lies where.

Seen from above by the maker, who stands at the near edge: x in mm from the left end of the strip to the
right.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ribwright_board.core.woods import LONG_RATIO

from .facts import BASS, TREBLE, Side, other, side_of

NEAR, FAR = "near", "far"
UP, DOWN = "up", "down"


@dataclass(frozen=True)
class Blanket:
    """One blanket as it lies. start_mm, end_mm: from the strip's left end, None where its place is not known.
    width_mm: across the strip. long: it lies next to the strip, the others outside it.
    """

    name: str
    length_mm: float
    width_mm: float
    start_mm: float | None
    end_mm: float | None
    long: bool = False


@dataclass(frozen=True)
class Lay:
    """One strip on the rig.

    side: what is stated of it. length_mm: of the strip. left_mm, right_mm: its width at either end, None
    where not stated. neck: where its neck end points. face: which way its show face lies. top_edge: near or
    far. waist_mm: of the waist mark from the left end, or None. blankets: the long one first. notes: what
    does not fit, or is not known.
    """

    side: Side
    length_mm: float
    left_mm: float | None
    right_mm: float | None
    neck: str
    face: str
    top_edge: str
    waist_mm: float | None
    blankets: tuple[Blanket, ...] = ()
    notes: tuple[str, ...] = field(default=())


def top_edge_at(hand: str, neck: str, form: str) -> str:
    """Which edge of the rig the top edge lies at, near or far.

    hand: bass or treble. neck: left or right. form: inside or outside the bend.

    Outwards, to the neck, to the soundboard: of the treble side these three are a right-handed set of axes,
    of its mirror image, the bass side, a left-handed one. Outwards is up over a form inside the bend; each of
    hand, neck end and form changes the edge once.

    >>> top_edge_at("treble", "left", "inside"), top_edge_at("bass", "left", "inside")
    ('near', 'far')
    """
    turns = (hand == TREBLE) + (neck == "right") + (form == "outside")
    return NEAR if turns % 2 else FAR


def lay_of(side: Side, piece: Mapping[str, Any], zones: Sequence[Mapping[str, Any]] | None) -> Lay:
    """How a strip lies.

    side: with its neck end. piece: checked [piece]. zones: the rig file's, None where it is not at hand.
    """
    length_mm, neck = float(piece["length_mm"]), str(side.neck_end)
    turned = neck == "right"
    ends = (side.neck_width_mm, side.tail_width_mm)
    left_mm, right_mm = ends[::-1] if turned else ends
    blankets, notes = _blankets(zones or (), side, length_mm)
    mark_mm = side.waist_mark_mm
    if zones is None:
        notes.append(
            "The blankets' sizes are not known here, so they are not drawn: name the rig with --rig."
        )
    if mark_mm is None:
        notes.append("No waist mark is stated: state waist_mark_mm under [side], from the neck end.")
    return Lay(
        side,
        length_mm,
        left_mm,
        right_mm,
        neck,
        UP if side.form == "inside" else DOWN,
        top_edge_at(side.hand, neck, side.form),
        mark_mm if mark_mm is None or not turned else length_mm - mark_mm,
        tuple(_turned(one, length_mm) if turned else one for one in blankets),
        tuple(notes),
    )


def _turned(one: Blanket, length_mm: float) -> Blanket:
    """A blanket's place counted from the other end."""
    if one.start_mm is None or one.end_mm is None:
        return one
    start_mm, end_mm = length_mm - one.end_mm, length_mm - one.start_mm
    return Blanket(one.name, one.length_mm, one.width_mm, start_mm, end_mm, one.long)


def _blankets(
    zones: Sequence[Mapping[str, Any]], side: Side, length_mm: float
) -> tuple[list[Blanket], list[str]]:
    """Blankets by place from the neck end, the long one first, and what does not fit.

    A blanket half again as long as the next is the long one, as the simulator takes it; it reaches as far
    over one end of the strip as over the other. Others lie by their names: waist over the mark, upper and
    lower on its two sides.
    """
    order = sorted(zones, key=lambda zone: -float(zone["length_mm"]))
    sizes = [float(zone["length_mm"]) for zone in order]
    long = bool(order) and (len(order) == 1 or sizes[0] >= LONG_RATIO * sizes[1])
    found: list[Blanket] = []
    notes: list[str] = []
    waist = next((zone for zone in order if "waist" in str(zone["name"]).lower()), None)
    mark_mm = side.waist_mark_mm
    half_mm = float(waist["length_mm"]) / 2 if waist is not None else 0.0
    for at, zone in enumerate(order):
        name, own_mm, width_mm = str(zone["name"]), float(zone["length_mm"]), float(zone["width_mm"])
        start_mm: float | None = None
        word = name.lower()
        if at == 0 and long:
            start_mm = (length_mm - own_mm) / 2
        elif mark_mm is not None and "waist" in word:
            start_mm = mark_mm - own_mm / 2
        elif mark_mm is not None and "upper" in word:
            start_mm = mark_mm - half_mm - own_mm
        elif mark_mm is not None and "lower" in word:
            start_mm = mark_mm + half_mm
        if start_mm is None:
            why = (
                "it lies by the waist mark, and none is stated"
                if mark_mm is None and any(part in word for part in ("waist", "upper", "lower"))
                else "its name does not tell where it lies"
            )
            notes.append(f"Blanket {name}: {why}, so it is not drawn.")
            found.append(Blanket(name, own_mm, width_mm, None, None))
            continue
        end_mm = start_mm + own_mm
        found.append(Blanket(name, own_mm, width_mm, start_mm, end_mm, long and at == 0))
        bare_mm = max(0.0 - start_mm, end_mm - length_mm)
        if not (long and at == 0) and bare_mm > 0.5:
            notes.append(
                f"Blanket {name} reaches {bare_mm:.0f} mm past the strip: nothing lies under it there."
            )
    starts = [one.start_mm for one in found if one.start_mm is not None]
    ends = [one.end_mm for one in found if one.end_mm is not None]
    bare = (
        []
        if not starts or len(starts) < len(found)
        else [(min(starts), "neck"), (length_mm - max(ends), "tail")]
    )
    for bare_mm, end in bare:
        if bare_mm > 0.5:
            notes.append(f"The last {bare_mm:.0f} mm at the {end} end lie under no blanket and stay cold.")
    return found, notes


def words(lay: Lay) -> list[str]:
    """How a strip lies, in plain sentences.

    lay: as lay_of() gives it.
    """
    side = lay.side
    face = f' (marked "{side.show_face}")' if side.show_face else ""
    edge = f' (marked "{side.top_edge}")' if side.top_edge else ""
    over = "over a form inside the bend" if side.form == "inside" else "into a form outside the bend"
    away = "away from the form; the inside face lies down"
    if lay.face == DOWN:
        away = "against the form; the inside face lies up"
    other_edge = FAR if lay.top_edge == NEAR else NEAR
    told = [
        f"{side.hand.capitalize()} side, bent {over}; seen from above, you stand at the near edge.",
        f"Show face {lay.face}{face}, {away}.",
        f"Neck end to your {lay.neck}, tail end to your {'right' if lay.neck == 'left' else 'left'}.",
        f"Top edge{edge}, the one at the soundboard, {_at(lay.top_edge)}; back edge {_at(other_edge)}.",
    ]
    mark_mm = side.waist_mark_mm
    if mark_mm is not None:
        over_mark = next((one.name for one in lay.blankets if _covers(one, lay.waist_mm)), None)
        there = f", under the middle of blanket {over_mark}" if over_mark else ""
        told.append(f"Waist mark {mark_mm:g} mm from the neck end{there}.")
    if side.neck_width_mm is not None and side.tail_width_mm is not None:
        ends = f"{side.neck_width_mm:g} mm wide at the neck end, {side.tail_width_mm:g} mm at the tail end"
        told.append(f"The strip is {ends}.")
    return told


def _at(edge: str) -> str:
    return "near you" if edge == NEAR else "far from you"


def _covers(one: Blanket, waist_mm: float | None) -> bool:
    """Whether a blanket has its middle over the waist mark and is not the long one."""
    if waist_mm is None or one.start_mm is None or one.end_mm is None or one.long:
        return False
    return abs((one.start_mm + one.end_mm) / 2 - waist_mm) < 1.0


def pair_sentences(stated: Mapping[str, Any]) -> list[str]:
    """How strip one and strip two of a pair differ, in plain words.

    stated: a checked [side].
    """
    one = side_of(stated)
    two = side_of(stated, other(one.hand))
    which = "left" if one.hand == BASS else "right"
    told = [
        f"Strip one is the {one.hand} side ({which} as you look at the soundboard, neck up); {_marks(one)}."
    ]
    if one.neck_end is None:
        told.append(
            f"Strip two, {two.hand}, is its mirror image. State neck_end, left or right as the form's neck "
            "end points from where you stand, and it is said which edge lies near you."
        )
    else:
        edges = [top_edge_at(side.hand, str(side.neck_end), side.form) for side in (one, two)]
        up = UP if one.form == "inside" else DOWN
        told.append(
            f"Strip one lies with its show face {up}, its neck end to your {one.neck_end} and its top edge "
            f"{_at(edges[0])}."
        )
        told.append(
            f"Strip two, {two.hand}, is its mirror image: show face {up} and neck end to your "
            f"{two.neck_end} as before, but its top edge {_at(edges[1])}."
        )
    told += _own_differences(one, two)
    return told


def _marks(side: Side) -> str:
    """Marks and measures of one strip, in a few words."""
    parts = []
    if side.show_face:
        parts.append(f'show face marked "{side.show_face}"')
    if side.top_edge:
        parts.append(f'top edge marked "{side.top_edge}"')
    if side.waist_mark_mm is not None:
        parts.append(f"waist mark {side.waist_mark_mm:g} mm from the neck end")
    if side.neck_width_mm is not None and side.tail_width_mm is not None:
        parts.append(f"{side.neck_width_mm:g} mm wide at the neck end, {side.tail_width_mm:g} mm at the tail")
    return ", ".join(parts) or "no marks are stated"


def _own_differences(one: Side, two: Side) -> list[str]:
    """What strip two has otherwise than the mirror image of strip one."""
    told = []
    for name, words_of in (("show_face", "show face is marked"), ("top_edge", "top edge is marked")):
        first, second = getattr(one, name), getattr(two, name)
        if first != second:
            was = f'"{first}"' if first else "unmarked"
            now = f'"{second}"' if second else "with nothing"
            told.append(f"Strip two's {words_of} {now}, strip one's {was}.")
    for name, words_of in (
        ("waist_mark_mm", "waist mark is at"),
        ("neck_width_mm", "width at the neck end is"),
        ("tail_width_mm", "width at the tail end is"),
    ):
        first, second = getattr(one, name), getattr(two, name)
        if first != second:
            told.append(f"Strip two's {words_of} {_mm(second)}, strip one's {_mm(first)}.")
    return told


def _mm(value: float | None) -> str:
    return "not stated" if value is None else f"{value:g} mm"
