"""Buttons of the rig: to ground, pulled up, so that a broken wire is "not pressed"."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import Pin

    from ribwright_board.core.service import Service


# A button's state by what it was and its level in this tick: 0 up, 1 down once, 2 down, 3 up once.
UP, DOWN = b"\x00\x00\x03\x00", b"\x01\x02\x02\x02"


class Panel:
    """Turns levels into presses.

    pins: mapping of name to input pin, low when pressed.

    A press counts once, after it was seen down for two ticks in a row; the next one only after it was seen up
    for two. So a button that is stuck, or held since power-on, never counts, and what a contactor or a motor
    sends into a wire for a tick is neither a press nor a release.
    """

    def __init__(self, pins: "dict[str, Pin]") -> None:
        self._pins = pins
        self._states: dict[str, int] = {}
        for name in pins:
            # As if held for long: only a release seen by this firmware makes the next press count.
            self._states[name] = 2

    def begin(self, service: "Service") -> None:
        """Nothing here asks the service for anything; see Front, which does."""

    def show(self, now_ms: int) -> None:
        """There is nothing to show on."""

    def presses(self) -> tuple[str, ...]:
        """Names of the buttons pressed since the last tick."""
        found: tuple[str, ...] = ()
        for name in self._pins:
            before = self._states[name]
            state = (UP if self._pins[name].value() else DOWN)[before]
            self._states[name] = state
            if before == 1 and state == 2:
                found = found + (name,)
        return found
