"""Plays scenes, cuts the power at every operation of the flash, and counts what is lost."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from .play import ask
from .scenes import Scene, scenes
from .story import Story
from .verdict import KINDS, LOSSES, MISLED, is_torn, judge

# Every so many cuts the recovery is cut as well, at each of its own operations.
AGAIN = 60
EXAMPLES = 3


@dataclass
class Tally:
    """Cuts by what is wrong after them.

    cuts, torn, in_recovery: how many, how many in the middle of an operation, how many of a recovery. lost,
    misled: after how many something is of verdict.LOSSES, of verdict.MISLED. kinds: how many of each kind.
    examples: some of each, told. wrong: promises broken with no cut. absent: acts the store does not know.
    """

    cuts: int = 0
    torn: int = 0
    in_recovery: int = 0
    lost: int = 0
    misled: int = 0
    kinds: Counter[str] = field(default_factory=Counter)
    examples: dict[str, list[str]] = field(default_factory=dict)
    wrong: list[str] = field(default_factory=list)
    absent: set[str] = field(default_factory=set)
    operations: dict[str, int] = field(default_factory=dict)

    def add(self, story: Story, seen: dict[str, Any]) -> None:
        """Judge one cut and count it.

        story: of the scene. seen: a line of shim/cut_play.py.
        """
        kinds = judge(story, seen)
        self.cuts += 1
        self.torn += is_torn(seen)
        self.in_recovery += seen["then"] is not None
        self.lost += not kinds.isdisjoint(LOSSES)
        self.misled += not kinds.isdisjoint(MISLED)
        self.kinds.update(kinds)
        at, how = seen["cut"]
        for kind in kinds:
            told = self.examples.setdefault(kind, [])
            if len(told) < EXAMPLES:
                act = story.around(at, torn=how != "clean")[2]
                then = f", recovery {seen['then']}" if seen["then"] else ""
                why = next((seen[word] for word in ("unbooted", "unmounted", "unusable") if word in seen), "")
                told.append(f"{story.scene.name}, act {act}, operation {at} {how}{then} {why}".strip())

    def figures(self) -> dict[str, object]:
        """Figures by name."""
        return {
            "cuts": self.cuts,
            "cuts_torn": self.torn,
            "cuts_in_recovery": self.in_recovery,
            "cut_losses": self.lost,
            "cut_misled": self.misled + len(self.wrong),
            "cuts_with_leftovers": self.kinds["left"],
            "cuts_oldest_gone_early": self.kinds["early"],
        }

    def notes(self) -> dict[str, object]:
        """What is to be said about the figures."""
        return {
            "cuts": "power cut before and in the middle of every page and block of the scenes: half a "
            "page, a quarter and loose bits, all but its first bytes; half a block, loose bits, the rest",
            "cut_losses": "cuts after which nothing mounts, boots or can be stored, a flushed record is "
            "gone or changed, a profile is neither the old nor the new one",
            "cut_misled": "cuts after which mark, next number, pins or counters are wrong",
            "cut_kinds": {kind: self.kinds[kind] for kind in KINDS},
            "cut_examples": self.examples,
            "cut_wrong_without_cut": self.wrong,
            "cut_acts_the_store_lacks": sorted(self.absent),
            "cut_operations": self.operations,
        }


def cut(
    played: Iterable[Scene] | None = None, *, every: int = 1, again: int = AGAIN, plant: str = ""
) -> Tally:
    """Cut scenes at every n-th operation, clean and torn.

    played: scenes, all by default. every: n. again: recovery is cut too after every so many, 0 for never.
    plant: Python that may put another class in the place of Store, to see that the check notices. Raises
    RigError when MicroPython is missing or a scene cannot be played.
    """
    tally = Tally()
    for scene in scenes() if played is None else played:
        question = {
            "blocks": scene.blocks,
            "acts": scene.acts,
            "plant": plant,
            "every": every,
            "again": again,
        }
        head, *lines = ask("cut_play.py", question)
        entries, cuts = lines[: head["acts"]], lines[head["acts"] :]
        story = Story(scene, head, entries)
        tally.wrong += [f"{scene.name}, {act}: {what}" for act, what in story.wrong]
        tally.absent |= set(story.absent)
        tally.operations[scene.name] = entries[-1]["after"]
        for seen in cuts:
            tally.add(story, seen)
    return tally
