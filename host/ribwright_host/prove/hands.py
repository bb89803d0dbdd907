"""Who does at the rig what a person does: nobody for a real one, orders to the virtual one.

button: start, next, stop, or push, the knob's switch. detents: whole ones, clockwise above 0. zone: its
position in the rig file, from 0; zones: positions of several, count: how many the rig has. opened, pressed:
False closes the cut-off or releases the stop again.
"""

from collections.abc import Callable, Mapping
from typing import Any

from .boiling import boiling_c, standard_pressure_hpa

HAND_C, HAND_LAG_S, WATER_LAG_S = 33.0, 4.0, 3.0
Order = Callable[[Mapping[str, Any]], None]


class Hands:
    """A person's hands at a rig; at a real one the person at the terminal is told, and these do nothing."""

    def press(self, button: str) -> None:
        """Press a button of the panel."""

    def turn(self, detents: int) -> None:
        """Turn the knob of the panel."""

    def warm(self, zone: int) -> None:
        """Take a zone's junction into a warm hand."""

    def boil(self, zone: int) -> None:
        """Put a zone's junction into boiling water."""

    def back(self, zone: int) -> None:
        """Put a zone's junction back."""

    def plug(self, zones: set[int], count: int) -> None:
        """Have the blankets of these zones on their terminals, and those of no other zone."""

    def cut_off(self, zone: int, *, opened: bool) -> None:
        """Open or close the cut-off of a zone's blanket."""

    def emergency(self, *, pressed: bool) -> None:
        """Press or release the emergency stop."""


class VirtualHands(Hands):
    """The same at a virtual rig.

    order: takes one order of its control channel. altitude_m: where its pot boils, above the sea.
    """

    def __init__(self, order: Order, altitude_m: float = 0.0) -> None:
        self._order = order
        self._water_c = boiling_c(standard_pressure_hpa(altitude_m))

    def press(self, button: str) -> None:
        """As Hands."""
        self._order({"press": button})

    def turn(self, detents: int) -> None:
        """As Hands."""
        self._order({"knob": detents})

    def warm(self, zone: int) -> None:
        """As Hands."""
        self._order({"junction": zone, "at_c": HAND_C, "lag_s": HAND_LAG_S})

    def boil(self, zone: int) -> None:
        """As Hands."""
        self._order({"junction": zone, "at_c": self._water_c, "lag_s": WATER_LAG_S})

    def back(self, zone: int) -> None:
        """As Hands."""
        self._order({"junction": zone, "at_c": None, "lag_s": WATER_LAG_S})

    def plug(self, zones: set[int], count: int) -> None:
        """As Hands."""
        for zone in range(count):
            self._order({"blanket": zone, "plugged": zone in zones})

    def cut_off(self, zone: int, *, opened: bool) -> None:
        """As Hands."""
        self._order({"cutoff": zone, "open": opened})

    def emergency(self, *, pressed: bool) -> None:
        """As Hands."""
        self._order({"estop": pressed})
