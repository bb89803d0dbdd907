"""Rectangles, the lines that run through them, and how wide a line of text is.

Lengths are in units of a Sheet: half an inch, x to the right, y downwards.
"""

from dataclasses import dataclass
from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

POINTS_PER_UNIT = 36.0
FONT = "DejaVu Sans"
SMALL, PLAIN, LARGE = 7.5, 8.5, 12.0
Point = tuple[float, float]


@dataclass(frozen=True)
class Extent:
    """A rectangle and what fills it: x0, y0 upper left, x1, y1 lower right; what: text or kind."""

    x0: float
    y0: float
    x1: float
    y1: float
    what: str

    def overlaps(self, other: "Extent") -> bool:
        """Whether two rectangles share more than an edge; other: the second one."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1

    def crossed_by(self, start: Point, end: Point) -> bool:
        """Whether a straight line runs through the rectangle, not only along an edge or through a corner.

        start, end: the line's ends, x and y.
        """
        # The part of the line, from 0 to 1, that lies between each pair of sides.
        enters, leaves = 0.0, 1.0
        for low, high, at, way in (
            (self.x0, self.x1, start[0], end[0] - start[0]),
            (self.y0, self.y1, start[1], end[1] - start[1]),
        ):
            if way == 0:
                if not low < at < high:
                    return False
                continue
            near, far = sorted(((low - at) / way, (high - at) / way))
            enters, leaves = max(enters, near), min(leaves, far)
        return enters < leaves


@lru_cache(maxsize=4096)
def text_width(text: str, size: float) -> float:
    """Width of a line of text, units.

    text: the line. size: points.
    """
    font = FontProperties(family=FONT, size=size)
    width, _, _ = TextToPath().get_text_width_height_descent(text, font, ismath=False)
    return float(width) / POINTS_PER_UNIT


def fitted(text: str, width: float, size: float = PLAIN) -> str:
    """A text, cut to a width.

    text: one line. width: units. size: points.
    """
    if text_width(text, size) <= width:
        return text
    while text and text_width(text + "\u2026", size) > width:
        text = text[:-1].rstrip()
    return text + "\u2026"
