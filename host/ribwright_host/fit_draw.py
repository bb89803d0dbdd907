"""The picture of a fit: for each log what was read, the model over it, and what is left over.

Drawn from the values that also go into the JSON file.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ribwright_board.core.units import in_unit, in_unit_difference

from .figures import INDIGO, INK, STEEL, STYLE, WALNUT, drawable
from .picture_files import save_both

WIDTH_IN, PANEL_IN, LEFT_OVER_IN, HEAD_IN, FOOT_IN, GAP_IN = 7.6, 2.3, 0.85, 1.0, 0.6, 0.8
LEFT_IN, RIGHT_IN, TIGHT_IN = 0.75, 0.15, 0.12
SIMULATED = "SIMULATED runs: computed by the virtual rig, no blanket was heated"
# Left over within so many sigma of noise is no news; two hold 95 % of it.
NOISE_SIGMAS = 2.0


def _values(series: list[float | None]) -> np.ndarray:
    return np.array([np.nan if value is None else value for value in series], dtype=float)


def _shown(series: list[float | None], unit: str) -> np.ndarray:
    return np.array([in_unit(float(value), unit) for value in _values(series)])


def draw(figures: Mapping[str, Any], unit: str = "C") -> Figure:
    """One figure; a pair of panels for every zone of every log, and for each second thermocouple.

    figures: as fit.figures_of(). unit: "C" or "F".
    """
    with rc_context(STYLE):
        return _draw(figures, unit)


def _pairs(figures: Mapping[str, Any]) -> list[tuple[int, str | None]]:
    """Log and zone of every pair of panels; zone None for the second thermocouple beside the model."""
    found: list[tuple[int, str | None]] = []
    for number, run in enumerate(figures["runs"]):
        found += [(number, name) for name in figures["series"][number]["measured_c"]]
        if run["wood_residual_k"] is not None:
            found.append((number, None))
    return found


def _draw(figures: Mapping[str, Any], unit: str) -> Figure:
    pairs = _pairs(figures)
    estimated = figures["estimate"] is not None
    height_in = (
        HEAD_IN + (len(pairs) + estimated) * (PANEL_IN + TIGHT_IN + LEFT_OVER_IN + GAP_IN) - GAP_IN + FOOT_IN
    )
    figure = Figure(figsize=(WIDTH_IN, height_in))
    FigureCanvasAgg(figure)
    at_in = height_in - HEAD_IN

    def place(tall_in: float) -> Axes:
        nonlocal at_in
        at_in -= tall_in
        width = (WIDTH_IN - LEFT_IN - RIGHT_IN) / WIDTH_IN
        return figure.add_axes((LEFT_IN / WIDTH_IN, at_in / height_in, width, tall_in / height_in))

    def two() -> tuple[Axes, Axes]:
        nonlocal at_in
        upper = place(PANEL_IN)
        at_in -= TIGHT_IN
        lower = place(LEFT_OVER_IN)
        at_in -= GAP_IN
        return upper, lower

    _head(figure, figures, unit, height_in)
    for number, zone in pairs:
        _pair(*two(), figures, number, zone, unit)
    if estimated:
        _estimate(*two(), figures, unit)
    return figure


def _head(figure: Figure, figures: Mapping[str, Any], unit: str, height_in: float) -> None:
    left = LEFT_IN / WIDTH_IN
    name = drawable(f"Fit of {figures['rig']}")
    figure.text(left, 1 - 0.14 / height_in, name, size=12, weight="bold", va="top", parse_math=False)
    residual = in_unit_difference(figures["fit_residual_k"], unit)
    noise = in_unit_difference(figures["noise_k"], unit)
    said = f"left over {residual:.2f} \u00b0{unit}, noise of the readings {noise:.2f} \u00b0{unit}"
    figure.text(left, 1 - 0.4 / height_in, said, va="top")
    if figures["simulated"]:
        figure.text(left, 1 - 0.6 / height_in, SIMULATED, weight="bold", va="top", color=INDIGO)


def _pair(
    axes: Axes, below: Axes, figures: Mapping[str, Any], number: int, zone: str | None, unit: str
) -> None:
    series, run = figures["series"][number], figures["runs"][number]
    minutes = _values(series["time_s"]) / 60.0
    if zone is None:
        at = _values(series["wood_time_s"]) / 60.0
        read, model = _values(series["wood_c"]), _values(series["wood_model_c"])
        noise_k, title = None, "second thermocouple in the wood"
    else:
        at, noise_k, title = minutes, run["noise_k"][zone], f"zone {zone}"
        read, model = _values(series["measured_c"][zone]), _values(series["model_c"][zone])
    axes.plot(at, _shown(list(read), unit), color=STEEL, lw=3.2, alpha=0.55, label="read")
    axes.plot(at, _shown(list(model), unit), color=INDIGO, lw=1.2, label="model")
    if zone == run["middle_zone"]:
        middle = _shown(series["middle_c"], unit)
        axes.plot(minutes, middle, color=WALNUT, lw=1.1, ls=(0, (4, 1.6)), label="model, middle of the wood")
    text = drawable(f"{title}, {run['title']}", 100)
    axes.set_title(text, loc="left", size=8.5, weight="bold", parse_math=False)
    away = np.array([in_unit_difference(float(value), unit) for value in model - read])
    below.axhline(0.0, color=INK, lw=0.6)
    if noise_k is not None:
        wide = NOISE_SIGMAS * in_unit_difference(noise_k, unit)
        below.axhspan(-wide, wide, color=STEEL, alpha=0.22, lw=0)
    below.plot(at, away, color=INDIGO, lw=0.8)
    _finish(axes, below, float(minutes[-1]), unit)


def _estimate(axes: Axes, below: Axes, figures: Mapping[str, Any], unit: str) -> None:
    """The board's own estimate beside the second thermocouple, before and after its calibration."""
    found, series = figures["estimate"], figures["series"][0]
    courses = series["estimate_c"]
    at_s, read = _values(series["wood_time_s"]) + found["late_s"], _values(series["wood_c"])
    time_s = _values(courses["time_s"])
    axes.plot(at_s / 60.0, _shown(list(read), unit), color=STEEL, lw=3.2, alpha=0.55, label="read")
    below.axhline(0.0, color=INK, lw=0.6)
    wide = in_unit_difference(found["band_k"], unit)
    below.axhspan(-wide, wide, color=STEEL, alpha=0.22, lw=0)
    for key, name, off_k, color, dashes in (
        ("before_c", "before", found["before_k"], WALNUT, (0, (4, 1.6))),
        ("after_c", "calibrated", found["residual_k"], INDIGO, "-"),
    ):
        course = _values(courses[key])
        label = f"estimate {name}, {in_unit_difference(off_k, unit):.1f} \u00b0{unit} off"
        axes.plot(time_s / 60.0, _shown(list(course), unit), color=color, lw=1.2, ls=dashes, label=label)
        away = np.interp(at_s, time_s, course) - read
        shown = [in_unit_difference(float(value), unit) for value in away]
        below.plot(at_s / 60.0, shown, color=color, lw=0.8, ls=dashes)
    text = drawable(f"the board's estimate and the second thermocouple, zone {found['zone']}", 100)
    axes.set_title(text, loc="left", size=8.5, weight="bold", parse_math=False)
    _finish(axes, below, float(time_s[-1]) / 60.0, unit)


def _finish(axes: Axes, below: Axes, minutes: float, unit: str) -> None:
    """What both panels of a pair have alike."""
    axes.set_ylabel(f"temperature, \u00b0{unit}")
    axes.tick_params(labelbottom=False)
    axes.legend(frameon=False, loc="best")
    below.set_ylabel(f"left over, \u00b0{unit}")
    below.set_xlabel("minutes since heat began", loc="left")
    for each in (axes, below):
        each.set_xlim(0.0, minutes)
        each.spines[["top", "right"]].set_visible(False)
        each.grid(axis="y", color=STEEL, alpha=0.25, lw=0.5)


def save(figures: Mapping[str, Any], out_dir: Path, unit: str, name: str) -> tuple[Path, Path]:
    """Draw a fit and save it as PNG and SVG; gives both paths.

    figures: as fit.figures_of(). out_dir: an existing folder. unit: "C" or "F". name: without its ending.
    """
    with rc_context(STYLE):
        return save_both(_draw(figures, unit), out_dir, name)
