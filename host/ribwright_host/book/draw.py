"""Both sides of a pair over each other: what each thermocouple read, a panel for every zone."""

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ribwright_board.core.units import in_unit
from ribwright_host.figures import INK, SIMULATED, STEEL, STYLE, WIDTH_IN, drawable
from ribwright_host.picture_files import save_both

from .heat import BENDING_HEAT_C
from .models import BASS, TREBLE
from .pairs import PieceBook, SideBook

# Of the set for colour-blind eyes by Okabe and Ito 2008, "Color Universal Design": blue and vermillion. Line
# style tells the sides apart once more, for grey print.
BLUE = "#0072B2"
VERMILLION = "#D55E00"
LINES: dict[str, dict[str, Any]] = {
    BASS: {"color": BLUE, "ls": "-", "lw": 1.7},
    TREBLE: {"color": VERMILLION, "ls": (0, (5, 1.8)), "lw": 1.7},
}
PANEL_IN, HEAD_IN, FOOT_IN = 1.85, 0.42, 0.55
# A side's second run is drawn behind its first, with this much between them.
GAP_MIN = 1.0


def zone_names(piece: PieceBook) -> list[str]:
    """Zones of a pair's runs, in the order in which they first come.

    piece: with its curves.
    """
    names: dict[str, None] = {}
    for side in piece.sides.values():
        for run in side.runs:
            for zone in run["zones"]:
                names[zone["zone"]] = None
    return list(names)


def series(side: SideBook, zone: str) -> tuple[list[float], list[float]]:
    """Minutes since the first heat, and readings in C, of all runs of a side one after the other; NaN where
    nothing was read.

    side: with its curves. zone: name.
    """
    minutes: list[float] = []
    shown: list[float] = []
    start = 0.0
    for run in side.runs:
        longest = start
        for one in run["zones"]:
            values: Sequence[float | None] = one["curve_c"] or []
            step_min = (one["step_s"] or 0) / 60
            longest = max(longest, start + len(values) * step_min)
            if one["zone"] == zone:
                minutes += [start + i * step_min for i in range(len(values))] + [longest]
                shown += [math.nan if value is None else value for value in values] + [math.nan]
        start = longest + GAP_MIN
    return minutes, shown


def draw(piece: PieceBook, unit: str = "C") -> Figure:
    """The pair as one figure.

    piece: with its curves. unit: "C" or "F".
    """
    with rc_context(STYLE):
        return _draw(piece, unit)


def _draw(piece: PieceBook, unit: str) -> Figure:
    zones = zone_names(piece)
    head_in = HEAD_IN + (0.2 if piece.simulated else 0)
    height_in = head_in + max(len(zones), 1) * PANEL_IN + FOOT_IN
    figure = Figure(figsize=(WIDTH_IN, height_in))
    FigureCanvasAgg(figure)
    title = drawable(f"{piece.facts['name']}: both sides", 70)
    left = 0.68 / WIDTH_IN
    figure.text(left, 1 - 0.1 / height_in, title, size=12, weight="bold", va="top", parse_math=False)
    if piece.simulated:
        figure.text(left, 1 - 0.35 / height_in, SIMULATED, weight="bold", va="top", color=BLUE)
    shared: Axes | None = None
    for number, zone in enumerate(zones):
        bottom_in = height_in - head_in - (number + 1) * PANEL_IN + 0.12
        place = (left, bottom_in / height_in, 1 - left - 0.12 / WIDTH_IN, (PANEL_IN - 0.2) / height_in)
        axes = figure.add_axes(place, sharex=shared, sharey=shared)
        shared = shared or axes
        _panel(axes, piece, zone, unit)
        axes.tick_params(labelbottom=number == len(zones) - 1)
    if shared is None:
        figure.text(0.5, 0.4, "no readings are kept", ha="center")
        return figure
    figure.axes[-1].set_xlabel("minutes since the first heat", loc="left")
    handles = [shared.lines[i] for i in range(len(shared.lines))]
    legend = figure.legend(handles, [str(line.get_label()) for line in handles], ncols=3, frameon=False)
    legend.set(loc="lower right", bbox_to_anchor=(1 - 0.12 / WIDTH_IN, 0))
    return figure


def _panel(axes: Axes, piece: PieceBook, zone: str, unit: str) -> None:
    for which, style in LINES.items():
        if which in piece.sides:
            minutes, values = series(piece.sides[which], zone)
            axes.plot(minutes, [in_unit(value, unit) for value in values], label=f"{which} side", **style)
    limit = in_unit(BENDING_HEAT_C, unit)
    axes.axhline(limit, color=INK, lw=0.8, ls=(0, (1, 2)), label=f"bending heat, {limit:.0f} \u00b0{unit}")
    name = drawable(zone, 32)
    axes.text(0.008, 0.96, name, transform=axes.transAxes, va="top", weight="bold", size=10, parse_math=False)
    axes.margins(x=0.0, y=0.12)
    axes.set_ylabel(f"\u00b0{unit}")
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=STEEL, alpha=0.25, lw=0.5)


def save(piece: PieceBook, folder: Path, unit: str = "C", name: str = "pair") -> tuple[Path, Path]:
    """Draw a pair as PNG and SVG; gives both paths.

    piece: with its curves. folder: existing. unit: "C" or "F". name: of the files, without ending.
    """
    with rc_context(STYLE):
        return save_both(_draw(piece, unit), folder, name)
