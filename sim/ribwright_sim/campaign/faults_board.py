"""The fault list's entries of sensing, B, and of controller and software, C."""

from __future__ import annotations

from . import acts, strikes
from .fault import AT_START, JUMPED, NO_ANSWER, OFF, QUIET, STAYS_ON, UNDER_WAY, Fault
from .phases import PHASES


def sensing() -> list[Fault]:
    """Table B: thermocouples, wires, converters."""
    chip, wrong = strikes.chip, acts.reads_wrong
    bias = "a steady error of a plausible reading cannot be seen: cut-off (H4), check in boiling water"
    flags = (
        ("B1", "", "thermocouple open", "open", "open"),
        ("B3", "ground", "touches ground", "short_ground", "short_ground"),
        ("B3", "supply", "touches the supply", "short_supply", "short_supply"),
        ("B10", "", "data line stuck low", "no_chip", "bus_low"),
        ("B11", "", "data line stuck high", "no_chip", "bus_high"),
    )
    return [
        *(
            Fault(id_, form, what, "sensor", (code,), chip(state), wrong)
            for id_, form, what, code, state in flags
        ),
        Fault("B2", "plug", "shorted beside the box", "not_heating", JUMPED, chip("short_at_plug"), wrong),
        Fault(
            "B2", "cable", "crushed cable shows the place of the short", "not_heating", JUMPED,
            strikes.wire((0.0, 0.1), (0.0, 8.0)), wrong,
        ),
        Fault(
            "B3", "offset", "touches steel, reading off by 40 K", "sensor", ("leap",), chip("offset"),
            acts.at_once, phases=tuple(p for p in PHASES if p not in QUIET),
        ),
        Fault(
            "B3", "bias", "touches steel while nothing heats, reading off by 40 K", "hardware", ("leap",),
            chip("offset"), acts.at_once, phases=QUIET, contained=False, why=bias,
        ),
        Fault(
            "B4", "", "thermocouple off the stack", "not_heating", NO_ANSWER, strikes.detach,
            acts.off_the_stack,
        ),
        Fault(
            "B5", "off", "reversed while the rig was switched off", "wiring", ("reversed", "implausible"),
            strikes.replug_off("reversed"), wrong, phases=AT_START,
        ),
        Fault(
            "B5", "hot", "pulled, then put in reversed", "sensor", ("open",), strikes.replug("reversed"),
            wrong,
        ),
        Fault(
            "B6", "", "extension wire reversed at both ends", "hardware", (),
            strikes.replug("double_reversed"), wrong, phases=AT_START, contained=False, why=bias,
        ),
        Fault(
            "B7", "off", "plugs exchanged while the rig was switched off", "wiring", ("swapped",),
            strikes.replug_off("swapped"), acts.any_heat, each_zone=False, phases=AT_START,
        ),
        Fault(
            "B7", "hot", "plugs pulled and exchanged", "sensor", ("open",), strikes.replug("swapped"), wrong,
            each_zone=False,
        ),
        Fault("B8", "", "converter frozen", "frozen", ("frozen",), chip("frozen"), acts.any_heat),
        Fault(
            "B9", "gain", "converter shows a fifth too little", "hardware", NO_ANSWER, chip("wrong_gain"),
            wrong, phases=AT_START, contained=False, why=bias,
        ),
        Fault(
            "B9", "cold", "converter's own temperature wrong", "wiring", ("cold_spread",), strikes.cold_off,
            acts.at_once,
        ),
        Fault(
            "B12", "", "select line stuck, two chips answer", "sensor", ("bus",), strikes.select_low,
            acts.at_once,
        ),
        Fault(
            "B13", "", "bursts of noise", "noisy", ("noisy", "implausible"), strikes.noise((25.0, 80.0)),
            acts.at_once,
        ),
    ]  # fmt: skip


def controller() -> list[Fault]:
    """Table C: controller and software."""
    slow = "the alive detector opens the contactor after every gap over 0.6 s (H8)"
    return [
        Fault(
            "C1", "", "loop hangs", "stalled", ("interrupted",), strikes.hang, acts.at_once, each_zone=False,
            phases=UNDER_WAY,
        ),
        Fault(
            "C3", "once", "one step takes 2.2 to 6 s", "stalled", ("interrupted",), strikes.stall((2.2, 6.0)),
            acts.at_once, each_zone=False, phases=UNDER_WAY,
        ),
        Fault(
            "C3", "cold", "one step takes 2.2 to 6 s while nothing heats", "stalled",
            ("late_loop", "watchdog"), strikes.stall((2.2, 6.0)), acts.loop_runs, each_zone=False, phases=OFF,
        ),
        Fault(
            "C3", "often", "every step comes 0.65 to 1.5 s late", "hardware", (), strikes.slow_loop,
            acts.at_once, each_zone=False, phases=UNDER_WAY, contained=False, why=slow,
        ),
        Fault(
            "C4", "", "logic supply dips", "reset", ("interrupted",), strikes.brown_out, acts.at_once,
            each_zone=False, phases=UNDER_WAY,
        ),
        Fault(
            "C5", "", "mains cut and return", "reset", ("interrupted",), strikes.mains_cut, acts.at_once,
            each_zone=False, phases=UNDER_WAY,
        ),
        Fault(
            "C6", "", "reset twice in one run", "reset", ("resets",), strikes.reset_loop, acts.second_boot,
            each_zone=False, phases=UNDER_WAY,
        ),
        *(
            Fault(
                "C7", what, f"memory of a {what} changes", "memory", ("memory",), strikes.corrupt(what),
                acts.at_once, each_zone=what in ("ceiling", "gain"), phases=PHASES[1:],
            )
            for what in ("ceiling", "target", "branch", "gain")
        ),
        Fault(
            "C14", "pins", "relays of two zones exchanged by a wrong pin map", "wiring", ("swapped",),
            strikes.crossed_relays, acts.current, each_zone=False, phases=AT_START,
        ),
        Fault(
            "C14", "polarity", "a relay is on while its pin says off", "uncontrolled", STAYS_ON,
            strikes.inverted, acts.current, phases=AT_START,
        ),
    ]  # fmt: skip
