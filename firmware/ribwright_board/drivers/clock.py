"""The one place that knows that ticks wrap."""

import time


class Clock:
    """Milliseconds since boot that never go back."""

    def __init__(self) -> None:
        self._ticks = time.ticks_ms()
        self._now_ms = 0

    def now_ms(self) -> int:
        """Milliseconds since this clock was made. Must be called at least every six days."""
        ticks = time.ticks_ms()
        self._now_ms += time.ticks_diff(ticks, self._ticks)
        self._ticks = ticks
        return self._now_ms

    def sleep_until(self, at_ms: int) -> None:
        """Wait, at least one millisecond, so that a loop that is late still lets the board breathe.

        at_ms: as now_ms() counts.
        """
        time.sleep_ms(max(1, at_ms - self.now_ms()))
