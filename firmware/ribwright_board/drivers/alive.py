"""Alive signal: one edge for every completed tick.

The contactor is held only while this line keeps changing. It is made by the loop itself and never
by a timer or PWM block, which would run on while the loop hangs.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import Pin


class Alive:
    """The alternating line.

    pin: output pin.
    """

    def __init__(self, pin: "Pin") -> None:
        self._pin = pin
        self._level = 0

    def edge(self) -> None:
        """One change of level."""
        self._level ^= 1
        self._pin.value(self._level)
