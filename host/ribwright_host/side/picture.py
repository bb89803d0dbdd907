"""The strip as it must lie, drawn with letters for a terminal."""

from collections.abc import Sequence

from .lay import DOWN, FAR, Lay

# Columns of the drawing itself, and of the words right of it.
WIDE, BESIDE = 64, 12
# A terminal that has no lines draws with these.
PLAIN = str.maketrans("┄┆┌┐└┘─│═╒╕╘╛╎┬┴╤╧", "-:++++-|=++++|++++")
# The top edge, doubled.
DOUBLED = "═"
STRIP_ROWS = (2, 6)
HIGH = 9


def drawn(lay: Lay) -> list[str]:
    """The lines of the drawing, the far edge first.

    lay: as lay_of() gives it. Blankets are broken lines, the top edge a doubled one.
    """
    spans = [(one.start_mm, one.end_mm) for one in lay.blankets]
    known = [(start, end) for start, end in spans if start is not None and end is not None]
    low = min([0.0, *(start for start, _ in known)])
    high = max([lay.length_mm, *(end for _, end in known)])
    scale = (WIDE - 1) / (high - low)

    def column(at_mm: float) -> int:
        return round((at_mm - low) * scale)

    canvas = [[" "] * (WIDE + BESIDE) for _ in range(HIGH)]
    for one in lay.blankets:
        if one.start_mm is not None and one.end_mm is not None:
            rows = (0, HIGH - 1) if one.long else (1, HIGH - 2)
            _blanket(canvas, column(one.start_mm), column(one.end_mm), rows, one.name)
    left, right = column(0.0), column(lay.length_mm)
    mark = None if lay.waist_mm is None else column(lay.waist_mm)
    _strip(canvas, left, right, mark, lay)
    used = [row for row, line in enumerate(canvas) if "".join(line).strip()]
    body = ["".join(line).rstrip() for line in canvas[used[0] : used[-1] + 1]]
    middle = (left + right) // 2
    foot = (
        [] if mark is None else [_under(mark, f"waist mark, {lay.side.waist_mark_mm:g} mm from the neck end")]
    )
    return [_centred("far", middle), *body, *foot, _centred("near: you stand here", middle)]


def _put(canvas: list[list[str]], row: int, at: int, text: str) -> None:
    """Write over what is there, cut at the edge of the canvas."""
    for place, letter in enumerate(text, at):
        if 0 <= place < len(canvas[row]):
            canvas[row][place] = letter


def _blanket(canvas: list[list[str]], left: int, right: int, rows: tuple[int, int], name: str) -> None:
    """A blanket's frame of broken lines, its name in the upper one."""
    for row, ends in zip(rows, ("┌┐", "└┘"), strict=True):
        _put(canvas, row, left, ends[0] + "┄" * (right - left - 1) + ends[1])
    for row in range(rows[0] + 1, rows[1]):
        # Between the frame and the strip only: what lies under the strip is not drawn through it.
        if not STRIP_ROWS[0] <= row <= STRIP_ROWS[1] or rows[0] == 0:
            _put(canvas, row, left, "┆")
            _put(canvas, row, right, "┆")
    room = right - left - 5
    if room > 0:
        _put(canvas, rows[0], left + 2, f" {name[:room]} ")


def _strip(canvas: list[list[str]], left: int, right: int, mark: int | None, lay: Lay) -> None:
    """The strip with its edges, ends, mark and face."""
    first, last = STRIP_ROWS
    for row in range(first, last + 1):
        _put(canvas, row, left, " " * (right - left + 1))
    for row, edge in ((first, FAR), (last, "near")):
        top = lay.top_edge == edge
        corners = ("╒╕" if top else "┌┐") if edge == FAR else ("╘╛" if top else "└┘")
        line = DOUBLED if top else "─"
        _put(canvas, row, left, corners[0] + line * (right - left - 1) + corners[1])
        _put(canvas, row, WIDE + 2, "top edge" if top else "back edge")
        if mark is not None:
            joints = {(True, FAR): "╤", (False, FAR): "┬", (True, "near"): "╧", (False, "near"): "┴"}
            _put(canvas, row, mark, joints[top, edge])
    for row in range(first + 1, last):
        _put(canvas, row, left, "│")
        _put(canvas, row, right, "│")
        if mark is not None:
            _put(canvas, row, mark, "╎")
    ends = ("neck end", "tail end") if lay.neck == "left" else ("tail end", "neck end")
    widths = ["" if value is None else f"{value:g} mm" for value in (lay.left_mm, lay.right_mm)]
    for row, (one, two) in ((first + 1, ends), (last - 1, (widths[0], widths[1]))):
        _put(canvas, row, left + 2, one)
        _put(canvas, row, right - 1 - len(two), two)
    parts = [(left + 1, right)] if mark is None else [(left + 1, mark), (mark + 1, right)]
    start, end = max(parts, key=lambda part: part[1] - part[0])
    text = f"show face {lay.face}"
    if lay.side.show_face:
        text += f": {lay.side.show_face}"
    elif lay.face == DOWN:
        text += ", inside face up"
    room = end - start - 2
    text = text if len(text) <= room else text[: room - 1] + "."
    _put(canvas, first + 2, start + 1 + (room - len(text)) // 2, text)


def _centred(text: str, middle: int) -> str:
    return " " * max(0, middle - len(text) // 2) + text


def _under(mark: int, text: str) -> str:
    """A word under the mark, to its right where there is room, else to its left."""
    if mark + 2 + len(text) <= WIDE + BESIDE:
        return " " * mark + "╎ " + text
    return " " * max(0, mark - 1 - len(text)) + text + " ╎"


def drawn_for(lay: Lay, encoding: str | None) -> list[str]:
    """The drawing in signs that a terminal has.

    lay: as lay_of() gives it. encoding: of the terminal, None where it does not say.
    """
    lined = (encoding or "").lower().replace("-", "").startswith("utf")
    return [line if lined else line.translate(PLAIN) for line in drawn(lay)]


def show(lay: Lay, lines: Sequence[str]) -> None:
    """Print the drawing and the words of a lay on the terminal.

    lay: as lay_of() gives it. lines: words, printed below.
    """
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False, soft_wrap=True)
    for line in drawn_for(lay, console.encoding):
        # The edge that a strip is lost by stands out where the terminal can show it.
        console.print(Text(line, style="bold" if DOUBLED in line or DOUBLED.translate(PLAIN) in line else ""))
    for line in lines:
        console.print(Text(line))
