"""How long a tuning takes on this machine: with the compiler, the first time and later, and without."""

from __future__ import annotations

from typing import cast

from ribwright_sim.compiled import HAVE_NUMBA
from ribwright_sim.measure.ours import RIG as STACK
from ribwright_sim.tuned import timed

# The example rig with what a whole rig file has besides.
_PARTS = {"relay": "solid-state", "chip": "MAX31855", "thermocouple": "K"}
RIG = {
    **STACK,
    "schema": 1,
    "name": "two-zone bench rig",
    "board": "pico",
    "mains": {"volts": 120, "hertz": 60, "branch_limit_a": 12},
    "pins": {"sck": 18, "mosi": 19, "miso": 16, "alive": 15, "start": 12, "next": 13, "stop": 14},
    "zones": [
        {**zone, **_PARTS, "relay_pin": 10 + place, "select_pin": 20 + place}
        for place, zone in enumerate(cast("list[dict[str, object]]", STACK["zones"]))
    ],
}


def tune_figures() -> dict[str, float]:
    """The part of control.json that speaks of the tuner; the first one compiles where nothing was kept."""
    figures: dict[str, float] = {}
    if HAVE_NUMBA:
        figures["tune_wall_first_s"] = timed(RIG, use_numba=True)
        figures["tune_wall_s"] = timed(RIG, use_numba=True)
    figures["tune_wall_plain_s"] = timed(RIG, use_numba=False)
    return figures
