"""Files on the board's flash: rig, profiles, run logs. Paths are relative to the flash's root.

A profile is written beside the old one, read back and renamed over it, so that a cut of power
leaves the whole old or the whole new one. A run log only grows and is flushed on purpose.
"""

import binascii
import hashlib
import json
import os

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.shapes import BinaryIO, Values

PROFILES = "profiles"
RUNS = "runs"
MAX_PROFILES = 24
# Says which run is under way and how many resets it has seen; beside it the next version while written.
MARK = "mark.json"
EXISTS = 17


def _names(folder: str) -> list[str]:
    try:
        return sorted(os.listdir(folder))
    except OSError:
        return []


class Store:
    """The board's files."""

    def __init__(self) -> None:
        for folder in (PROFILES, RUNS):
            if folder not in os.listdir():
                os.mkdir(folder)
        for name in _names(PROFILES):
            if name.endswith(".new"):
                os.remove(PROFILES + "/" + name)
        if MARK + ".new" in os.listdir():
            os.remove(MARK + ".new")
        self._log: BinaryIO | None = None

    def sha256(self, data: bytes) -> str:
        """Hexadecimal SHA-256.

        data: bytes.
        """
        return binascii.hexlify(hashlib.sha256(data).digest()).decode()

    def rig(self) -> "tuple[Values, str]":
        """Mapping and hash of the rig this board was flashed with.

        Raises OSError or ValueError when the file is missing or unreadable.
        """
        with open("rig.json") as file:
            found = json.loads(file.read())
        return found["rig"], found["hash"]

    def get_profile(self, key: str) -> bytes | None:
        """Bytes of a stored profile, or None.

        key: its hash, letters and digits.
        """
        if not isinstance(key, str) or not key or not all(letter in "0123456789abcdef" for letter in key):
            return None
        try:
            with open(PROFILES + "/" + key + ".json", "rb") as file:
                body: bytes = file.read()
        except OSError:
            return None
        return body

    def put_profile(self, key: str, body: bytes) -> None:
        """Store a profile atomically; the file appears whole or not at all.

        key: its hash. body: its bytes. Raises OSError when the flash is full or read-only.
        """
        path = PROFILES + "/" + key + ".json"
        if self.get_profile(key) == body:
            return
        with open(path + ".new", "wb") as file:
            file.write(body)
        with open(path + ".new", "rb") as file:
            if file.read() != body:
                raise OSError(5)
        os.rename(path + ".new", path)
        # Only now, and never the one that came: a cut of power before this costs no profile.
        others = [name for name in _names(PROFILES) if name != key + ".json"]
        if len(others) >= MAX_PROFILES:
            os.remove(PROFILES + "/" + others[0])

    def runs(self) -> list[list[int]]:
        """Stored runs as [number, bytes], oldest first."""
        names = [name for name in _names(RUNS) if name.endswith(".rlg")]
        return [[int(name[:-4]), os.stat(RUNS + "/" + name)[6]] for name in names]

    def next_run(self) -> int:
        """Number of the next run."""
        runs = self.runs()
        return runs[-1][0] + 1 if runs else 1

    def read_run(self, run: int, at: int, most: int) -> tuple[int, bytes] | None:
        """Size of a run's log and a piece of it, or None when there is no such run.

        run: its number. at: offset in bytes. most: bytes at most.
        """
        path = self._run_path(run)
        try:
            size = os.stat(path)[6]
            with open(path, "rb") as file:
                file.seek(at)
                return size, file.read(most)
        except OSError:
            return None

    def _run_path(self, run: int) -> str:
        return RUNS + "/%05d.rlg" % run

    def mark_run(self, run: int, resets: int = 0) -> None:
        """Remember the run that is under way, atomically; 0 when none is.

        run: its number. resets: how often it was cut off. Raises OSError when the flash is full.
        """
        if run == 0:
            if MARK in os.listdir():
                os.remove(MARK)
            return
        with open(MARK + ".new", "w") as file:
            file.write(json.dumps({"run": run, "resets": resets}))
        try:
            os.rename(MARK + ".new", MARK)
        except OSError as error:
            if error.errno != EXISTS:
                raise
            # A computer's file system may not rename over a file; a board's does.
            os.remove(MARK)
            os.rename(MARK + ".new", MARK)

    def boot_mark(self) -> tuple[int, int]:
        """Run that was under way at the last reset and the resets in it, this one counted; 0, 0 for none."""
        try:
            with open(MARK) as file:
                found = json.loads(file.read())
            run, resets = int(found["run"]), int(found["resets"]) + 1
        except (OSError, ValueError, KeyError, TypeError):
            return 0, 0
        try:
            self.mark_run(run, resets)
        except OSError:
            # A flash that takes nothing more cannot count on, but what it holds is still to be said.
            return run, resets
        return run, resets

    def open_run(self, run: int, header: bytes) -> None:
        """Begin a run's log.

        run: its number. header: encoded by core.record. Raises OSError when the flash is full.
        """
        self.close_run()
        self._log = open(self._run_path(run), "wb")
        self._log.write(header)
        self._log.flush()

    def append(self, data: bytes | bytearray) -> None:
        """Write records and commit them; no log open means nothing to do.

        data: whole records. Raises OSError when the flash is full.
        """
        if self._log is not None:
            self._log.write(data)
            self._log.flush()

    def close_run(self) -> None:
        """End the open log, if any."""
        log, self._log = self._log, None
        if log is not None:
            log.close()
