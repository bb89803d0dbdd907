"""From targets to relays: control loops, relay windows, what the relays do, and each second's figures."""

from .figures import Figures
from .outputs import Outputs
from .rig_values import Rig
from .units import TARGET_MARGIN_K
from .window import GRAIN_MS, Windows
from .zone import ZoneLoop

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .guard import Guard

# The proof's pulses are cut from windows of this length, whatever the rig's relays are.
PROOF_WINDOW_MS = 1000
# Near its limit the branch binds in every other window; said again only after this long without.
LIMITED_QUIET_MS = 60000
LONG_AGO_MS = 3600000
OVER_K = 4.0


class Drive:
    """Everything between a wanted temperature and a relay.

    rig: checked. now_ms: time of power-on.

    loops: per zone its control. figures: the last second. shares: per zone the share of the last second its
    relay was on, 0 to 1. heated_ms: when a relay was on last, to the second; at power-on long ago.
    """

    def __init__(self, rig: Rig, now_ms: int) -> None:
        self.rig = rig
        zones = rig.zones
        count = len(zones)
        self.loops = [ZoneLoop(zone.gains, rig.window_ms) for zone in zones]
        self.figures = Figures(count)
        self.shares = [0.0] * count
        currents_a = [zone.current_a for zone in zones]
        self._run_windows = Windows(currents_a, rig.branch_limit_a, rig.window_ms, rig.half_cycle_ms)
        self._proof_windows = Windows(currents_a, rig.branch_limit_a, PROOF_WINDOW_MS, rig.half_cycle_ms)
        self._windows = self._run_windows
        self._duties = [0.0] * count
        self._capped = [False] * count
        self._over = [False] * count  # the present window's heat has ended early
        self._outputs = Outputs(count)
        self._worked_ms = [0] * count
        self._worked_switches = [0] * count
        self._window_ms = now_ms
        self._row_ms = now_ms
        self._limited_ms = now_ms - LIMITED_QUIET_MS
        self.heated_ms = now_ms - LONG_AGO_MS
        self._blocked = False

    def outputs(self, heat: bool, guard: "Guard", now_ms: int) -> list[bool]:
        """Relay states now, per zone; the list is reused.

        heat: whether mode and trip allow any. guard: holds single zones. now_ms: present time.
        """
        offset_ms = now_ms - self._window_ms
        outputs = self._outputs
        windows = self._windows
        self._blocked = False
        for zone in range(len(outputs.on)):
            on = heat and guard.held(zone) == "" and not self._over[zone] and windows.on(zone, offset_ms)
            starts = on and not outputs.on[zone]
            if starts and not windows.room(zone, outputs.on, outputs.off_ms, now_ms):
                on = False
                self._blocked = True
            outputs.put(zone, on, now_ms)
        return outputs.on

    def all_off(self, now_ms: int) -> None:
        """Account every relay as off until the next outputs().

        now_ms: present time.
        """
        for zone in range(len(self._outputs.on)):
            self._outputs.put(zone, False, now_ms)

    def see(self, temps_c: "list[float | None]", targets_c: "list[float | None] | None") -> None:
        """End a window's heat early where the reading has passed what is wanted: long windows overshoot.

        temps_c: per zone the present reading, C, or None. targets_c: per zone, C or None; None as a whole
        while no profile drives.
        """
        if targets_c is None:
            return
        for zone in range(len(temps_c)):
            temperature_c, target_c = temps_c[zone], targets_c[zone]
            if target_c is None or (temperature_c is not None and temperature_c > target_c + OVER_K):
                self._over[zone] = True

    def next_edge_ms(self, now_ms: int) -> int:
        """When a relay has to switch next, or the window ends.

        now_ms: present time.
        """
        edge_ms = self._window_ms + self._windows.next_edge(now_ms - self._window_ms)
        # A zone that had to wait for another one's last half-cycle tries again one grain later.
        return min(edge_ms, now_ms + GRAIN_MS) if self._blocked else edge_ms

    def relay_on(self, zone: int) -> bool:
        """Whether a zone's relay has been on since the last outputs(); zone: position."""
        return self._outputs.on[zone]

    def take_worked(self) -> list[tuple[int, int]]:
        """Per zone how often its relay came on since the last taking, and for how many ms, to the second."""
        switches = self._outputs.switches
        worked = []
        for zone in range(len(switches)):
            worked.append((switches[zone] - self._worked_switches[zone], self._worked_ms[zone]))
            self._worked_switches[zone] = switches[zone]
            self._worked_ms[zone] = 0
        return worked

    def rest(self) -> None:
        """No heat wanted from any zone."""
        for zone in range(len(self.loops)):
            self.loops[zone].aim(None)
            self._duties[zone] = 0.0
        self._windows = self._run_windows
        self._windows.plan(self._duties)

    def pulse(self, duties: list[float], now_ms: int) -> None:
        """Begin a window of the proof.

        duties: per zone, 0 to 1. now_ms: present time.
        """
        self._windows = self._proof_windows
        self._window_ms = now_ms
        for zone in range(len(duties)):
            # The law begins with the last window's mean: one of the whole proof would hide the pulse.
            self.loops[zone].window()
            self._over[zone] = False
            self._duties[zone] = duties[zone]
        self._windows.plan(self._duties)

    def begin(self, ambients_c: list[float], now_ms: int) -> None:
        """A run begins or goes on: windows and seconds count from now.

        ambients_c: per zone the room, C. now_ms: present time.
        """
        self._windows = self._run_windows
        self._window_ms = now_ms
        self._row_ms = now_ms
        for zone in range(len(self.loops)):
            self.loops[zone].ambient_c = ambients_c[zone]
            self._outputs.take_ms(zone, now_ms)

    def window_due(self, now_ms: int) -> bool:
        """Whether the present window is over; now_ms: present time."""
        return now_ms - self._window_ms >= self._windows.window_ms

    def open_window(self, targets_c: "list[float | None] | None", guard: "Guard", now_ms: int) -> None:
        """Close the window's readings, run the law, plan the relays.

        targets_c: per zone, C or None; None as a whole while no profile drives. guard: allows duty.
        now_ms: present time.
        """
        length_ms = self._windows.window_ms
        # Windows that were missed are skipped; the grid of ticks stays the grid of windows.
        self._window_ms += (now_ms - self._window_ms) // length_ms * length_ms
        idle = targets_c is None or self.rig.watches
        for zone in range(len(self.loops)):
            loop = self.loops[zone]
            wanted_c = None if targets_c is None else targets_c[zone]
            if wanted_c is not None:
                # Checked again where it is used, whatever it was when it was written.
                wanted_c = min(wanted_c, guard.ceiling_c(zone) - TARGET_MARGIN_K)
            if wanted_c != loop.target_c:
                loop.aim(wanted_c)
            # A duty that was cut, by the branch or by the guard, teaches the law nothing.
            loop.cut = self._windows.limited or self._capped[zone]
            duty = loop.window()
            allowed = 0.0 if idle else guard.allow(zone, duty, now_ms)
            self._capped[zone] = allowed < duty
            self._duties[zone] = allowed
            self._over[zone] = False
        self._windows.plan(self._duties)

    def meet_form(self, zones: list[int]) -> None:
        """The strip has just met the form in these zones; zones: positions."""
        for zone in zones:
            self.loops[zone].meet_form()

    def limited(self, now_ms: int) -> int:
        """Sum of the duties the branch had room for, permille, when that is news; -1 when it is none.

        now_ms: present time.
        """
        windows = self._windows
        if not windows.limited:
            return -1
        quiet_ms = now_ms - self._limited_ms
        self._limited_ms = now_ms
        return sum(windows.on_ms) * 1000 // windows.window_ms if quiet_ms >= LIMITED_QUIET_MS else -1

    def second_due(self, now_ms: int) -> bool:
        """Whether a second's figures are to be filled; now_ms: present time."""
        return now_ms - self._row_ms >= 1000

    def second(self, temps_c: "list[float | None]", held: list[str], heat: bool, now_ms: int) -> int:
        """Fill the figures once a second; the ms they cover, 0 when it is not time yet.

        temps_c: per zone what came last, C, or None where it was not admitted. held: per zone why it is held
        off, or "". heat: a profile drives. now_ms: present time.
        """
        span_ms = (now_ms - self._row_ms) // 1000 * 1000
        if span_ms <= 0:
            return 0
        self._row_ms += span_ms
        for zone in range(len(self.loops)):
            loop = self.loops[zone]
            # The window's mean is what control used; while nothing heats, the last reading.
            measured_c = loop.mean_c if heat else temps_c[zone]
            if held[zone]:
                measured_c = None
            on_ms = self._outputs.take_ms(zone, now_ms)
            self._worked_ms[zone] += on_ms
            self.shares[zone] = min(1.0, on_ms / span_ms)
            if on_ms:
                self.heated_ms = now_ms
            self.figures.fill(zone, loop.target_c, measured_c, self._duties[zone], on_ms)
        return span_ms
