"""One tick: readings in, relay states out, in fixed order. Nothing here touches hardware.

A tick judges readings and rig, moves the modes, steps proof or stages, and at a window's start runs the law.
Off comes first: outputs() looks at trip and mode before all else, so that no later line can keep a relay on.
"""

from .course import Course
from .drive import Drive
from .errors import FAULTS, RefusedError
from .events import EVENTS
from .guard import Guard
from .jury import Jury
from .modes import HEAT_MODES, advance
from .profile_values import Profile
from .proving import Proving
from .rig_values import Rig
from .rounds import REST_MODES, Rounds
from .senses import Senses
from .sensing import Missing, Reading
from .stages import StageRunner
from .trip import Trip

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Callable, Event
    from .watching import Watching

TICK_MS = 100
# So many unplanned resets in one run lock the rig until someone acknowledges them.
RESETS_MOST = 2


class Controller:
    """The rig's behaviour as a pure object.

    rig: checked core.rig.Rig. now_ms: time of power-on. off: switches every relay off and cannot raise.

    events: list of (at_ms, name, zone, a, b, text) for the log and the link, emptied by the caller.
    rounds: what is due once a second; says when its figures are ready in `drive.figures`.
    preflight: asked in every proof; says what the board finds wrong with its files or bus, "" for nothing.
    refusal: why the last start was refused, or None. interrupted: the run a reset cut off, 0 for none.
    """

    def __init__(self, rig: Rig, now_ms: int, off: "Callable[[], None] | None" = None) -> None:
        self.rig = rig
        self.mode = "idle"
        self.profile: Profile | None = None
        self.course: Course | None = None
        self.runner: StageRunner | None = None
        self.run = 0
        self.run_start_ms = now_ms
        self.now_ms = now_ms
        self.events: list[Event] = []
        self.late_ms = 0
        self.refusal: Trip | None = None
        self.interrupted = 0
        self.preflight: Callable[[], str] = str
        self.guard = Guard([zone.ceiling_c for zone in rig.zones], now_ms, off)
        self.drive = Drive(rig, now_ms)
        self.jury = Jury(rig, self.guard)
        self.senses = Senses(rig.zones)
        self.rounds = Rounds(self.drive, self.jury, self.senses)
        self._proving: Proving | Watching | None = None
        self._alive = False

    def boot(self, interrupted_run: int, resets: int) -> None:
        """Say once what the last reset cut off, and lock the rig when that happened too often.

        interrupted_run: number of the run that was under way, 0 for none. resets: how often in it.
        """
        self.interrupted = interrupted_run
        if interrupted_run:
            self.note("interrupted", -1, interrupted_run, resets)
        if resets >= RESETS_MOST:
            self.guard.shut("resets", -1, resets, RESETS_MOST - 1, "resets", self.now_ms)

    def outputs(self, now_ms: int) -> list[bool]:
        """Relay states now, per zone, in a list that is reused; now_ms: present time."""
        heat = self.guard.trip is None and self.mode in HEAT_MODES
        # A window planned before the last stage that heats has ended is not driven to its end.
        heat = heat and (self.mode != "running" or self.course is None or self.course.heats())
        return self.drive.outputs(heat, self.guard, now_ms)

    def next_edge_ms(self, now_ms: int) -> int:
        """When a relay has to switch next, or the window ends; now_ms: present time."""
        return self.drive.next_edge_ms(now_ms)

    def alive_due(self) -> bool:
        """Whether this tick's check list allows an alive edge, which holds the master contactor closed: only
        while heat may flow, from the second half of a proof to the last stage that heats.
        """
        if self.guard.trip is not None:
            return False
        if self.mode == "proving":
            return self._proving is not None and self._proving.alive
        return self.mode == "running" and self.course is not None and self.course.heats()

    def tick(
        self,
        now_ms: int,
        items: list[Reading | Missing | None],
        pressed: tuple[str, ...] = (),
        contactor: bool | None = None,
    ) -> None:
        """One round.

        now_ms: present time. items: per zone Reading, Missing or None. pressed: names of the rig's
        buttons that went down since the last tick: "start", "next", "stop". contactor: True closed, False
        open, None when no pin watches it.
        """
        self.now_ms = now_ms
        before, guard = self.mode, self.guard
        guard.heating = self.mode in HEAT_MODES
        dt_ms = guard.tick(now_ms)
        self.senses.take(items, guard, self.jury, self.drive, now_ms, dt_ms)
        self._pass_on(self.senses.events)
        guard.judge_rig(self._alive, contactor, now_ms, dt_ms)
        # A press in the tick of a trip was made before it could be known; it acknowledges nothing.
        for button in pressed:
            self._press(button)
        self._follow_trip()
        if self.course is not None and self.mode == "running":
            self._step(self.course, dt_ms)
        elif self.course is not None and self.mode == "proving" and self._proving is not None:
            self._prove(self._proving, self.course, contactor, dt_ms)
        self.drive.see(self.senses.temps_c, self._targets_c())
        if self.drive.window_due(now_ms):
            self._open_window(now_ms)
        if self.course is not None and self.mode not in REST_MODES:
            self.course.whole(guard, now_ms, False)
        self.rounds.tick(self.mode, self.course, self._targets_c(), self._alive, now_ms)
        self._pass_on(self.jury.events)
        self._follow_trip()
        if self.mode != before:
            # A second that ends with the run is told with it.
            self.rounds.tell()
        self._alive = self.alive_due()

    def note(self, name: str, zone: int = -1, a: int = 0, b: int = 0, text: str = "") -> None:
        """Queue one event; name: key of EVENTS. zone: -1 for the rig. a, b, text: as event_words tells."""
        if name in EVENTS and len(self.events) < 40:
            self.events.append((self.now_ms, name, zone, a, b, text))

    def _pass_on(self, events: "list[tuple[str, int, int, int, str]]") -> None:
        for name, zone, a, b, text in events:
            self.note(name, zone, a, b, text)
        events.clear()

    def _follow_trip(self) -> None:
        trip = self.guard.trip
        if trip is not None and self._move("trip"):
            self.note("trip", trip.zone, FAULTS[trip.code][0], trip.reading(), trip.code)

    def _move(self, event: str) -> bool:
        """Change the mode by the table; says whether it changed."""
        mode = advance(self.mode, event)
        if mode == self.mode:
            return False
        # The last second of what ends here is told with it.
        self.rounds.tell()
        self.mode = mode
        if self.mode != "running":
            self.drive.rest()
            if self.course is not None:
                self.course.attend.touch()
        return True

    def _press(self, button: str) -> None:
        if self.course is not None and self.course.attend.touch():
            # The answer to a question is no more than that: it ends no stage that waits for the maker.
            self.note("presence_given")
            if button != "stop":
                return
        if button == "stop":
            self.stop()
        elif button == "next":
            self.next()
        elif button == "start":
            self.note("press")
            if self.mode == "tripped":
                if self.guard.clear():
                    self.note("acknowledged")
                    self._move("acknowledge")
            elif self.mode in ("ready", "paused"):
                short = self.mode == "paused"
                rested_ms = self.now_ms - self.drive.heated_ms
                self._proving = self._look(short, rested_ms)
                self._move("press")
                self.drive.pulse(self._proving.duties, self.now_ms)
                self.note("proving")

    def _look(self, short: bool, rested_ms: int) -> "Proving | Watching":
        """What comes before a run: a proof, or only a look where there is nothing to switch."""
        if self.rig.watches:
            from .watching import Watching  # noqa: PLC0415 - takes no memory of a rig that heats

            return Watching(len(self.rig.zones))
        return Proving(self.jury.expects, self.rig.feedback, short, rested_ms)

    def lay_out(self, profile: Profile, run: int, first: int = 0) -> None:
        """Make a run ready; heat waits for the press at the rig.

        profile: checked core.profile.Profile of this rig. run: its number. first: its first stage, from 0.
        Raises RefusedError when the rig is not idle.
        """
        if self.mode not in ("idle", "ready"):
            raise RefusedError("not_idle", "the rig is %s; end that first" % self.mode)
        self.profile = profile
        self.run = run
        self.course = Course(self.rig, profile, first)
        self.runner = self.course.runner
        self.interrupted = 0
        self.refusal = None
        self.jury.load(profile)
        self.guard.hottest_c = profile.hottest_c
        self._move("lay_out")

    def stop(self) -> None:
        """End whatever is under way, heat off."""
        if self._move("stop"):
            self.note("stop")

    def pause(self) -> None:
        """Heat off, the profile's time stands still; only a press at the rig goes on.

        Raises RefusedError when no run is on.
        """
        if not self._move("pause"):
            raise RefusedError("not_running", "the rig is %s, there is nothing to pause" % self.mode)
        self.note("pause")

    def next(self) -> None:
        """The maker goes on; a press that nothing waits for changes nothing."""
        if self.course is not None and self.mode == "running":
            self.course.next()
            self.follow(self.course)

    def waiting(self) -> str:
        """What the rig waits for: "start", "presence", "next" or ""."""
        if self.mode in ("ready", "paused"):
            return "start"
        return self.course.waiting() if self.mode == "running" and self.course is not None else ""

    def _prove(
        self, proving: "Proving | Watching", course: Course, contactor: bool | None, dt_ms: int
    ) -> None:
        seen = self.senses
        said = proving.step(seen.held, seen.temps_c, seen.cold_c, contactor, self.jury.still_ms(), dt_ms)
        verdict = self.jury.named(said, proving.zone)
        if proving.moved:  # a pulse ends with its step, not with the window it was planned in
            self.drive.pulse(proving.duties, self.now_ms)
        if verdict == "ask":
            verdict = (self.preflight() if course.memory.whole() else "memory") or "stay"
        if verdict == "proved":
            self._move("proved")
            self.note("proved")
            self._begin_run(proving, course)
        elif verdict != "stay":
            self._move("refused")
            self.refusal = proving.refusal(verdict, self.now_ms)
            self.note("refused", proving.zone, FAULTS[verdict][0], 0, verdict)

    def _begin_run(self, proving: "Proving | Watching", course: Course) -> None:
        """Heat is allowed from here on, from the first stage or from where a pause left it."""
        self.drive.begin(self.senses.cold_c, self.now_ms)
        if course.begin(self.senses.temps_c):
            self.run_start_ms = self.now_ms
            self.jury.learn(proving.ratios, self.senses.cold_c)
        else:
            self.note("resume")
        self.follow(course)
        self._open_window(self.now_ms)

    def _step(self, course: Course, dt_ms: int) -> None:
        course.step(self.senses.temps_c, self.guard, self.now_ms, dt_ms)
        self.follow(course)
        # A target that changed by itself may be what ended it.
        if course.runner.finished and course.whole(self.guard, self.now_ms) and self._move("finish"):
            self.note("done")

    def follow(self, course: Course) -> None:
        """Take over what the run has told, course: events, and zones in which the strip met the form."""
        self._pass_on(course.events)
        met = course.take_met()
        self.jury.meet_form(met)
        self.drive.meet_form(met)

    def _open_window(self, now_ms: int) -> None:
        """Plan the relays of the next window: the proof's pulse, or what the law asks."""
        if self.mode == "proving" and self._proving is not None:
            self.drive.pulse(self._proving.duties, now_ms)
            return
        self.drive.open_window(self._targets_c(), self.guard, now_ms)
        kept = self.drive.limited(now_ms)
        if kept >= 0:
            self.note("branch_limited", -1, kept)

    def _targets_c(self) -> list[float | None] | None:
        """Per zone what the profile wants now; None as a whole while none drives."""
        return self.course.runner.targets_c if self.course and self.mode == "running" else None
