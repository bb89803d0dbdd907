"""A progress bar for whatever moves bytes between the board and the computer."""

import sys
from typing import Any, Self


class Progress:
    """A bar on a terminal, nothing elsewhere; a context manager that is called with bytes done and in all.

    text: what is going on. quiet: show nothing at all.
    """

    def __init__(self, text: str, *, quiet: bool) -> None:
        self._text = text
        self._bar: Any = None
        self._task: Any = None
        if not quiet and sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn, TimeRemainingColumn

            self._bar = Progress(
                TextColumn("{task.description}"),
                BarColumn(),
                DownloadColumn(),
                TimeRemainingColumn(),
                console=Console(stderr=True),
                transient=True,
            )

    def __enter__(self) -> Self:
        if self._bar:
            self._bar.start()
            self._task = self._bar.add_task(self._text)
        return self

    def __call__(self, done: int, whole: int) -> None:
        """Move the bar; done, whole: bytes."""
        if self._bar:
            self._bar.update(self._task, completed=done, total=whole)

    def __exit__(self, *_: object) -> None:
        if self._bar:
            self._bar.stop()
