"""A board at its prompt: what it is, what is on its flash, files written and verified. All use of mpremote.

Nothing here soft-resets a board: that would start the firmware again in the middle of the work.
"""

import ast
import contextlib
import io
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from mpremote.transport import TransportError, TransportExecError
from mpremote.transport_serial import SerialTransport

from .errors import LinkLostError, NoBoardError, RefusedByBoardError
from .transport import BAUD, open_port

AGAIN = "run the same command again, it goes on where this one stopped"
BY_HAND = (
    "if the board does not answer then: hold the stop button of the rig while you plug the board in, "
    "and run it again"
)
# Longest silence of the port; a board that erases its flash is silent for some tenths of a second.
SILENCE_S = 2.0
# The longest act, a dozen files hashed or blocks erased for a file, takes a second or two.
ACT_S = 8.0
# A board at its prompt answers at once.
ENTER_S = 1.0
CHUNK_BYTES = 1024
AT_ONCE = 12
NEW = ".new"
NO_SPACE = 28
# As drivers/store.py of the firmware calls it.
PLANNED = "planned.json"

# Names begin with an underscore so that they meet nothing of the board's own.
HELPERS = """
import os, sys, hashlib, binascii
def _hash(path):
    seen, piece = hashlib.sha256(), bytearray(512)
    try:
        with open(path, 'rb') as file:
            while 1:
                count = file.readinto(piece)
                if not count: break
                seen.update(memoryview(piece)[:count])
    except OSError:
        return ''
    return binascii.hexlify(seen.digest()).decode()
def _walk(folder, deep):
    try: found = list(os.ilistdir(folder or '/'))
    except OSError: return
    for entry in found:
        path = folder + '/' + entry[0] if folder else entry[0]
        if not entry[1] & 0x4000: print(repr((path, os.stat(path)[6])))
        elif deep: _walk(path, deep)
def _folder(path):
    try: os.mkdir(path)
    except OSError: pass
def _rename(old, new):
    try: os.rename(old, new)
    except OSError:
        os.stat(old); os.remove(new); os.rename(old, new)
def _remove(path):
    try: os.remove(path)
    except OSError as error:
        if error.errno != 2: raise
def _tidy(folder):
    for entry in list(os.ilistdir(folder)):
        if entry[1] & 0x4000: _tidy(folder + '/' + entry[0])
    try: os.rmdir(folder)
    except OSError: pass
"""
PLAN_RESET = f"""
if not {PLANNED!r} in os.listdir('/'):
    with open({PLANNED!r}, 'w') as _f: _f.write('{{}}')
"""
FACTS = """
_i = sys.implementation
_s = os.statvfs('/')
# On a full flash the file system counts below nothing, which wraps round.
_free = _s[1] * _s[3] if _s[3] <= _s[2] else 0
_m = getattr(_i, '_machine', ''), getattr(_i, '_mpy', 0) & 255
print(repr((_i.name, list(_i.version[:3]), _m[0], _m[1], _free)))
"""


@dataclass(frozen=True)
class Facts:
    """What a board says of itself at the prompt.

    python: name of its interpreter, version its three figures. machine: "board with chip" in the words of
    whoever built its MicroPython. mpy: format of bytecode it takes, 0 for none. free_bytes: of its flash.
    """

    python: str
    version: tuple[int, int, int]
    machine: str
    mpy: int
    free_bytes: int


class _Patient(SerialTransport):  # type: ignore[misc] # mpremote carries no types
    """mpremote's transport, which would wait for ever for a prompt while something else keeps talking."""

    def read_until(
        self,
        min_num_bytes: int,
        ending: bytes,
        timeout: float | None = ACT_S,
        data_consumer: Callable[[bytes], None] | None = None,
        timeout_overall: float | None = ACT_S,
    ) -> bytes:
        """What comes up to an ending, or for as long as an act may take; arguments as SerialTransport's."""
        end_s = time.monotonic() + min(timeout_overall or ACT_S, ACT_S)
        data = b""
        while not data.endswith(ending) and time.monotonic() < end_s:
            byte = bytes(self.serial.read(1))
            if byte and data_consumer:
                data_consumer(byte)
                data = byte
            else:
                data += byte
        return data


class Prompt:
    """A board at its prompt.

    port: as for --port. patience_s: how long it is asked for its prompt, which comes some seconds after a
    reset. Raises NoBoardError when it does not come, PortBusyError, and LinkLostError in any later act.
    """

    def __init__(self, port: str, patience_s: float = 4.0) -> None:
        self.port = port
        self._transport = _enter(port, patience_s)
        self._folders: set[str] = set()
        self._know_helpers()

    def _know_helpers(self) -> None:
        try:
            self._run(HELPERS)
        except BaseException:
            self.close()
            raise

    def facts(self) -> Facts:
        """What the board is."""
        name, version, machine, mpy, free_bytes = ast.literal_eval(self._run(FACTS))
        first, second, third = [int(part) for part in version]
        return Facts(str(name), (first, second, third), str(machine), int(mpy), int(free_bytes))

    def files(self) -> dict[str, int]:
        """Path and size of every file in the root of its flash and anywhere below lib/."""
        lines = self._run("_walk('', 0)\n_walk('lib', 1)").splitlines()
        return dict(ast.literal_eval(line) for line in lines if line.strip())

    def hashes(self, paths: Iterable[str]) -> dict[str, str]:
        """SHA-256 of files in hexadecimal, "" for one that is not there.

        paths: on the board.
        """
        wanted = list(paths)
        found: dict[str, str] = {}
        for at in range(0, len(wanted), AT_ONCE):
            some = wanted[at : at + AT_ONCE]
            said = self._run(f"for _p in {some!r}: print(repr(_hash(_p)))").split()
            found.update(zip(some, [str(ast.literal_eval(word)) for word in said], strict=True))
        return found

    def write(self, path: str, data: bytes, progress: Callable[[int], None]) -> None:
        """Write a file in place; folders above it are made.

        path, data: of the file. progress: called with the bytes of it that are written.
        """
        parts = path.split("/")[:-1]
        for depth in range(1, len(parts) + 1):
            folder = "/".join(parts[:depth])
            if folder not in self._folders:
                self._run(f"_folder({folder!r})")
                self._folders.add(folder)
        with _plainly(self.port):
            self._transport.fs_writefile(
                path, data, CHUNK_BYTES, progress_callback=lambda done, _all: progress(done)
            )
        if not data:
            progress(0)

    def put_in_place(self, path: str) -> None:
        """Rename a file that was written as path.new over path, at one stroke."""
        self._run(f"_rename({path + NEW!r}, {path!r})")

    def remove(self, path: str) -> None:
        """Remove a file; one that is not there is no mistake. path: on the board."""
        self._run(f"_remove({path!r})")

    def tidy(self) -> None:
        """Remove empty folders below lib/."""
        self._run("_tidy('lib')")

    def restart(self) -> None:
        """Reset the board as planned, so that it counts as none; the port is let go."""
        try:
            self._run(PLAN_RESET)
            with _plainly(self.port):
                self._transport.exec_raw_no_follow("import machine\nmachine.reset()")
        finally:
            self.close()

    def close(self) -> None:
        """Let the port go; the board stays at its prompt. Harmless when repeated."""
        # A port that vanished cannot be closed any more.
        with contextlib.suppress(OSError, TypeError):
            self._transport.exit_raw_repl()
        with contextlib.suppress(OSError, TypeError):
            self._transport.close()

    def _run(self, code: str) -> str:
        with _plainly(self.port):
            return bytes(self._transport.exec(code)).decode("utf-8", "replace")


@contextlib.contextmanager
def _plainly(port: str) -> Iterator[None]:
    """Own words for everything that may go wrong between the board and mpremote, which prints some of it."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            yield
    except TransportExecError as error:
        last = (error.error_output.strip().splitlines() or ["nothing"])[-1]
        raise RefusedByBoardError(
            f"the board on {port} could not do it: {last[:100]}", f"{AGAIN}; {BY_HAND}", code="at_prompt"
        ) from None
    except (TransportError, OSError, TypeError, ValueError, SyntaxError) as error:
        if getattr(error, "errno", None) == NO_SPACE:
            raise RefusedByBoardError(
                f"the flash of the board on {port} is full",
                "read runs back and unpin them; ribwright start lets the oldest make room, ribwright stop "
                "ends it before any heat; then run this again",
                code="no_room",
            ) from None
        reason = " ".join(str(error).split())[:100] or type(error).__name__
        raise LinkLostError(
            f"the link to {port} was lost while the board was at its prompt ({reason})",
            f"{AGAIN}; {BY_HAND}",
            where={"port": port},
        ) from None


def _enter(port: str, patience_s: float) -> SerialTransport:
    """An open transport to a board in its raw prompt."""
    deadline = time.monotonic() + patience_s
    while True:
        try:
            # It says what is wrong with a port in our words, and is gone again at once.
            open_port(port).close()
            return _ask_for_prompt(port)
        except NoBoardError:
            # A board's own USB port comes back a second or two after its reset.
            if time.monotonic() >= deadline:
                raise
        time.sleep(0.2)


def _ask_for_prompt(port: str) -> SerialTransport:
    missing = NoBoardError(
        f"no board shows its prompt on {port}",
        "install MicroPython on it, or name another --port; if Ribwright runs on it and does not answer: "
        "hold the stop button of the rig while you plug the board in, and run it again",
        code="no_prompt",
        where={"port": port},
    )
    with contextlib.redirect_stdout(io.StringIO()):
        try:
            transport = _Patient(port, BAUD, timeout=SILENCE_S)
        except (TransportError, OSError, ValueError):
            raise missing from None
        try:
            transport.enter_raw_repl(soft_reset=False, timeout_overall=ENTER_S)
        except (TransportError, OSError, TypeError):
            with contextlib.suppress(OSError, TypeError):
                transport.close()
            raise missing from None
    return transport
