"""A drawing sheet: every wire, symbol and text is placed by hand on a grid and remembered with its extent, so
that a test can ask whether anything touches what it should not.

Lengths are units of half an inch; x to the right, y downwards.
"""

import io
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import matplotlib as mpl
import schemdraw
from matplotlib import pyplot as plt
from schemdraw.backends import svg as svg_backend
from schemdraw.elements import Element, Element2Term
from schemdraw.segments import Segment, SegmentCircle, SegmentPoly, SegmentText
from schemdraw.types import BBox

from .extent import FONT, PLAIN, POINTS_PER_UNIT, SMALL, Extent, Point, text_width
from .svg import MARKUP, NORMAL, THIN, tidy


class _Drawn(Element):
    """Segments at absolute places."""

    def __init__(self, *segments: Segment | SegmentCircle | SegmentPoly | SegmentText) -> None:
        super().__init__()
        self.segments += list(segments)
        self.at((0, 0)).theta(0)


class _Words(_Drawn):
    """A text at an absolute place; it lies within the frame, so its extent is left to us."""

    def get_bbox(self, transform: bool = False, includetext: bool = True) -> BBox:  # noqa: FBT001, FBT002
        """Only its place: the library would read the text as markup to measure it."""
        x, y = getattr(self.segments[0], "xy", (0.0, 0.0))
        return BBox(x, y, x, y)


@dataclass
class Sheet:
    """One drawing.

    title: what it shows. texts, symbols, wires: what was placed; wires are level or upright runs with their
    ends. designators: of the parts drawn.
    """

    title: str
    texts: list[Extent] = field(default_factory=list)
    symbols: list[Extent] = field(default_factory=list)
    wires: list[tuple[Point, Point]] = field(default_factory=list)
    designators: set[str] = field(default_factory=set)
    width: float = 0.0
    height: float = 0.0

    def __post_init__(self) -> None:
        """Start an empty drawing."""
        self._words: list[tuple[SegmentText, str]] = []
        self._drawing = schemdraw.Drawing(
            unit=1, fontsize=PLAIN, font=FONT, lw=NORMAL, inches_per_unit=0.5, margin=0.05
        )

    def _add(self, *segments: Segment | SegmentCircle | SegmentPoly | SegmentText) -> None:
        self._drawing.add(_Drawn(*segments))

    def line(self, *points: Point, lw: float = NORMAL, dashed: bool = False) -> None:
        """Lines that no text may touch, of any direction; as wires they count run by run.

        points: corners. lw: width in points. dashed: broken.
        """
        self._add(Segment([(x, -y) for x, y in points], lw=lw, ls="--" if dashed else "-"))
        self.wires += list(pairwise(points))

    def box(
        self, x0: float, y0: float, x1: float, y1: float, *, lw: float = NORMAL, dashed: bool = False
    ) -> None:
        """A rectangle.

        x0, y0, x1, y1: corners. lw: width in points. dashed: broken.
        """
        self.line((x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0), lw=lw, dashed=dashed)

    def dot(self, x: float, y: float) -> None:
        """A joint of wires."""
        self._add(SegmentCircle((x, -y), 0.07, fill="black", zorder=4))

    def terminal(self, x: float, y: float) -> None:
        """A terminal: a small open circle."""
        self._add(SegmentCircle((x, -y), 0.1, fill="white", zorder=4))
        self.symbols.append(Extent(x - 0.1, y - 0.1, x + 0.1, y + 0.1, "terminal"))

    def text(self, x: float, y: float, text: str, *, align: str = "left", size: float = PLAIN) -> Extent:
        """One line of text, upright middle at y.

        x, y: place. text: the line. align: left, center or right. size: points.
        """
        width, high = text_width(text, size), size * 1.15 / POINTS_PER_UNIT
        left = {"left": x, "center": x - width / 2, "right": x - width}[align]
        segment = SegmentText(
            (left, -y - 0.36 * size / POINTS_PER_UNIT),
            text.translate(MARKUP),
            align=("left", "base"),
            fontsize=size,
            font=FONT,
            color="black",
        )
        self._drawing.add(_Words(segment))
        self._words.append((segment, text))
        extent = Extent(left, y - high / 2, left + width, y + high / 2, text)
        self.texts.append(extent)
        return extent

    def label(
        self, x: float, y: float, lines: Sequence[str], *, align: str = "left", size: float = SMALL
    ) -> None:
        """Lines under each other, the first one a designator.

        x, y: upright middle of the first line. lines: texts; the first names a part. align: as text(). size:
        of the others, points.
        """
        self.designators.add(lines[0].split()[0])
        self.text(x, y, lines[0], align=align, size=PLAIN)
        for i, line in enumerate(lines[1:], 1):
            self.text(x, y + 0.31 * i, line, align=align, size=size)

    def note(self, x: float, y: float, lines: Sequence[str], *, size: float = SMALL) -> None:
        """Lines under each other.

        x, y: upright middle of the first line. lines: texts. size: points.
        """
        for i, line in enumerate(lines):
            self.text(x, y + 0.33 * i, line, size=size)

    def part(self, symbol: Element2Term, start: Point, end: Point) -> None:
        """A two-terminal symbol with its leads; the leads count as wires.

        symbol: element. start, end: where its wires begin and end.
        """
        symbol.at((start[0], -start[1])).to((end[0], -end[1]))
        self._drawing.add(symbol)
        self._remember(symbol)

    def shape(self, symbol: Element, x: float, y: float) -> None:
        """A symbol with one place.

        symbol: element. x, y: its origin.
        """
        symbol.at((x, -y)).theta(0)
        self._drawing.add(symbol)
        self._remember(symbol)

    def _remember(self, symbol: Element) -> None:
        found = symbol.get_bbox(transform=True, includetext=False)
        self.symbols.append(Extent(found.xmin, -found.ymax, found.xmax, -found.ymin, type(symbol).__name__))

    def flag(self, x: float, y: float, name: str, *, side: str) -> None:
        """The name of a wire that goes on elsewhere, in a pointed frame.

        x, y: end of the wire. name: of the wire. side: left or right of that end.
        """
        wide, half = text_width(name, SMALL) + 0.16, 0.17
        way = 1 if side == "right" else -1
        tip, far = x + way * 0.14, x + way * (0.14 + wide)
        corners = [(x, y), (tip, y - half), (far, y - half), (far, y + half), (tip, y + half), (x, y)]
        self._add(Segment([(cx, -cy) for cx, cy in corners], lw=THIN))
        self.symbols.append(Extent(min(x, far), y - half, max(x, far), y + half, "flag"))
        self.text((tip + far) / 2, y, name, align="center", size=SMALL)

    def svg(self) -> str:
        """The drawing as SVG, its text as text."""
        kept, svg_backend.config.text = svg_backend.config.text, "text"
        try:
            data = self._drawing.draw(show=False, canvas="svg").getimage("svg")
        finally:
            svg_backend.config.text = kept
        return tidy(data.decode())

    def png(self, dpi: float = 150) -> bytes:
        """The drawing as PNG.

        dpi: dots per inch; a unit is half an inch.
        """
        mpl.use("Agg", force=False)
        for segment, text in self._words:
            segment.text = text.replace("$", r"\$")
        drawn = self._drawing.draw(show=False, canvas="matplotlib")
        for segment, text in self._words:
            segment.text = text.translate(MARKUP)
        figure = drawn.getfig()
        figure.subplots_adjust(0, 0, 1, 1)
        handle = io.BytesIO()
        figure.savefig(handle, format="png", dpi=dpi, facecolor="white", bbox_inches="tight", pad_inches=0)
        plt.close(figure)
        return handle.getvalue()
