"""What a campaign's run is made of: rig, profile and their variants, all drawn from one seed.

Nothing here is what the guard was tuned on: loads, wetting, wiring and clocks change from seed to seed.
"""

from __future__ import annotations

import random
from dataclasses import dataclass

# Milliseconds of the firmware's clock start here: a fresh board, just before 32-bit tick counters wrap, and
# days into a session.
CLOCK_STARTS_MS = (3_000, 2**30 - 10_000, 200_000_000, 2**31 - 400_000)
# Microseconds that really pass in one millisecond of the firmware's clock: right, 10 % slow, 10 % fast.
US_PER_MS = (1000, 1000, 1000, 1000, 1111, 909)
SLAT_MM = 0.25
WETTED = ("dry", "misted", "wiped", "soaked")


@dataclass(frozen=True, slots=True)
class Setting:
    """One drawn rig with its load.

    seed: of everything drawn. mains: volts over rated volts. bare: blankets with nothing on them, and the rig
    and the piece declare it. window_ms: relay window. feedback: contactor feedback is fitted. target_c:
    of the bend. tight: the branch cannot take both blankets at once. clock_start_ms, us_per_ms: the
    firmware's clock. start_c: temperature of the stack at the start, None for the room's. room_c: the
    room. set_min: minutes of the set stage. thickness_mm, wetted: of the side; wetted is one of WETTED.
    """

    seed: int
    mains: float = 1.0
    bare: bool = False
    window_ms: int = 1000
    feedback: bool = False
    target_c: float = 150.0
    tight: bool = False
    clock_start_ms: int = 3_000
    us_per_ms: int = 1000
    start_c: float | None = None
    room_c: float = 20.0
    thickness_mm: float = 1.7
    wetted: str = "misted"
    set_min: float = 2.0

    @property
    def clock(self) -> tuple[int, int]:
        """Where the firmware's clock starts and how fast it runs."""
        return self.clock_start_ms, self.us_per_ms


def draw_setting(seed: int, mains: float, *, bare: bool) -> Setting:
    """A rig with its load, fully determined by the arguments.

    Args:
        seed: any whole number.
        mains: volts over rated volts.
        bare: nothing lies on the blankets.
    """
    draw = random.Random(f"setting {seed}")  # noqa: S311 - a drawn rig, no secret
    return Setting(
        seed=seed,
        mains=mains,
        bare=bare,
        feedback=seed % 2 == 1,
        target_c=draw.choice((140.0, 150.0, 155.0, 165.0)),
        tight=seed % 4 == 3,
        clock_start_ms=draw.choice(CLOCK_STARTS_MS),
        us_per_ms=draw.choice(US_PER_MS),
        room_c=draw.uniform(8.0, 30.0),
        thickness_mm=draw.uniform(1.4, 2.6),
        wetted=draw.choice(WETTED),
    )


def rig_mapping(setting: Setting, *, slat_mm: float | None = None) -> dict[str, object]:
    """The rig's mapping, as its file would give it: two blankets of 7.8 kW/m2 on 120 V.

    Args:
        setting: what was drawn.
        slat_mm: thickness of one slat [mm]; absent, the setting's: none on a bare blanket.
    """
    if slat_mm is None:
        slat_mm = 0.0 if setting.bare else SLAT_MM
    zones = [
        {
            "name": name,
            "power_w": power_w,
            "length_mm": length_mm,
            "width_mm": 90,
            "relay": "solid-state" if setting.window_ms < 10_000 else "mechanical",
            "relay_pin": 10 + place,
            "chip": "MAX31855",
            "thermocouple": "K",
            "select_pin": 20 + place,
        }
        for place, (name, power_w, length_mm) in enumerate((("waist", 105, 150), ("full", 420, 600)))
    ]
    pins = {"sck": 2, "mosi": 3, "miso": 4, "alive": 5, "start": 6, "next": 7, "stop": 8}
    if setting.feedback:
        pins["feedback"] = 9
    return {
        "schema": 1,
        "name": "campaign rig",
        "unit": "C",
        "board": "pico",
        # Both together draw 4.4 A.
        "mains": {"volts": 120, "hertz": 60, "branch_limit_a": 4.0 if setting.tight else 12.0},
        "control": {"window_ms": setting.window_ms},
        "pins": pins,
        "zones": zones,
        "stack": {
            "slat": "spring steel",
            "slat_mm": slat_mm,
            "blanket_mm": 1.4,
            "foil_mm": 0.02,
            "ambient": round(setting.room_c, 1),
        },
    }


def piece_mapping(setting: Setting) -> dict[str, object]:
    """The profile's piece: one side of a sapele baritone ukulele, or next to nothing on a bare blanket.

    setting: the drawn rig, which says how thick and how wet the side is.
    """
    return {
        "kind": "touch-up" if setting.bare else "side",
        "species": "sapele",
        "thickness_mm": 0.5 if setting.bare else round(setting.thickness_mm, 2),
        "width_mm": 5 if setting.bare else 80,
        "length_mm": 560,
        "pieces": 1,
        "wetted": "dry" if setting.bare else setting.wetted,
    }


def profile_mapping(setting: Setting) -> dict[str, object]:
    """A bend of about a quarter of an hour with every kind of stage: the waist first, then the whole.

    setting: the drawn rig, with the bend's target and the minutes of its set stage.

    The long blanket lies over the waist as well, so the waist rests before it, and the two never ask for much
    heat together. Where the branch cannot take both at once they are first warmed together, gently. The
    whole is given long to arrive: in a campaign cold wet strips and water come again and again.
    """
    waist, full, both = ["waist"], ["full"], ["waist", "full"]
    hot_c = setting.target_c
    together = {"kind": "ramp", "zones": both, "target": 60, "rate_per_min": 20, "longest_min": 45}
    return {
        "schema": 1,
        "name": "campaign side",
        "unit": "C",
        "piece": piece_mapping(setting),
        "stages": [
            *([together] if setting.tight else []),
            {"kind": "ramp", "zones": waist, "target": hot_c, "longest_min": 45},
            {
                "kind": "hold",
                "zones": waist,
                "target": hot_c,
                "until": "maker",
                "longest_min": 8,
                "cues": ["waist to 6 mm", "waist home"],
            },
            {"kind": "ramp", "zones": waist, "target": 80, "longest_min": 45},
            {"kind": "ramp", "zones": full, "target": hot_c - 5.0, "longest_min": 75},
            {
                "kind": "hold",
                "zones": full,
                "target": hot_c - 5.0,
                "minutes": 2,
                "band": 5,
                "longest_min": 6,
                "cues": ["lower bout"],
            },
            {"kind": "set", "zones": full, "target": 120, "minutes": setting.set_min, "longest_min": 240},
            {"kind": "cool", "below": 90},
        ],
    }
