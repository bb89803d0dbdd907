"""What a virtual rig is asked to be: one JSON object, every key checked before anything starts."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from .bench import NO_PIN
from .costs import Column
from .interpreter import RigError
from .thermostat import Thermostat

TICK_PERIOD_MS = 1 << 30


@dataclass(frozen=True)
class Scenario:
    """Settings of one virtual rig.

    image: folder that holds the flash. files: folder tree put on the flash first. rig, piece: as in their
    files, the piece is what lies in the stack. seed: 0 for nominal plant values and noise stream 0.
    ambient_c: room; None, as the rig's stack says. mains: mains volts over rated volts. maker: settings of
    the scripted person, None for nobody. speed: multiple of real time always, or 0 for as fast as possible
    while a run is on and idle_speed else. port: 0 takes a free one. interpreter: auto, micropython or
    cpython. costs: typical or maximum. heap: of the board. start_ticks_ms: where the board's tick counter
    starts at power-on. truth_csv, summary_json: files to write. linger_s: real seconds without a computer
    after which the rig ends, five times as many in a run, which then goes on at idle_speed. max_sim_s:
    end of virtual time. quit_on_eof: end when standard input closes. noise_k: spread of the readings.
    plant: a Python file with a class Plant to use in place of the simulator's own, for tests of the rig
    itself. thermostat: another controller that heats the blankets; as Thermostat.from_mapping().
    collect_every: of the firmware's collections of memory, really made; each takes its time all the same,
    and free memory is told as the last one left it. naps: short sleeps in a row that the board keeps to
    itself while nobody talks to it and no run is on. awake: somebody waits for it, so the simulation
    keeps its processor while the board is at work.
    """

    image: Path
    rig: Mapping[str, Any]
    piece: Mapping[str, Any]
    files: Path | None = None
    seed: int = 0
    ambient_c: float | None = None
    mains: float = 1.0
    maker: Mapping[str, Any] | None = None
    speed: float = 0.0
    idle_speed: float = 20.0
    port: int = 0
    interpreter: str = "auto"
    costs: Column = "typical"
    heap: str = "190wk"
    start_ticks_ms: int = 0
    truth_csv: Path | None = None
    summary_json: Path | None = None
    linger_s: float | None = None
    max_sim_s: float | None = None
    quit_on_eof: bool = False
    noise_k: float = 0.3
    plant: Path | None = None
    reach: bool = False
    thermostat: Mapping[str, Any] | None = None
    collect_every: int = 1
    naps: int = 0
    awake: bool = False

    @property
    def relay_pins(self) -> tuple[int, ...]:
        """Return the pin of each zone's relay, NO_PIN where a rig only watches."""
        return tuple(int(zone.get("relay_pin", NO_PIN)) for zone in self.rig["zones"])

    @property
    def select_pins(self) -> tuple[int, ...]:
        """Return the select pin of each zone's thermocouple chip."""
        return tuple(int(zone["select_pin"]) for zone in self.rig["zones"])

    @property
    def zone_names(self) -> tuple[str, ...]:
        """Return the zones' names."""
        return tuple(str(zone["name"]) for zone in self.rig["zones"])

    @property
    def feedback_pin(self) -> int | None:
        """Return the pin that is low while the contactor's load side has voltage; None, not fitted."""
        pin = self.rig["pins"].get("feedback")
        return None if pin is None else int(pin)

    @property
    def panel(self) -> Mapping[str, Any]:
        """Return what the panel has beside its buttons; empty, nothing."""
        panel: Mapping[str, Any] = self.rig.get("panel", {})
        return panel

    @property
    def buttons(self) -> dict[str, int]:
        """Return the panel's buttons and their pins; "push" is the knob's switch, where it has one."""
        found = {name: int(self.rig["pins"][name]) for name in ("start", "next", "stop")}
        if "knob_push" in self.panel:
            found["push"] = int(self.panel["knob_push"])
        return found


_NUMBERS = (
    "seed",
    "ambient_c",
    "mains",
    "speed",
    "idle_speed",
    "port",
    "start_ticks_ms",
    "linger_s",
    "max_sim_s",
    "noise_k",
    "collect_every",
    "naps",
)
_LEAST = {"ambient_c": -50.0, "idle_speed": 1e-3, "collect_every": 1.0}
_MOST = {"ambient_c": 60.0, "port": 65535.0, "start_ticks_ms": TICK_PERIOD_MS - 1.0, "naps": 255.0}
_CHOICES = {"costs": ("typical", "maximum"), "interpreter": ("auto", "micropython", "cpython")}
_PATHS = ("image", "files", "truth_csv", "summary_json", "plant")
_TABLES = ("rig", "piece", "maker", "thermostat")
_REQUIRED = ("image", "rig", "piece")


def _checked(key: str, value: Any) -> Any:  # noqa: ANN401 - one value of a JSON object
    if key in _NUMBERS:
        if isinstance(value, bool) or not isinstance(value, int | float) or math.isnan(value):
            raise RigError(f"scenario: {key} is {value!r}, a number is needed")
        least = _LEAST.get(key, 0.0)
        most = _MOST.get(key, math.inf)
        if not least <= value <= most:
            raise RigError(f"scenario: {key} is {value}, it must be from {least:g} to {most:g}")
    if key in _TABLES and not isinstance(value, Mapping):
        raise RigError(f"scenario: {key} is {value!r}, an object is needed")
    if key in _CHOICES and value not in _CHOICES[key]:
        raise RigError(f"scenario: {key} is {value!r}, it must be one of {', '.join(_CHOICES[key])}")
    return Path(value) if key in _PATHS else value


def from_mapping(values: Mapping[str, Any]) -> Scenario:
    """Return the scenario; raises RigError naming the key, the value and what is allowed.

    values: by the names of Scenario's fields, paths as text or Path; None is as good as absent.
    """
    known = [field.name for field in fields(Scenario)]
    for key in values:
        if key not in known:
            raise RigError(f"scenario: {key!r} is unknown; known are {', '.join(known)}")
    for key in _REQUIRED:
        if values.get(key) is None:
            raise RigError(f"scenario: {key!r} is missing; the image, the rig and the piece are needed")
    ready = {key: _checked(key, value) for key, value in values.items() if value is not None}
    scenario = Scenario(**ready)
    try:
        pins = [
            *(pin for pin in scenario.relay_pins if pin != NO_PIN),
            *scenario.select_pins,
            *scenario.buttons.values(),
            scenario.rig["pins"]["alive"],
        ]
    except (KeyError, TypeError, ValueError) as error:
        raise RigError(
            f"scenario: the rig lacks a pin or has a bad one ({error}); check the rig file first"
        ) from error
    if scenario.thermostat is not None:
        try:
            Thermostat.from_mapping(len(scenario.select_pins), scenario.thermostat)
        except ValueError as error:
            raise RigError(f"scenario: {error}") from error
    if not all(isinstance(pin, int) and 0 <= pin < 48 for pin in pins):
        raise RigError(f"scenario: the rig's pins are {pins}, each must be from 0 to 47")
    return scenario


def read(path: Path) -> Scenario:
    """Return the scenario in a JSON file; raises RigError when it cannot be read or a value is wrong.

    path: of the file, which holds one object as from_mapping() takes it.
    """
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise RigError(f"scenario {path}: cannot be read as JSON ({error})") from error
    if not isinstance(values, dict):
        raise RigError(f"scenario {path}: holds {type(values).__name__}, an object is needed")
    return from_mapping(values)
