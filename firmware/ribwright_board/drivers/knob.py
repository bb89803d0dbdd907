"""A rotary knob with two contacts to ground, pulled up; one whole cycle of both is one detent.

Counted where the edges happen: a quick turn has 24 detents in a third of a second, of which a tick of 100 ms
would see few. A handler changes one whole number and makes nothing, so it may interrupt anything.
"""

from machine import Pin

# By old and new levels of both contacts, as four bits: a quarter of a detent up or down. A contact that
# bounces steps to and fro; levels that cannot follow each other are no step.
STEPS = (0, -1, 1, 0, 1, 0, 0, -1, -1, 0, 0, 1, 0, 1, -1, 0)
# Both contacts open: where a detent rests.
REST = 3
QUARTERS = 4


class Knob:
    """Detents turned.

    a, b: input pins, low where the contact is closed.
    """

    def __init__(self, a: Pin, b: Pin) -> None:
        self._a = a
        self._b = b
        self._levels = a.value() << 1 | b.value()
        self._quarters = 0
        self._taken = 0
        edges = Pin.IRQ_FALLING | Pin.IRQ_RISING
        for pin in (a, b):
            try:
                pin.irq(self._edge, edges, hard=True)
            except (TypeError, ValueError):
                # Not every board's port offers it; late edges then cost a detent, no more.
                pin.irq(self._edge, edges)

    def _edge(self, _pin: Pin) -> None:
        levels = self._a.value() << 1 | self._b.value()
        self._quarters += STEPS[self._levels << 2 | levels]
        self._levels = levels

    def detents(self) -> int:
        """Detents turned since this was last asked, up or down; what is not yet a whole one waits.

        At rest in a detent an odd quarter is what an edge that came too quickly has left behind.
        """
        quarters = self._quarters
        turned = quarters - self._taken
        if self._levels == REST:
            self._taken = quarters
            return (turned + 2) // QUARTERS
        whole = int(turned / QUARTERS)
        self._taken += whole * QUARTERS
        return whole
