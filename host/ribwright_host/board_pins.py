"""Where a GPIO number comes out of a board, and which numbers cannot do what a rig file asks of them.

From memory of the makers' data sheets (Raspberry Pi Pico and Pico 2 data sheets, pinout figure; RP2040 data
sheet, table of pin functions; ESP32-WROOM data sheet, strapping pins and pins used by the flash; the maker's
38-pin development board): compare with the print on the board before soldering. The firmware does not check
this: whoever puts a rig onto a board has checked it here.
"""

from collections.abc import Mapping
from typing import Any, Final

from ribwright_board.core.errors import Problem

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
# Each of the two small buses takes its pins in turn; the one beside the other belongs to the same bus.
PICO_WIRES: Final = {"sda": (*range(0, 21, 2), 26), "scl": (*range(1, 22, 2), 27)}
ESP32_RAILS: Final = {"0V": "14", "3V3": "1", "5V": "19"}
ESP32_FLASH: Final = (6, 7, 8, 9, 10, 11)
ESP32_INPUT_ONLY: Final = (34, 35, 36, 39)
ESP32_STRAPPING: Final = (0, 2, 5, 12, 15)
ESP32_CONSOLE: Final = (1, 3)
# High, or pulsed, while the chip starts: from memory of measurements by users, no data sheet says it.
ESP32_ALIVE_AT_START: Final = (0, 1, 3, 5, 14, 15)
OUTPUTS: Final = ("sck", "mosi", "alive", "relay_pin", "select_pin", "sda", "scl", "buzzer")
HEATERS: Final = ("alive", "relay_pin")


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


def trouble(board: str, key: str, gpio: int) -> str | None:
    """Why a pin cannot do its work; None where it can.

    board: pico, pico2 or esp32. key: of the rig file. gpio: number.
    """
    input_only = board == "esp32" and gpio in ESP32_INPUT_ONLY
    reasons = (
        (board == "esp32" and gpio in ESP32_FLASH, "the module keeps GPIO 6 to 11 for its flash"),
        (place_of(board, gpio) is None, "the board has no pin for it"),
        (input_only and key in OUTPUTS, "GPIO 34 to 39 are inputs only"),
        (input_only and key != "miso", "GPIO 34 to 39 have no pull-up"),
        (
            board == "esp32" and key in HEATERS and gpio in ESP32_ALIVE_AT_START + ESP32_STRAPPING,
            "the chip drives or reads it while it starts, and it may come on",
        ),
        (
            board != "esp32" and gpio not in PICO_BUS.get(key, (gpio,)),
            "the converters' bus does not reach it",
        ),
        (
            board != "esp32" and gpio not in PICO_WIRES.get(key, (gpio,)),
            "the display's bus does not reach it",
        ),
    )
    return next((reason for wrong, reason in reasons if wrong), None)


def care(board: str, gpio: int) -> str:
    """What to mind about a pin that can do its work, "" for nothing.

    board: pico, pico2 or esp32. gpio: number.
    """
    if board != "esp32":
        return ""
    if gpio in ESP32_STRAPPING:
        return "read by the chip as it starts: with what hangs on it, try a cold start before any heat"
    if gpio in ESP32_CONSOLE:
        return "also the serial console: choose another where one is free"
    return ""


def stated_pins(rig: Mapping[str, Any]) -> list[tuple[tuple[str | int, ...], str, int]]:
    """Place in the file, key and GPIO of every pin that a rig states.

    rig: values of a rig file in which the firmware's own checker found nothing wrong.
    """
    found: list[tuple[tuple[str | int, ...], str, int]] = []
    found += [(("pins", key), key, int(gpio)) for key, gpio in rig["pins"].items()]
    panel = rig.get("panel", {})
    found += [(("panel", key), key, int(gpio)) for key, gpio in panel.items() if not isinstance(gpio, str)]
    for at, zone in enumerate(rig["zones"]):
        keys = [key for key in ("relay_pin", "select_pin") if key in zone]
        found += [(("zones", at, key), key, int(zone[key])) for key in keys]
    return found


def others(rig: Mapping[str, Any], key: str) -> str:
    """Pins that could do the same work and are free, as a list for people.

    rig: as stated_pins(). key: of the rig file.
    """
    board = str(rig["board"])
    used = [gpio for _, _, gpio in stated_pins(rig)]
    free = [
        gpio
        for gpio in sorted(ESP32 if board == "esp32" else PICO)
        if gpio not in used and trouble(board, key, gpio) is None and not care(board, gpio)
    ]
    return ", ".join(str(gpio) for gpio in free)


def pin_problems(rig: Mapping[str, Any]) -> list[Problem]:
    """Pins of a rig that cannot do their work on its board, in the order of the file.

    rig: as stated_pins().
    """
    board = str(rig["board"])
    found = []
    for place, key, gpio in stated_pins(rig):
        why = trouble(board, key, gpio)
        if why is not None:
            text = f"is GPIO {gpio}, and on a {board} {why}; choose one of {others(rig, key)}"
            found.append(Problem("pin_place", place, text))
    panel = rig.get("panel", {})
    if not found and board != "esp32" and "sda" in panel and _bus_of(panel["sda"]) != _bus_of(panel["scl"]):
        text = f"is GPIO {panel['scl']}, of another bus than GPIO {panel['sda']}; choose {panel['sda'] + 1}"
        found.append(Problem("pin_place", ("panel", "scl"), text))
    return found


def _bus_of(gpio: int) -> int:
    """Which of a Pico's two small buses a pin belongs to."""
    return gpio >> 1 & 1
