"""What a profile's [side] says of the pair: read with the board's own tables, taken off before it goes there.

Bass is the left side as you look at the soundboard, neck up; treble the right one. The keys of [side] hold
for both; [side.bass] and [side.treble] say what one of them has otherwise.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ribwright_board.core.checks import Table
from ribwright_board.core.errors import Problem
from ribwright_board.core.rig_values import Rig

Values = dict[str, Any]

KEY = "side"
BASS, TREBLE = "bass", "treble"
HANDS = (BASS, TREBLE)
POINTS = ("left", "right")
FORMS = ("inside", "outside")
# Keys that one hand may have of its own.
OWN = ("show_face", "top_edge", "waist_mark_mm", "neck_width_mm", "tail_width_mm")
WIDTHS = ("neck_width_mm", "tail_width_mm")
LONGEST_MARK = 40


@dataclass(frozen=True)
class Side:
    """One strip of the pair; None where nothing is stated.

    hand: bass or treble. show_face, top_edge: the maker's marks on the face that is outside on the instrument
    and on the edge at the soundboard. neck_end: where the form's neck end points, seen from where the maker
    stands, left or right. form: inside the bend, so that the strip is bent over it, or outside.
    waist_mark_mm: from the neck end. neck_width_mm, tail_width_mm: of the strip at its ends.
    """

    hand: str
    show_face: str | None = None
    top_edge: str | None = None
    neck_end: str | None = None
    form: str = "inside"
    waist_mark_mm: float | None = None
    neck_width_mm: float | None = None
    tail_width_mm: float | None = None


def other(hand: str) -> str:
    """The other hand.

    hand: bass or treble.

    >>> other("bass")
    'treble'
    """
    return TREBLE if hand == BASS else BASS


def take_off(values: Mapping[str, Any]) -> tuple[Values, object]:
    """A profile's values without [side], as the board gets them, and the [side] by itself, None without one.

    values: of the file.
    """
    return {key: value for key, value in values.items() if key != KEY}, values.get(KEY)


def _read_own(table: Table) -> None:
    """Keys that the pair or one hand of it may state."""
    table.text("show_face", required=False, longest=LONGEST_MARK)
    table.text("top_edge", required=False, longest=LONGEST_MARK)
    table.number("waist_mark_mm", 1, 1500, "mm", required=False, advice="measure it from the neck end")
    for key in WIDTHS:
        table.number(key, 2, 200, "mm", required=False)


def problems_of(stated: object, profile: Mapping[str, Any], rig: Rig | None) -> list[Problem]:
    """Everything wrong with a [side], alone and beside its piece and rig; empty when it may be used.

    stated: as take_off() gives it. profile: the other values, whatever they are. rig: checked, or None.
    """
    problems: list[Problem] = []
    if stated is None:
        return problems
    table = Table(stated, (KEY,), problems, "C")
    table.choice("hand", HANDS, required=False)
    table.choice("neck_end", POINTS, required=False)
    table.choice("form", FORMS, required=False)
    _read_own(table)
    for hand in HANDS:
        if table.has(hand):
            inner = Table(table.take(hand), (KEY, hand), problems, "C")
            _read_own(inner)
            inner.finish()
    table.finish()
    if problems or not isinstance(stated, Mapping):
        return problems
    piece = profile.get("piece")
    listed = piece if isinstance(piece, Mapping) else {}
    for hand in HANDS:
        _contradictions(side_of(stated, hand), _places(stated, hand), listed, rig, problems)
    return problems


def _places(stated: Mapping[str, Any], hand: str) -> dict[str, tuple[str, ...]]:
    """Where each key that counts for a hand is stated."""
    own = stated.get(hand, {})
    return {key: (KEY, hand, key) if key in own else (KEY, key) for key in OWN}


def _contradictions(
    side: Side,
    places: Mapping[str, tuple[str, ...]],
    piece: Mapping[str, Any],
    rig: Rig | None,
    problems: list[Problem],
) -> None:
    """What cannot all be true of one strip; what both hands share is told once."""

    def add(code: str, key: str, text: str) -> None:
        if not any(one.where == places[key] and one.code == code for one in problems):
            problems.append(Problem(code, places[key], text))

    length_mm, width_mm = piece.get("length_mm"), piece.get("width_mm")
    mark_mm = side.waist_mark_mm
    if mark_mm is not None and isinstance(length_mm, int | float) and mark_mm >= length_mm:
        add(
            "range",
            "waist_mark_mm",
            f"is {mark_mm:g}, the strip ends at {length_mm:g} mm ([piece] length_mm); measure it from the "
            "neck end",
        )
    if side.show_face and side.top_edge and side.show_face.casefold() == side.top_edge.casefold():
        text = f'is "{side.top_edge}", the show face has the same mark; mark the two differently'
        add("same_mark", "top_edge", text)
    ends = {key: getattr(side, key) for key in WIDTHS}
    if list(ends.values()).count(None) == 1:
        there = next(key for key, value in ends.items() if value is not None)
        lacking = next(key for key, value in ends.items() if value is None)
        add("half_taper", there, f"is stated and {lacking} is not; a taper needs both, state the other")
    for key, value in ends.items():
        if value is None:
            continue
        if isinstance(width_mm, int | float) and value > width_mm:
            add(
                "range",
                key,
                f"is {value:g}, the strip is {width_mm:g} mm at its widest ([piece] width_mm); correct one "
                "of them",
            )
        # A zone of no width is one that only a board's greeting tells of.
        for zone in rig.zones if rig is not None else ():
            if 0 < zone.width_mm < value:
                add(
                    "range",
                    key,
                    f"is {value:g}, blanket {zone.name} is {zone.width_mm:g} mm wide and would leave an edge "
                    "cold; take a wider blanket or cut the strip narrower",
                )


def side_of(stated: Mapping[str, Any], hand: str | None = None) -> Side:
    """One strip as a checked [side] states it.

    stated: the table. hand: bass or treble, None for strip one's.
    """
    hand = hand or first_hand(stated)
    own = stated.get(hand, {})
    marks = {key: own.get(key, stated.get(key)) for key in OWN}
    return Side(hand, neck_end=stated.get("neck_end"), form=stated.get("form", "inside"), **marks)


def first_hand(stated: Mapping[str, Any]) -> str:
    """The hand of strip one, bass where nothing is stated.

    stated: a checked [side].
    """
    return str(stated.get("hand", BASS))
