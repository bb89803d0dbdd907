"""From what was found to the stages of a profile, as plain values in the profile's unit."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil
from typing import Any

from ribwright_board.core.rig_values import Rig
from ribwright_board.core.units import in_unit

from .planning_program import REST_C, Try
from .planning_stages import WOOD_S
from .planning_values import BendFigures, Found

Values = dict[str, Any]

SCHEMA = 1
# Set by then, still too hot to hold in the hand: common practice, no source.
BELOW_C = 60.0
# A ramp that takes so much longer than the slowest of the rigs has a fault.
RAMP_ROOM = 2.0
# A maker who has not come after so long is not at the rig.
PRESS_LONGEST_MIN, WAIT_LONGEST_MIN, REST_LONGEST_MIN, SET_ROOM_MIN = 6, 6, 15, 15
# Purposes of stages, in their order.
TIGHT, REST, THEN, SET, COOL = "tight", "rest", "then", "set", "cool"


def shown(at_c: float, unit: str) -> int:
    """A temperature as the profile states it: whole degrees of its unit.

    Args:
        at_c: [C].
        unit: "C" or "F".

    >>> shown(150.0, "C"), shown(148.89, "F")
    (150, 300)
    """
    return round(in_unit(at_c, unit))


def profile_of(
    found: Found, rig: Rig, piece: Mapping[str, Any], name: str, unit: str
) -> tuple[Values, list[str]]:
    """The profile's mapping, and for each stage what it is for.

    Args:
        found: the plan.
        rig: checked, for the names of its zones.
        piece: the profile's [piece].
        name: of the profile.
        unit: "C" or "F".
    """
    names, order = rig.zone_names(), found.order
    first, last = found.bends[0], found.bends[-1]
    at_once = len(found.bends) == 1
    words = ("the strip", "bend the strip") if at_once else ("the tightest place", "press the tightest place")
    if not at_once and "waist" in names[order.first[0]].lower():
        words = ("the waist", "press the waist")
    zones = [names[zone] for zone in order.first]
    stages = _heated(first, zones, order.first_cues, words, unit, 0.0)
    purposes = [TIGHT] * len(stages)
    if not at_once:
        if order.rest:
            stages.append(
                {
                    "name": f"rest {words[0]}",
                    "kind": "ramp",
                    "zones": zones,
                    "target": shown(REST_C, unit),
                    "longest_min": REST_LONGEST_MIN,
                }
            )
            purposes.append(REST)
        begun_min = first.start_min.high
        then = _heated(
            last,
            [names[zone] for zone in order.then],
            order.then_cues,
            ("the bouts", "draw down the bouts"),
            unit,
            begun_min,
        )
        stages += then
        purposes += [THEN] * len(then)
    stages.append(
        {
            "name": "set",
            "kind": "set",
            "zones": [names[zone] for zone in order.setting],
            "target": shown(found.set_c, unit),
            "minutes": int(found.set_minutes),
            "longest_min": int(2 * found.set_minutes + SET_ROOM_MIN),
        }
    )
    stages.append({"name": "cool on the form", "kind": "cool", "below": shown(BELOW_C, unit)})
    mapping = {"schema": SCHEMA, "name": name, "unit": unit, "piece": dict(piece), "stages": stages}
    return mapping, [*purposes, SET, COOL]


def _heated(
    bend: BendFigures,
    zones: list[str],
    cues: tuple[str, ...],
    words: tuple[str, str],
    unit: str,
    begun_min: float,
) -> list[Values]:
    """Ramp, hold and press of one place; begun_min: when its heat begins, at the latest."""
    target = shown(bend.tried.target_c, unit)
    longest = max(6, ceil(RAMP_ROOM * (bend.start_min.high - begun_min)))
    heated: list[Values] = [
        {"name": f"warm {words[0]}", "kind": "ramp", "zones": zones, "target": target, "longest_min": longest}
    ]
    waiting = _waiting(bend.tried, unit)
    if waiting:
        heated.append(
            {"name": "let the wood catch up", "kind": "hold", "zones": zones, "target": target, **waiting}
        )
    heated.append(
        {
            "name": words[1],
            "kind": "hold",
            "zones": zones,
            "target": target,
            "until": "maker",
            "longest_min": PRESS_LONGEST_MIN,
            "cues": list(cues),
        }
    )
    return heated


def _waiting(tried: Try, unit: str) -> Values:
    """How the hold before a press ends; nothing without one."""
    if tried.mid_wood_c is not None:
        mid = shown(tried.mid_wood_c, unit)
        return {"until": "wood", "mid_wood": mid, "mid_wood_s": WOOD_S, "longest_min": WAIT_LONGEST_MIN}
    return {"minutes": tried.minutes} if tried.minutes else {}
