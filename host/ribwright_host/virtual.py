"""The virtual rig from the host's side: its files, its start, and the one shared by the commands of a user.

The rig itself is `ribwright_sim.virtual_rig`: the shipped firmware against a thermal simulation.
"""

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

from platformdirs import user_data_path, user_state_path

from ribwright_sim.interpreter import COLLECT_EVERY, NAPS, RigError, choose
from ribwright_sim.virtual_rig import VirtualRig

from .errors import HostError, LinkLostError, NoBoardError, VirtualRigError
from .link import Board, Link, hello
from .payload import board_files
from .profiles import load_profile
from .rigs import RigFile, load_rig
from .transport import open_port

EXAMPLE_RIG = "rig_two_zone_120v.toml"
EXAMPLE_PROFILE = "sapele_baritone_side.toml"
# A shared rig ends by itself so long after the last command, when no run is on, five times as late in one.
LINGER_S = 60.0
# Its person takes a side off so long after a run that is done, and has the next strip in the stack so much
# later (common practice, no source).
OFF_AFTER_S, OPEN_S = 60, 240
SAID = "said.txt"
START_S = 60.0
# A start that takes longer has been broken off; its lock is void.
LOCK_S = 2 * START_S


def example_rig() -> RigFile:
    """The shipped two-zone rig."""
    with as_file(files("ribwright_host") / "library" / EXAMPLE_RIG) as path:
        return load_rig(path)


def example_piece() -> dict[str, Any]:
    """The piece of the shipped profile."""
    with as_file(files("ribwright_host") / "library" / EXAMPLE_PROFILE) as path:
        return dict(load_profile(path).mapping["piece"])


def write_payload(rig: Mapping[str, Any], folder: Path, *, source: bool = False) -> Path:
    """Write the files a board carries into a folder, nothing else in it; the folder.

    rig: checked values of a rig file. folder: made new. source: as board_files().
    """
    if folder.exists():
        shutil.rmtree(folder)
    for name, data in board_files(rig, source=source).items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder


def scenario(
    rig: Mapping[str, Any], piece: Mapping[str, Any], folder: Path, settings: Mapping[str, Any]
) -> dict[str, Any]:
    """What the virtual rig is asked to be, its payload written.

    rig, piece: checked values. folder: for the payload and the flash image. settings: any further keys of
    `ribwright_sim.rig_scenario.Scenario`.
    """
    # An interpreter that is not there is refused by the rig itself.
    wanted = str(settings.get("interpreter", "auto"))
    source = choose() == "cpython" if wanted == "auto" else wanted != "micropython"
    payload = write_payload(rig, folder / "payload", source=source)
    return {
        "image": str(folder / "flash"),
        "files": str(payload),
        "rig": dict(rig),
        "piece": dict(piece),
        "collect_every": COLLECT_EVERY,
        "naps": NAPS,
        "awake": True,
        **settings,
    }


@contextmanager
def running(
    rig: Mapping[str, Any], piece: Mapping[str, Any], folder: Path, **settings: object
) -> Iterator[VirtualRig]:
    """A virtual rig of one's own, ended at the end.

    rig, piece: checked values. folder: for the payload and the flash image; a flash that is there goes on.
    settings: as scenario(). Raises VirtualRigError.
    """
    rig_process = VirtualRig(scenario(rig, piece, folder, settings))
    try:
        rig_process.start()
    except (RigError, OSError) as error:
        raise _start_error(str(error)) from None
    try:
        yield rig_process
    finally:
        rig_process.close()


def _start_error(said: str) -> VirtualRigError:
    seen, _, hint = said.partition("; ")
    return VirtualRigError(
        f"the virtual rig did not start: {seen[:300] or 'it said nothing'}",
        hint or "install Ribwright again, or name a real --port",
    )


def shared_board(rig: RigFile | None = None, piece: Mapping[str, Any] | None = None) -> tuple[Link, Board]:
    """The virtual rig that the commands of this user share, greeted; started when it does not run.

    It has a scripted person beside it who presses the buttons, it keeps its flash between starts, and it
    ends by
    itself LINGER_S after the last command when no run is on, five times as late in one.
    rig: a checked rig file, None for the one that runs, else the shipped one. piece: what lies in it, None
    for the
    shipped profile's; a rig that runs keeps its own.
    Raises VirtualRigError, PortBusyError when another command holds it.
    """
    state = user_state_path("ribwright", appauthor=False, ensure_exists=True)
    known = [state / f"virtual-{rig.hash}.json"] if rig else sorted(state.glob("virtual-*.json"), key=_age)
    for path in known:
        found = _greet(path, None if rig is None else rig.hash)
        if found:
            return found
    rig = rig or example_rig()
    path = state / f"virtual-{rig.hash}.json"
    with _only_one(path.with_suffix(".lock")):
        # Another command may have started it while this one waited.
        found = _greet(path, rig.hash)
        if found:
            return found
        port = _start_detached(rig, piece or example_piece(), path)
        try:
            return _first_greeting(port)
        except (NoBoardError, LinkLostError):
            raise _start_error(_last_words(_folder(rig) / SAID)) from None


def _first_greeting(port: int) -> tuple[Link, Board]:
    link = Link(open_port(f"socket://127.0.0.1:{port}"))
    try:
        return link, hello(link)
    except HostError:
        link.close()
        raise


def _last_words(said: Path) -> str:
    """Why a rig ended that was up for a moment, as it told itself."""
    try:
        last = json.loads(said.read_text(encoding="utf-8").strip().splitlines()[-1])
    except (OSError, ValueError, IndexError):
        return "it told nothing"
    return str(last.get("why") or last) if isinstance(last, dict) else str(last)


def _folder(rig: RigFile) -> Path:
    """Where a shared rig keeps its flash."""
    return user_data_path("ribwright", appauthor=False) / "virtual" / rig.hash


def _age(path: Path) -> float:
    """Seconds since a state file was written, 0 when it has just gone."""
    try:
        return time.time() - path.stat().st_mtime
    except OSError:
        return 0.0


def _greet(path: Path, rig_hash: str | None) -> tuple[Link, Board] | None:
    """The rig a state file speaks of, when it still runs and is the right one."""
    try:
        port = int(json.loads(path.read_text(encoding="utf-8"))["port"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    try:
        link = Link(open_port(f"socket://127.0.0.1:{port}"))
    except NoBoardError:
        path.unlink(missing_ok=True)
        return None
    try:
        board = hello(link)
    except (NoBoardError, LinkLostError):
        link.close()
        return None
    except HostError:
        link.close()
        raise
    # Its port number may have gone to something else since.
    if board.simulated and rig_hash in (None, board.rig):
        return link, board
    link.close()
    return None


@contextmanager
def _only_one(lock: Path) -> Iterator[None]:
    """Let one command at a time start a rig: two on one flash image would spoil it."""
    deadline = time.monotonic() + START_S
    while True:
        try:
            os.close(os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            if _age(lock) > LOCK_S:
                lock.unlink(missing_ok=True)
            elif time.monotonic() > deadline:
                raise _start_error(f"another command is starting it (lock file {lock})") from None
            time.sleep(0.1)
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _start_detached(rig: RigFile, piece: Mapping[str, Any], state: Path) -> int:
    """Start a rig that outlives this command, note where it is; its port."""
    folder = _folder(rig)
    settings = {"maker": {"off_after_s": OFF_AFTER_S, "open_s": OPEN_S}, "linger_s": LINGER_S}
    try:
        asked = scenario(rig.mapping, piece, folder, settings)
        asked_path, said, errors = folder / "scenario.json", folder / SAID, folder / "errors.txt"
        asked_path.write_text(json.dumps(asked), encoding="utf-8")
        with said.open("wb") as out, errors.open("wb") as err:
            process = subprocess.Popen(
                [sys.executable, "-m", "ribwright_sim.virtual_rig", str(asked_path)],
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=err,
                **_detached(),
            )
        port = _wait_ready(process, said, errors)
        state.write_text(json.dumps({"port": port, "pid": process.pid, "rig": rig.hash}), encoding="utf-8")
    except OSError as error:
        raise _start_error(f"{error.filename}: {error.strerror}") from None
    # It is meant to go on without us; Popen would warn about a child left behind.
    process.returncode = 0
    return port


def _detached() -> dict[str, Any]:
    """How a process is started that outlives this one and does not get its Ctrl-C."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.DETACHED_PROCESS | subprocess.CREATE_NEW_PROCESS_GROUP}
    return {"start_new_session": True}


def _wait_ready(process: "subprocess.Popen[bytes]", said: Path, errors: Path) -> int:
    """Wait for the rig's first line; the port in it."""
    deadline = time.monotonic() + START_S
    while time.monotonic() < deadline:
        first, newline, _ = said.read_bytes().partition(b"\n")
        if newline:
            ready = json.loads(first)
            if "port" in ready:
                return int(ready["port"])
            # The board's program ended before it was up; what it said is in the rig's own words.
            process.wait(START_S)
            raise _start_error(_last_words(said))
        if process.poll() is not None:
            break
        time.sleep(0.05)
    else:
        process.kill()
        process.wait()
    lines = errors.read_text(encoding="utf-8", errors="replace").strip().splitlines()
    raise _start_error(lines[-1] if lines else f"not ready within {START_S:.0f} s")
