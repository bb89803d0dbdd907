"""Rigs to draw: any number of zones, either relay, either mains, every board."""

import tomllib
from importlib.resources import files
from itertools import combinations
from pathlib import Path

from ribwright_board.core import rig as core_rig
from ribwright_host.rigs import RigFile, rig_hash

EXAMPLE = tomllib.loads(
    (files("ribwright_host") / "library" / "rig_two_zone_120v.toml").read_text(encoding="utf-8")
)
NAMES = ("waist", "full", "upper bout", "lower bout")
PINS = {
    "pico": {"relays": (10, 11, 8, 9), "selects": (17, 20, 21, 22), "feedback": 26, "own": {}},
    "esp32": {
        "relays": (25, 26, 27, 32),
        "selects": (23, 4, 21, 22),
        "feedback": 5,
        "own": {"alive": 13, "start": 33, "next": 14, "stop": 17},
    },
}


def mapping(
    zones=2, volts=120, relay="solid-state", *, feedback=False, board="pico", powers=None, limit_a=None
):
    """Values of a rig file."""
    pins = PINS["esp32" if board == "esp32" else "pico"]
    values = {key: value for key, value in EXAMPLE.items() if key not in ("zones", "control")}
    values["board"] = board
    american = volts <= 150
    values["mains"] = {
        "volts": volts,
        "hertz": 60 if american else 50,
        "branch_limit_a": limit_a or (12 if american else 10),
    }
    values["pins"] = {**EXAMPLE["pins"], **pins["own"]}
    if feedback:
        values["pins"]["feedback"] = pins["feedback"]
    watts = powers or (105, 420, 200, 300)
    values["zones"] = [
        {
            **EXAMPLE["zones"][1],
            "name": NAMES[i],
            "power_w": watts[i],
            "relay": relay,
            "relay_pin": pins["relays"][i],
            "select_pin": pins["selects"][i],
        }
        for i in range(zones)
    ]
    return values


def rig_file(values):
    """A rig file as the host has it."""
    return RigFile(Path("rig.toml"), values, rig_hash(values), core_rig.parse(values))


def watching(values):
    """The same rig with relays for none of its zones."""
    zones = [
        {key: value for key, value in zone.items() if key != "relay_pin"} | {"relay": "none"}
        for zone in values["zones"]
    ]
    return rig_file({**values, "zones": zones})


def faults(sheet):
    """Whatever lies over something else."""
    found = [f"{a.what} over {b.what}" for a, b in combinations(sheet.texts, 2) if a.overlaps(b)]
    for text in sheet.texts:
        found += [f"{text.what} on a wire {wire}" for wire in sheet.wires if text.crossed_by(*wire)]
        # The name of a wire stands inside its flag.
        found += [
            f"{text.what} over {one.what}"
            for one in sheet.symbols
            if text.overlaps(one) and not (one.what == "flag" and one.x0 <= text.x0 and text.x1 <= one.x1)
        ]
        if not (text.x0 > 0 and text.x1 < sheet.width and text.y0 > 0 and text.y1 < sheet.height):
            found.append(f"{text.what} outside the frame")
    for one, other in combinations(sheet.symbols, 2):
        if one.overlaps(other) and one.what != "Shape" and other.what != "Shape":
            found.append(f"{one.what} over {other.what} at {one.x0:.1f}, {one.y0:.1f}")
    return found
