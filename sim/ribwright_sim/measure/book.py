"""What `make bench` measures of the notebook, which its own package measures in a process of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .elsewhere import figures_of

MODULE = "ribwright_host.book.measured"
# Ten thousand runs, at rest; on a busy machine the ratios to the kernel say more.
MOST_LIST_S, MOST_COMPARE_S = 0.3, 1.0
LEAST_KILLS, LEAST_COVERED = 200, 0.90


def measured(say: Callable[[str], None]) -> tuple[dict[str, object], dict[str, object]]:
    """Figures and notes; without figures a note that says why.

    Args:
        say: takes a line of progress.
    """
    said = "book: ten thousand runs, two hundred kills, two hundred invented notebooks"
    figures, why = figures_of(MODULE, "--json", said=said, say=say)
    if not figures:
        return {"book_measured": False}, {"book": why}
    note = (
        "book_list_s, book_compare_s: every side and run in lines, every pair judged, wall clock; book_lost: "
        "pieces said to be saved that were gone, or half there, after a writer was killed; book_covered: "
        "share of all effects of all notebooks of 24 sides whose interval holds the invented truth, nine of "
        "ten being claimed of each; book_covered_least: of the effect with the least of them"
    )
    return figures | {"book_measured": True}, {"book": note}


def broken(figures: Mapping[str, object]) -> list[str]:
    """Names of the figures that are not what they have to be.

    Args:
        figures: of measured().
    """
    if not figures.get("book_measured"):
        return ["book_measured"]
    most = {"book_list_s": MOST_LIST_S, "book_compare_s": MOST_COMPARE_S, "book_lost": 0}
    least = {"book_kills": LEAST_KILLS, "book_covered_least": LEAST_COVERED}
    found = [name for name, limit in most.items() if float(str(figures[name])) > limit]
    return found + [name for name, limit in least.items() if float(str(figures[name])) < limit]
