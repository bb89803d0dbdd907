"""Puts the panel's parts together as the rig states them; a board lets go of this once it is done."""

import machine

from .front import Front

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .panel import Panel

I2C_HERTZ = 400_000
# A display that holds the bus costs a tick no more than this; a piece takes 3.5 ms.
I2C_TIMEOUT_US = 6000


def fitted(panel: "Panel", parts: "dict[str, int | str]", board: str) -> Front:
    """The parts that a rig states.

    panel: its buttons. parts: its pins, as the host writes them into pins.py. board: pico, pico2 or esp32.
    """
    pulled = machine.Pin.PULL_UP
    display = knob = buzzer = push = None
    if "display" in parts:
        from .display import Display  # noqa: PLC0415 - each part is loaded only where it is

        sda, scl = int(parts["sda"]), int(parts["scl"])
        # The two buses take turns along the pins of a Pico; any pin reaches those of an ESP32.
        number = 0 if board == "esp32" else sda >> 1 & 1
        display = Display(
            machine.I2C(
                number,
                scl=machine.Pin(scl),
                sda=machine.Pin(sda),
                freq=I2C_HERTZ,
                timeout=I2C_TIMEOUT_US,
            )
        )
    if "knob_a" in parts:
        from .knob import Knob  # noqa: PLC0415 - as above

        a, b = [machine.Pin(int(parts[key]), machine.Pin.IN, pulled) for key in ("knob_a", "knob_b")]
        knob = Knob(a, b)
    if "knob_push" in parts:
        from .push import Push  # noqa: PLC0415 - as above

        push = Push(machine.Pin(int(parts["knob_push"]), machine.Pin.IN, pulled))
    if "buzzer" in parts:
        from .buzzer import Buzzer  # noqa: PLC0415 - as above

        buzzer = Buzzer(int(parts["buzzer"]), parts.get("buzzer_type") == "passive")
    return Front(panel, display, knob, buzzer, push)
