"""The fault list's entries of power switching, A, and of load, mains and people, D."""

from __future__ import annotations

from . import acts, strikes
from .fault import AT_START, NO_ANSWER, STAYS_ON, Fault


def switching() -> list[Fault]:
    """Table A: switches, contactor, supply."""
    arc = "heat sits in a terminal, not in a blanket: enclosure, torque and strain relief (H11)"
    return [
        Fault(
            "A1", "", "zone switch shorted", "uncontrolled", STAYS_ON, strikes.relay("on"),
            acts.uncontrolled,
        ),
        Fault(
            "A2", "", "one half of a switch shorted", "uncontrolled", STAYS_ON, strikes.relay("half"),
            acts.uncontrolled,
        ),
        Fault("A3", "", "zone switch open", "not_heating", NO_ANSWER, strikes.relay("off"), acts.current),
        Fault(
            "A4", "high", "pin stuck high", "uncontrolled", STAYS_ON, strikes.relay_pin(1),
            acts.uncontrolled,
        ),
        Fault("A4", "low", "pin stuck low", "not_heating", NO_ANSWER, strikes.relay_pin(0), acts.current),
        *(
            Fault(
                "A4",
                f"alive{level}",
                f"alive line stuck at {level}",
                "not_heating",
                NO_ANSWER,
                strikes.alive_pin(level),
                acts.commanded_any,
                each_zone=False,
                watched_accept=("contactor_open",),
            )
            for level in (0, 1)
        ),
        Fault(
            "A4",
            "racing",
            "alive line toggles much too fast",
            "not_heating",
            NO_ANSWER,
            strikes.racing_alive,
            acts.commanded_any,
            each_zone=False,
            watched_accept=("contactor_open",),
        ),
        Fault(
            "A5", "", "contact welds when it closes next", "uncontrolled", STAYS_ON,
            strikes.shorts_at_next_on, acts.uncontrolled,
        ),
        Fault(
            "A6", "", "worn contact passes a part, now and then", "hardware", NO_ANSWER,
            strikes.flicker(0.4, (2.0, 20.0), (2.0, 20.0), rig_wide=False), acts.own_heat,
            contained=False, why=arc,
        ),
        Fault(
            "A7", "closed", "master contactor welded", "contactor", ("contactor_closed",),
            strikes.contactor("closed"), acts.closed_anyway, each_zone=False,
        ),
        Fault(
            "A7", "open", "master contactor does not close", "not_heating", NO_ANSWER,
            strikes.contactor("open"), acts.commanded_any, each_zone=False,
            watched_accept=("contactor_open",),
        ),
        Fault(
            "A9", "", "hot switch conducts on after each command", "uncontrolled", STAYS_ON, strikes.stays_on,
            acts.uncontrolled,
        ),
        Fault(
            "A10", "", "loose mains terminal, both blankets drop out and return", "hardware", NO_ANSWER,
            strikes.flicker(0.0, (1.0, 10.0), (1.0, 10.0), rig_wide=True), acts.own_heat, each_zone=False,
            contained=False, why=arc,
        ),
    ]  # fmt: skip


def load() -> list[Fault]:
    """Table D: load, mains, people."""
    thin = (
        "a bare blanket warms like a thin load on higher mains, and nothing on the board knows the mains:"
        " most are named, the rest are the cut-off's (H4)"
    )
    fold = "a fold between the thermocouples is invisible to them: cut-off (H4), rating margin, training"
    return [
        Fault(
            "D1", "gone", "the maker walks away", "presence", ("unattended",), strikes.gone, acts.at_once,
            each_zone=False, phases=("ramp", "set"), long=True,
        ),
        Fault(
            "D1", "stays", "heat for hours, the maker answers", "session", ("session_over",), strikes.nothing,
            acts.at_once, each_zone=False, phases=("set",), long=True,
        ),
        Fault(
            "D2", "", "blankets bare on the bench, declared as loaded", "load", STAYS_ON,
            strikes.unloaded, acts.own_heat, each_zone=False, phases=AT_START, loaded_only=True,
            contained=False, why=thin,
        ),
        Fault("D3", "", "blanket open", "not_heating", NO_ANSWER, strikes.power((0.0, 0.0)), acts.commanded),
        Fault(
            "D4", "", "part of an element shorted", "hardware", ("fast_rise",), strikes.power((1.3, 1.8)),
            acts.own_heat, contained=False, why="control takes the surplus back; fuse (H2), cut-off (H4)",
        ),
        Fault(
            "D5", "", "blanket hangs free of the slats", "hardware", (), strikes.air_gap, acts.own_heat,
            contained=False, why=fold,
        ),
        Fault(
            "D6", "", "120 V blankets on 230 V", "load", STAYS_ON, strikes.power_all((3.7, 4.0)),
            acts.own_heat, each_zone=False, phases=AT_START,
        ),
        Fault(
            "D7", "", "230 V blankets on 120 V", "not_heating", NO_ANSWER, strikes.power_all((0.26, 0.28)),
            acts.own_heat, each_zone=False, phases=AT_START,
        ),
        Fault(
            "D13", "", "a cut-off that closes again by itself cycles", "hardware", NO_ANSWER,
            strikes.flicker(0.0, (20.0, 60.0), (20.0, 60.0), rig_wide=False), acts.own_heat, contained=False,
            why="a manual-reset or one-shot cut-off cannot do this (H4)",
        ),
        Fault(
            "D14", "pressed", "emergency stop pressed and released", "not_heating", NO_ANSWER,
            strikes.emergency_stop, acts.commanded_any, each_zone=False, watched_accept=("contactor_open",),
            contained=False, why="the button opens the coil's loop by itself (H10); feedback names it",
        ),
    ]  # fmt: skip
