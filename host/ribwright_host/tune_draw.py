"""The picture of a tuning: the warm-ups of all rigs, and gain margin against overshoot beside textbook rules.

Drawn from the values that also go into the JSON answer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib import rc_context
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator, NullFormatter
from matplotlib.transforms import Bbox

from ribwright_board.core.units import in_unit, in_unit_difference

from .figures import INDIGO, INK, STEEL, STYLE, WALNUT, drawable
from .picture_files import PNG_DPI
from .tune_words import NAMES, OURS

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDTH_IN, PANEL_IN, HEAD_IN, FOOT_IN, GAP_IN = 10.4, 3.7, 1.12, 0.6, 0.85
LEFT_IN, MIDDLE_IN, RIGHT_IN, WARMUP_IN = 0.7, 0.85, 0.2, 3.9
SIMULATED = "SIMULATED: computed, no blanket was heated and no wood was bent"
LABEL_PT, POINT_PX = 7.0, 6.0
# Where a label may stand: away from its point in pixels, first near, then farther.
AWAY_PX = (9, 16, 26, 40, 58, 80, 108, 140)
DIRECTIONS = 16
OVERLAP, OUTSIDE = 10, 100
# The last degrees in a window of their own: left, low, wide, tall; at least so much to either side.
INSET, NEAR_K = (0.46, 0.37, 0.52, 0.36), 1.0
OVERSHOOT_LEAST_K = 0.02
TICKS = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)


def save(figures: Mapping[str, Any], path: Path, unit: str) -> None:
    """Draw a tuning and save it.

    figures: as tune.figures_of(). path: of the PNG file. unit: "C" or "F".
    """
    with rc_context(STYLE):
        _draw(figures, unit).savefig(path, dpi=PNG_DPI, metadata={"Software": "Ribwright"})


def draw(figures: Mapping[str, Any], unit: str = "C") -> Figure:
    """One figure; a warm-up and a comparison for every zone.

    figures: as tune.figures_of(). unit: "C" or "F".
    """
    with rc_context(STYLE):
        return _draw(figures, unit)


def _draw(figures: Mapping[str, Any], unit: str) -> Figure:
    zones = figures["zones"]
    height_in = HEAD_IN + len(zones) * (PANEL_IN + GAP_IN) - GAP_IN + FOOT_IN
    figure = Figure(figsize=(WIDTH_IN, height_in), dpi=PNG_DPI)
    FigureCanvasAgg(figure)
    left = LEFT_IN / WIDTH_IN
    name = drawable(f"Tuning of {figures['rig']}")
    figure.text(left, 1 - 0.14 / height_in, name, size=12, weight="bold", va="top", parse_math=False)
    said = (
        f"{figures['rigs']} rigs, the one of the file and {figures['rigs'] - 1} drawn around it; "
        f"relay window {figures['window_ms'] / 1000.0:g} s; seed {figures['seed']}"
    )
    figure.text(left, 1 - 0.4 / height_in, said, va="top")
    figure.text(left, 1 - 0.6 / height_in, SIMULATED, weight="bold", va="top", color=INDIGO)
    at_in = height_in - HEAD_IN
    second_in = LEFT_IN + WARMUP_IN + MIDDLE_IN
    for zone in zones:
        at_in -= PANEL_IN
        tall = (at_in / height_in, PANEL_IN / height_in)
        warmup = figure.add_axes((left, tall[0], WARMUP_IN / WIDTH_IN, tall[1]))
        _warmup(warmup, zone, figures["target_c"], unit)
        wide = (WIDTH_IN - second_in - RIGHT_IN) / WIDTH_IN
        rules = figure.add_axes((second_in / WIDTH_IN, tall[0], wide, tall[1]))
        _rules(rules, zone, unit)
        at_in -= GAP_IN
    return figure


def _plain(axes: Axes) -> None:
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(color=STEEL, alpha=0.25, lw=0.5)


def _warmup(axes: Axes, zone: Mapping[str, Any], target_c: float, unit: str) -> None:
    series = zone["series"]
    minutes = np.array(series["time_s"]) / 60.0
    low, high, nominal = (
        np.array([in_unit(value, unit) for value in series[name]])
        for name in ("low_c", "high_c", "nominal_c")
    )
    axes.fill_between(minutes, low, high, color=STEEL, alpha=0.35, lw=0, label="all rigs")
    axes.plot(minutes, nominal, color=INDIGO, lw=1.3, label="the rig as its file says")
    target = in_unit(target_c, unit)
    axes.axhline(target, color=WALNUT, lw=1.1, ls=(0, (4, 1.6)), label="target")
    axes.set_title(
        drawable(f"zone {zone['name']}: warm-up with its gains"), loc="left", size=8.5, weight="bold"
    )
    axes.set_ylabel(f"thermocouple, \u00b0{unit}")
    axes.set_xlabel("minutes since heat began", loc="left")
    axes.set_xlim(0.0, float(minutes[-1]))
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))
    axes.legend(frameon=False, loc="lower right")
    _plain(axes)
    near = axes.inset_axes(INSET)
    near.fill_between(minutes, low, high, color=STEEL, alpha=0.35, lw=0)
    near.plot(minutes, nominal, color=INDIGO, lw=0.9)
    near.axhline(target, color=WALNUT, lw=0.9, ls=(0, (4, 1.6)))
    most = max(float((high - target).max()), in_unit_difference(NEAR_K, unit)) * 1.15
    near.set(xlim=axes.get_xlim(), ylim=(target - most, target + most))
    near.set_title("near the target", loc="left", size=LABEL_PT)
    near.tick_params(labelsize=LABEL_PT, labelbottom=False)
    near.yaxis.set_major_locator(MaxNLocator(4))
    _plain(near)


def _rules(axes: Axes, zone: Mapping[str, Any], unit: str) -> None:
    """Gain margin to the right, overshoot upwards, both by factors; to the left of 1 a loop swings."""
    compared = zone["compared"]
    least = in_unit_difference(OVERSHOOT_LEAST_K, unit)
    x = np.array([one["gain_margin"] for one in compared])
    y = np.array([max(in_unit_difference(one["overshoot_k_p95"], unit), least) for one in compared])
    axes.set_xscale("log")
    axes.set_yscale("log")
    for scale, values in ((axes.set_xlim, np.append(x, [0.8, 2.0])), (axes.set_ylim, y)):
        # Room for labels all around.
        scale(float(values.min()) / 1.45, float(values.max()) * 1.6)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_locator(FixedLocator(TICKS))
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axis.set_minor_formatter(NullFormatter())
        axis.set_minor_locator(FixedLocator([]))
    axes.axvspan(axes.get_xlim()[0], 1.0, color=WALNUT, alpha=0.10, lw=0)
    for one, at_x, at_y in zip(compared, x, y, strict=True):
        ours = one["name"] == OURS
        axes.plot(at_x, at_y, "D" if ours else "o", color=INDIGO if ours else WALNUT, ms=7.0 if ours else 4.5)
    title = "margin and overshoot beside textbook rules"
    axes.set_title(title, loc="left", size=8.5, weight="bold")
    axes.set_xlabel("gain margin (shaded: the loop swings; farther right is safer)", loc="left")
    axes.set_ylabel(f"overshoot, \u00b0{unit}, 95 % of rigs stay below")
    _plain(axes)
    _label(axes, [NAMES[one["name"]] for one in compared], x, y)


def _label(axes: Axes, names: Sequence[str], x: np.ndarray, y: np.ndarray) -> None:
    """Name every point; no name touches a point, another name or the edge, while there is room."""
    scale = PNG_DPI / 100.0
    points = axes.transData.transform(np.stack([x, y], axis=1))
    frame = axes.get_window_extent()
    half = POINT_PX * scale
    taken = [Bbox.from_extents(px - half, py - half, px + half, py + half) for px, py in points]
    lines: list[tuple[np.ndarray, np.ndarray]] = []
    # Crowded points first: they have the least choice.
    near = [(np.hypot(*(points - one).T) < 60.0 * scale).sum() for one in points]
    for i in sorted(range(len(names)), key=lambda one: (names[one] != NAMES[OURS], -near[one])):
        ours = names[i] == NAMES[OURS]
        text = axes.annotate(
            names[i],
            (x[i], y[i]),
            (0, 0),
            textcoords="offset pixels",
            size=LABEL_PT + (1.5 if ours else 0.0),
            weight="bold" if ours else "normal",
            color=INDIGO if ours else INK,
            ha="center",
            va="center",
        )
        size = text.get_window_extent()
        away = _place(
            points[i], (size.width + 4.0 * scale, size.height + 3.0 * scale), frame, taken, lines, scale
        )
        text.set_position((float(away[0]), float(away[1])))
        middle = points[i] + away
        taken.append(_box(middle, (size.width + 4.0 * scale, size.height + 3.0 * scale)))
        lines.append((points[i], middle))
        edge = _edge(points[i], middle, (size.width, size.height))
        if np.hypot(*(edge - points[i])) > 2.0 * half:
            ends = axes.transData.inverted().transform([points[i], edge])
            axes.plot(ends[:, 0], ends[:, 1], color=STEEL, lw=0.6, zorder=1)


def _box(middle: np.ndarray, size: tuple[float, float]) -> Bbox:
    wide, tall = 0.5 * size[0], 0.5 * size[1]
    return Bbox.from_extents(middle[0] - wide, middle[1] - tall, middle[0] + wide, middle[1] + tall)


def _edge(point: np.ndarray, middle: np.ndarray, size: tuple[float, float]) -> np.ndarray:
    """Where the line from a point to a label's middle enters the label."""
    box = _box(middle, size)
    return np.array([np.clip(point[0], box.x0, box.x1), np.clip(point[1], box.y0, box.y1)])


def _place(
    point: np.ndarray,
    size: tuple[float, float],
    frame: Bbox,
    taken: Sequence[Bbox],
    lines: Sequence[tuple[np.ndarray, np.ndarray]],
    scale: float,
) -> np.ndarray:
    """From a point to the middle of its label [px]: the nearest place that is free, else the least bad."""
    best: np.ndarray = np.zeros(2)
    least = np.inf
    for away_px in AWAY_PX:
        for turn in np.linspace(0.0, 2.0 * np.pi, DIRECTIONS, endpoint=False):
            way = np.array([np.cos(turn), np.sin(turn)])
            away: np.ndarray = way * (away_px * scale + 0.5 * np.abs(way) @ np.array(size))
            box = _box(point + away, size)
            inside = frame.x0 < box.x0 and box.x1 < frame.x1 and frame.y0 < box.y0 and box.y1 < frame.y1
            edge = _edge(point, point + away, size)
            # Names on top of each other are worse than a line that passes behind one.
            hits = OVERLAP * sum(box.overlaps(one) for one in taken)
            hits += sum(_crosses(box, *one) for one in lines)
            # A line of its own may run over no label, the point it starts at apart.
            hits += sum(_crosses(one, point, edge) for one in taken if not one.contains(*point))
            if inside and not hits:
                return away
            badness = hits + (0 if inside else OUTSIDE)
            if badness < least:
                best, least = away, badness
    return best


def _crosses(box: Bbox, start: np.ndarray, end: np.ndarray) -> bool:
    """Whether a straight line passes through a box."""
    steps = start + np.linspace(0.0, 1.0, 40)[:, None] * (end - start)
    within = (steps[:, 0] > box.x0) & (steps[:, 0] < box.x1) & (steps[:, 1] > box.y0) & (steps[:, 1] < box.y1)
    return bool(within.any())
