"""The fault list's entries of the flash, C8: struck on boards alone, since the core has no files.

A form is what becomes of the flash, and then what else happens: protection must not hang on the flash, so
that the second thing is named as it would be without the first. What is right is all that is told of both, in
its order, with + between. Words that are no codes of a trip: log_lost, no_room, damaged and stop are the
board's own; "off" is a board that came up after a reset, heats nothing and gives a number of its own to the
next run. What is never right: "ended" for a run that did not go on, "fell" for a board that came down by
itself, "late", "heats", "number_given_twice".
"""

from __future__ import annotations

from . import acts
from .fault import STAYS_ON, UNDER_WAY, Fault
from .phases import PHASES
from .strike import Strike
from .strikes_flash import COUNTERS, MARK, OLD_LOG, PROFILE, RIG, flash, flip

# A proof after a pause asks for the files again, if it has not done so yet.
HEATED = tuple(phase for phase in UNDER_WAY if phase != "resuming")
# Before its proof has asked for the files.
UNPROVED = ("idle", "ready")
SOME = ("ramp", "hold", "set", "cool", "paused")
FAILS = {
    "full": "flash without a free block",
    "worn": "flash that programs and erases nothing more",
    "torn": "program that stops half way, once",
}


def _either(one: str, other: str) -> tuple[str, str]:
    """Two things whose order is left to chance."""
    return f"{one}+{other}", f"{other}+{one}"


def flash_faults() -> list[Fault]:
    """What the flash may suffer, each with what happens then."""
    found = []
    for how, what in FAILS.items():
        lost = _either("log_lost", "open") + (("no_room+open",) if how == "full" else ())
        found += [
            _fault(f"{how}.open", f"{what}, then a thermocouple opens", lost, flash(how), PHASES, zone=True),
            _fault(
                f"{how}.stop",
                f"{what}, then the maker ends the run and lays out the next",
                tuple(f"{pair}+no_room" if how == "full" else pair for pair in _either("log_lost", "stop")),
                flash(how),
                SOME,
            ),
            _fault(
                f"{how}.reset",
                f"{what}, then the board is reset",
                ("log_lost+interrupted+no_room" if how == "full" else "log_lost+interrupted",),
                flash(how),
                SOME,
            ),
        ]
    found += [
        _fault(
            f"{how}.weld", f"{FAILS[how]}, and a relay that has welded", STAYS_ON, flash(how), ("ready",),
            zone=True,
        )
        for how in ("full", "worn")
    ]  # fmt: skip
    profile, rig = "bit of the profile that is laid out changes", "bit of the rig's file changes"
    return [
        *found,
        _fault("profile.start", f"{profile}, then start is pressed and a thermocouple opens",
               ("damaged+open", "files+open"), flip(PROFILE), UNPROVED, zone=True),
        _fault("profile.open", f"{profile}, then a thermocouple opens", ("open",), flip(PROFILE), HEATED,
               zone=True),
        _fault("profile.resume", f"{profile}, then a thermocouple opens", ("open", "files+open"),
               flip(PROFILE), ("resuming",), zone=True),
        _fault("profile.stop", f"{profile}, then the maker ends the run and lays it out again",
               ("stop+damaged",), flip(PROFILE), SOME),
        _fault("rig.start", f"{rig}, then start is pressed and a thermocouple opens", ("files+open",),
               flip(RIG), UNPROVED, zone=True),
        _fault("rig.open", f"{rig}, then a thermocouple opens", ("open",), flip(RIG), HEATED, zone=True),
        _fault("rig.resume", f"{rig}, then a thermocouple opens", ("open", "files+open"), flip(RIG),
               ("resuming",), zone=True),
        _fault("rig.stop", f"{rig}, then the maker ends the run and starts the next", ("stop+files",),
               flip(RIG), SOME),
        _fault("mark.reset", "bit of the mark of the run changes, then the board is reset",
               ("off", "interrupted", "resets", "interrupted+resets"), flip(MARK), UNDER_WAY),
        _fault("counters.open", "bit of the counters changes, then a thermocouple opens", ("open",),
               flip(COUNTERS), ("idle", "ready", "hold"), zone=True),
        _fault("counters.reset", "bit of the counters changes, then the board is reset", ("interrupted",),
               flip(COUNTERS), SOME),
        _fault("log.open", "bit of an old run's log changes, then a thermocouple opens", ("open",),
               flip(OLD_LOG), ("idle", "ready", *SOME), zone=True),
    ]  # fmt: skip


def _fault(
    form: str,
    what: str,
    accept: tuple[str, ...],
    strike: Strike,
    phases: tuple[str, ...],
    *,
    zone: bool = False,
) -> Fault:
    return Fault("C8", form, what, "flash", accept, strike, acts.at_once, each_zone=zone, phases=phases)
