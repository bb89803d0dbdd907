"""Voltage behind the master contactor, where a rig watches it: pulled up, low while closed."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import Pin


class Feedback:
    """The watching contact.

    pin: input pin, pulled up; a broken wire reads as open, which no start survives.
    """

    def __init__(self, pin: "Pin") -> None:
        self._pin = pin

    def closed(self) -> bool:
        """Whether there is voltage behind the contactor."""
        return self._pin.value() == 0
