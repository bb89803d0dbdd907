"""The virtual rig: `python -m ribwright_sim.virtual_rig SCENARIO.json`, and a class that starts one for a
program.

Prints one JSON line with port, interpreter and process ids once the board is up, then one line per event
(started, reset, crash, hang, press, form, refused, stopped). Standard input takes the person's side and every
fault that can be injected, one JSON object a line: the orders of rig_orders.py, e.g. {"press": "start"},
{"chip": 0, "state": "open"}, {"reset": "power", "after_us": 1500}, {"quit": true}. Exit codes: 0 as asked, 1
the board's program ended for good, 2 could not start.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import IO, Any, Self, cast

from . import rig_scenario
from .interpreter import RigError

START_TIMEOUT_S = 60.0
CLOSE_TIMEOUT_S = 10.0


def main(argv: list[str] | None = None) -> int:
    """Run one virtual rig from a scenario file; return the exit code.

    argv: the path of the file, and nothing else; None, as the command line has it.
    """
    from .rig_loop import RigLoop  # noqa: PLC0415 - numpy loads only where a rig runs

    args = sys.argv[1:] if argv is None else argv
    if len(args) != 1:
        sys.stderr.write("usage: python -m ribwright_sim.virtual_rig SCENARIO.json\n")
        return 2
    try:
        loop = RigLoop(rig_scenario.read(Path(args[0])), _print_line)
    except RigError as error:
        sys.stderr.write(f"{error}\n")
        return 2

    def stop(_signal: int, _frame: object) -> None:
        loop.quit = "a signal"

    signal.signal(signal.SIGTERM, stop)
    signal.signal(signal.SIGINT, stop)
    threading.Thread(target=_read_commands, args=(loop.commands,), daemon=True).start()
    return loop.run()


def _print_line(mapping: Mapping[str, object]) -> None:
    # Whoever started the rig may have stopped reading; the rig goes on.
    with contextlib.suppress(OSError):
        sys.stdout.write(json.dumps(mapping) + "\n")
        sys.stdout.flush()


def _read_commands(commands: queue.SimpleQueue[dict[str, Any] | None]) -> None:
    if sys.stdin is not None:
        for line in sys.stdin:
            with contextlib.suppress(ValueError):
                command = json.loads(line)
                if isinstance(command, dict):
                    commands.put(command)
    commands.put(None)


class VirtualRig:
    """A virtual rig in a process of its own; a context manager.

    scenario: as in rig_scenario.Scenario, paths as text or Path. `port` is where the board's serial link
    listens, `interpreter` names what runs the firmware, `events` collects what the rig told.
    """

    def __init__(self, scenario: Mapping[str, Any]) -> None:
        self._scenario = {k: os.fspath(v) if isinstance(v, Path) else v for k, v in scenario.items()}
        self._scenario.setdefault("quit_on_eof", True)
        self._process: subprocess.Popen[bytes] | None = None
        self._lines: queue.SimpleQueue[dict[str, Any] | None] = queue.SimpleQueue()
        self._readers: list[threading.Thread] = []
        self._errors = bytearray()
        self.events: list[dict[str, Any]] = []
        self.port = 0
        self.interpreter = ""
        self.board_pid = 0

    def start(self) -> Self:
        """Start the rig and wait until its board is up.

        Raises RigError with the rig's own words when it does not come up.
        """
        image = Path(self._scenario["image"])
        image.mkdir(parents=True, exist_ok=True)
        path = image / "scenario.json"
        path.write_text(json.dumps(self._scenario), encoding="utf-8")
        self._process = process = subprocess.Popen(
            [sys.executable, "-m", "ribwright_sim.virtual_rig", os.fspath(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        self._readers = [
            threading.Thread(target=self._read_lines, args=(process.stdout,), daemon=True),
            threading.Thread(target=self._read_errors, args=(process.stderr,), daemon=True),
        ]
        for reader in self._readers:
            reader.start()
        ready = self.next_event(START_TIMEOUT_S)
        if ready is None or "port" not in ready:
            self.close()
            said = self._errors.decode("utf-8", "replace").strip().splitlines()
            raise RigError(said[-1] if said else f"virtual rig: did not start, it told {ready}")
        self.port, self.interpreter = int(ready["port"]), str(ready["interpreter"])
        return self

    @property
    def url(self) -> str:
        """Return the address a serial library opens."""
        return f"socket://127.0.0.1:{self.port}"

    @property
    def running(self) -> bool:
        """Return whether the rig's process is alive."""
        return self._process is not None and self._process.poll() is None

    def press(self, name: str) -> None:
        """Press a button of the panel; name: start, next, stop, or push, the switch of a knob."""
        self.command({"press": name})

    def form(self, zone: int) -> None:
        """Press the strip of a zone onto the form."""
        self.command({"form": zone})

    def command(self, command: Mapping[str, Any]) -> None:
        """Send one object down the control channel; raises RigError when the rig is gone.

        command: an order of rig_orders.py; one that makes no sense comes back as the event "refused".
        """
        if self._process is None:
            raise RigError("virtual rig: not started, or closed already")
        stdin = cast("IO[bytes]", self._process.stdin)
        try:
            stdin.write(json.dumps(command).encode() + b"\n")
            stdin.flush()
        except OSError as error:
            raise RigError(f"virtual rig: gone, cannot take {command}") from error

    def next_event(self, timeout_s: float = 10.0) -> dict[str, Any] | None:
        """Return the next line the rig tells, None when it ended or told nothing for timeout_s (real)."""
        try:
            line = self._lines.get(timeout=timeout_s)
        except queue.Empty:
            return None
        if line is not None:
            self.events.append(line)
            self.board_pid = int(line.get("board_pid", self.board_pid))
        return line

    def wait_for(self, event: str, timeout_s: float = 20.0) -> dict[str, Any]:
        """Return the next event of that name; raises RigError when the rig ends or tells nothing in time."""
        while (line := self.next_event(timeout_s)) is not None:
            if line.get("event") == event:
                return line
        raise RigError(f"virtual rig: no event {event} within {timeout_s} s; it told {self.events[-5:]}")

    def wait(self, timeout_s: float = 60.0) -> int:
        """Wait for the rig to end by itself and return its exit code; raises subprocess.TimeoutExpired."""
        if self._process is None:
            raise RigError("virtual rig: not started, or closed already")
        code = self._process.wait(timeout_s)
        self.close()
        return code

    def kill(self) -> None:
        """End rig and board at once, as pulling the plug does."""
        if self._process is None:
            return
        while not self._lines.empty():
            self.next_event(0.0)
        self._process.kill()
        if self.board_pid:
            # It ends by itself when its pipe closes; a pulled plug waits for nobody.
            with contextlib.suppress(OSError):
                os.kill(self.board_pid, getattr(signal, "SIGKILL", signal.SIGTERM))
        self.close()

    def close(self) -> None:
        """End the rig in order and free everything; does nothing when it is ended already."""
        process = self._process
        if process is None:
            return
        with contextlib.suppress(RigError):
            self.command({"quit": True})
        pipes = [cast("IO[bytes]", pipe) for pipe in (process.stdin, process.stdout, process.stderr)]
        with contextlib.suppress(OSError):
            pipes[0].close()
        try:
            process.wait(CLOSE_TIMEOUT_S)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        for reader in self._readers:
            reader.join(CLOSE_TIMEOUT_S)
        for pipe in pipes[1:]:
            pipe.close()
        self._process = None
        while not self._lines.empty():
            self.next_event(0.0)

    def __enter__(self) -> Self:
        return self.start()

    def __exit__(self, *exc: object) -> None:
        self.close()

    def _read_lines(self, pipe: IO[bytes]) -> None:
        for line in pipe:
            with contextlib.suppress(ValueError):
                self._lines.put(json.loads(line))
        self._lines.put(None)

    def _read_errors(self, pipe: IO[bytes]) -> None:
        for line in pipe:
            self._errors += line


if __name__ == "__main__":
    sys.exit(main())
