"""Single keys from a terminal, without waiting for them; on a terminal of either kind, or none."""

import sys
from typing import Any, Self


class Keys:
    """A context in which pressed() gives keys as they come; gives none when nobody sits at a terminal."""

    def __init__(self) -> None:
        self._before: Any = None

    def __enter__(self) -> Self:
        """Take keys one by one, not line by line; Ctrl-C stays what it is."""
        if sys.platform != "win32" and sys.stdin.isatty():
            import termios
            import tty

            self._before = termios.tcgetattr(sys.stdin.fileno())
            tty.setcbreak(sys.stdin.fileno())
        return self

    def __exit__(self, *_: object) -> None:
        """Give the terminal back as it was."""
        if sys.platform != "win32" and self._before is not None:
            import termios

            termios.tcsetattr(sys.stdin.fileno(), termios.TCSADRAIN, self._before)

    def pressed(self) -> str:
        """The keys pressed since the last call, in lower case."""
        if sys.platform == "win32":
            import msvcrt

            found = ""
            while sys.stdin.isatty() and msvcrt.kbhit():
                found += msvcrt.getwch()
            return found.lower()
        if self._before is None:
            return ""
        import os
        import select

        found = ""
        while select.select([sys.stdin], [], [], 0)[0]:
            data = os.read(sys.stdin.fileno(), 64)
            if not data:
                break
            found += data.decode("utf-8", "replace")
        return found.lower()
