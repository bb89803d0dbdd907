"""Small signs on the picture of a run, on the curves, where the maker noted or changed something."""

from bisect import bisect_right
from typing import Any, NamedTuple

from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from ribwright_board.core.units import in_unit

from .logbook import LogEvent, RunLog


class Sign(NamedTuple):
    """How a sign looks, and its words in the legend."""

    shape: str
    filled: bool
    words: str


NOTED = Sign("o", filled=False, words="noted by the maker")
CHANGED = Sign("s", filled=True, words="changed by hand")
SIGNS = {"mark": NOTED, "nudge": CHANGED, "extend": CHANGED, "back_off": CHANGED}


def _look(sign: Sign, ink: str) -> dict[str, Any]:
    face = ink if sign.filled else "white"
    return {"marker": sign.shape, "ms": 4.6, "mec": ink, "mfc": face, "mew": 1.1, "ls": "none"}


def _reading_c(run: RunLog, zone: int, at_ms: int) -> float | None:
    """A zone's reading at a moment, C, None for none."""
    place = bisect_right([row.at_ms for row in run.rows], at_ms) - 1
    return run.rows[max(place, 0)].zones[zone].measured_c if run.rows else None


def _concerns(run: RunLog, event: LogEvent, zone: int) -> bool:
    """Whether the stage that was on heats the zone; a stage that heats none concerns all."""
    stages = run.stages()
    # Backing off is logged with the stage that follows.
    place = event.a - 1 if event.name == "back_off" else event.stage
    zones = stages[place].zones if 0 <= place < len(stages) else ()
    return not zones or zone in zones


def draw_signs(axes: Axes, run: RunLog, zone: int, unit: str, ink: str) -> None:
    """Put the signs on a zone's measured curve.

    axes: the zone's panel, minutes and degrees. run: the run. zone: position. unit: "C" or "F". ink: colour.
    """
    for event in run.events:
        sign = SIGNS.get(event.name)
        reading_c = _reading_c(run, zone, event.at_ms)
        if sign is not None and reading_c is not None and _concerns(run, event, zone):
            axes.plot([event.at_ms / 60000], [in_unit(reading_c, unit)], zorder=5, **_look(sign, ink))


def legend_of(run: RunLog, ink: str) -> list[tuple[Line2D, str]]:
    """Signs of a run with their words, each once.

    run: the run. ink: colour.
    """
    used = {SIGNS[event.name] for event in run.events if event.name in SIGNS}
    return [(Line2D([], [], **_look(sign, ink)), sign.words) for sign in (NOTED, CHANGED) if sign in used]
