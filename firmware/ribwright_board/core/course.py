"""One laid-out run: its stages, the maker's presence, and the copies of its limits."""

from .attend import GRACE_MS, Attend
from .stages import StageRunner
from .twice import MemorySum
from .woods import Woods

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .guard import Guard
    from .profile_values import Profile
    from .rig_values import Rig


class Course:
    """One run from its laying out to its end.

    rig, profile: checked. first: position of the stage it begins with.

    runner: its stages. attend: the maker's presence. memory: copies of its limits. woods: the wood as it is
    estimated. act_ms: when the log has room for what was asked for. events: list of (name, zone, a, b, text),
    emptied by the caller.
    """

    def __init__(self, rig: "Rig", profile: "Profile", first: int = 0) -> None:
        self.first = first
        self.act_ms = 0
        self.runner = StageRunner(profile, len(rig.zones))
        self.attend = Attend()
        self.memory = MemorySum(rig, profile)
        self.woods = Woods(rig, profile)
        self.runner.wood.mids_c = self.woods.mids_c
        self.runner.aim.beside_c = self.woods.beside_c
        self.events: list[tuple[str, int, int, int, str]] = []
        self._met: list[int] = []
        self._switches = not rig.watches

    def heats(self) -> bool:
        """Whether the present stage may heat; on a rig that only watches none does."""
        stage = self.runner.stage
        return self._switches and stage is not None and stage.kind != "cool"

    def whole(self, guard: "Guard", now_ms: int, all_of_it: bool = True) -> bool:
        """Whether limits and targets are what they were; a trip if not.

        guard: who trips. now_ms: present time. all_of_it: otherwise a few parts, all of them in turn.
        """
        memory = self.memory
        if (memory.whole() if all_of_it else memory.look()) and self.runner.by_hand.whole():
            return True
        guard.shut("memory", -1, memory.seen, memory.limit, "as a sum", now_ms)
        return False

    def waiting(self) -> str:
        """What a running run waits for: "presence", "next" or ""."""
        if self.attend.asked:
            return "presence"
        return "next" if self.runner.waits() else ""

    def next(self) -> None:
        """The maker goes on; a press that nothing waits for changes nothing."""
        if self.runner.next():
            self.take()

    def begin(self, temps_c: list[float | None]) -> bool:
        """Enter the stage it begins with, or go on where a pause left it; whether it begins.

        temps_c: per zone the present temperature, C, or None.
        """
        first = self.runner.index < 0
        if first:
            self.attend = Attend()
            self.runner.begin(self.first)
        self.runner.step(temps_c, 0)
        self.take()
        return first

    def step(self, temps_c: list[float | None], guard: "Guard", now_ms: int, dt_ms: int) -> None:
        """Let time pass; what must not last longer trips the guard.

        temps_c: per zone the present temperature, C, or None. now_ms: present time. dt_ms: since the
        last step.
        """
        runner = self.runner
        runner.step(temps_c, dt_ms)
        self.take()
        if runner.late_zone >= 0:
            zone = runner.late_zone
            guard.shut_late(zone, temps_c[zone], runner.late_target_c, runner.stage_ms, now_ms)
        elif self.heats():
            attend = self.attend
            said = attend.step(dt_ms)
            if said == "presence":
                self.events.append((said, -1, GRACE_MS // 1000, 0, ""))
            elif said:
                limit_s = attend.limit_ms / 1000.0
                guard.shut(said, -1, limit_s, limit_s, "s", now_ms)

    def take_met(self) -> list[int]:
        """Zones where the strip has met the form since this was last asked."""
        met = self._met
        self._met = []
        return met

    def take(self) -> None:
        """Take over what the stages have told."""
        runner = self.runner
        for event in runner.events:
            self.events.append(event)
            stage = runner.stage
            if event[0] == "cue_done" and stage is not None:
                self._met.extend(stage.zones)
                self.woods.meet_form(stage.zones)
        runner.events = []
