"""An outline from a drawing, as points in mm: SVG by svgpathtools, DXF by ezdxf.

Both libraries are kept, read every kind of curve that such files hold, and resolve what is nested in groups
or blocks; our own part is the unit and joining pieces end to end.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import ParseError, register_namespace

import numpy as np
from numpy.typing import NDArray

from ribwright_host.errors import FileError

F64 = NDArray[np.float64]

# CSS Values and Units Module Level 3, section 6.2: an inch is 96 px, 72 pt, 6 pc.
PX_MM = 25.4 / 96.0
UNITS_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "px": PX_MM, "pt": 25.4 / 72.0, "pc": 25.4 / 6.0}
# DXF Reference, $INSUNITS: 1 inches, 2 feet, 4 millimetres, 5 centimetres, 6 metres.
INSUNITS_MM = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0}
MOST_BYTES = 20_000_000
# Points on the outline are about so far apart; pieces whose ends are nearer than this belong together [mm].
POINTS_MM, JOIN_MM = 0.25, 0.05
# No outline of an instrument is longer than that all round, and no drawing of one needs more pieces [mm].
MOST_MM, MOST_PIECES, MOST_POINTS = 20_000.0, 2_000, 400_000
# How far chords of a DXF curve may lie off it [mm].
SAGITTA_MM = 0.0005
CURVES, POLYLINES = ("ARC", "CIRCLE", "ELLIPSE", "SPLINE"), ("LWPOLYLINE", "POLYLINE")
LENGTH = re.compile(r"\s*(\d*\.?\d+(?:[eE][-+]?\d+)?)\s*([a-z]*)\s*")


@dataclass(frozen=True)
class Outline:
    """An outline. points_mm: (n, 2). pieces: how many there were to choose from. library: that read it."""

    points_mm: F64
    pieces: int
    library: str


def read_outline(path: Path, unit: str | None = None) -> Outline:
    """The longest outline of a drawing.

    path: .svg or .dxf. unit: of its coordinates, in place of what the file says; of UNITS_MM. Raises
    FileError for a file that cannot be read, holds no curve, or states no unit.
    """
    kind = path.suffix.lower()
    try:
        size = path.stat().st_size
    except OSError as error:
        raise _wrong(path, f"cannot be read: {error.strerror}", "name a drawing that is there") from None
    if size > MOST_BYTES:
        raise _wrong(path, f"has {size} bytes, at most {MOST_BYTES} are read", "export the outline alone")
    if kind == ".svg":
        found, library = _svg(path, unit), "svgpathtools"
    elif kind == ".dxf":
        found, library = _dxf(path, unit), "ezdxf"
    else:
        raise _wrong(path, "is neither .svg nor .dxf", "export the outline as one of them")
    chains = joined(found)
    if not chains:
        raise _wrong(path, "holds no line or curve", "draw the outline as a path, not as text or a picture")
    longest = max(chains, key=lambda points: float(np.hypot(*np.diff(points, axis=0).T).sum()))
    return Outline(longest, len(chains), library)


def _wrong(path: Path, seen: str, hint: str) -> FileError:
    return FileError(f"{path} {seen}", hint, code="outline", where={"file": str(path)})


def _svg(path: Path, unit: str | None) -> list[F64]:
    """Every connected piece of an SVG [mm]."""
    from svgpathtools import Document

    # It claims a prefix for SVG from every writer in the process; drawings are written without one.
    register_namespace("", "http://www.w3.org/2000/svg")
    try:
        document = Document(str(path))
        paths = document.paths()
    except (ParseError, ValueError, IndexError, KeyError, AttributeError, AssertionError) as error:
        raise _wrong(path, f"is no SVG that can be read ({error})", "export it again as plain SVG") from None
    scale = UNITS_MM[unit] if unit else svg_scale(document.root.attrib)
    found: list[F64] = []
    for one in paths:
        for piece in one.continuous_subpaths():
            lengths = [segment.length() for segment in piece]
            _fits(path, scale * sum(lengths), len(found))
            points = [
                _points(segment, scale) for segment, long in zip(piece, lengths, strict=True) if long > 0.0
            ]
            if points:
                found.append(np.concatenate(points))
    return found


def _fits(path: Path, length_mm: float, pieces: int) -> None:
    """Raise FileError for an outline that no side can have."""
    if not length_mm <= MOST_MM:
        raise _wrong(
            path,
            f"has an outline of {length_mm:.0f} mm, at most {MOST_MM:.0f} mm are read",
            "its unit may be another: add --outline-unit, such as px or mm",
        )
    if pieces >= MOST_PIECES:
        raise _wrong(path, f"has more than {MOST_PIECES} outlines", "export the form's outline alone")


def _points(segment: Any, scale: float) -> F64:  # noqa: ANN401 - svgpathtools carries no types
    """Points along one segment, its ends among them [mm]; SVG's y runs down."""
    count = max(8, int(segment.length() * scale / POINTS_MM))
    at = [segment.point(place / count) for place in range(count + 1)]
    return scale * np.array([[one.real, -one.imag] for one in at], dtype=np.float64)


def svg_scale(root: dict[str, str]) -> float:
    """Millimetres of one user unit, by an SVG's own width and viewBox; a px without them.

    root: attributes of its <svg>.

    >>> svg_scale({"width": "100mm", "viewBox": "0 0 200 50"})
    0.5
    """
    box = [float(number) for number in re.split(r"[\s,]+", root.get("viewBox", "").strip()) if number]
    ratios = []
    for key, place in (("width", 2), ("height", 3)):
        found = LENGTH.fullmatch(root.get(key, ""))
        if found is None or found[2] not in {"", *UNITS_MM}:
            continue
        size_mm = float(found[1]) * (UNITS_MM[found[2]] if found[2] else PX_MM)
        if len(box) == 4 and box[place] > 0.0:
            ratios.append(size_mm / box[place])
    # Whatever does not fit the box is scaled to fit inside it, by both alike.
    return min(ratios, default=PX_MM)


def _dxf(path: Path, unit: str | None) -> list[F64]:
    """Every curve of a DXF's model space [mm]."""
    from ezdxf.disassemble import recursive_decompose
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        document = readfile(path)
    except (OSError, DXFError, UnicodeError, ValueError) as error:
        raise _wrong(path, f"is no DXF that can be read ({error})", "export it again as DXF") from None
    scale = UNITS_MM[unit] if unit else INSUNITS_MM.get(int(document.units))
    if scale is None:
        raise _wrong(path, "does not state its unit ($INSUNITS)", "add --outline-unit mm, or in")
    found: list[F64] = []
    for entity in recursive_decompose(document.modelspace()):
        lines: Any = entity
        for one in lines.virtual_entities() if entity.dxftype() in POLYLINES else (entity,):
            at = list(islice(_on_curve(one, SAGITTA_MM / scale), MOST_POINTS))
            if len(at) > 1:
                points = scale * np.array([[point.x, point.y] for point in at], dtype=np.float64)
                _fits(path, float(np.hypot(*np.diff(points, axis=0).T).sum()), len(found))
                found.append(points)
    return found


def _on_curve(entity: Any, sagitta: float) -> Iterable[Any]:  # noqa: ANN401 - any of ezdxf's many kinds
    """Points that lie on an entity, not on a curve fitted to it; none for text, dimensions and the like."""
    if entity.dxftype() == "LINE":
        start, end = entity.dxf.start, entity.dxf.end
        return [start.lerp(end, place / 8) for place in range(9)]
    return entity.flattening(sagitta) if entity.dxftype() in CURVES else []


def joined(pieces: Iterable[F64]) -> list[F64]:
    """Pieces that touch end to end as one.

    pieces: each (n, 2) [mm], in any order and direction.
    """
    left = [piece for piece in pieces if len(piece) > 1]
    chains = []
    while left:
        chain = left.pop(0)
        while True:
            match = next(
                (
                    (place, flip, front)
                    for place, piece in enumerate(left)
                    for flip in (False, True)
                    for front in (False, True)
                    if _touches(chain, piece[::-1] if flip else piece, front=front)
                ),
                None,
            )
            if match is None:
                break
            place, flip, front = match
            piece = left.pop(place)
            piece = piece[::-1] if flip else piece
            chain = np.concatenate([piece[:-1], chain] if front else [chain, piece[1:]])
        chains.append(chain)
    return chains


def _touches(chain: F64, piece: F64, *, front: bool) -> bool:
    apart = piece[-1] - chain[0] if front else piece[0] - chain[-1]
    return bool(np.hypot(*apart) < JOIN_MM)
