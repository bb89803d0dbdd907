"""Zone switch: active high, so that a floating, booting or reset pin means off."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import Pin


class Relay:
    """One zone's relay.

    pin: output pin, high is on.
    """

    def __init__(self, pin: "Pin") -> None:
        self._pin = pin
        self.switchings = 0
        self._on = False
        self.off()

    def off(self) -> None:
        """Off, whatever was thought of the pin before."""
        self._pin.value(0)
        self._on = False

    def set(self, on: bool) -> None:
        """Switch.

        on: whether the zone may heat now.
        """
        if on != self._on:
            if on:
                self.switchings += 1
            self._on = on
            self._pin.value(1 if on else 0)
