"""Where a GPIO number comes out of a board, and which numbers a rig had better leave alone.

From memory of the makers' data sheets (Raspberry Pi Pico and Pico 2 data sheets, pinout figure; ESP32-WROOM
data sheet and the maker's 38-pin development board): compare with the print on the board before soldering.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from ribwright_host.errors import FileError

SOURCE: Final = {
    "pico": "Raspberry Pi Pico data sheet, pinout figure; from memory: compare with the board",
    "pico2": "Raspberry Pi Pico 2 data sheet, pinout figure; from memory: compare with the board",
    "esp32": "ESP32-WROOM development board, 38 pins; from memory: boards differ, go by the printed names",
}
_PICO_GPIO: Final = (0, 1, None, 2, 3, 4, 5, None, 6, 7, 8, 9, None, 10, 11, 12, 13, None, 14, 15)
_PICO_OTHER: Final = (16, 17, None, 18, 19, 20, 21, None, 22, None, 26, 27, None, 28)
PICO: Final = {gpio: place + 1 for place, gpio in enumerate(_PICO_GPIO + _PICO_OTHER) if gpio is not None}
PICO_RAILS: Final = {"0V": "38", "3V3": "36", "5V": "39"}
# Left row from the top 1 to 19, right row from the top 38 to 20.
_ESP_LEFT: Final = (None, None, 36, 39, 34, 35, 32, 33, 25, 26, 27, 14, 12, None, 13)
_ESP_RIGHT: Final = (None, 23, 22, 1, 3, 21, None, 19, 18, 5, 17, 16, 4, 0, 2, 15)
ESP32: Final = {gpio: place + 1 for place, gpio in enumerate(_ESP_LEFT) if gpio is not None} | {
    gpio: 38 - place for place, gpio in enumerate(_ESP_RIGHT) if gpio is not None
}
# The first SPI block, which the firmware uses, reaches only these pins of an RP2040 or RP2350.
PICO_BUS: Final = {"sck": (2, 6, 18, 22), "mosi": (3, 7, 19), "miso": (0, 4, 16, 20)}
ESP32_RAILS: Final = {"0V": "14", "3V3": "1", "5V": "19"}
ESP32_FLASH: Final = (6, 7, 8, 9, 10, 11)
ESP32_INPUT_ONLY: Final = (34, 35, 36, 39)
ESP32_STRAPPING: Final = (0, 2, 5, 12, 15)
ESP32_CONSOLE: Final = (1, 3)
OUTPUTS: Final = ("sck", "mosi", "alive", "relay_pin", "select_pin")


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


def place_of(board: str, gpio: int) -> str | None:
    """Physical pin of a GPIO; None where it is not brought out.

    board: pico, pico2 or esp32. gpio: number.
    """
    place = (ESP32 if board == "esp32" else PICO).get(gpio)
    return None if place is None else str(place)


def rails(board: str) -> Mapping[str, str]:
    """Physical pins of 0 V, 3.3 V out and 5 V in.

    board: pico, pico2 or esp32.
    """
    return ESP32_RAILS if board == "esp32" else PICO_RAILS


def _trouble(board: str, key: str, gpio: int) -> str | None:
    """Why a pin cannot do its work; None where it can."""
    input_only = board == "esp32" and gpio in ESP32_INPUT_ONLY
    reasons = (
        (board == "esp32" and gpio in ESP32_FLASH, "the module keeps GPIO 6 to 11 for its flash"),
        (place_of(board, gpio) is None, "the board has no pin for it"),
        (input_only and key in OUTPUTS, "GPIO 34 to 39 are inputs only"),
        (input_only and key != "miso", "GPIO 34 to 39 have no pull-up"),
        (
            board != "esp32" and gpio not in PICO_BUS.get(key, (gpio,)),
            "the converters' bus does not reach it",
        ),
    )
    return next((reason for wrong, reason in reasons if wrong), None)


def _note(board: str, gpio: int) -> str:
    if board != "esp32":
        return ""
    if gpio in ESP32_STRAPPING:
        return "read by the chip as it starts: with what hangs on it, try a cold start before any heat"
    if gpio in ESP32_CONSOLE:
        return "also the serial console: choose another where one is free"
    return ""


def _uses(rig: Mapping[str, Any]) -> list[tuple[str, str, tuple[str | int, ...], int, str]]:
    """Signal, key, place in the file, GPIO and use of every pin that the rig states."""
    pins = rig["pins"]
    fixed = (
        ("SCK", "sck", "clock of the converters, out"),
        ("MOSI", "mosi", "claimed by the bus, nothing is connected"),
        ("MISO", "miso", "data of the converters, in; pulled up"),
        ("ALIVE", "alive", "alive signal, out: one edge for every completed round"),
        ("START", "start", "button to 0 V, in; pulled up on the board"),
        ("NEXT", "next", "button or pedal to 0 V, in; pulled up on the board"),
        ("STOP", "stop", "button to 0 V, in; pulled up on the board"),
        ("FB", "feedback", "contactor feedback, in: low while voltage is behind it"),
    )
    found: list[tuple[str, str, tuple[str | int, ...], int, str]] = [
        (signal, key, ("pins", key), int(pins[key]), use) for signal, key, use in fixed if key in pins
    ]
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
        trouble = _trouble(board, key, gpio)
        if trouble is not None:
            named = ".".join(str(part) for part in place)
            free = ", ".join(
                str(other)
                for other in sorted(ESP32 if board == "esp32" else PICO)
                if _trouble(board, key, other) is None and not _note(board, other)
            )
            raise FileError(
                f"{where}: {named} is GPIO {gpio} on a {board}: {trouble}",
                f"choose one of {free} that no other part uses",
                code="pin_place",
                where={"file": where, "key": named},
            )
        rows.append(BoardPin(signal, gpio, str(place_of(board, gpio)), use, _note(board, gpio)))
    return rows
