"""The rigs and the bend that the walk of the modes is made on: small, quick, and with every kind of stage."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

PROFILE: dict[str, Any] = {
    "schema": 1,
    "name": "sapele baritone sides, every stage",
    "unit": "C",
    "piece": {
        "kind": "side",
        "species": "sapele",
        "thickness_mm": 1.7,
        "width_mm": 80,
        "length_mm": 420,
        "pieces": 2,
        "wetted": "misted",
    },
    "stages": [
        {"kind": "ramp", "zones": ["waist"], "target": 70, "longest_min": 1.5},
        # Longer than the longest session, so that the maker's presence and the session end it first.
        {
            "kind": "hold",
            "zones": ["waist"],
            "target": 70,
            "until": "maker",
            "longest_min": 240,
            "cues": ["press the waist on"],
        },
        {"kind": "ramp", "zones": ["waist", "full"], "target": 80, "rate_per_min": 100, "longest_min": 1.5},
        # A minute, the least by which it can be made to last longer.
        {"kind": "set", "zones": ["waist", "full"], "target": 78, "minutes": 0.1, "longest_min": 1},
        # The maker may end it at any moment, relays on or off.
        {"kind": "hold", "zones": ["waist", "full"], "target": 80, "until": "maker", "longest_min": 1},
        {"kind": "cool", "below": 50},
    ],
}

_RIG: dict[str, Any] = {
    "schema": 1,
    "name": "two-zone bench rig",
    "unit": "C",
    "board": "pico",
    "mains": {"volts": 120, "hertz": 60, "branch_limit_a": 12},
    "control": {"window_ms": 1000},
    "pins": {"sck": 2, "mosi": 3, "miso": 4, "alive": 5, "start": 6, "next": 7, "stop": 8},
    "zones": [],
}


@dataclass(frozen=True)
class Variant:
    """One rig.

    name: its word in paths. feedback: contactor feedback is fitted. tight: the branch takes one zone at a
    time. window_ms: relay window. fine: walked in every detail, see view.py. panel: display and knob are
    fitted, so presses at rest choose and lay out, and a push in a run opens the list of acts. brief: of what
    can be wrong, only a few things that end a run or refuse it in different ways, as another rig meets them
    all. by_hand: a computer moves targets, extends stages and lets a run begin with a later one.
    """

    name: str
    feedback: bool = False
    tight: bool = False
    window_ms: int = 1000
    fine: bool = False
    panel: bool = False
    brief: bool = False
    by_hand: bool = False

    def mapping(self) -> dict[str, Any]:
        """The rig as its file would give it."""
        values = copy.deepcopy(_RIG)
        values["control"]["window_ms"] = self.window_ms
        if self.tight:
            values["mains"]["branch_limit_a"] = 3
        if self.feedback:
            values["pins"]["feedback"] = 9
        values["zones"] = [
            {
                "name": name,
                "power_w": 240,
                "length_mm": 300,
                "width_mm": 90,
                "relay": "solid-state" if self.window_ms < 5_000 else "mechanical",
                "relay_pin": 10 + place,
                "chip": "MAX31855",
                "thermocouple": "K",
                "select_pin": 20 + place,
                # Low, so that a zone that runs away is there within seconds.
                "ceiling": 100,
            }
            for place, name in enumerate(("waist", "full"))
        ]
        return values


VARIANTS = (
    Variant("plain", fine=True),
    Variant("watched", feedback=True, tight=True),
    Variant("slow relays", window_ms=5_000),
    Variant("with a panel", panel=True, brief=True),
    Variant("by hand", brief=True, by_hand=True),
)


@dataclass
class Files:
    """The board's files in memory.

    whole: the profile reads back as it was written. run: number of the run that was laid out last. planned:
    no reset was. key: name of a profile, the first twelve hex digits of its hash. body: its bytes. wanted,
    trip, at, most: as the board's store has them, of no meaning here.
    """

    whole: bool = True
    run: int = 0
    profiles: dict[str, bytes] = field(default_factory=dict)
    planned: None = None

    def lay_in(self, values: Mapping[str, Any]) -> str:
        """Keep a profile, values as its file gives them; returns the name it is asked for by."""
        body = json.dumps(values).encode()
        name = self.sha256(body)[:12]
        self.profiles[name] = body
        return name

    def rig(self) -> tuple[dict[str, Any], str]:
        """The rig's mapping, which nobody asks for here, and its hash."""
        return {}, "rig"

    def sha256(self, data: bytes) -> str:
        """Hex digest of data."""
        return hashlib.sha256(data).hexdigest()

    def get_profile(self, key: str) -> bytes | None:
        """A profile's bytes, the last one lost while the files are damaged."""
        body = self.profiles.get(key)
        return body if body is None or self.whole else body[:-1]

    def files_whole(self, key: str, rig_hash: str) -> bool:
        """Whether a profile is there and undamaged, for the rig there is."""
        body = self.get_profile(key)
        return body is not None and self.sha256(body)[:12] == key and self.rig()[1] == rig_hash

    def put_profile(self, key: str, body: bytes) -> None:
        """Keep what was uploaded."""
        self.profiles[key] = body

    def profile_keys(self) -> list[str]:
        """Names of all profiles, as they came."""
        return list(self.profiles)

    def next_run(self) -> int:
        """A number for a run."""
        self.run += 1
        return self.run

    def make_room(self, wanted: int) -> list[int]:
        """There is room enough."""
        return []

    def free_bytes(self) -> int:
        """Room on the flash."""
        return 1_000_000

    def plan_reset(self, trip: dict[str, Any] | None) -> None:
        """Nothing here resets."""

    def counters(self) -> dict[str, Any]:
        """Nothing is counted."""
        return {}

    def runs(self) -> list[list[int]]:
        """No logs are kept."""
        return []

    def read_run(self, run: int, at: int, most: int) -> tuple[int, bytes] | None:
        """No logs are kept."""
        return None
