"""A month as a picture: how long runs were under way on each day, and spring-back against set temperature."""

from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ribwright_board.core.units import in_unit
from ribwright_host.figures import INDIGO, INK, STEEL, STYLE, WALNUT, WIDTH_IN
from ribwright_host.picture_files import save_both

from .month import Month
from .quantities import MM_PER_INCH

HEIGHT_IN = 2.9
# How runs ended, from the bottom of a bar: the words, colour and hatch; lightness and hatch tell them apart
# in grey print as well.
ENDED = (
    ("finished", ("done",), INDIGO, ""),
    ("stopped, or cut off", ("stop", None), STEEL, ""),
    ("shut down or refused", ("trip", "refused"), WALNUT, "////"),
)


def _days(axes: Axes, month: Month) -> None:
    count = month.last.day
    below = [0.0] * count
    for words, endings, colour, hatch in ENDED:
        minutes = [0.0] * count
        for run in month.runs:
            if run.ending in endings:
                minutes[run.day.day - 1] += run.seconds / 60
        days = range(1, count + 1)
        axes.bar(
            days, minutes, 0.8, bottom=below, color=colour, hatch=hatch, edgecolor="#fff", lw=0.3, label=words
        )
        below = [low + more for low, more in zip(below, minutes, strict=True)]
    axes.set_xlim(0.3, count + 0.7)
    axes.set_ylim(0, max([*below, 1.0]) * 1.08)
    axes.set_xticks([1, *range(5, count + 1, 5)])
    axes.set_title("Minutes under way, by day", loc="left", size=9, weight="bold")
    axes.set_xlabel(f"day of {month.title}")
    if not month.runs:
        axes.text(0.5, 0.5, "no run", transform=axes.transAxes, ha="center")


def _sprung(axes: Axes, month: Month, unit: str, lengths: str) -> None:
    per = MM_PER_INCH if lengths == "in" else 1.0
    styles: tuple[tuple[bool, dict[str, Any]], ...] = (
        (False, {"facecolors": "none", "edgecolors": STEEL, "label": "earlier"}),
        (True, {"facecolors": INDIGO, "edgecolors": INDIGO, "label": "bent this month"}),
    )
    for now, style in styles:
        seen = [side for side in month.sprung if side.now == now]
        if seen:
            x = [in_unit(side.set_c, unit) for side in seen]
            axes.scatter(x, [side.gap_mm / per for side in seen], s=26, zorder=3, **style)
    axes.set_title("Spring-back by set temperature", loc="left", size=9, weight="bold")
    axes.set_xlabel(f"mean reading in the set, \u00b0{unit}")
    axes.set_ylabel(f"mean gap, {lengths}")
    if month.sprung:
        axes.axhline(0, color=INK, lw=0.8, ls=(0, (1, 2)))
        axes.margins(0.12, 0.15)
    else:
        axes.set(xticks=[], yticks=[])
        axes.text(0.5, 0.5, "no side is measured yet", transform=axes.transAxes, ha="center")


def _draw(month: Month, unit: str, lengths: str) -> Figure:
    figure = Figure(figsize=(WIDTH_IN, HEIGHT_IN))
    FigureCanvasAgg(figure)
    left = figure.add_axes((0.055, 0.26, 0.45, 0.64))
    right = figure.add_axes((0.60, 0.26, 0.385, 0.64))
    _days(left, month)
    _sprung(right, month, unit, lengths)
    for axes in (left, right):
        axes.spines[["top", "right"]].set_visible(False)
        axes.grid(axis="y", color=STEEL, alpha=0.25, lw=0.5)
        axes.set_axisbelow(True)
    for axes, x in ((left, 0.055), (right, 0.60)):
        handles, labels = axes.get_legend_handles_labels()
        if handles:
            figure.legend(
                handles,
                labels,
                loc="lower left",
                bbox_to_anchor=(x - 0.015, -0.01),
                ncols=3,
                frameon=False,
                columnspacing=1.0,
                handlelength=1.4,
                fontsize=7.5,
            )
    return figure


def save(month: Month, folder: Path, unit: str = "C", lengths: str = "mm") -> tuple[Path, Path]:
    """Draw a month as PNG and SVG; gives both paths.

    month: collected. folder: existing. unit: "C" or "F". lengths: "mm" or "in".
    """
    with rc_context(STYLE):
        return save_both(_draw(month, unit, lengths), folder, "month")
