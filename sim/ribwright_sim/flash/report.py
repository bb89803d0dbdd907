"""Cuts and wear in one: figures by name, and what is to be said about them."""

from __future__ import annotations

import time
from collections.abc import Callable

from .cuts import cut
from .wear import wear


def measured(say: Callable[[str], None] = lambda _: None) -> tuple[dict[str, object], dict[str, object]]:
    """Everything that is measured of the flash: figures and notes; a minute and a half on one core.

    say: takes a line of progress. Raises RigError when MicroPython is missing: nothing else has this flash.
    """
    begun = time.monotonic()
    say("flash: wear and room")
    figures, notes = wear()
    say("flash: cuts of power")
    tally = cut()
    notes["flash_seconds"] = round(time.monotonic() - begun, 1)
    return tally.figures() | figures, tally.notes() | notes


def broken(figures: dict[str, object]) -> list[str]:
    """Names of the figures that are not what they have to be."""
    goals = {"cut_losses": 0, "cut_misled": 0, "log_lost_when_full_s": 0, "log_hour_after_full_s": 3600}
    return [name for name, goal in goals.items() if figures[name] != goal]
