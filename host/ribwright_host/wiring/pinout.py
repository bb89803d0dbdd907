"""Every signal of a rig where it leaves the board."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ribwright_host.board_pins import care, others, place_of, trouble
from ribwright_host.errors import FileError


@dataclass(frozen=True)
class BoardPin:
    """One signal of the rig where it leaves the board.

    signal: its name on the drawings. gpio: number in the rig file. place: pin of the board. use: what it
    does. note: what to mind, "" for nothing.
    """

    signal: str
    gpio: int
    place: str
    use: str
    note: str = ""


def _uses(rig: Mapping[str, Any]) -> list[tuple[str, str, tuple[str | int, ...], int, str]]:
    """Signal, key, place in the file, GPIO and use of every pin that the rig states."""
    pins = rig["pins"]
    told = any(zone["chip"] == "MAX31856" for zone in rig["zones"])
    heats = any("relay_pin" in zone for zone in rig["zones"])
    alive = "alive signal, out: one edge for every completed round"
    if not heats:
        alive = "out, and still: a rig that only watches gives no alive signal, nothing is connected"
    fixed = (
        ("SCK", "sck", "clock of the converters, out"),
        ("MOSI", "mosi", "data to the MAX31856, out" if told else "claimed by the bus, nothing is connected"),
        ("MISO", "miso", "data of the converters, in; pulled up"),
        ("ALIVE", "alive", alive),
        ("START", "start", "button to 0 V, in; pulled up on the board"),
        ("NEXT", "next", "button or pedal to 0 V, in; pulled up on the board"),
        ("STOP", "stop", "button to 0 V, in; pulled up on the board"),
        ("FB", "feedback", "contactor feedback, in: low while voltage is behind it"),
    )
    found: list[tuple[str, str, tuple[str | int, ...], int, str]] = [
        (signal, key, ("pins", key), int(pins[key]), use) for signal, key, use in fixed if key in pins
    ]
    panel = rig.get("panel", {})
    beside = (
        ("SDA", "sda", "data of the display, out and in; pulled up"),
        ("SCL", "scl", "clock of the display, out; pulled up"),
        ("KA", "knob_a", "knob, first contact to 0 V, in; pulled up on the board"),
        ("KB", "knob_b", "knob, second contact to 0 V, in; pulled up on the board"),
        ("KP", "knob_push", "knob, push switch to 0 V, in; pulled up on the board"),
        ("BUZ", "buzzer", "buzzer, out: high sounds"),
    )
    here = [one for one in beside if one[1] in panel]
    found += [(signal, key, ("panel", key), int(panel[key]), use) for signal, key, use in here]
    for i, zone in enumerate(rig["zones"]):
        name = zone["name"]
        selects = ("zones", i, "select_pin")
        found.append((f"CS{i + 1}", "select_pin", selects, int(zone["select_pin"]), f"select of {name}, out"))
        if "relay_pin" in zone:
            use = f"relay of {name}, out: high is on"
            found.append((f"DRV{i + 1}", "relay_pin", ("zones", i, "relay_pin"), int(zone["relay_pin"]), use))
    return found


def board_pins(rig: Mapping[str, Any], where: str = "") -> list[BoardPin]:
    """Every pin of a rig with its physical place.

    rig: checked values of a rig file. where: file, for errors.
    Raises FileError with code pin_place where a pin cannot do its work on this board.
    """
    board = str(rig["board"])
    rows = []
    for signal, key, place, gpio, use in _uses(rig):
        why = trouble(board, key, gpio)
        if why is not None:
            named = ".".join(str(part) for part in place)
            raise FileError(
                f"{where}: {named} is GPIO {gpio} on a {board}: {why}",
                f"choose one of {others(rig, key)}, which no other part uses",
                code="pin_place",
                where={"file": where, "key": named},
            )
        rows.append(BoardPin(signal, gpio, str(place_of(board, gpio)), use, care(board, gpio)))
    return rows
