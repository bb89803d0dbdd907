"""What is to be bent: from a file, from options, or by asking; checked by the board's own checker."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import click

from ribwright_board.core import profile as core_profile
from ribwright_host.book.quantities import length_mm, temperature_c
from ribwright_host.errors import FileError, HostError, UsageError
from ribwright_host.new import Asker, Length
from ribwright_host.profiles import problem_errors
from ribwright_host.side.asking import answers_of
from ribwright_host.side.facts import KEY as SIDE
from ribwright_host.side.facts import problems_of as problems_of_side
from ribwright_host.side.facts import take_off
from ribwright_host.toml_lines import line_of, read_toml

from .curvature import Curvature, curvature
from .outline import UNITS_MM, read_outline

Values = dict[str, Any]

SHAPES = ("waist", "waistless", "cutaway", "place")
COLOURS = ("none", "faint", "visible")
# Darken to see early, or are wanted light: common practice, no source.
PALE = ("maple", "ash")
PLAIN = ("", "plain", "straight", "none")
# Lengths that a file may state in words with a unit, under the name without its suffix: key, least, most.
LENGTHS = {
    "thickness": ("thickness_mm", 0.4, 6.0),
    "bend_thickness": ("bend_thickness_mm", 0.4, 6.0),
    "width": ("width_mm", 2.0, 200.0),
    "length": ("length_mm", 50.0, 1500.0),
    "radius": ("tightest_radius_mm", 10.0, 2000.0),
}
PIECE_KEYS = (
    "kind species cut figure oiliness thickness_mm width_mm length_mm tightest_radius_mm pieces plies wetted "
    "moisture_percent density_kg_m3"
).split()
OWN_KEYS = ("name", "shape", "colour", "set", "outline", "outline_unit", "bend_thickness_mm")
# Options of how the strips lie: key of [side], least and most mm where it is a length.
SIDE_OPTIONS: dict[str, tuple[str, float, float | None]] = {
    "hand": ("hand", 0.0, None),
    "show_face": ("show_face", 0.0, None),
    "top_edge": ("top_edge", 0.0, None),
    "neck_end": ("neck_end", 0.0, None),
    "form": ("form", 0.0, None),
    "waist_mark": ("waist_mark_mm", 1.0, 1500.0),
    "neck_width": ("neck_width_mm", 2.0, 200.0),
    "tail_width": ("tail_width_mm", 2.0, 200.0),
}
# Nothing can be said without these; the rest may stay open.
NEEDED = ("species", "thickness_mm", "width_mm", "length_mm", "wetted")


@dataclass(frozen=True)
class Asked:
    """A piece and what is wanted of it.

    name: of the profile. piece: its [piece]. shape, colour: of SHAPES and COLOURS. set_c: asked set target,
    None for the usual one. bend_thickness_mm: of one ply at the tightest place, where it differs. curve: of
    its outline, None without one. drawing: what the outline was read from, in words. side: how its strips
    lie, as a profile's [side]; None where that stays open.
    """

    name: str
    piece: Values
    shape: str
    colour: str
    set_c: float | None
    bend_thickness_mm: float | None
    curve: Curvature | None
    drawing: str
    side: Values | None = None


def read_piece(path: Path) -> Values:
    """A piece file: keys of a profile's [piece] and of the wish, lengths in mm or in words with a unit.

    path: TOML, flat or with a [piece] table; a [side] table may say how the strips lie. Raises FileError with
    the line of an unknown key.
    """
    values, lines = read_toml(path)
    under: tuple[str, ...] = ()
    values, stated = take_off(values)
    if isinstance(values.get("piece"), dict) and len(values) == 1:
        values, under = values["piece"], ("piece",)
    known = {*PIECE_KEYS, *OWN_KEYS, *LENGTHS}
    for key in values:
        if key not in known:
            line = line_of(lines, (*under, key))
            near, listed = get_close_matches(key, known, n=1), ", ".join(sorted(known))
            raise FileError(
                f"{path} line {line}: {key} is not a key of a piece file",
                f"did you mean {near[0]}?" if near else f"correct or remove it; known are {listed}",
                code="unknown_key",
                where={"file": str(path), "line": line},
            )
    if "outline" in values:
        values["outline"] = str(path.parent / str(values["outline"]))
    return dict(values) if stated is None else {**values, SIDE: stated}


def asked_for(given: Mapping[str, Any], asker: Asker | None, name: str | None = None) -> Asked:
    """A whole wish from what was given, the rest asked or left open.

    given: keys of a piece file. asker: asks for what is needed and missing; None to ask nobody. name: of the
    profile. Raises UsageError or FileError where something is missing or wrong.
    """
    values = _lengths_of(given)
    curve, drawing = _outline_of(values)
    if asker is not None:
        asked_side = _ask(asker, values)
        if asked_side is not None:
            values.setdefault(SIDE, asked_side)
    short = {key: option for option, (key, _, _) in LENGTHS.items()}
    missing = [short.get(key, key) for key in NEEDED if key not in values]
    if missing:
        raise UsageError(
            f"of the piece is missing: {', '.join(missing)}",
            f"say --{' and --'.join(missing)}, or name a piece file, or run this in a terminal, which asks",
            code="piece",
        )
    values.setdefault("kind", "side")
    piece = {key: _short(values[key]) for key in PIECE_KEYS if key in values}
    _check(piece)
    shape = _one_of(str(values.get("shape", "waist")), SHAPES, "shape")
    colour = _one_of(str(values.get("colour", usual_colour(piece))), COLOURS, "colour")
    set_c = temperature_c(str(values["set"]), "the set") if "set" in values else None
    title = name or str(values.get("name", f"{piece['species']} {piece['kind']}"))
    thin = values.get("bend_thickness_mm")
    return Asked(
        title[:40], piece, shape, colour, set_c, thin, curve, drawing, _side(values.get(SIDE), piece)
    )


def _side(stated: object, piece: Values) -> Values | None:
    """How the strips lie, checked beside the piece; its rig is checked with the profile."""
    problems = problems_of_side(stated, {"piece": piece}, None)
    if problems:
        first: HostError = problem_errors(Path("the strips"), {}, problems)[0]
        raise UsageError(first.seen.replace(" line 1:", ""), first.hint, code=first.code)
    return dict(stated) if isinstance(stated, Mapping) and stated else None


def _short(value: Any) -> Any:  # noqa: ANN401 - whatever a piece holds
    """A whole number without a useless decimal point; anything else as it is."""
    return int(value) if isinstance(value, float) and value == int(value) else value


def usual_colour(piece: Mapping[str, Any]) -> str:
    """The darkest word for a wood unless somebody asks otherwise: common practice, no source.

    piece: its [piece].

    >>> usual_colour({"species": "sugar maple"}), usual_colour({"species": "sapele"})
    ('faint', 'visible')
    """
    pale = any(word in str(piece["species"]).lower().split() for word in PALE)
    figured = str(piece.get("figure", "")).lower() not in PLAIN
    return "faint" if pale or figured else "visible"


def _one_of(word: str, known: tuple[str, ...], what: str) -> str:
    if word not in known:
        raise UsageError(f"{what} is {word!r}, known are {', '.join(known)}", "use one of them", code="piece")
    return word


def _lengths_of(given: Mapping[str, Any]) -> Values:
    """All lengths under their names in mm."""
    values = {key: value for key, value in given.items() if value is not None}
    for word, (key, least, most) in LENGTHS.items():
        if word in values:
            # Inches come out at ten-thousandths of a millimetre, which nobody measures.
            values[key] = round(length_mm(str(values.pop(word)), word, least, most), 2)
    return values


def _outline_of(values: Values) -> tuple[Curvature | None, str]:
    """Curvature of the outline that is named; it sets radius and length where those are not stated."""
    named = values.get("outline")
    if named is None:
        return None, ""
    unit = values.get("outline_unit")
    if unit is not None:
        _one_of(str(unit), tuple(UNITS_MM), "outline_unit")
    path = Path(str(named))
    found = read_outline(path, unit)
    curve = curvature(found.points_mm, str(path))
    radius_mm, at_mm = curve.tightest()
    values.setdefault("tightest_radius_mm", round(radius_mm, 1))
    values.setdefault("length_mm", round(curve.strip_mm, 1))
    of = "" if found.pieces == 1 else f", the longest of {found.pieces} outlines"
    closed = ", closed, so a strip is half of it" if curve.closed else ""
    return curve, (
        f"{path.name}, read by {found.library}{of}: {curve.length_mm:.0f} mm{closed}; tightest "
        f"{radius_mm:.1f} mm "
        f"at {at_mm:.0f} mm"
    )


def _ask(asker: Asker, values: Values) -> Values | None:
    """Ask for what is not given, in the trade's words; nothing where all that is needed was given.

    Gives what was answered of how the strips lie, None where nobody was asked or that stays open.
    """
    if all(key in values for key in NEEDED):
        return None
    questions: tuple[tuple[str, str, Any, Any], ...] = (
        ("species", "Which wood", "sapele", str),
        ("thickness_mm", "How thick is it, of one ply (mm, or say in)", 1.7, Length()),
        ("width_mm", "How wide at the widest (mm, or say in)", 80.0, Length()),
        ("length_mm", "How long (mm, or say in)", 560.0, Length()),
        ("tightest_radius_mm", "Tightest radius of the form (mm, or say in)", 55.0, Length()),
        ("cut", "How is it sawn: quartersawn, flatsawn, rift", "quartersawn", str),
        ("figure", "Figure: plain, or what it shows", "plain", str),
        ("wetted", "How do you wet it", "soaked", click.Choice(list(core_profile.WETTED))),
    )
    for key, question, suggestion, kind in questions:
        if key not in values:
            values[key] = asker.ask(question, suggestion, kind)
    if SIDE in values or values.get("kind", "side") != "side":
        return None
    return answers_of(asker, values, Length())


def _check(piece: Values) -> None:
    """The board's own checker, on a profile that holds little else."""
    stages = [{"kind": "cool", "below": 60}]
    problems = core_profile.check(
        {"schema": 1, "name": "plan", "unit": "C", "piece": piece, "stages": stages}
    )
    if problems:
        first: HostError = problem_errors(Path("the piece"), {}, problems)[0]
        raise UsageError(first.seen.replace(" line 1:", ""), first.hint, code=first.code)


def _side_option(key: str, value: Any) -> Values:  # noqa: ANN401 - of a command line
    """An option as a key of [side]."""
    named, least, most = SIDE_OPTIONS[key]
    return {named: value if most is None else length_mm(str(value), key.replace("_", "-"), least, most)}


def file_or_options(path: Path | None, options: Mapping[str, Any], read: Callable[[Path], Values]) -> Values:
    """What was given: of a file, and what options say in its place.

    path: piece file, or None. options: None for what was not given. read: of the file.
    """
    found = {} if path is None else read(path)
    for key, value in options.items():
        if value is not None and key in SIDE_OPTIONS:
            found[SIDE] = {**found.get(SIDE, {}), **_side_option(key, value)}
        elif value is not None:
            # A length in words takes the place of the same one in mm, and the other way round.
            if key in LENGTHS:
                found.pop(LENGTHS[key][0], None)
            found[key] = value
    return found
