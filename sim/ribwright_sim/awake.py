"""Waits for the board's next frame without putting the processor to sleep, while nobody else wants it.

A tick of the board takes less than a fifth of a millisecond on a computer. A processor that sleeps meanwhile
is woken late: that is a sixth of the time of a bend. Looking at the pipe again and again costs nobody
anything while there is a processor for everybody who wants one, which the system tells.
"""

import os
import select
import time
from io import RawIOBase
from pathlib import Path
from typing import IO, cast

# "0.20 0.18 0.12 1/80 11206": the fourth word says how many want a processor now (Linux manual page
# proc_loadavg(5)).
WANTED = Path("/proc/loadavg")
# It is asked once in so many waits.
ROUND = 32
# So long the pipe is looked at before the wait becomes a sleep: ten ticks of a board, or a pause of its own.
LOOK_S = 0.002


def spare(path: Path = WANTED, processors: int | None = None) -> bool:
    """Whether everybody who wants a processor has one; False where the system does not tell.

    path: what it tells. processors: of the machine, as the system counts them where not given.
    """
    try:
        wanted = int(path.read_text(encoding="ascii").split()[3].partition("/")[0])
    except (OSError, ValueError, IndexError):
        return False
    return wanted <= (processors or os.cpu_count() or 1)


class Awake:
    """Reads a pipe, in place of the pipe.

    pipe: unbuffered, of the board's output.

    looks: whether it waits awake now.
    """

    def __init__(self, pipe: IO[bytes]) -> None:
        os.set_blocking(pipe.fileno(), False)
        self._pipe = cast("RawIOBase", pipe)
        self.looks = False
        self._left = 1

    def read(self, size: int) -> bytes:
        """What has arrived, at most `size` bytes, waiting for some; empty at the end."""
        self._left -= 1
        if not self._left:
            self._left = ROUND
            # The board is at work already: whoever asks and it are both counted.
            self.looks = spare()
        read = self._pipe.read
        if self.looks:
            until_s = time.perf_counter() + LOOK_S
            while time.perf_counter() < until_s:
                data = read(size)
                if data is not None:
                    return data
        while True:
            data = read(size)
            if data is not None:
                return data
            select.select((self._pipe,), (), ())

    def close(self) -> None:
        """Close the pipe."""
        self._pipe.close()


def reader(pipe: IO[bytes], *, awake: bool) -> IO[bytes] | Awake:
    """What reads a pipe: itself, or an Awake where it is wanted and the system can tell who wants what.

    pipe: unbuffered. awake: somebody waits for the rig.
    """
    return Awake(pipe) if awake and WANTED.exists() else pipe
