"""Orders for the panel of a virtual rig, the strip and the day: what a hand does, what the display shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .rig_loop import RigLoop

MOST_DETENTS = 200
MOST_MAINS = 2.0
DISPLAYS = ("answers", "absent", "holds")
# How the wires of a part may be: a button's contact may be stuck closed, a knob's two may be exchanged.
WIRES = {"button": ("whole", "cut", "closed"), "knob": ("whole", "cut", "crossed")}


def _press(rig: RigLoop, which: object, rest: Mapping[str, Any]) -> bool:
    if which not in rig.scenario.buttons or rest:
        return False
    rig.do("press", str(which))
    return True


def _form(rig: RigLoop, zone: object, rest: Mapping[str, Any]) -> bool:
    if not isinstance(zone, int) or isinstance(zone, bool) or not 0 <= zone < len(rig.physics.chips):
        return False
    if rest:
        return False
    rig.do("form", zone)
    return True


def _strip(rig: RigLoop, which: object, rest: Mapping[str, Any]) -> bool:
    if which not in ("out", "in") or rest or not hasattr(rig.physics.plant, "take_out"):
        return False
    rig.do("strip", str(which))
    return True


def _hands(rig: RigLoop, settings: object, rest: Mapping[str, Any]) -> bool:
    if rig.maker is None or not isinstance(settings, Mapping) or rest:
        return False
    try:
        rig.maker.change(settings)
    except ValueError:
        return False
    return True


def _mains(rig: RigLoop, ratio: object, rest: Mapping[str, Any]) -> bool:
    plant = rig.physics.plant
    if isinstance(ratio, bool) or not isinstance(ratio, int | float) or not 0.0 <= ratio <= MOST_MAINS:
        return False
    if rest or not hasattr(plant, "mains"):
        return False
    rig.physics.act(lambda: setattr(plant, "mains", float(ratio)))
    return True


def _knob(rig: RigLoop, detents: object, rest: Mapping[str, Any]) -> bool:
    if not isinstance(detents, int) or isinstance(detents, bool) or not 0 < abs(detents) <= MOST_DETENTS:
        return False
    if rest or "knob_a" not in rig.scenario.panel:
        return False
    rig.do("knob", detents)
    return True


def _display(rig: RigLoop, how: object, rest: Mapping[str, Any]) -> bool:
    if how not in DISPLAYS or rest or "display" not in rig.scenario.panel:
        return False
    rig.show_display(str(how))
    return True


def _wires(rig: RigLoop, part: object, rest: Mapping[str, Any]) -> bool:
    if not isinstance(part, str) or set(rest) != {"are"}:
        return False
    there = part in rig.scenario.buttons or (part == "knob" and "knob_a" in rig.scenario.panel)
    if not there or rest["are"] not in WIRES["knob" if part == "knob" else "button"]:
        return False
    rig.wires[part] = rest["are"]
    return True


def _picture(rig: RigLoop, path: object, rest: Mapping[str, Any]) -> bool:
    if not isinstance(path, str) or rest:
        return False
    try:
        Path(path).write_bytes(rig.oled.png())
    except OSError:
        return False
    rig.emit({"event": "picture", "file": path, "at_s": rig.physics.now_us / 1e6})
    return True


WORDS: dict[str, Callable[[RigLoop, object, Mapping[str, Any]], bool]] = {
    "press": _press,
    "form": _form,
    "strip": _strip,
    "hands": _hands,
    "mains": _mains,
    "knob": _knob,
    "display": _display,
    "wires": _wires,
    "picture": _picture,
}
