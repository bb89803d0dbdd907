"""One tick: readings in, relay states out, in fixed order. Nothing here touches hardware.

Order of a tick: judge the readings, judge the rig, move the modes, step the stages, and at a
window's start run the control law and plan the relays. Off comes first: outputs() looks at the
trip and the mode before anything else, so that no later line can keep a relay on.
"""

from .errors import FAULTS, RefusedError
from .figures import Figures
from .guard import Guard
from .modes import HEAT_MODES, advance
from .outputs import Outputs
from .profile import Profile
from .proving import Proving
from .record import EVENTS
from .rig import Rig
from .sensing import Missing, Reading
from .stages import StageRunner
from .window import GRAIN_MS, Windows
from .zone import ZoneLoop

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Event

TICK_MS = 100
ROW_MS = 1000
# Near the limit it binds in every other window; said again only after this long without.
LIMITED_QUIET_MS = 60000


class Controller:
    """The rig's behaviour as a pure object.

    rig: checked core.rig.Rig. now_ms: time of power-on.

    events: list of (at_ms, name, zone, a, b, text) for the log and the link, emptied by the caller.
    row_due: set when a new second's figures are ready in `figures`, cleared by the caller.
    """

    def __init__(self, rig: Rig, now_ms: int) -> None:
        self.rig = rig
        self.mode = "idle"
        self.profile: Profile | None = None
        self.runner: StageRunner | None = None
        self.run = 0
        self.run_start_ms = now_ms
        self.now_ms = now_ms
        self.events: list[Event] = []
        self.row_due = False
        self.late_ms = 0
        zones = rig.zones
        self.guard = Guard([zone.ceiling_c for zone in zones], now_ms)
        self.loops = [ZoneLoop(zone.gains, rig.window_ms) for zone in zones]
        currents_a = [zone.current_a for zone in zones]
        self.windows = Windows(currents_a, rig.branch_limit_a, rig.window_ms, rig.half_cycle_ms)
        count = len(zones)
        self.figures = Figures(count)
        self.cold_c = [20.0] * count
        self._temps_c: list[float | None] = [None] * count
        self._duties = [0.0] * count
        self._outputs = Outputs(count)
        self._held = [""] * count
        self._window_ms = now_ms
        self._row_ms = now_ms
        self._proving = Proving()
        self._limited_ms = now_ms - LIMITED_QUIET_MS
        self._blocked = False

    def outputs(self, now_ms: int) -> list[bool]:
        """Relay states now, per zone; the list is reused.

        now_ms: present time.
        """
        heat = self.guard.trip is None and self.mode in HEAT_MODES
        offset_ms = now_ms - self._window_ms
        outputs = self._outputs
        self._blocked = False
        for zone in range(len(outputs.on)):
            on = heat and self.guard.held(zone) == "" and self.windows.on(zone, offset_ms)
            starts = on and not outputs.on[zone]
            if starts and not self.windows.room(zone, outputs.on, outputs.off_ms, now_ms):
                on = False
                self._blocked = True
            outputs.put(zone, on, now_ms)
        return outputs.on

    def all_off(self, now_ms: int) -> None:
        """Account every relay as off until the next outputs(), e.g. around a flash write.

        now_ms: present time.
        """
        for zone in range(len(self._outputs.on)):
            self._outputs.put(zone, False, now_ms)

    def next_edge_ms(self, now_ms: int) -> int:
        """When a relay has to switch next, or the window ends.

        now_ms: present time.
        """
        edge_ms = self._window_ms + self.windows.next_edge(now_ms - self._window_ms)
        # A zone that had to wait for another one's last half-cycle tries again one grain later.
        return min(edge_ms, now_ms + GRAIN_MS) if self._blocked else edge_ms

    def relay_on(self, zone: int) -> bool:
        """Whether a zone's relay has been on since the last outputs(); zone: position."""
        return self._outputs.on[zone]

    def tick(self, now_ms: int, items: list[Reading | Missing | None], pressed: tuple[str, ...] = ()) -> None:
        """One round.

        now_ms: present time. items: per zone Reading, Missing or None. pressed: names of the rig's
        buttons that went down since the last tick: "start", "next", "stop".
        """
        self.now_ms = now_ms
        dt_ms = self.guard.tick(now_ms)
        for zone in range(len(items)):
            item = items[zone]
            temperature_c = self.guard.admit(zone, item, now_ms, dt_ms)
            self._temps_c[zone] = temperature_c
            if temperature_c is not None and isinstance(item, Reading):
                self.loops[zone].add(temperature_c)
                self.cold_c[zone] = item.cold_c
            code = self.guard.held(zone)
            self._held[zone] = code
            news = self.guard.news(zone)
            if news:
                self.note(news, zone, FAULTS[code][0] if code else 0, 0, code)
        # A press in the tick of a trip was made before anyone could know of it; it acknowledges nothing.
        for button in pressed:
            self._press(button)
        self._follow_trip()
        if self.runner is not None:
            if self.mode == "proving":
                self._prove(self.runner, dt_ms)
            elif self.mode == "running":
                self._step(self.runner, dt_ms)
        if now_ms - self._window_ms >= self.rig.window_ms:
            self._open_window(now_ms)
        if now_ms - self._row_ms >= ROW_MS:
            self._fill_row(now_ms)

    def note(self, name: str, zone: int = -1, a: int = 0, b: int = 0, text: str = "") -> None:
        """Queue one event for the log and the link.

        name: key of record.EVENTS. zone: position, -1 for the rig. a, b, text: as EVENTS tells.
        """
        if name in EVENTS and len(self.events) < 40:
            self.events.append((self.now_ms, name, zone, a, b, text))

    def _follow_trip(self) -> None:
        """Go where the guard's trip leads, once for each."""
        trip = self.guard.trip
        if trip is not None and self._move("trip"):
            self.note("trip", trip.zone, FAULTS[trip.code][0], trip.reading(), trip.code)

    def _move(self, event: str) -> bool:
        """Change the mode by the table; says whether it changed."""
        before = self.mode
        self.mode = advance(before, event)
        if self.mode == before:
            return False
        if self.mode in ("idle", "tripped", "paused"):
            for zone in range(len(self.loops)):
                self.loops[zone].aim(None)
                self._duties[zone] = 0.0
            self.windows.plan(self._duties)
        return True

    def _press(self, button: str) -> None:
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
            elif self.mode == "ready":
                self._proving = Proving()
                self._move("press")
                self.note("proving")
            elif self.mode == "paused":
                self._move("press")
                self.note("resume")

    def lay_out(self, profile: Profile, run: int) -> None:
        """Make a run ready; heat waits for the press at the rig.

        profile: checked core.profile.Profile of this rig. run: number of the run.
        Raises RefusedError when the rig is not idle.
        """
        if self.mode not in ("idle", "ready"):
            raise RefusedError("not_idle", "the rig is %s; end that first" % self.mode)
        self.profile = profile
        self.run = run
        self.runner = StageRunner(profile, len(self.loops))
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
        runner = self.runner
        if runner is not None and self.mode == "running" and runner.next():
            self._take_stage_events(runner)

    def waiting(self) -> str:
        """What the rig waits for: "start", "next" or ""."""
        if self.mode in ("ready", "paused"):
            return "start"
        runner = self.runner
        return "next" if runner is not None and self.mode == "running" and runner.waits() else ""

    def _prove(self, runner: StageRunner, dt_ms: int) -> None:
        verdict = self._proving.step(self._held, self.cold_c, dt_ms)
        if verdict == "proved":
            self._move("proved")
            self.note("proved")
            self._begin_run(runner)
        elif verdict != "stay":
            self._move("refused")
            self.note("refused", -1, FAULTS[verdict][0], 0, verdict)

    def _begin_run(self, runner: StageRunner) -> None:
        """Heat is allowed from here on."""
        self.run_start_ms = self.now_ms
        self._window_ms = self.now_ms
        self._row_ms = self.now_ms
        for zone in range(len(self.loops)):
            self.loops[zone].ambient_c = self.cold_c[zone]
            self._outputs.take_ms(zone, self.now_ms)
        runner.begin(0)
        runner.step(self._temps_c, 0)
        self._take_stage_events(runner)
        self._open_window(self.now_ms)

    def _step(self, runner: StageRunner, dt_ms: int) -> None:
        runner.step(self._temps_c, dt_ms)
        self._take_stage_events(runner)
        if runner.late_zone >= 0:
            zone = runner.late_zone
            self.guard.shut_late(
                zone, self._temps_c[zone], runner.late_target_c, runner.stage_ms, self.now_ms
            )
            self._follow_trip()
        elif runner.finished and self._move("finish"):
            self.note("done")

    def _take_stage_events(self, runner: StageRunner) -> None:
        for name, zone, a, b, text in runner.events:
            self.note(name, zone, a, b, text)
        runner.events = []

    def _open_window(self, now_ms: int) -> None:
        """Close the window's readings, run the law, plan the relays."""
        length_ms = self.rig.window_ms
        # Windows that were missed are skipped; the grid of ticks stays the grid of windows.
        self._window_ms += (now_ms - self._window_ms) // length_ms * length_ms
        runner = self.runner if self.mode in HEAT_MODES else None
        for zone in range(len(self.loops)):
            loop = self.loops[zone]
            wanted_c = None if runner is None else runner.targets_c[zone]
            if wanted_c != loop.target_c:
                loop.aim(wanted_c)
            loop.cut = self.windows.limited
            duty = loop.window()
            self._duties[zone] = 0.0 if runner is None else self.guard.allow(zone, duty, now_ms)
        self.windows.plan(self._duties)
        if self.windows.limited:
            if now_ms - self._limited_ms >= LIMITED_QUIET_MS:
                self.note("branch_limited", -1, sum(self.windows.on_ms) * 1000 // length_ms)
            self._limited_ms = now_ms

    def _fill_row(self, now_ms: int) -> None:
        self._row_ms += (now_ms - self._row_ms) // ROW_MS * ROW_MS
        heat = self.mode in HEAT_MODES
        for zone in range(len(self.loops)):
            loop = self.loops[zone]
            # The window's mean is what control used; while nothing heats, the last tick's reading.
            measured_c = loop.mean_c if heat else self._temps_c[zone]
            if self._held[zone]:
                measured_c = None
            on_ms = self._outputs.take_ms(zone, now_ms)
            self.figures.fill(zone, loop.target_c, measured_c, self._duties[zone], on_ms)
        self.row_due = True
