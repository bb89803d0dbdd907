"""What `make bench` measures of the bench page, which its own package measures in a process of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .elsewhere import figures_of

MODULE = "ribwright_host.page.measured"
# From the board's message to pixels; what no viewer may do to the board's loop.
MOST_LATENCY_MS = 200.0
MOST_LATE_MS = 250
LEAST_VIEWERS = 20


def measured(say: Callable[[str], None]) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes; without a browser none, and a note that says so.

    Args:
        say: takes a line of progress.
    """
    figures, why = figures_of(MODULE, said="page: ten virtual minutes with twenty viewers", say=say)
    if not figures:
        return {}, {"page": why}
    note = (
        "latency: a row leaving the virtual rig until the frame after the one that shows it, headless "
        "Chromium, eight rows a second; viewers: that browser and plain readers; page_viewers_deaf more "
        "never read what comes and are let go"
    )
    return figures, {"page": note}


def broken(figures: Mapping[str, object]) -> list[str]:
    """Names of the figures that are not what they have to be; none where nothing was measured.

    Args:
        figures: of measured().
    """
    if not figures:
        return []
    limits = {"page_latency_ms_p95": MOST_LATENCY_MS, "page_worst_tick_late_ms": MOST_LATE_MS}
    found = [name for name, most in limits.items() if float(str(figures[name])) > most]
    if int(str(figures["page_viewers"])) < LEAST_VIEWERS:
        found.append("page_viewers")
    return found
