"""The trade-off of a plan: softness and colour over the target, as bands; and the outline's curvature."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ribwright_board.core.units import in_unit, in_unit_difference
from ribwright_host.figures import INDIGO, INK, STEEL, STYLE, WALNUT, drawable
from ribwright_host.picture_files import save_both

from .sentences import degrees

HATCH = "////"
STYLE_HERE: dict[Any, Any] = STYLE | {"hatch.linewidth": 0.35}
SIMULATED = "SIMULATED: computed, no blanket was heated and no wood was bent"
# Nothing is soft or stiff beyond these; a rig that never comes to the press stands far below [K].
SHOWN_K = (-60.0, 45.0)
SHADES_MIN = ((1.0, "faint"), (5.0, "visible"), (30.0, "scorch"))
LEAST_MIN = 0.01


def best_of(tried: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The softest hold of each target that was tried, the coolest target first.

    tried: of a plan's figures.
    """
    best: dict[float, Mapping[str, Any]] = {}
    for one in tried:
        held = best.get(one["target_c"])
        if held is None or one["least_k"]["low"] > held["least_k"]["low"]:
            best[one["target_c"]] = one
    return [best[target] for target in sorted(best)]


def _band(axes: Axes, at: Sequence[float], values: Sequence[Sequence[float]], colour: str) -> None:
    low, mid, high = values
    # Both rest on unverified bridges, which is what hatching means in every picture of Ribwright.
    axes.fill_between(at, low, high, facecolor=colour, alpha=0.24, lw=0, hatch=HATCH, edgecolor=colour)
    axes.plot(at, mid, color=colour, lw=1.4, marker="o", ms=3)


def _level(axes: Axes, value: float, words: str) -> None:
    """A level with its name, right of the axes, where no curve goes."""
    axes.axhline(value, color=INK, lw=0.7, ls=(0, (1, 2)))
    axes.annotate(
        words,
        (1, value),
        (4, 0),
        xycoords=("axes fraction", "data"),
        textcoords="offset points",
        size=7,
        va="center",
    )


def _softness(axes: Axes, shown: list[Mapping[str, Any]], unit: str) -> None:
    at = [in_unit(one["target_c"], unit) for one in shown]

    def values(key: str, end: str) -> list[float]:
        return [in_unit_difference(float(np.clip(one[key][end], *SHOWN_K)), unit) for one in shown]

    _band(axes, at, [values("least_k", end) for end in ("low", "mid", "high")], INDIGO)
    axes.plot(at, values("least_spread_k", "low"), color=INDIGO, lw=0.9, ls=(0, (4, 1.6)))
    _level(axes, 0.0, "soft above,\nstiff below")
    axes.set_ylabel(f"least above softening\nwhile bending, degrees {unit}")


def _colour(axes: Axes, shown: list[Mapping[str, Any]], unit: str) -> None:
    at = [in_unit(one["target_c"], unit) for one in shown]
    bands = [[max(one["colour_min"][end], LEAST_MIN) for one in shown] for end in ("low", "mid", "high")]
    axes.set_yscale("log")
    _band(axes, at, bands, WALNUT)
    axes.set_ylim(LEAST_MIN / 2.0, 90.0)
    axes.yaxis.set_major_formatter(lambda value, _place: f"{value:g}")
    for minutes, word in SHADES_MIN:
        _level(axes, minutes, word)
    axes.set_ylabel(f"colour when bent,\nmin at {degrees(177, unit)}")
    axes.set_xlabel(f"target, {unit} (the best hold of each)")


def _curve(axes: Axes, figures: Mapping[str, Any]) -> None:
    curve = figures["curve"]
    along, radius = np.array(curve["along_mm"]), np.array(curve["per_mm"])
    order = np.argsort(along)
    axes.plot(along[order], 1000.0 * radius[order], color=INDIGO, lw=1.2)
    axes.axhline(0.0, color=STEEL, lw=0.7)
    axes.set_xlim(0.0, curve["length_mm"])
    axes.set_xlabel("along the outline, mm")
    axes.set_ylabel("curvature, 1/m\n(20 is a radius of 50 mm)")


def save(figures: Mapping[str, Any], stem: Path) -> list[Path]:
    """Draw a plan, or a refusal, and save it as PNG and SVG; gives both paths.

    figures: with tried, unit, name, bends (empty for a refusal) and curve. stem: path without its ending.
    """
    unit, shown = figures["unit"], best_of(figures["tried"])
    panels = 3 if figures["curve"] else 2
    with rc_context(STYLE_HERE):
        figure = Figure(figsize=(7.2, 0.9 + 2.0 * panels), layout="constrained")
        FigureCanvasAgg(figure)
        axes = figure.subplots(panels, 1)
        _softness(axes[0], shown, unit)
        _colour(axes[1], shown, unit)
        for one in axes[:2]:
            for bend in figures["bends"][:1]:
                one.axvline(in_unit(bend["tried"]["target_c"], unit), color=STEEL, lw=5, alpha=0.35, zorder=0)
        if figures["curve"]:
            _curve(axes[2], figures)
        title = drawable(f"{figures['name']}: the tightest place, by target", 90)
        figure.suptitle(f"{title}\n{SIMULATED}", size=9, x=0.01, ha="left", parse_math=False)
        figure.supxlabel(
            f"Bands: all of {figures['rigs']} rigs. Dashed: the stiffest by the stiff end of the "
            "softening curve. "
            "Grey: the plan.",
            size=7.5,
            x=0.01,
            ha="left",
        )
        return list(save_both(figure, stem.parent, stem.name))
