"""Hardware watchdog: started when heat is first allowed, because it can never be stopped."""

import machine

TIMEOUT_MS = 2000


class Watchdog:
    """Fed after a good tick only, and before a flash write."""

    def __init__(self) -> None:
        self._dog: machine.WDT | None = None

    def start(self) -> None:
        """Begin watching; a second call changes nothing."""
        if self._dog is None:
            self._dog = machine.WDT(timeout=TIMEOUT_MS)

    def feed(self) -> None:
        """Say that the loop is well."""
        if self._dog is not None:
            self._dog.feed()
