"""A bare board on a terminal: MicroPython with its prompt, a littlefs of its own, resets and a watchdog.

The unix interpreter speaks the same raw prompt as a board's; what it lacks is that a reset starts it again. A
thread does that, carries bytes between the terminal that tests open and the interpreter's own, and keeps what
the board did to its pins. POSIX only.
"""

import contextlib
import json
import os
import pty
import select
import subprocess
import sys
import termios
import threading
import time
import tty
from pathlib import Path

from ribwright_sim.interpreter import SHIM, flash_path, install_files, read_files
from seam.rig_parts import need

FILES = Path(__file__).resolve().parent / "bare_files"
PINS = 48
LAUNCH = (
    "import fcntl, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); site = sys.argv.pop(1)\n"
    "if site: sys.path.insert(0, site)\n"
    "from micropython_run import run_main; sys.exit(run_main(['micropython'] + sys.argv[1:]))"
)
PICO = "Raspberry Pi Pico with RP2040"
POWER, BITTEN = 1, 3


class BareBoard:
    """One board; a context manager.

    folder: room for its flash. machine, version, name, mpy: what it says of itself. selects: pins of its
    converters. heap: as the interpreter takes it; what stands in for hardware needs some of it. site: folder
    with another interpreter. path: of its serial port. events: what it did, as tuples of words.
    """

    def __init__(
        self,
        folder,
        *,
        machine=PICO,
        version=(1, 28, 0),
        name="micropython",
        mpy=6,
        selects=(17, 20),
        heap="210wk",
        site="",
    ):
        need("micropython")
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self.flash = flash_path("micropython", folder)
        self._says = {"machine": machine, "version": version, "name": name, "mpy": mpy, "selects": selects}
        self._heap, self._site = heap, site
        (folder / "prelude.py").write_bytes((FILES / "prelude.py").read_bytes())
        self._levels = bytearray(b"1" * PINS)
        (folder / "inputs").write_bytes(self._levels)
        self.events = []
        self.said = bytearray()
        self.heard = bytearray()
        self._lock = threading.RLock()
        self._outer, self._kept = pty.openpty()
        tty.setraw(self._kept)
        os.set_blocking(self._outer, False)
        self.path = os.ttyname(self._kept)
        self._inner, self._slave = pty.openpty()
        tty.setraw(self._slave)
        self._plain = termios.tcgetattr(self._slave)
        self._plain[3] |= termios.ISIG
        self._plain[6][termios.VQUIT] = self._plain[6][termios.VSUSP] = b"\0"
        self._raw = False
        self._bite_s = None
        self._patience_s = 0.0
        self._process = None
        self._over = False
        self._begin(POWER)
        self._thread = threading.Thread(target=self._carry, daemon=True)
        self._thread.start()

    # What a person does -------------------------------------------------------------------------

    def hold(self, pin):
        """Press a button and keep it down."""
        self._set(pin, b"0")

    def release(self, pin):
        self._set(pin, b"1")

    def press(self, pin):
        self.hold(pin)
        time.sleep(0.35)
        self.release(pin)

    def _set(self, pin, level):
        self._levels[pin] = level[0]
        (self.folder / "inputs").write_bytes(self._levels)

    def power_cycle(self):
        """Pull the plug and put it in again."""
        with self._lock:
            self._end()
            self._raw = False
            self._begin(POWER)

    def install(self, files):
        """Put files on its flash by another hand; it starts again afterwards."""
        with self._lock:
            self._end()
            try:
                install_files(self.folder, files, "micropython")
            finally:
                self._begin(POWER)

    def files(self):
        """Every file on its flash; it starts again afterwards."""
        with self._lock:
            self._end()
            found = read_files(self.folder, "micropython")
            self._raw = False
            self._begin(POWER)
            return found

    # What is seen --------------------------------------------------------------------------------

    def wait_for(self, *words, since=0, seconds=20.0):
        """The number behind the next event that begins with these words."""
        deadline = time.monotonic() + seconds
        while time.monotonic() < deadline:
            for at in range(since, len(self.events)):
                if self.events[at][: len(words)] == words:
                    return at + 1
            time.sleep(0.01)
        raise AssertionError((words, self.events[since:], bytes(self.said[-2000:])))

    def life(self):
        """Events since it was started last."""
        events = list(self.events)
        return events[len(events) - events[::-1].index(("life",)) :]

    def highs(self, pins, since=0):
        """Events that drove one of these pins high."""
        edges = [event for event in self.events[since:] if event[0] == "pin" and event[2] == "1"]
        return [event for event in edges if int(event[1]) in pins]

    # The life of the interpreter -----------------------------------------------------------------

    def _begin(self, cause):
        self._told, events = os.pipe()
        settings = {
            **self._says,
            "image": str(self.flash.resolve()),
            "inputs": str((self.folder / "inputs").resolve()),
            "shim": str(SHIM),
            "events": events,
            "cause": cause,
            "raw": self._raw,
        }
        (self.folder / "settings.json").write_text(json.dumps(settings), encoding="utf-8")
        termios.tcsetattr(self._slave, termios.TCSANOW, self._plain)
        termios.tcflush(self._slave, termios.TCIOFLUSH)
        launch = [sys.executable, "-I", "-c", LAUNCH, self._site]
        command = [*launch, "-X", f"heapsize={self._heap}", "-i", "prelude.py"]
        self._process = subprocess.Popen(
            command,
            cwd=self.folder,
            stdin=self._slave,
            stdout=self._slave,
            stderr=self._slave,
            pass_fds=(events,),
            start_new_session=True,
        )
        os.close(events)
        self.events.append(("life",))
        self._bite_s = None
        self._line = b""
        if self._raw:
            os.write(self._inner, b"\x01")

    def _end(self):
        self._process.kill()
        self._process.wait()
        os.close(self._told)

    def _carry(self):
        while not self._over:
            watched = (self._outer, self._inner, self._told)
            try:
                ready = select.select(watched, (), (), 0.01)[0]
            except (OSError, ValueError):
                continue  # the pipe of a life that has just ended
            with self._lock:
                if self._over:
                    return
                for fd in ready:
                    if fd in (self._outer, self._inner, self._told):
                        self._take(fd, watched)
                if self._bite_s is not None and time.monotonic() > self._bite_s:
                    self._again(("bitten",), BITTEN)
                elif self._process.poll() is not None:
                    self._send(b"MPY: soft reboot\r\n")
                    os.close(self._told)
                    self.events.append(("soft",))
                    self._begin(POWER)

    def _take(self, fd, watched):
        try:
            data = os.read(fd, 4096)
        except OSError:
            return
        if fd == watched[0]:
            self.heard += data
            for byte in data:
                self._raw = True if byte == 1 else False if byte == 2 else self._raw
            os.write(self._inner, data)
        elif fd == watched[1]:
            self._send(data)
        elif fd == self._told:
            *lines, self._line = (self._line + data).split(b"\n")
            for line in lines:
                self._event(tuple(line.decode().split()))
                if line == b"reset":
                    return

    def _send(self, data):
        self.said += data
        # Nobody reads: a board's port drops it as well.
        with contextlib.suppress(BlockingIOError):
            os.write(self._outer, data)

    def _event(self, words):
        if words[0] == "watchdog":
            self._patience_s = int(words[1]) / 1000.0
        if words[0] in ("watchdog", "fed"):
            self._bite_s = time.monotonic() + self._patience_s
        if words[0] == "reset":
            self._again(words, POWER)
        elif words[0] != "fed":
            self.events.append(words)

    def _again(self, words, cause):
        self._end()
        self.events.append(words)
        self._raw = False
        self._begin(cause)

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        with self._lock:
            self._over = True
            self._end()
        self._thread.join()
        for fd in (self._outer, self._kept, self._inner, self._slave):
            os.close(fd)
