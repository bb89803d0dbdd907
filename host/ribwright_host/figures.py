"""Pictures of a run: temperature, target and duty of every zone, stages shaded, events named.

Drawn with figure objects only, no shared plotting state, so that several runs can be drawn at once.
"""

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import findfont, get_font
from matplotlib.text import Text

from ribwright_board.core.acts import MARKS
from ribwright_board.core.errors import fault_name
from ribwright_board.core.units import in_unit, in_unit_difference

from .lanes import lanes
from .logbook import GAP_MS, LogEvent, RunLog, Span
from .picture_files import save_both
from .signs import SIGNS, draw_signs, legend_of

# Indigo, walnut and steel differ in lightness as well as in hue, so they stay apart in grey print
# and for colour-blind eyes; line style tells them apart once more.
INDIGO = "#2b3a7e"
WALNUT = "#a2561c"
STEEL = "#6d7b86"
INK = "#26211c"
STAGE_TINTS = {"ramp": "#f6ead2", "hold": "#ecd9c6", "set": "#dde5ea", "cool": "#f1f2f3"}
OTHER_TINT = "#ffffff"
FONT = "DejaVu Sans"
STYLE: dict[Any, Any] = {
    "font.family": FONT,
    "font.size": 8.5,
    "text.color": INK,
    "axes.labelcolor": INK,
    "axes.edgecolor": STEEL,
    "xtick.color": INK,
    "ytick.color": INK,
    "svg.fonttype": "path",
    # Without a fixed salt the same run would give a different file each time.
    "svg.hashsalt": "ribwright",
}
WIDTH_IN = 7.6
LEFT_IN, RIGHT_IN = 0.68, 0.12
TOP_IN, STRIP_IN, LANE_IN, PANEL_IN, DUTY_IN, BOTTOM_IN = 0.50, 0.24, 0.165, 1.75, 0.42, 0.52
MOST_LANES = 7
FLAG_PT = 7.5
ESTIMATE = "middle of the wood, estimate"
SIMULATED = "SIMULATED: computed by the virtual rig, no blanket was heated and no wood was bent"
WORDS = tomllib.loads((Path(__file__).parent / "templates" / "words.toml").read_text(encoding="utf-8"))


def drawable(text: str, longest: int = 60) -> str:
    """Text the picture's font can draw, anything else as a question mark.

    text: anything. longest: characters kept.
    """
    font = get_font(findfont(FONT))
    kept = [letter if letter.isprintable() and font.get_char_index(ord(letter)) else "?" for letter in text]
    return "".join(kept) if len(kept) <= longest else "".join(kept[: longest - 1]) + "\u2026"


def flag_text(run: RunLog, event: LogEvent, unit: str = "C") -> str:
    """Short word of an event for its flag, "" for one that gets none.

    run: the run. event: one of its events. unit: "C" or "F".
    """
    zone = run.zones[event.zone] if 0 <= event.zone < len(run.zones) else "rig"
    words = str(WORDS["flags"].get(event.name, ""))
    noted = MARKS[event.a - 1] if 1 <= event.a <= len(MARKS) else ""
    for key, value in (
        ("{a}", str(event.a)),
        ("{a_temperature}", f"{in_unit(event.a / 10, unit):.0f} \u00b0{unit}"),
        ("{fault}", fault_name(event.a)),
        ("{zone}", zone),
        ("{mark}", WORDS["mark_flags"].get(noted, "mark")),
    ):
        words = words.replace(key, value)
    return drawable(words, 28)


def _series(run: RunLog, values: list[float | None]) -> tuple[np.ndarray, np.ndarray]:
    """Minutes and values with a NaN wherever the record has a hole, so that no line bridges it."""
    minutes: list[float] = []
    shown: list[float] = []
    last_ms: int | None = None
    for row, value in zip(run.rows, values, strict=True):
        if last_ms is not None and not 0 <= row.at_ms - last_ms <= GAP_MS:
            minutes.append(row.at_ms / 60000)
            shown.append(math.nan)
        minutes.append(row.at_ms / 60000)
        shown.append(math.nan if value is None else value)
        last_ms = row.at_ms
    return np.array(minutes), np.array(shown)


def _in(unit: str, value_c: float | None) -> float | None:
    return None if value_c is None else in_unit(value_c, unit)


def _width_px(text: Text) -> float:
    return float(text.get_window_extent().width)


def _strip(axes: Axes, run: RunLog, spans: list[Span]) -> None:
    """Names of the stages above the panels: the name where it fits, else its number, else nothing."""
    stages = run.stages()
    axes.set_axis_off()
    for span in spans:
        start, end = span.start_ms / 60000, span.end_ms / 60000
        choices = [WORDS["modes"].get(span.mode, span.mode)]
        if span.stage is not None:
            number = str(span.stage + 1)
            name = stages[span.stage].name if span.stage < len(stages) else "stage"
            choices = [f"{number} {drawable(name, 40)}", number]
        axes.axvspan(start, end, color=_tint(run, span), lw=0)
        axes.axvline(start, color=STEEL, lw=0.6)
        px = axes.transData.transform([(start, 0), (end, 0)])
        for words in choices:
            text = axes.text((start + end) / 2, 0.5, words, ha="center", va="center", parse_math=False)
            if _width_px(text) + 6 <= px[1][0] - px[0][0]:
                break
            text.remove()


def _tint(run: RunLog, span: Span) -> str:
    stages = run.stages()
    if span.stage is None or span.stage >= len(stages):
        return OTHER_TINT
    return STAGE_TINTS[stages[span.stage].kind]


def _flags(run: RunLog, last_min: float, unit: str) -> list[tuple[LogEvent, str, int, bool]]:
    """Every flag with its lane and whether it hangs to the left; what the maker did finds room first."""
    figure = Figure(figsize=(WIDTH_IN, 1))
    FigureCanvasAgg(figure)
    wide_px = (WIDTH_IN - LEFT_IN - RIGHT_IN) * figure.dpi
    placed = []
    for event in sorted(run.events, key=lambda event: (event.name not in SIGNS, event.at_ms)):
        words = flag_text(run, event, unit)
        if not words:
            continue
        width = _width_px(figure.text(0, 0, words, size=FLAG_PT, weight="bold", parse_math=False)) + 10
        at = event.at_ms / 60000 / last_min * wide_px
        leftwards = at + width > wide_px
        ends = (at - width, at) if leftwards else (at, at + width)
        placed.append((event, words, leftwards, (at, *ends)))
    chosen = lanes([item[3] for item in placed], MOST_LANES)
    return [
        (event, words, lane, leftwards)
        for (event, words, leftwards, _), lane in zip(placed, chosen, strict=True)
        if lane is not None
    ]


def _panel(axes: Axes, duty_axes: Axes, run: RunLog, zone: int, unit: str) -> None:
    minutes, measured = _series(run, [_in(unit, row.zones[zone].measured_c) for row in run.rows])
    _, target = _series(run, [_in(unit, row.zones[zone].target_c) for row in run.rows])
    _, duty = _series(run, [row.zones[zone].duty for row in run.rows])
    axes.plot(minutes, target, color=WALNUT, lw=1.3, ls=(0, (4, 1.6)), drawstyle="steps-pre", label="target")
    axes.plot(minutes, measured, color=INDIGO, lw=1.5, label="measured")
    _, mid = _series(run, [_in(unit, row.zones[zone].mid_wood_c) for row in run.rows])
    if not np.isnan(mid).all():
        band = in_unit_difference(run.wood_bands_k.get(run.zones[zone], 0.0), unit)
        axes.fill_between(minutes, mid - band, mid + band, color=STEEL, alpha=0.25, lw=0)
        axes.plot(minutes, mid, color=INK, lw=1.0, ls=(0, (1, 1.4)), label=ESTIMATE)
    duty_axes.fill_between(minutes, 0, duty, step="pre", color=STEEL, lw=0, label="duty")
    axes.set_ylabel(f"\u00b0{unit}")
    title = drawable(run.zones[zone], 32)
    axes.text(
        0.008, 0.95, title, transform=axes.transAxes, va="top", weight="bold", size=10, parse_math=False
    )
    if np.isnan(measured).all():
        axes.text(0.5, 0.5, "no reading", transform=axes.transAxes, ha="center", va="center")
    axes.tick_params(labelbottom=False, bottom=False)
    duty_axes.set_ylim(0, 1)
    duty_axes.set_yticks([0, 1])
    duty_axes.set_ylabel("duty", labelpad=11)
    duty_axes.tick_params(labelbottom=False)
    for each in (axes, duty_axes):
        each.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="y", color=STEEL, alpha=0.25, lw=0.5)


def draw(run: RunLog, unit: str = "C") -> Figure:
    """One figure with a panel for every zone.

    run: the run. unit: "C" or "F", for the temperatures shown.
    """
    with rc_context(STYLE):
        return _draw(run, unit)


def _draw(run: RunLog, unit: str) -> Figure:
    last_ms = max([row.at_ms for row in run.rows] + [event.at_ms for event in run.events], default=0)
    last_min = max(last_ms, 1000) / 60000
    figure = Figure(figsize=(WIDTH_IN, 1))
    FigureCanvasAgg(figure)
    flags = _flags(run, last_min, unit)
    lane_count = max((lane for _, _, lane, _ in flags), default=-1) + 1
    top_in = TOP_IN + (0.22 if run.simulated else 0)
    panels_in = len(run.zones) * (PANEL_IN + DUTY_IN + 0.12)
    height_in = top_in + STRIP_IN + lane_count * LANE_IN + 0.06 + panels_in + BOTTOM_IN
    figure.set_size_inches(WIDTH_IN, height_in)
    at_in = height_in - top_in

    def place(tall_in: float) -> Axes:
        nonlocal at_in
        at_in -= tall_in
        width = (WIDTH_IN - LEFT_IN - RIGHT_IN) / WIDTH_IN
        axes = figure.add_axes((LEFT_IN / WIDTH_IN, at_in / height_in, width, tall_in / height_in))
        axes.set_xlim(0, last_min)
        return axes

    name = drawable(run.profile_name)
    title_y = 1 - 0.14 / height_in
    figure.text(LEFT_IN / WIDTH_IN, title_y, name, size=12, weight="bold", va="top", parse_math=False)
    if run.simulated:
        figure.text(
            LEFT_IN / WIDTH_IN, 1 - 0.42 / height_in, SIMULATED, weight="bold", va="top", color=INDIGO
        )
    spans = run.spans()
    _strip(place(STRIP_IN), run, spans)
    lane_axes = place(max(lane_count, 0.01) * LANE_IN)
    lane_axes.set_axis_off()
    lane_axes.set_ylim(max(lane_count, 1), 0)
    at_in -= 0.06
    panels = []
    for zone in range(len(run.zones)):
        upper = place(PANEL_IN)
        lower = place(DUTY_IN)
        at_in -= 0.12
        _panel(upper, lower, run, zone, unit)
        panels += [upper, lower]
    for axes in panels:
        for span in spans:
            axes.axvspan(span.start_ms / 60000, span.end_ms / 60000, color=_tint(run, span), lw=0, zorder=0)
        for event, _, _, _ in flags:
            axes.axvline(event.at_ms / 60000, color=INK, lw=0.5, alpha=0.45, ls=(0, (1, 2)))
    _finish(figure, panels, unit)
    _legend(figure, panels, run)
    for zone, axes in enumerate(panels[::2]):
        draw_signs(axes, run, zone, unit, INK)
    for event, words, lane, leftwards in flags:
        minute = event.at_ms / 60000
        lane_axes.plot([minute, minute], [lane + 0.08, max(lane_count, 1)], color=INK, lw=0.5, alpha=0.6)
        loud: dict[str, Any] = {"color": WALNUT, "weight": "bold"} if event.name == "trip" else {"color": INK}
        shift, side = (-3, "right") if leftwards else (3, "left")
        text = lane_axes.annotate(words, (minute, lane + 0.5), (shift, 0), textcoords="offset points", **loud)
        text.set(size=FLAG_PT, ha=side, va="center", parse_math=False, annotation_clip=False)
    return figure


def _finish(figure: Figure, panels: list[Axes], unit: str) -> None:
    """One scale for all zones, so that they can be compared; minutes below the last panel."""
    if not panels:
        figure.text(0.5, 0.3, "nothing was recorded", ha="center")
        return
    values = [np.asarray(line.get_ydata(), float) for axes in panels[::2] for line in axes.get_lines()[:2]]
    seen = np.concatenate(values)
    seen = seen[np.isfinite(seen)]
    if not seen.size:
        seen = np.array([in_unit(20, unit), in_unit(100, unit)])
    low, high = float(seen.min()), float(seen.max())
    room = max(high - low, 10) * 0.08
    for axes in panels[::2]:
        axes.set_ylim(low - room, high + 2.2 * room)
    panels[-1].tick_params(labelbottom=True)
    panels[-1].set_xlabel("minutes since the start", loc="left")


def _legend(figure: Figure, panels: list[Axes], run: RunLog) -> None:
    if not panels:
        return
    handles: list[Any] = [panels[0].get_lines()[1], panels[0].get_lines()[0], panels[1].collections[0]]
    wood = [line for axes in panels[::2] for line in axes.get_lines() if line.get_label() == ESTIMATE][:1]
    signs = legend_of(run, INK)
    names = ["measured", "target", "duty, 0 to 1", *(ESTIMATE for _ in wood), *(words for _, words in signs)]
    handles += [*wood, *(sign for sign, _ in signs)]
    legend = figure.legend(handles, names, frameon=False, ncols=3 if signs else 4, handlelength=1.5)
    legend.set(loc="lower right", bbox_to_anchor=(1 - RIGHT_IN / WIDTH_IN, 0))


def save(run: RunLog, out_dir: Path, unit: str = "C", name: str = "run") -> tuple[Path, Path]:
    """Draw a run and save it as PNG and SVG; gives both paths.

    run: the run. out_dir: an existing folder. unit: "C" or "F". name: file name without its ending.
    """
    with rc_context(STYLE):
        return save_both(_draw(run, unit), out_dir, name)
