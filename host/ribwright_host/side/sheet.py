"""The strip as it must lie, drawn as SVG: plain lines, words beside, to scale along and across."""

from itertools import pairwise
from pathlib import Path

from ribwright_host.errors import FileError
from ribwright_host.wiring.extent import LARGE, PLAIN, SMALL, text_width
from ribwright_host.wiring.sheet import Sheet
from ribwright_host.wiring.svg import THICK, THIN
from ribwright_host.writing import unwritable

from .lay import FAR, UP, Blanket, Lay, words

# Units of half an inch: how wide the drawing of the strip is, and where it begins.
WIDE = 15.0
LEFT, TOP = 1.6, 2.6
LEAST_HIGH = 1.3
# Blankets of one width would be one line: the ones outside the long one are drawn a little wider.
OUTSIDE = 0.14
LAYER = 0.3
MARGIN = 0.4


def sheet_of(lay: Lay, *, simulated: bool = False) -> Sheet:
    """The drawing.

    lay: as lay_of() gives it. simulated: for a strip that is none.
    """
    sheet = Sheet(f"{lay.side.hand} side, as it must lie")
    placed = [one for one in lay.blankets if one.start_mm is not None and one.end_mm is not None]
    low = min([0.0, *(one.start_mm or 0.0 for one in placed)])
    high = max([lay.length_mm, *(one.end_mm or 0.0 for one in placed)])
    scale = WIDE / (high - low)
    ends = [value for value in (lay.left_mm, lay.right_mm) if value is not None]
    across_mm = max([*ends, *(one.width_mm for one in placed)], default=0.0) or lay.length_mm / 8
    ends = ends or [0.9 * across_mm]
    # A narrow strip is drawn wider than to scale, or no word would fit on it.
    tall = max(scale, LEAST_HIGH / min(ends))
    blanket_mm = across_mm
    if tall > scale:
        blanket_mm = min(across_mm, max(ends) + 1.2 / tall)
    middle = TOP + blanket_mm * tall / 2
    at = _Scale(low, scale, tall, middle, blanket_mm)
    sheet.text(LEFT, 0.3, f"{lay.side.hand.capitalize()} side, as it must lie", size=LARGE)
    across = "; across not to scale" if tall > scale else ""
    sheet.text(LEFT, 0.75, f"seen from above; you stand at the near edge{across}", size=SMALL)
    if simulated:
        sheet.text(LEFT + WIDE, 0.3, "SIMULATED", align="right", size=LARGE)
    bottom = _blankets(sheet, placed, at, middle + blanket_mm * tall / 2)
    _strip(sheet, lay, at, max(ends), placed)
    end = _measures(sheet, lay, at, bottom)
    sheet.text(LEFT + WIDE / 2, TOP - 0.45, "far", align="center", size=PLAIN)
    sheet.text(LEFT + WIDE / 2, end, "near: you stand here", align="center", size=PLAIN)
    end = _stack(sheet, lay, end + 0.8)
    sheet.note(LEFT, end + 0.5, [*words(lay), *lay.notes])
    _frame(sheet)
    return sheet


def _frame(sheet: Sheet) -> None:
    """A line around it all: the sheet's picture ends where its lines do, whatever words stand outside."""
    ends = [point for wire in sheet.wires for point in wire]
    xs = [x for x, _ in ends] + [x for one in sheet.texts for x in (one.x0, one.x1)]
    ys = [y for _, y in ends] + [y for one in sheet.texts for y in (one.y0, one.y1)]
    sheet.box(min(xs) - MARGIN, min(ys) - MARGIN, max(xs) + MARGIN, max(ys) + MARGIN, lw=THIN)


class _Scale:
    """Places on the sheet from mm.

    low: mm at the left end. scale, tall: units for a mm along and across. middle: of the rig across, units.
    most: width of a blanket as it is drawn, mm.
    """

    def __init__(self, low: float, scale: float, tall: float, middle: float, most: float) -> None:
        self.low, self.scale, self.tall, self.middle, self.most = low, scale, tall, middle, most

    def x(self, at_mm: float) -> float:
        """Place along the strip."""
        return LEFT + (at_mm - self.low) * self.scale


def _blankets(sheet: Sheet, placed: list[Blanket], at: _Scale, bottom: float) -> float:
    """Frames of broken lines with their names above them; the lowest line."""
    for one in placed:
        half = min(one.width_mm, at.most) * at.tall / 2 + (0.0 if one.long else OUTSIDE)
        x0, x1 = at.x(one.start_mm or 0.0), at.x(one.end_mm or 0.0)
        sheet.box(x0, at.middle - half, x1, at.middle + half, lw=THIN, dashed=True)
        bottom = max(bottom, at.middle + half)
        text = f"{one.name}, {one.length_mm:g} x {one.width_mm:g} mm"
        lane = TOP - (0.95 if one.long else 1.35)
        stem = x0 + 0.3 if one.long else (x0 + x1) / 2
        sheet.line((stem, lane + 0.15), (stem, at.middle - half), lw=THIN)
        sheet.text(
            max(LEFT, stem - (0.3 if one.long else text_width(text, SMALL) / 2)), lane, text, size=SMALL
        )
    return bottom


def _strip(sheet: Sheet, lay: Lay, at: _Scale, strip_mm: float, placed: list[Blanket]) -> None:
    """The strip: its top edge straight and doubled, its back edge as the taper has it."""
    left, right = at.x(0.0), at.x(lay.length_mm)
    way = 1.0 if lay.top_edge == FAR else -1.0
    top = at.middle - way * strip_mm * at.tall / 2
    ends = [strip_mm if value is None else value for value in (lay.left_mm, lay.right_mm)]
    back = [top + way * value * at.tall for value in ends]
    sheet.line((left, top), (right, top), (right, back[1]), (left, back[0]), (left, top), lw=THICK)
    sheet.line((left, top + way * 0.09), (right, top + way * 0.09), lw=THIN)
    outer = [(at.x(one.start_mm or 0.0), at.x(one.end_mm or 0.0)) for one in placed]
    beside = max([right, *(end for _, end in outer)]) + 0.25
    before = min([left, *(start for start, _ in outer)]) - 0.25
    sheet.text(beside, top, "top edge", size=PLAIN)
    sheet.text(beside, back[1], "back edge", size=PLAIN)
    names = ("neck end", "tail end") if lay.neck == "left" else ("tail end", "neck end")
    for x, end, align, name, width_mm in (
        (before, back[0], "right", names[0], lay.left_mm),
        (beside, back[1], "left", names[1], lay.right_mm),
    ):
        y = (top + end) / 2
        sheet.text(x, y - 0.17, name, align=align, size=PLAIN)
        if width_mm is not None:
            sheet.text(x, y + 0.17, f"{width_mm:g} mm", align=align, size=SMALL)
    _face(sheet, lay, at, outer, (top + min(back, key=lambda y: abs(y - top))) / 2)


def _face(sheet: Sheet, lay: Lay, at: _Scale, outer: list[tuple[float, float]], y: float) -> None:
    """Which way the show face lies, where the lines leave most room."""
    left, right = at.x(0.0), at.x(lay.length_mm)
    marks = [] if lay.waist_mm is None else [at.x(lay.waist_mm)]
    cuts = sorted(
        x for x in {left, right, *marks, *(x for ends in outer for x in ends)} if left <= x <= right
    )
    start, end = max(pairwise(cuts), key=lambda gap: gap[1] - gap[0])
    sheet.text((start + end) / 2, y - 0.17, f"show face {lay.face}", align="center", size=PLAIN)
    mark = f'marked "{lay.side.show_face}"'
    if lay.side.show_face and text_width(mark, SMALL) < end - start - 0.2:
        sheet.text((start + end) / 2, y + 0.17, mark, align="center", size=SMALL)


def _measures(sheet: Sheet, lay: Lay, at: _Scale, bottom: float) -> float:
    """The waist mark and how far it is from the neck end; where the next thing may stand."""
    if lay.waist_mm is None or lay.side.waist_mark_mm is None:
        return bottom + 0.4
    mark, neck = at.x(lay.waist_mm), at.x(0.0 if lay.neck == "left" else lay.length_mm)
    y = bottom + 0.45
    sheet.line((mark, at.middle - lay_half(at, lay)), (mark, y + 0.15), dashed=True)
    sheet.line((neck, bottom + 0.1), (neck, y + 0.15), lw=THIN)
    sheet.line((neck, y), (mark, y), lw=THIN)
    for x in (neck, mark):
        sheet.line((x - 0.08, y + 0.08), (x + 0.08, y - 0.08), lw=THIN)
    text = f"waist mark, {lay.side.waist_mark_mm:g} mm from the neck end"
    half = text_width(text, PLAIN) / 2
    sheet.text(min(max(mark, LEFT + half), LEFT + WIDE - half), y + 0.4, text, align="center", size=PLAIN)
    return y + 0.95


def lay_half(at: _Scale, lay: Lay) -> float:
    """Half of the strip at its widest, units.

    at: the scale. lay: of the strip.
    """
    known = [value for value in (lay.left_mm, lay.right_mm) if value is not None]
    return max(known, default=0.0) * at.tall / 2


def _stack(sheet: Sheet, lay: Lay, top: float) -> float:
    """What lies on what, the form lowest; where the next thing may stand."""
    sheet.text(LEFT, top, "what lies on what, not to scale", size=PLAIN)
    short = [one.name for one in lay.blankets if not one.long]
    layers = ["slat"]
    if short:
        one = f"blanket {short[0]}, at its place alone"
        layers.append(one if len(short) == 1 else f"blankets {', '.join(short)}, side by side")
    layers += [f"blanket {one.name}" for one in lay.blankets if one.long]
    face = "show face up, inside face to the form" if lay.face == UP else "show face down, to the form"
    layers += [f"strip in its foil: {face}", "slat", "form"]
    y = top + 0.35
    for at, text in enumerate(layers):
        high = LAYER if at < len(layers) - 1 else 2 * LAYER
        thick = THICK if text.startswith("strip") else THIN
        inset = 1.8 if text.endswith("alone") else 0.0
        sheet.box(LEFT + inset, y, LEFT + 5.0 - inset, y + high, lw=thick)
        if text.endswith("side by side"):
            for cut in range(1, len(short)):
                x = LEFT + 5.0 * cut / len(short)
                sheet.line((x, y), (x, y + high), lw=THIN)
        sheet.text(LEFT + 5.3, y + high / 2, text, size=SMALL)
        y += high
    return y


def save(lay: Lay, path: Path, *, simulated: bool = False) -> Path:
    """Write the drawing; the file.

    lay: as lay_of() gives it. path: SVG to write. simulated: as sheet_of(). Raises FileError when it cannot
    be written.
    """
    if path.suffix.lower() != ".svg":
        raise FileError(
            f"{path} does not end in .svg", "give the drawing a name that ends in .svg", code="file_name"
        )
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(sheet_of(lay, simulated=simulated).svg(), encoding="utf-8", newline="\n")
    except OSError as error:
        raise unwritable(path, error, "name another file") from None
    return path
