"""What must hold of a run's stages, whatever the maker does to them: targets, longest times, backing off.

The time a stage has lasted and the targets of before are kept here; the firmware is not asked. world: the rig
that is watched, as it is at the moment.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribwright_board.core.profile_values import Stage

    from .world import World

TARGET_MARGIN_K = 10.0
MOST_NUDGE_K = 10.01
HELD = ("hold", "set")
# A stage lasts no longer than twice its longest time, nor this much longer; one late tick may come on top.
MOST_MORE_MS = 900_000
LATE_MS = 3_000


def _stage(world: World) -> Stage | None:
    runner = world.controller.runner
    return None if runner is None else runner.stage


def stage_kind(world: World) -> str:
    """Kind of the stage that is on, "" for none."""
    stage = _stage(world)
    return "" if stage is None else stage.kind


def _index(world: World) -> int:
    runner = world.controller.runner
    return -1 if runner is None else runner.index


def _highest_c(world: World) -> float:
    """The highest target of any zone, or that of a stage which is still on its way there, C."""
    runner, stage = world.controller.runner, _stage(world)
    if runner is None or stage is None:
        return 0.0
    targets_c = [target_c for target_c in runner.targets_c if target_c is not None]
    return max([stage.target_c or 0.0, *targets_c] if stage.kind not in HELD else targets_c, default=0.0)


class StageWatch:
    """The books on stages.

    say: gets rule and what was seen.
    """

    def __init__(self, say: Callable[[str, str], None]) -> None:
        self._say = say
        self._mode = "idle"
        self._index = -1
        self._lasted_ms = 0
        self._before_c = 0.0
        self._backed_c: float | None = None

    def before(self, world: World) -> None:
        """Remember what a call finds."""
        self._mode = world.controller.mode
        if _index(world) != self._index:
            self._index, self._lasted_ms = _index(world), 0
        self._before_c = _highest_c(world)

    def ticked(self, world: World, dt_ms: int) -> None:
        """A tick is over; dt_ms: time since the one before."""
        backed_c, self._backed_c = self._backed_c, None
        if world.controller.mode != "running":
            return
        self._targets(world)
        if backed_c is not None and _highest_c(world) > backed_c + 0.01:
            self._say("back_off", f"a target of {_highest_c(world):.1f} C, before {backed_c:.1f} C")
        # In a pause time stands still.
        if self._mode == "running" and _index(world) == self._index:
            self._longest(world, dt_ms)

    def backed_off(self, world: World) -> None:
        """The host's asking to back off was answered."""
        if self._mode != "running":
            return
        self._backed_c = self._before_c
        if _index(world) != self._index and stage_kind(world) not in ("set", "cool"):
            self._say("back_off", f"it led to a {stage_kind(world)} stage")

    def _longest(self, world: World, dt_ms: int) -> None:
        stage = _stage(world)
        self._lasted_ms += dt_ms
        if stage is None or stage.kind not in HELD or stage.longest_ms is None:
            return
        if self._lasted_ms > stage.longest_ms + min(stage.longest_ms, MOST_MORE_MS) + LATE_MS:
            self._say("longest", f"stage {self._index + 1} lasts for {self._lasted_ms / 1000:.0f} s")

    def _targets(self, world: World) -> None:
        """Targets of stages that hold; a ramp's are judged by its own rules."""
        runner, stage = world.controller.runner, _stage(world)
        if runner is None or stage is None or stage.target_c is None or stage.kind not in HELD:
            return
        for zone in stage.zones:
            target_c, ceiling_c = runner.targets_c[zone], world.rig.zones[zone].ceiling_c
            if target_c is None:
                continue
            if target_c > ceiling_c - TARGET_MARGIN_K + 0.01 or abs(target_c - stage.target_c) > MOST_NUDGE_K:
                self._say("target", f"zone {zone} at {target_c:.1f} C, stated {stage.target_c:.1f} C")
