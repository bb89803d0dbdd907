"""The rig of the long run and its bend: a pair of sapele sides, heated for just under the longest session."""

from __future__ import annotations

from typing import Any

# The last stages before a session of two hours ends the heat; ramps take some minutes of it.
HEAT_MIN = 116.0
# What the two ramps and the two holds take of every run; the set stage gets the rest.
HOLD_MIN = (2.0, 3.0)
RAMPS_MIN = 4.3
SET_C, WAIST_C, FULL_C = 132.0, 150.0, 145.0
COOL_C = 90.0
# Wider than what stages and the strip do to a reading: a timed stage then lasts as long as it says.
BAND_K = 20.0

SLAT_MM, BLANKET_MM, ROOM_C = 0.25, 1.4, 20.0
PIECE: dict[str, Any] = {
    "kind": "side",
    "species": "sapele",
    "thickness_mm": 1.7,
    "width_mm": 80,
    "length_mm": 560,
    "pieces": 1,
    "wetted": "misted",
}


def rig_mapping() -> dict[str, Any]:
    """The rig's mapping, as its file would give it: two blankets of 7.8 kW/m2 on 120 V, with feedback."""
    zones = [
        {
            "name": name,
            "power_w": power_w,
            "length_mm": length_mm,
            "width_mm": 90,
            "relay": "solid-state",
            "relay_pin": 20 + place,
            "chip": "MAX31855",
            "thermocouple": "K",
            "select_pin": 17 + place,
        }
        for place, (name, power_w, length_mm) in enumerate((("waist", 105, 150), ("full", 420, 600)))
    ]
    return {
        "schema": 1,
        "name": "long run rig",
        "unit": "C",
        "board": "pico",
        "mains": {"volts": 120, "hertz": 60, "branch_limit_a": 12.0},
        "control": {"window_ms": 1000},
        "pins": {"sck": 2, "mosi": 3, "miso": 4, "alive": 5, "start": 6, "next": 7, "stop": 8, "feedback": 9},
        "zones": zones,
        "stack": {
            "slat": "spring steel",
            "slat_mm": SLAT_MM,
            "blanket_mm": BLANKET_MM,
            "foil_mm": 0.02,
            "ambient": ROOM_C,
        },
    }


def profile_mapping(heat_min: float = HEAT_MIN) -> dict[str, Any]:
    """A bend with every kind of stage that heats for about `heat_min` minutes, most of them in the set."""
    set_min = round(heat_min - RAMPS_MIN - sum(HOLD_MIN), 2)
    waist, both = ["waist"], ["waist", "full"]
    timed = {"band": BAND_K}
    return {
        "schema": 1,
        "name": "long run sides",
        "unit": "C",
        "piece": PIECE,
        "stages": [
            {"kind": "ramp", "zones": waist, "target": WAIST_C},
            {
                "kind": "hold",
                "zones": waist,
                "target": WAIST_C,
                "minutes": HOLD_MIN[0],
                "cues": ["waist home"],
            }
            | timed,
            {"kind": "ramp", "zones": both, "target": FULL_C},
            {"kind": "hold", "zones": both, "target": FULL_C, "minutes": HOLD_MIN[1], "cues": ["lower bout"]}
            | timed,
            {"kind": "set", "zones": both, "target": SET_C, "minutes": set_min, "longest_min": set_min + 10.0}
            | timed,
            {"kind": "cool", "below": COOL_C},
        ],
    }
