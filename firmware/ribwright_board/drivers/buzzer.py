"""A buzzer: one that sounds by itself, or a disc that needs a tone."""

import machine

# Where small piezo discs are loudest, from memory of their data sheets; another tone does no harm.
TONE_HERTZ = 2700
HALF = 32768


class Buzzer:
    """Sound on and off.

    number: its pin. passive: it needs a tone.
    """

    def __init__(self, number: int, passive: bool) -> None:
        pin = machine.Pin(number, machine.Pin.OUT, value=0)
        self._pin = pin
        self._tone = machine.PWM(pin, freq=TONE_HERTZ, duty_u16=0) if passive else None
        self._on = False

    def set(self, on: bool) -> None:
        """Sound or be silent.

        on: whether it sounds.
        """
        if on == self._on:
            return
        self._on = on
        if self._tone is not None:
            self._tone.duty_u16(HALF if on else 0)
        else:
            self._pin.value(1 if on else 0)
