"""The picture of a rehearsal: for each part of the side temperature, softening, water and colour, as bands.

Drawn from the values that also go into the JSON file. What rests on an unverified bridge is hatched.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from ribwright_board.core.units import in_unit, in_unit_difference

from .figures import INDIGO, INK, STAGE_TINTS, STEEL, STYLE, WALNUT, drawable
from .picture_files import save_both

COLUMN_IN, ALONE_IN, GAP_IN = 2.75, 6.8, 0.16
LEFT_IN, RIGHT_IN = 0.86, 0.14
HEAD_IN, STRIP_IN, FOOT_IN = 0.86, 0.22, 1.12
# Temperature, softening, water, colour.
PANELS_IN = (2.05, 1.35, 1.05, 1.35)
# A dose below this colours nothing; the scale is logarithmic and needs an end.
LEAST_COLOUR_MIN = 0.01
SIMULATED = "SIMULATED: computed, no blanket was heated and no wood was bent"
HATCH = "////"
STYLE_HERE: dict[Any, Any] = STYLE | {"hatch.linewidth": 0.35, "font.size": 8}


def _values(series: list[float | None]) -> np.ndarray:
    return np.array([np.nan if value is None else value for value in series], dtype=float)


class _Side:
    """What all panels of one part of the side share."""

    def __init__(self, figures: Mapping[str, Any], name: str, unit: str) -> None:
        self.figures = figures
        self.name = name
        self.unit = unit
        self.minutes = _values(figures["series"]["time_s"]) / 60.0

    def band(self, axes: Axes, series: str, colour: str, shown: Any, *, unverified: bool) -> None:  # noqa: ANN401
        """A line with its band; `shown` turns values into what is drawn."""
        ends = self.figures["series"]["columns"][self.name][series]
        low, mid, high = (shown(_values(ends[end])) for end in ("low", "mid", "high"))
        hatch: dict[str, Any] = {"hatch": HATCH, "edgecolor": colour} if unverified else {}
        axes.fill_between(self.minutes, low, high, facecolor=colour, alpha=0.24, lw=0, **hatch)
        axes.plot(self.minutes, mid, color=colour, lw=1.4)

    def temperatures(self, axes: Axes) -> None:
        """Hottest face and middle of the wood, the targets of the blankets over it."""

        def shown(values: np.ndarray) -> np.ndarray:
            return np.array([in_unit(float(value), self.unit) for value in values])

        series = self.figures["series"]
        for zone in self.figures["over"][self.name]:
            target = shown(_values(series["targets_c"][zone]))
            axes.plot(self.minutes[: len(target)], target, color=STEEL, lw=1.1, ls=(0, (4, 1.6)))
        self.band(axes, "hot_c", WALNUT, shown, unverified=False)
        self.band(axes, "mid_c", INDIGO, shown, unverified=False)
        limit = in_unit(self.figures["visible_above_c"], self.unit)
        _limit(axes, limit, f"darkens above {limit:.0f}")

    def softness(self, axes: Axes) -> None:
        """Degrees above softening at the water the wood holds then."""

        def shown(values: np.ndarray) -> np.ndarray:
            return np.array([in_unit_difference(float(value), self.unit) for value in values])

        self.band(axes, "margin_k", INDIGO, shown, unverified=True)
        _limit(axes, 0.0, "soft above, stiff below")

    def water(self, axes: Axes) -> None:
        """Mean moisture."""
        self.band(axes, "moisture_percent", STEEL, lambda values: values, unverified=True)

    def colour(self, axes: Axes) -> None:
        """Minutes at 177 C so far, with the limits of the words."""

        def shown(values: np.ndarray) -> np.ndarray:
            return np.asarray(np.maximum(values, LEAST_COLOUR_MIN))

        axes.set_yscale("log")
        self.band(axes, "colour_min", WALNUT, shown, unverified=True)
        for shade in self.figures["shades"]:
            if shade["from_minutes"] > 0:
                _limit(axes, shade["from_minutes"], shade["word"])


def _limit(axes: Axes, value: float, words: str) -> None:
    """A level with its name, which stands on the line at the left."""
    axes.axhline(value, color=INK, lw=0.7, ls=(0, (1, 2)))
    axes.annotate(
        words,
        (1, value),
        (-2, 1.5),
        xycoords=("axes fraction", "data"),
        textcoords="offset points",
        size=6.5,
        ha="right",
        va="bottom",
    )


def _stages(strip: Axes, panels: list[Axes], figures: Mapping[str, Any]) -> None:
    """The nominal rig's stages: numbered above, shaded in every panel."""
    strip.set_axis_off()
    for stage in figures["stages"]:
        if stage["start_s"] is None:
            continue
        start, end = (stage["start_s"] - 1) / 60.0, stage["end_s"] / 60.0
        tint = STAGE_TINTS[stage["kind"]]
        for axes in [strip, *panels]:
            axes.axvspan(start, end, color=tint, lw=0, zorder=0)
        for axes in panels:
            axes.axvline(start, color="white", lw=0.7, zorder=0.5)
        strip.axvline(start, color=STEEL, lw=0.6)
        number = strip.text((start + end) / 2, 0.5, str(stage["number"]), ha="center", va="center", size=7.5)
        left_px, right_px = strip.transData.transform([(start, 0), (end, 0)])[:, 0]
        if number.get_window_extent().width > right_px - left_px:
            number.remove()


def draw(figures: Mapping[str, Any], unit: str = "C") -> Figure:
    """One figure: a column of panels for each part of the side.

    figures: as rehearse.figures_of(). unit: "C" or "F", for the temperatures shown.
    """
    with rc_context(STYLE_HERE):
        return _draw(figures, unit)


def _draw(figures: Mapping[str, Any], unit: str) -> Figure:
    names = list(figures["columns"])
    each_in = COLUMN_IN if len(names) > 1 else ALONE_IN
    width_in = LEFT_IN + len(names) * each_in + (len(names) - 1) * GAP_IN + RIGHT_IN
    height_in = HEAD_IN + STRIP_IN + sum(PANELS_IN) + len(PANELS_IN) * GAP_IN + FOOT_IN
    figure = Figure(figsize=(width_in, height_in))
    FigureCanvasAgg(figure)
    last_min = max(_values(figures["series"]["time_s"]).max(initial=1.0), 1.0) / 60.0
    grid: list[list[Axes]] = []
    for place, name in enumerate(names):
        left_in = LEFT_IN + place * (each_in + GAP_IN)
        at_in = height_in - HEAD_IN

        def add(tall_in: float, gap_in: float, *, like: Axes | None = None, left_in: float = left_in) -> Axes:
            nonlocal at_in
            at_in -= tall_in
            spot = (left_in / width_in, at_in / height_in, each_in / width_in, tall_in / height_in)
            axes = figure.add_axes(spot, sharey=like)
            axes.set_xlim(0, last_min)
            at_in -= gap_in
            return axes

        strip = add(STRIP_IN, GAP_IN / 3)
        title = drawable(name, 28)
        strip.set_title(title, loc="left", pad=3, size=9.5, weight="bold", parse_math=False)
        panels = [
            add(tall_in, GAP_IN, like=grid[0][row] if grid else None) for row, tall_in in enumerate(PANELS_IN)
        ]
        side = _Side(figures, name, unit)
        for axes, paint in zip(
            panels, (side.temperatures, side.softness, side.water, side.colour), strict=True
        ):
            paint(axes)
        _stages(strip, panels, figures)
        grid.append(panels)
    _dress(grid, unit, each_in)
    _words(figure, figures, width_in, height_in)
    return figure


def _dress(grid: list[list[Axes]], unit: str, each_in: float) -> None:
    """Scales, names of the scales, spines."""
    labels = (
        f"wood, °{unit}",
        f"degrees {unit} above\nsoftening",
        "water, %",
        f"colour, minutes\nat {in_unit(177.0, unit):.0f} °{unit}",
    )
    for place, panels in enumerate(grid):
        for axes, label in zip(panels, labels, strict=True):
            axes.spines[["top", "right"]].set_visible(False)
            axes.grid(axis="y", color=STEEL, alpha=0.22, lw=0.5)
            axes.tick_params(labelbottom=axes is panels[-1], bottom=axes is panels[-1], labelleft=place == 0)
            if place == 0:
                axes.set_ylabel(label)
                axes.yaxis.set_label_coords(-0.145 * COLUMN_IN / each_in, 0.5)
        panels[2].set_ylim(bottom=0)
        low, high = panels[0].get_ylim()
        panels[0].set_ylim(low, max(high, in_unit(170.0, unit)))
        panels[3].set_ylim(LEAST_COLOUR_MIN, max(60.0, panels[3].get_ylim()[1]))
        panels[3].set_yticks([0.01, 0.1, 1, 10], ["0", "0.1", "1", "10"])
        panels[3].minorticks_off()
    grid[0][-1].set_xlabel("minutes since heat was allowed", loc="left")


def _words(figure: Figure, figures: Mapping[str, Any], width_in: float, height_in: float) -> None:
    """Title, legend and what has to be said beside the picture."""
    left = LEFT_IN / width_in
    title = drawable(f"{figures['profile']}, rehearsed on {figures['rig']}", 90)
    figure.text(left, 1 - 0.10 / height_in, title, size=12, weight="bold", va="top", parse_math=False)
    figure.text(left, 1 - 0.36 / height_in, SIMULATED, weight="bold", va="top", color=INDIGO)
    if lost := sum(trips["rigs"] for trips in figures["trips"]) + figures["unfinished"]:
        words = (
            f"{lost} of {figures['plants'] + 1} rigs do not come to the end; their bands stop where they do"
        )
        figure.text(left, 1 - 0.54 / height_in, words, size=7.5, weight="bold", va="top", color=WALNUT)
    names = ", ".join(f"{stage['number']} {stage['name']}" for stage in figures["stages"])
    figure.text(
        left, 0.60 / height_in, f"Stages: {drawable(names, 150)}", size=7.5, va="top", parse_math=False
    )
    rigs = figures["plants"] + 1
    rests = (
        f"Hatched bands rest on unverified bridges between published facts: {_bridges(figures)}.\n"
        f"Bands: 5 to 95 % of {rigs} simulated rigs. Stages are those of the rig as its file says."
    )
    figure.text(left, 0.42 / height_in, rests, size=7.5, va="top", linespacing=1.35, parse_math=False)
    handles = [
        Line2D([], [], color=WALNUT, lw=1.5, label="hottest face"),
        Line2D([], [], color=INDIGO, lw=1.5, label="middle of the wood"),
        Line2D([], [], color=STEEL, lw=1.1, ls=(0, (4, 1.6)), label="target"),
        Patch(facecolor=STEEL, alpha=0.35, lw=0, label="band of the rigs"),
        Patch(facecolor="white", edgecolor=INK, hatch=HATCH, lw=0.4, label="unverified"),
    ]
    legend = figure.legend(handles=handles, ncols=len(handles), frameon=False, columnspacing=1.3)
    legend.set(loc="upper right", bbox_to_anchor=(1 - RIGHT_IN / width_in, (FOOT_IN - 0.22) / height_in))


def _bridges(figures: Mapping[str, Any]) -> str:
    return ", ".join(bridge["name"] for bridge in figures["unverified"])


def save(figures: Mapping[str, Any], out_dir: Path, unit: str = "C", name: str = "rehearsal") -> list[Path]:
    """Draw a rehearsal and save it as PNG and SVG; gives both paths.

    figures: as rehearse.figures_of(). out_dir: an existing folder. unit: "C" or "F". name: file name without
    its ending.
    """
    with rc_context(STYLE_HERE):
        return list(save_both(_draw(figures, unit), out_dir, name))
