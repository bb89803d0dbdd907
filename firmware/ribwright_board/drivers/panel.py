"""Buttons of the rig: to ground, pulled up, so that a broken wire is "not pressed"."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from machine import Pin

    from ribwright_board.core.service import Service


class Panel:
    """Turns levels into presses.

    pins: mapping of name to input pin, low when pressed.

    A press counts once, after it was seen released and then down for two ticks in a row: a button
    that is stuck, or held since power-on, never counts.
    """

    def __init__(self, pins: "dict[str, Pin]") -> None:
        self._pins = pins
        self._down: dict[str, int] = {}
        for name in pins:
            # As if held for long: only a release seen by this firmware makes the next press count.
            self._down[name] = 3

    def begin(self, service: "Service") -> None:
        """Nothing here asks for anything; see Front, which does."""

    def show(self, now_ms: int) -> None:
        """There is nothing to show on."""

    def presses(self) -> tuple[str, ...]:
        """Names of the buttons pressed since the last tick."""
        found: tuple[str, ...] = ()
        for name in self._pins:
            if self._pins[name].value():
                self._down[name] = 0
            elif self._down[name] < 3:
                self._down[name] += 1
                if self._down[name] == 2:
                    found = found + (name,)
        return found
