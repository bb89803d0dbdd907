"""What `make bench` measures of the board's side: flash, link, and computers that behave badly."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

from ribwright_sim.campaign.spread import cores
from ribwright_sim.computers import rates
from ribwright_sim.computers import report as computers
from ribwright_sim.flash import report as flash
from ribwright_sim.fuzz import run as fuzz

from . import boot, tick
from .contest import Book


def board(book: Book, say: Callable[[str], None]) -> list[str]:
    """Measure it all into the book; the names of the figures that are not what they have to be.

    book: takes figures and notes. say: takes a line of progress. Raises RigError where MicroPython is
    missing.
    """
    wrong: list[str] = []
    say("board: what a start takes, and a tick, in five plays of one bend")
    starts = boot.measured()
    wrong += boot.broken(starts)
    book.figures |= starts
    ticks = tick.measured()
    wrong += tick.broken(ticks)
    book.figures |= ticks
    book.notes |= tick.NOTES
    say("board: cuts of power in the midst of writing, and beside it computers that behave badly")
    # Both count and go by the board's own clock, so that neither minds the other.
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        both = [(part, pool.submit(part.measured)) for part in (flash, computers)]
        for part, begun in both:
            figures, notes = begun.result()
            wrong += part.broken(figures)
            book.figures |= figures
            book.notes |= notes
    say("link: files both ways over a pty")
    book.figures |= rates.measured()
    say("link: a million frames into each end")
    figures, notes = fuzz.measure(workers=cores())
    wrong += [
        name for name in ("fuzz_exceptions", "fuzz_state_changes", "fuzz_bounds_broken") if figures[name]
    ]
    book.figures |= figures
    book.notes |= notes
    return wrong
