"""What an entry of the fault list says, and the classes of faults by how they can be noticed."""

from __future__ import annotations

from dataclasses import dataclass

from .acts import Acts, closed_anyway, heated, uncontrolled
from .phases import PHASES
from .strike import Strike

# Codes that share the advice to look for something that stays on.
STAYS_ON = ("heat_while_off", "ceiling", "fast_rise")
# Codes that share the advice to look for heat that is not answered.
NO_ANSWER = ("no_rise", "weak_rise", "detached")
JUMPED = ("leap", "no_rise", "weak_rise")

OFF = ("idle", "ready")
# Nothing heats, and a reading may have been changed by hands.
QUIET = ("idle", "ready", "cool", "paused")
# From the first moment on at which a run is under way, so that a reset cuts one off.
UNDER_WAY = ("ramp", "plateau", "hold", "rest", "set", "cool", "paused", "resuming")
# What a wrong plug or load does is found by the next start; while the rig is hot nobody changes them.
AT_START = ("idle", "ready")


@dataclass(frozen=True)
class Kind:
    """A class of faults by how they can be noticed.

    goal_s: time the safety goals allow, by their own clock; clock: what that one counts. clock_s: the bound
    that follows for the rigs of the campaign, on the time in which anything can show the fault: from when it
    first acts, and, where counts is given, only while that holds. patience_s: how long the campaign waits
    after a fault has begun to act before it goes on to the next start. from_start: time counts from the press
    that the start began with, since the proof is what finds it.
    """

    goal_s: float
    clock: str
    clock_s: float
    patience_s: float
    from_start: bool = False
    counts: Acts | None = None


KINDS = {
    "sensor": Kind(2.0, "seconds", 2.2, 15.0),
    "noisy": Kind(10.0, "seconds of noise; bursts of it come with pauses", 20.0, 60.0),
    "uncontrolled": Kind(
        8.0,
        "seconds in which the reading rises more than commanded heat explains; only while all zones have been"
        " told to be off for twice the dead time, 8 s: before, control takes the surplus back, or a neighbour"
        " explains it",
        60.0,
        120.0,
        counts=uncontrolled,
    ),
    "frozen": Kind(25.0, "seconds with heat", 35.0, 150.0, counts=heated),
    "not_heating": Kind(
        30.0,
        "seconds in which heat is not answered: 10 s after what a form and declared water may take, then"
        " tests of 29 s each; only while heat is commanded there",
        280.0,
        280.0,
        counts=heated,
    ),
    "stalled": Kind(
        2.0, "seconds and half a second to boot; at once when a loop without watchdog goes on", 2.7, 15.0
    ),
    "wiring": Kind(60.0, "seconds from the start", 60.0, 60.0, from_start=True),
    "load": Kind(60.0, "seconds from the start, which the proof is a part of", 75.0, 75.0, from_start=True),
    "contactor": Kind(
        10.0,
        "seconds in which it is closed by itself and something shows it, or the weld test of the next start",
        10.0,
        60.0,
        counts=closed_anyway,
    ),
    "memory": Kind(2.0, "seconds", 2.0, 10.0),
    "reset": Kind(2.0, "seconds after the last reset", 2.0, 60.0),
    "flash": Kind(2.0, "seconds from what happens after the flash has failed, as without", 2.2, 60.0),
    "presence": Kind(840.0, "seconds since the last press, with heat", 840.0, 2000.0),
    "session": Kind(7200.0, "seconds with heat", 7200.0, 9000.0),
    "hardware": Kind(0.0, "none: hardware contains it", 0.0, 60.0),
}


@dataclass(frozen=True)
class Fault:
    """One form of one fault.

    id, form: fault and variant of a Case. kind: key of KINDS. accept: codes that name it rightly;
    watched_accept: the same where contactor feedback is fitted, None for the same. acts: whether it has begun
    to act. each_zone: strikes one zone, else the rig.
    contained: the firmware must name it; else `why` says what hardware has to do. phases: when it can strike.
    long: it takes hours to show and is played on a profile of hours. loaded_only: none on bare blankets.
    """

    id: str
    form: str
    what: str
    kind: str
    accept: tuple[str, ...]
    strike: Strike
    acts: Acts
    each_zone: bool = True
    phases: tuple[str, ...] = PHASES
    contained: bool = True
    why: str = ""
    watched_accept: tuple[str, ...] | None = None
    long: bool = False
    loaded_only: bool = False

    @property
    def key(self) -> str:
        """Id and form in one word."""
        return f"{self.id}.{self.form}" if self.form else self.id

    def zones(self, count: int) -> tuple[int, ...]:
        """Zones it can strike, -1 for the rig itself; count: zones of the rig."""
        return tuple(range(count)) if self.each_zone else (-1,)

    def accepted(self, *, feedback: bool) -> tuple[str, ...]:
        """Codes that name it rightly; feedback: contactor feedback is fitted."""
        return self.watched_accept if feedback and self.watched_accept is not None else self.accept
