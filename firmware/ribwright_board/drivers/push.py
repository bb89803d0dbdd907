"""The push switch of a knob: to ground, pulled up. A push counts as it ends, if it was short.

One that is stuck, held since power-on or leant on never counts. Before it ends, nobody knows.
"""

from .panel import DOWN, UP

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import Pin

# In ticks: a push lasts no longer.
MOST_TICKS = 20


class Push:
    """Turns the switch's level into pushes, debounced as a button is: seen for two ticks each way.

    pin: input pin, low while it is pushed.
    """

    def __init__(self, pin: "Pin") -> None:
        self._pin = pin
        # As if held for long already.
        self._state = 2
        self._ticks = MOST_TICKS

    def step(self) -> bool:
        """Whether a push has just ended; asked once in every tick."""
        before = self._state
        state = (UP if self._pin.value() else DOWN)[before]
        self._state = state
        ended = before == 3 and state == 0 and self._ticks < MOST_TICKS
        self._ticks = 0 if state == 0 else min(self._ticks + 1, MOST_TICKS)
        return ended

    def held(self) -> bool:
        """Whether it may be in the middle of a push, in which the hand turns the knob without wanting to."""
        return 0 < self._ticks < MOST_TICKS
