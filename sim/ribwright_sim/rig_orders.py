"""The control channel's vocabulary: what a person or a fault does to a virtual rig, one order at a time.

Every order is a JSON object with one word that says what, and sometimes further keys:

panel and stack     {"press": "start"}  {"form": 0}  {"knob": -3} detents  {"press": "push"} the knob's switch
                    {"strip": "out" or "in"} the side off the form, the next one into the stack
                    {"hands": {"next_after_s": 25}} the scripted person's habits  {"mains": 0.97} volts/rated
                    {"display": "answers", "absent" or "holds"}  {"picture": "FILE.png"} what it shows now
                    {"wires": "start", "are": "whole", "cut" or "closed"}  {"wires": "knob", "are": "crossed"}
converters          {"chip": 0, "state": "open"}  {"swap": [0, 1]}  {"select_low": 0 or null}
                    {"chip": 0, "state": "wrong_gain", "gain": 1.28}
                    {"junction": 0, "at_c": 100, "lag_s": 3} in a hand or in water, at_c null back again
blankets            {"blanket": 0, "plugged": false} off its terminals  {"cutoff": 0, "open": true}
relays and contactor  {"relay": 0, "stuck": "on", "off", "half" or null}  {"pin": 20, "stuck": 0, 1 or null}
                    {"contactor": "closed", "open" or null}  {"estop": true}  {"crossed": [1, 0] or null}
                    {"alive_races_us": 5000} has the alive line toggle by itself, 0 ends it
another controller  {"thermostat": [150, null]} sets what a watched rig's blankets are held at, null is off
the stack's own     {"plant": "detach", "with": [0]} calls a method of the plant named in PLANT_WORDS
the board           {"reset": "power", "watchdog" or "pin", "after_us": 0, "off_ms": 500}
                    {"board": "hang"}  {"board": "fail"}  {"board": "block", "ms": 700}
                    {"board": "poke", "code": "controller.late_ms = 5"} with `loop` and `controller` as names
the cable and time  {"host_reads": false}  {"jump_ms": 500}  {"quit": true}
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, TypeGuard

from .bench import STUCK
from .chips import Chip
from .hands import LAG_S
from .rig_panel import WORDS as PANEL_WORDS

if TYPE_CHECKING:
    from .rig_loop import RigLoop

RESETS = ("power", "watchdog", "pin")
OFF_MS = 500
LONGEST_BLOCK_MS = 60_000
SLOWEST_RACE_US = 10_000_000
PAIR = 2
MOST_GAIN = 10.0
JUNCTION_C, LAGS_S = (-50.0, 400.0), (0.1, 600.0)
PLANT_WORDS = (
    "press",
    "lift",
    "open_foil",
    "spray",
    "contact",
    "draught",
    "hand",
    "detach",
    "attach",
)


def carry_out(rig: RigLoop, command: Mapping[str, Any]) -> bool:
    """Carry out one order; return False when it makes no sense, and then nothing has changed.

    rig: it is done to. command: one of the objects above.
    """
    for word, act in _WORDS.items():
        if word in command:
            rest = {key: value for key, value in command.items() if key != word}
            return act(rig, command[word], rest)
    return False


def _whole(value: object, below: int) -> TypeGuard[int]:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < below


def _number(value: object, least: float, most: float) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and least <= value <= most


def _zones(rig: RigLoop) -> int:
    return len(rig.physics.chips)


def _chip(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    gain = rest.get("gain", Chip.gain)
    if not _whole(zone, _zones(rig)) or set(rest) - {"gain"} != {"state"}:
        return False
    if rest["state"] not in rig.physics.chips[zone].STATES or not _number(gain, 0.0, MOST_GAIN):
        return False
    rig.physics.chips[zone].state = rest["state"]
    rig.physics.chips[zone].gain = float(gain)
    return True


def _junction(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    at_c, lag_s = rest.get("at_c"), rest.get("lag_s", LAG_S)
    if not _whole(zone, _zones(rig)) or "at_c" not in rest or set(rest) - {"at_c", "lag_s"}:
        return False
    if not (at_c is None or _number(at_c, *JUNCTION_C)) or not _number(lag_s, *LAGS_S):
        return False
    rig.physics.put_junction(zone, at_c, lag_s)
    return True


def _blanket(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    plugged = rest.get("plugged")
    if not _whole(zone, _zones(rig)) or set(rest) != {"plugged"} or not isinstance(plugged, bool):
        return False
    unplugged = rig.physics.bench.unplugged
    (unplugged.discard if plugged else unplugged.add)(zone)
    rig.physics.switch()
    return True


def _cutoff(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    opened = rest.get("open")
    if not _whole(zone, _zones(rig)) or set(rest) != {"open"} or not isinstance(opened, bool):
        return False
    rig.physics.bench.cutoffs[zone].open = opened
    rig.physics.switch()
    return True


def _swap(rig: RigLoop, pair: object, rest: Mapping[str, Any]) -> bool:
    if not _are_zones(pair, rig) or len(pair) != PAIR or rest:
        return False
    rig.physics.harness.swap(*pair)
    return True


def _are_zones(values: object, rig: RigLoop) -> TypeGuard[list[int]]:
    return isinstance(values, list) and all(_whole(zone, _zones(rig)) for zone in values)


def _select_low(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    if rest or not (zone is None or _whole(zone, _zones(rig))):
        return False
    rig.physics.harness.select_low = zone
    return True


def _relay(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    if not _whole(zone, _zones(rig)) or set(rest) != {"stuck"} or rest["stuck"] not in STUCK:
        return False
    rig.physics.bench.stuck[zone] = rest["stuck"]
    rig.physics.switch()
    return True


def _pin(rig: RigLoop, pin: object, rest: Mapping[str, Any]) -> bool:
    bench = rig.physics.bench
    known = (*bench.relay_pins, bench.alive_pin)
    if (
        not isinstance(pin, int)
        or pin not in known
        or set(rest) != {"stuck"}
        or rest["stuck"] not in (0, 1, None)
    ):
        return False
    bench.pin_stuck.pop(pin, None)
    if rest["stuck"] is not None:
        bench.pin_stuck[pin] = rest["stuck"]
    rig.physics.switch()
    return True


def _contactor(rig: RigLoop, how: object, rest: Mapping[str, Any]) -> bool:
    if not (how is None or (isinstance(how, str) and how in ("closed", "open"))) or rest:
        return False
    rig.physics.bench.contactor_stuck = how
    rig.physics.switch()
    return True


def _estop(rig: RigLoop, pressed: object, rest: Mapping[str, Any]) -> bool:
    if not isinstance(pressed, bool) or rest:
        return False
    rig.physics.bench.estop = pressed
    rig.physics.switch()
    return True


def _races(rig: RigLoop, us: object, rest: Mapping[str, Any]) -> bool:
    if not _whole(us, SLOWEST_RACE_US) or rest:
        return False
    bench = rig.physics.bench
    bench.race_us = us
    if us == 0:
        bench.pin_stuck.pop(bench.alive_pin, None)
    rig.physics.switch()
    return True


def _thermostat(rig: RigLoop, set_c: object, rest: Mapping[str, Any]) -> bool:
    thermostat = rig.physics.thermostat
    if thermostat is None or rest:
        return False
    try:
        thermostat.dial(set_c)
    except ValueError:
        return False
    return True


def _crossed(rig: RigLoop, order: object, rest: Mapping[str, Any]) -> bool:
    if order is None:
        crossed = None
    elif _are_zones(order, rig) and len(set(order)) == len(order) == _zones(rig):
        crossed = tuple(order)
    else:
        return False
    if rest:
        return False
    rig.physics.bench.crossed = crossed
    rig.physics.switch()
    return True


def _plant(rig: RigLoop, word: object, rest: Mapping[str, Any]) -> bool:
    act = getattr(rig.physics.plant, word, None) if isinstance(word, str) and word in PLANT_WORDS else None
    given = rest.get("with", [])
    if act is None or set(rest) - {"with"} or not isinstance(given, list):
        return False
    try:
        inspect.signature(act).bind(*given)
    except TypeError:
        return False
    rig.physics.act(lambda: act(*given))
    return True


def _reset(rig: RigLoop, how: object, rest: Mapping[str, Any]) -> bool:
    after_us, off_ms = rest.get("after_us", 0), rest.get("off_ms", 0 if how == "watchdog" else OFF_MS)
    if not isinstance(how, str) or how not in RESETS or set(rest) - {"after_us", "off_ms"}:
        return False
    if not (_whole(after_us, 1 << 62) and _whole(off_ms, 1 << 52)):
        return False
    rig.reset_at(how, rig.physics.now_us + after_us, off_ms * 1000)
    return True


def _board(rig: RigLoop, what: object, rest: Mapping[str, Any]) -> bool:
    if what in ("hang", "fail") and not rest:
        rig.order_board(f"{what}()")
    elif what == "block" and set(rest) == {"ms"} and _whole(rest["ms"], LONGEST_BLOCK_MS):
        rig.order_board(f"block({rest['ms']})")
    elif what == "poke" and set(rest) == {"code"} and isinstance(rest["code"], str):
        rig.order_board(rest["code"])
    else:
        return False
    return True


def _host_reads(rig: RigLoop, reads: object, rest: Mapping[str, Any]) -> bool:
    if not isinstance(reads, bool) or rest:
        return False
    rig.link.host_reads = reads
    return True


def _jump(rig: RigLoop, ms: object, rest: Mapping[str, Any]) -> bool:
    if not _whole(ms, 1 << 40) or rest:
        return False
    rig.jump(ms * 1000)
    return True


def _quit(rig: RigLoop, _value: object, _rest: Mapping[str, Any]) -> bool:
    rig.quit = "asked to"
    return True


_WORDS: dict[str, Callable[[RigLoop, object, Mapping[str, Any]], bool]] = {
    "quit": _quit,
    **PANEL_WORDS,
    "chip": _chip,
    "junction": _junction,
    "blanket": _blanket,
    "cutoff": _cutoff,
    "swap": _swap,
    "select_low": _select_low,
    "relay": _relay,
    "thermostat": _thermostat,
    "pin": _pin,
    "contactor": _contactor,
    "estop": _estop,
    "crossed": _crossed,
    "alive_races_us": _races,
    "plant": _plant,
    "reset": _reset,
    "board": _board,
    "host_reads": _host_reads,
    "jump_ms": _jump,
}
