"""A profile as a picture: the target of every zone, stage by stage; no time is foretold."""

from collections.abc import Mapping, Sequence
from itertools import cycle
from pathlib import Path
from typing import Any

from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ribwright_board.core import profile as core_profile
from ribwright_board.core import units

from .errors import UsageError
from .figures import INDIGO, INK, STAGE_TINTS, STEEL, STYLE, WALNUT, drawable
from .picture_files import PNG_DPI
from .writing import unwritable

# Zones differ in colour, in line and in mark, so that they stay apart in grey print too.
LINES = ((INDIGO, "-", "o"), (WALNUT, "--", "s"), (STEEL, "-.", "^"), (INK, ":", "D"))
WIDTH_IN, STAGE_IN, HIGH_IN = 2.0, 1.45, 4.0
KINDS = ("png", "svg")
ROOM_C = 20.0


def _shown(value: float, unit: str, shown: str) -> float:
    return units.in_unit(units.c_from(value, unit), shown)


def _ends(stage: Mapping[str, Any]) -> str:
    """What ends a stage, in a few words."""
    if stage["kind"] == "cool":
        return "relays off until"
    longest = stage.get("longest_min", core_profile.RAMP_LONGEST_MIN)
    if stage["kind"] == "ramp":
        return f"by arrival,\n{longest:g} min at most"
    if "until" in stage:
        who = "by next" if stage["until"] == "maker" else "by the wood"
        return f"{who},\n{longest:g} min at most"
    return f"{stage['minutes']:g} min in band"


def paths(
    stages: Sequence[Mapping[str, Any]], unit: str, shown: str
) -> dict[str, list[tuple[list[float], list[float]]]]:
    """Pieces of line by zone, in columns and degrees; where a stage does not name a zone it gets no heat.

    stages: of a checked profile. unit: of its temperatures. shown: unit to show.
    """
    names = dict.fromkeys(zone for stage in stages for zone in stage.get("zones", ()))
    room = units.in_unit(ROOM_C, shown)
    paths: dict[str, list[tuple[list[float], list[float]]]] = {name: [] for name in names}
    last = dict.fromkeys(names, room)
    for column, stage in enumerate(stages):
        for zone in stage.get("zones", ()):
            target = _shown(stage["target"], unit, shown)
            before = last[zone] if stage["kind"] == "ramp" else target
            paths[zone].append(([column, column + 1.0], [before, target]))
            last[zone] = target
    return paths


def _columns(axes: Axes, stages: Sequence[Mapping[str, Any]], unit: str, shown: str) -> None:
    """Tints, names, ends and cues of the stages."""
    above = axes.get_xaxis_transform()
    for column, stage in enumerate(stages):
        axes.axvspan(column, column + 1, color=STAGE_TINTS[stage["kind"]], lw=0, zorder=0)
        name = drawable(str(stage.get("name", stage["kind"])), 24)
        words = f"{column + 1} {name}".replace(" ", "\n", 2).replace("\n", " ", 1)
        axes.text(
            column + 0.5, 1.02, words, transform=above, ha="center", va="bottom", size=7.5, parse_math=False
        )
        told = [_ends(stage), *(drawable(f"cue: {cue}", 22) for cue in stage.get("cues", ()))]
        if stage["kind"] == "cool":
            told.append(f"below {_shown(stage['below'], unit, shown):.0f} {shown}")
        axes.text(
            column + 0.5,
            -0.03,
            "\n".join(told),
            transform=above,
            ha="center",
            va="top",
            size=7,
            parse_math=False,
        )
        axes.axvline(column, color=STEEL, lw=0.5, zorder=1)


def drawing(mapping: Mapping[str, Any], shown: str) -> Figure:
    """A profile as a figure.

    mapping: checked values. shown: unit to show.
    """
    unit, stages = str(mapping["unit"]), mapping["stages"]
    figure = Figure(figsize=(WIDTH_IN + STAGE_IN * len(stages), HIGH_IN), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.subplots()
    drawn = paths(stages, unit, shown)
    for (zone, pieces), (colour, line, mark) in zip(drawn.items(), cycle(LINES), strict=False):
        own = (stage for stage in stages if zone in stage.get("zones", ()))
        label: str | None = drawable(zone, 20)
        for stage, (at, targets) in zip(own, pieces, strict=True):
            axes.plot(at, targets, color=colour, ls=line, marker=mark, ms=4, lw=1.6, label=label)
            label = None
            # A hold stays where its ramp came to.
            if stage["kind"] != "hold":
                below = targets[1] < targets[0]
                axes.annotate(
                    f"{targets[1]:.0f}",
                    (at[1], targets[1]),
                    (-6, -12) if below else (-4, 5),
                    textcoords="offset points",
                    size=7.5,
                    color=colour,
                    ha="right",
                )
    _columns(axes, stages, unit, shown)
    axes.set_xlim(0, len(stages))
    # Room above the highest target for its figure.
    axes.set_ylim(0 if shown == "C" else 32, axes.get_ylim()[1] * 1.08)
    axes.set_xticks([])
    axes.set_ylabel(f"target, {shown}")
    axes.legend(loc="lower right", frameon=False, title="zone")
    title = f"{mapping['name']}: what it asks for, not what the wood will be; stages not to scale"
    figure.suptitle(drawable(title, 110), x=0.01, ha="left", size=9, parse_math=False)
    return figure


def save(mapping: Mapping[str, Any], path: Path, shown: str | None = None) -> Path:
    """Draw a profile into a file; gives the path.

    mapping: checked values. path: a PNG or SVG. shown: unit to show, None for the profile's. Raises
    UsageError for another kind of file, FileError where it cannot be written.
    """
    kind = path.suffix.lower().removeprefix(".")
    if kind not in KINDS:
        raise UsageError(f"{path} is neither a PNG nor an SVG", "end its name in .png or .svg")
    metadata: dict[str, Any] = (
        {"Software": "Ribwright"} if kind == "png" else {"Date": None, "Creator": "Ribwright"}
    )
    with rc_context(STYLE):
        figure = drawing(mapping, shown or str(mapping["unit"]))
        try:
            figure.savefig(path, dpi=PNG_DPI, metadata=metadata)
        except OSError as error:
            raise unwritable(path, error, "name another file") from None
    return path
