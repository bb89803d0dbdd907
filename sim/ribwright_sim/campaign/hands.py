"""The person at a campaign's rig: presses start when a run waits for it, presses the strip on at each cue."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

SECOND_US = 1_000_000
START_AFTER_S = (2.0, 5.0)
FORM_AFTER_S = (3.0, 8.0)
NEXT_AFTER_S = (15.0, 35.0)
PRESENCE_AFTER_S = (3.0, 90.0)


@dataclass
class Hands:
    """A scripted maker, fully determined by the seed.

    starts: presses start when a run is laid out or paused. present: answers cues and prompts.
    """

    seed: int
    starts: bool = True
    present: bool = True
    plan: list[tuple[int, str, int]] = field(default_factory=list)
    _asked: str = ""

    def __post_init__(self) -> None:
        """Start with nothing planned."""
        self._random = random.Random(f"hands {self.seed}")  # noqa: S311 - a person's pace, no secret

    def do(self, at_us: int, what: str, zone: int = -1) -> None:
        """Plan an act at a time.

        at_us: when, by the rig's now_us. what: "start", "next", "stop" for the buttons, "form" for the strip
        that is pressed on. zone: whose strip, -1 for all; of no meaning for a button.
        """
        self.plan.append((at_us, what, zone))
        self.plan.sort()

    def see(self, now_us: int, name: str, zone: int) -> None:
        """Take one event of the firmware: a cue asks for the form and then for next.

        name: of the event; others than "cue" are passed over. zone: whose cue, -1 for all.
        """
        if name == "cue" and self.present:
            self.do(now_us + self._after_us(FORM_AFTER_S), "form", zone)

    def wait(self, now_us: int, waiting: str) -> None:
        """Take what the firmware waits for now; each new wish is answered once.

        waiting: "start", "next" or "presence"; anything else, "" for nothing, asks for no act.
        """
        if waiting == self._asked and self.plan:
            return
        self._asked = waiting
        if waiting == "start" and self.starts:
            self.do(now_us + self._after_us(START_AFTER_S), "start")
        elif waiting == "next" and self.present:
            self.do(now_us + self._after_us(NEXT_AFTER_S), "next")
        elif waiting == "presence" and self.present:
            self.do(now_us + self._after_us(PRESENCE_AFTER_S), "next")

    def due(self, now_us: int) -> list[tuple[str, int]]:
        """What is done by now, taken off the plan."""
        if not self.plan or self.plan[0][0] > now_us:
            return []
        found = [(what, zone) for at_us, what, zone in self.plan if at_us <= now_us]
        self.plan = [entry for entry in self.plan if entry[0] > now_us]
        return found

    def _after_us(self, span_s: tuple[float, float]) -> int:
        return int(self._random.uniform(*span_s) * SECOND_US)
