"""Stages of a running profile: what each zone should reach, and what ends a stage.

Time enters as dt_ms and is summed in whole milliseconds, so a pause is simply no step.
"""

from .by_hand import ByHand
from .ends import WoodEnd
from .profile_values import Profile, Stage
from .units import tenths
from .wood_ramp import WoodAim

WARN_SHARE_PERCENT = 80
# A tick that follows a late one finds no new reading; the next one speaks for a gap as short as this.
GAP_MS = 200

# What follows when a stage ends by itself, or by its longest time.
FLOW = {
    ("ramp", "ended"): "onward",
    ("ramp", "longest"): "trip",
    ("ramp", "wood_late"): "onward",
    ("hold", "ended"): "onward",
    ("hold", "longest"): "to_set",
    ("set", "ended"): "onward",
    ("set", "longest"): "onward",
    ("cool", "ended"): "onward",
}


class StageRunner:
    """Walks through the stages of one profile.

    profile: checked core.profile.Profile. zones: number of zones of the rig.

    targets_c: per zone, C or None. index: stage counted from 0. finished: the last one ended.
    late_zone, late_target_c: the zone that did not arrive in time and its target; -1 while there is none.
    wood: what ends a hold by the estimated middle of the wood; its figures are set by the caller. by_hand:
    what the maker has changed about the present stage.
    events: list of (name, zone, a, b, text) since it was last emptied by the caller.
    """

    def __init__(self, profile: Profile, zones: int) -> None:
        self.profile = profile
        self.targets_c: list[float | None] = [None] * zones
        self.index = -1
        self.finished = False
        self.late_zone = -1
        self.late_target_c = 0.0
        self.events: list[tuple[str, int, int, int, str]] = []
        self.wood = WoodEnd(zones)
        self.aim = WoodAim(zones)
        self.by_hand = ByHand()
        self.cue_index = 0
        self.held_ms = 0
        self.stage_ms = 0
        self._gap_ms = 0
        self._from_c: list[float | None] = [None] * zones
        self._arrived = [False] * zones
        self._warned_ms = 0

    @property
    def stage(self) -> Stage | None:
        """The present stage, None before the first and after the last."""
        stages = self.profile.stages
        return stages[self.index] if 0 <= self.index < len(stages) and not self.finished else None

    def begin(self, index: int = 0) -> None:
        """Enter a stage.

        index: counted from 0; one past the last ends the run.
        """
        stages = self.profile.stages
        self.by_hand.begin(self.stage, stages[index : index + 1])
        self.index = index
        self.held_ms = 0
        self.stage_ms = 0
        self._gap_ms = 0
        self.cue_index = 0
        self.wood.begin()
        self.aim.begin()
        self._warned_ms = 0
        for zone in range(len(self.targets_c)):
            self.targets_c[zone] = None
            self._from_c[zone] = None
            self._arrived[zone] = False
        if index >= len(stages):
            self.finished = True
            return
        stage = stages[index]
        self.events.append(("stage", -1, index + 1, tenths(stage.target_c), stage.name))
        self._next_cue()

    def cue(self) -> str:
        """The maker's words that wait to be acknowledged, "" when none do."""
        stage = self.stage
        return stage.cues[self.cue_index] if stage and self.cue_index < len(stage.cues) else ""

    def waits(self) -> bool:
        """Whether the present stage goes on only by the maker, now or at its end."""
        stage = self.stage
        if stage is None:
            return False
        return self.cue() != "" or (self._open_hold(stage) and stage.mid_wood_c is None)

    def _open_hold(self, stage: Stage) -> bool:
        """Whether no clock ends the stage before its longest time."""
        return stage.kind == "hold" and stage.hold_ms is None

    def _next_cue(self) -> None:
        stage = self.stage
        if stage is not None and self.cue():
            zone = stage.zones[0] if stage.zones else -1
            self.events.append(("cue", zone, self.cue_index + 1, 0, self.cue()))

    def next(self) -> bool:
        """The maker goes on: acknowledges the waiting cue, or ends a hold that waits for it. One that waits
        for the wood ends so too: the hand on the strip knows more than an estimate.

        Says whether anything waited.
        """
        stage = self.stage
        if stage is None:
            return False
        if self.cue():
            zone = stage.zones[0] if stage.zones else -1
            self.events.append(("cue_done", zone, self.cue_index + 1, 0, self.cue()))
            self.cue_index += 1
            self._next_cue()
            return True
        if self._open_hold(stage):
            self.events.append(("next", -1, self.index + 1, 0, ""))
            self._follow(stage, "ended")
            return True
        return False

    def step(self, temps_c: list[float | None], dt_ms: int) -> None:
        """Let time pass.

        temps_c: per zone the present temperature, C or None. dt_ms: time since the last step.
        """
        stage = self.stage
        if stage is None:
            return
        self.stage_ms += dt_ms
        outcome = self._outcome(stage, temps_c, dt_ms)
        if outcome != "stay":
            self._follow(stage, outcome)
            stage = self.stage
            if stage is not None:
                # The new stage wants something from now on: a window may open within this tick.
                self._outcome(stage, temps_c, 0)

    def _outcome(self, stage: Stage, temps_c: list[float | None], dt_ms: int) -> str:
        """What the time did to the stage: "stay", "ended", "longest" or "wood_late"."""
        target_c, longest_ms = stage.target_c, stage.longest_ms
        if target_c is None or longest_ms is None:
            # Only a cool stage has neither.
            return "ended" if self._cool(stage, temps_c) else "stay"
        target_c += self.by_hand.moved_k()
        if stage.kind == "ramp":
            if self._ramp(stage, target_c, temps_c, dt_ms):
                return "ended"
            return self._late(stage) if self.stage_ms >= longest_ms else "stay"
        if self._hold(stage, target_c, temps_c, dt_ms):
            return "ended"
        return self._warn(longest_ms + self.by_hand.more_ms())

    def _follow(self, stage: Stage, outcome: str) -> None:
        flow = FLOW[(stage.kind, outcome)]
        if flow == "onward":
            self.begin(self.index + 1)
        elif flow == "to_set":
            self.events.append(("hold_longest", -1, self.index + 1, 0, ""))
            self.begin(self.after_longest())
        else:
            arrived = self._arrived
            late = [zone for zone in stage.zones if not arrived[zone]]
            self.late_zone = late[0] if late else stage.zones[0]
            self.late_target_c = stage.target_c or 0.0

    def _late(self, stage: Stage) -> str:
        """A ramp's longest time is over: a thermocouple that did not arrive is a fault, wood is none."""
        if stage.wood_face_c is None or not all(self._arrived[zone] for zone in stage.zones):
            return "longest"
        self._tell_wood("wood_late", stage)
        return "wood_late"

    def after_longest(self, most_c: float | None = None) -> int:
        """Position of the next set stage, or the cool stage: heat is never held onward unannounced.

        most_c: a set stage hotter than this, C, is passed over; None for none.
        """
        stages = self.profile.stages
        for index in range(self.index + 1, len(stages)):
            target_c = stages[index].target_c
            hotter = target_c is not None and most_c is not None and target_c > most_c
            if stages[index].kind in ("set", "cool") and not hotter:
                return index
        return len(stages)

    def left_ms(self) -> int:
        """What is left of the present stage's longest time; 0 where it has none."""
        stage = self.stage
        longest_ms = None if stage is None else stage.longest_ms
        return 0 if longest_ms is None else max(0, longest_ms + self.by_hand.more_ms() - self.stage_ms)

    def _warn(self, longest_ms: int) -> str:
        """Four fifths of the longest time: say so once; all of it: the stage is over."""
        if self.stage_ms >= longest_ms:
            return "longest"
        # One that was made longer warns again.
        if self._warned_ms != longest_ms and self.stage_ms * 100 >= longest_ms * WARN_SHARE_PERCENT:
            self._warned_ms = longest_ms
            self.events.append(("hold_warning", -1, (longest_ms - self.stage_ms) // 1000, 0, ""))
        return "stay"

    def _note_arrival(self, stage: Stage, target_c: float, temps_c: list[float | None]) -> bool:
        """Mark zones that came within the band; whether all of them did."""
        for zone in stage.zones:
            measured_c = temps_c[zone]
            if self._arrived[zone] or measured_c is None:
                continue
            from_c = self._from_c[zone]
            if from_c is None:
                self._from_c[zone] = from_c = measured_c
            away_k = measured_c - target_c if from_c > target_c else target_c - measured_c
            if away_k <= stage.band_k:
                self._arrived[zone] = True
                self.events.append(("arrived", zone, tenths(measured_c), 0, ""))
        return all(self._arrived[zone] for zone in stage.zones)

    def _ramp(self, stage: Stage, target_c: float, temps_c: list[float | None], dt_ms: int) -> bool:
        """Aim at the target, or at what the rate or the wood allows by now; whether all of them arrived."""
        arrived = self._note_arrival(stage, target_c, temps_c)
        if stage.wood_face_c is not None:
            self.aim.step(stage, temps_c, self.targets_c, dt_ms)
            return self._by_wood(stage, dt_ms)
        for zone in stage.zones:
            from_c = self._from_c[zone]
            if stage.rate_k_per_min is None:
                self.targets_c[zone] = target_c
                continue
            if from_c is None:
                # Where a slow ramp starts is not known before the first reading.
                continue
            moved_k = stage.rate_k_per_min * (self.stage_ms / 60000.0)
            if from_c > target_c:
                self.targets_c[zone] = max(from_c - moved_k, target_c)
            else:
                self.targets_c[zone] = min(from_c + moved_k, target_c)
        return arrived

    def _tell_wood(self, name: str, stage: Stage) -> None:
        self.events.append((name, -1, tenths(self.wood.coolest_c(stage)), self.index + 1, ""))

    def _by_wood(self, stage: Stage, dt_ms: int) -> bool:
        """Whether the wood ends the stage now, which is then said."""
        hot = self.wood.reached(stage, dt_ms)
        if hot:
            self._tell_wood("wood_hot", stage)
        return hot

    def _hold(self, stage: Stage, target_c: float, temps_c: list[float | None], dt_ms: int) -> bool:
        """Aim at the target, count the time within the band; whether that was long enough."""
        within = True
        seen = True
        for zone in stage.zones:
            self.targets_c[zone] = target_c
            measured_c = temps_c[zone]
            if measured_c is None:
                seen = False
            elif abs(measured_c - target_c) > stage.band_k:
                within = False
        if not seen:
            self._gap_ms += dt_ms
        else:
            if within:
                self.held_ms += dt_ms + (self._gap_ms if self._gap_ms <= GAP_MS else 0)
            self._gap_ms = 0
        hot = self.wood.reached(stage, dt_ms)
        if self.cue():
            return False
        if hot:
            self._tell_wood("wood_hot", stage)
        hold_ms = stage.hold_ms
        return hot or (hold_ms is not None and self.held_ms >= hold_ms + self.by_hand.more_ms())

    def _cool(self, stage: Stage, temps_c: list[float | None]) -> bool:
        """Whether every zone is below the stage's end."""
        below_c = stage.below_c
        for measured_c in temps_c:
            if measured_c is None or below_c is None or measured_c >= below_c:
                return False
        return True
