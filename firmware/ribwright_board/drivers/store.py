"""Files on the board's flash: rig, profiles, counters, run logs. Paths are relative to the flash's root.

What is replaced is written beside the old file, read back and renamed over it, so that a cut of power leaves
the whole old or the whole new one. A run log only grows and is flushed on purpose; old ones make room for new
ones unless they are pinned.
"""

import binascii
import hashlib
import json
import os

from ribwright_board.core import wire
from ribwright_board.core.errors import RefusedError

from .checked import profile_whole, rig_whole
from .files import holds, names, read, replace, size, sweep

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.shapes import BinaryIO, Values

PROFILES = "profiles"
RUNS = "runs"
MAX_PROFILES = 24
# A run's log, and one that must not make room for others.
LOG, PINNED = ".rlg", ".rlk"
# Says which run is under way and how many resets it has seen.
MARK = "mark.json"
COUNTERS = "counters.json"
# There while a planned reset is under way: the trip that stood, or nothing. And what stay.py reads, once.
PLANNED = "planned.json"
STAY = "stay.once"
# Keys of the profiles in the order of their last arrival; a file that is lost costs only that order.
ORDER = "profiles.json"
# Ends the rig's file: a checksum of all that stands before it.
SUM = b',"sum":"'
# The file system's own need: a directory that splits, a block that is copied before it is freed.
SPARE_BYTES = 32768
NO_ROOM = "the board's flash has %d KB free, a run needs %d; read pinned runs back and unpin some"


class Store:
    """The board's files. On a flash that takes nothing more it still says what it holds."""

    def __init__(self) -> None:
        for folder in (PROFILES, RUNS):
            if folder not in os.listdir():
                try:
                    os.mkdir(folder)
                except OSError:
                    continue  # every later write says so itself
        for folder in (PROFILES, ""):
            sweep(folder)
        self._log: BinaryIO | None = None
        self._open = 0
        self.planned = self._take_planned()

    def sha256(self, data: bytes | bytearray) -> str:
        """Hexadecimal SHA-256; data: bytes."""
        return binascii.hexlify(hashlib.sha256(data).digest()).decode()

    def rig(self) -> "tuple[Values, str]":
        """Mapping and hash of the rig this board was flashed with.

        Raises OSError or ValueError when the file is missing, unreadable or damaged.
        """
        with open("rig.json", "rb") as file:
            body = file.read()
        # Not by the hash: that one leaves out gains and what was fitted.
        cut = body.rfind(SUM)
        if cut < 0 or body[cut + len(SUM) : -2] != wire.checksum(body[:cut]):
            raise ValueError("rig.json is damaged; flash the rig again")
        found = json.loads(body)
        return found["rig"], found["hash"]

    def files_whole(self, key: str, rig_hash: str) -> bool:
        """Whether the profile whose hash begins with key, and the rig's file, are whole. Raises OSError."""
        return profile_whole(PROFILES + "/" + key + ".json", key) and rig_whole("rig.json", SUM, rig_hash)

    # Profiles ------------------------------------------------------------------------------

    def get_profile(self, key: str) -> bytes | None:
        """Bytes of a stored profile, or None; key: its hash, letters and digits."""
        if not isinstance(key, str) or not key or not all(letter in "0123456789abcdef" for letter in key):
            return None
        return read(PROFILES + "/" + key + ".json")

    def put_profile(self, key: str, body: bytes | bytearray) -> None:
        """Store a profile atomically; the file appears whole or not at all.

        key: its hash. body: its bytes. Raises OSError when the flash is full or read-only.
        """
        order = [other for other in self.profile_keys() if other != key]
        path = PROFILES + "/" + key + ".json"
        if not (size(path) == len(body) and holds(path, body)):
            replace(path, body)
        while len(order) >= MAX_PROFILES:
            os.remove(PROFILES + "/" + order.pop(0) + ".json")
        replace(ORDER, json.dumps(order + [key]).encode())

    def profile_keys(self) -> list[str]:
        """Keys of all stored profiles, the one that arrived longest ago first."""
        stored = [name[:-5] for name in names(PROFILES) if name.endswith(".json")]
        try:
            known = json.loads(read(ORDER) or b"[]")
        except ValueError:
            known = []
        known = known if isinstance(known, list) else []
        return [key for key in stored if key not in known] + [key for key in known if key in stored]

    # Counters and the mark of a run under way --------------------------------------------------

    def counters(self) -> "Values":
        """What the board has counted in its life; empty when it has not, or its file is damaged."""
        line = read(COUNTERS) or b""
        cut = line.rfind(b" ")
        try:
            if cut < 0 or wire.checksum(line[:cut]) != line[cut + 1 :].strip():
                return {}
            found = json.loads(line[:cut])
        except ValueError:
            return {}
        return found if isinstance(found, dict) else {}

    def put_counters(self, values: "Values") -> None:
        """Replace the counters atomically.

        values: mapping of numbers and lists of numbers. Raises OSError when the flash is full.
        """
        body = json.dumps(values).encode()
        replace(COUNTERS, body + b" " + wire.checksum(body) + b"\n")

    def mark_run(self, run: int, resets: int = 0) -> None:
        """Remember the run that is under way, atomically; 0 when none is.

        run: its number. resets: how often it was cut off. Raises OSError when the flash is full.
        """
        if run == 0:
            self._keep_number()
            if size(MARK) >= 0:
                os.remove(MARK)
            return
        replace(MARK, json.dumps({"run": run, "resets": resets}).encode())

    def _marked(self) -> "tuple[int, int]":
        """What the mark says; 0, 0 for none."""
        try:
            found = json.loads(read(MARK) or b"")
            return int(found["run"]), int(found["resets"])
        except (ValueError, KeyError, TypeError):
            return 0, 0

    def _keep_number(self) -> None:
        """See that the number of the marked run is remembered when its mark is gone."""
        run, _ = self._marked()
        counted = self.counters()
        if run > self._last_number(counted):
            counted["run"] = run
            self.put_counters(counted)

    def _last_number(self, counted: "Values") -> int:
        last = counted.get("run", 0)
        return last if isinstance(last, int) else 0

    def plan_reset(self, trip: "Values | None") -> None:
        """Prepare a reset that counts as none, after which the board stays at its prompt once.

        trip: the one that stands, to stand again afterwards. Raises OSError when the flash is full.
        """
        replace(PLANNED, json.dumps(trip or {}).encode())
        replace(STAY, b"")

    def _take_planned(self) -> "Values | None":
        """The trip to stand again after a planned reset, empty without one; None when it was not planned."""
        body = read(PLANNED)
        if body is None:
            return None
        try:
            os.remove(PLANNED)
            found = json.loads(body)
        except (OSError, ValueError):
            # What cannot be taken away would pardon every later reset.
            return None
        return found if isinstance(found, dict) else None

    def boot_mark(self) -> tuple[int, int]:
        """Run that was under way at the last reset and the resets in it, this one counted unless it was
        planned; 0, 0 for none.
        """
        run, resets = self._marked()
        if run == 0:
            return 0, 0
        if self.planned is not None:
            return run, resets
        resets += 1
        try:
            self.mark_run(run, resets)
        except OSError:
            # A flash that takes nothing more cannot count on, but what it holds is still to be said.
            return run, resets
        return run, resets

    # Run logs ------------------------------------------------------------------------------

    def runs(self) -> list[list[int]]:
        """Stored runs as [number, bytes, 1 for a pinned one else 0], oldest first."""
        logs = [name for name in names(RUNS) if name[-4:] in (LOG, PINNED) and name[:-4].isdigit()]
        return [[int(name[:-4]), size(RUNS + "/" + name), int(name[-4:] == PINNED)] for name in logs]

    def next_run(self) -> int:
        """Number of the next run; none is given twice, even when the log of the last one is gone."""
        runs = self.runs()
        last = max(self._last_number(self.counters()), self._marked()[0])
        return max(last, runs[-1][0] if runs else 0) + 1

    def read_run(self, run: int, at: int, most: int) -> tuple[int, bytes] | None:
        """Size of a run's log and a piece of it, or None when there is no such run.

        run: its number. at: offset in bytes. most: bytes at most.
        """
        path = self._run_path(run)
        length = size(path)
        if length < 0:
            return None
        with open(path, "rb") as file:
            file.seek(at)
            return length, file.read(most)

    def _run_path(self, run: int) -> str:
        path = RUNS + "/%05d" % run
        return path + (PINNED if size(path + PINNED) >= 0 else LOG)

    def pin_run(self, run: int, pinned: bool) -> None:
        """Keep a run whatever comes, or let it make room again.

        run: its number, not of the one under way. pinned: keep it. Raises OSError when the flash is
        read-only, RefusedError when there is no such run or it is being written.
        """
        path = self._run_path(run)
        if size(path) < 0:
            raise RefusedError("no_run", "the board holds no run %s; list them with runs" % run)
        if self._log is not None and run == self._open:
            raise RefusedError("busy", "run %d is being written; pin it when it is over" % run)
        wanted = path[:-4] + (PINNED if pinned else LOG)
        if wanted != path:
            os.rename(path, wanted)

    def free_bytes(self) -> int:
        """Bytes of the flash that are free now."""
        found = os.statvfs("/")
        # The file system counts some blocks twice: on a full flash what is left wraps round below nothing.
        return int(found[1] * found[3]) if found[3] <= found[2] else 0

    def make_room(self, wanted: int) -> list[int]:
        """Remove the oldest runs that are not pinned until so many bytes are free; numbers of those removed.

        wanted: bytes. Raises RefusedError when pinned runs leave too little, OSError when the flash is
        read-only.
        """
        removed: list[int] = []
        busy = 0 if self._log is None else self._open
        left = [run for run in self.runs() if not run[2] and run[0] != busy]
        # Nothing is removed that would not help.
        possible = self.free_bytes() + sum([run[1] for run in left])
        while self.free_bytes() < wanted + SPARE_BYTES:
            if not left or possible < wanted + SPARE_BYTES:
                free_kb, wanted_kb = self.free_bytes() // 1024, (wanted + SPARE_BYTES) // 1024
                raise RefusedError("no_room", NO_ROOM % (free_kb, wanted_kb))
            run = left.pop(0)[0]
            os.remove(self._run_path(run))
            removed.append(run)
        return removed

    def open_run(self, run: int, header: bytes) -> None:
        """Begin a run's log.

        run: its number. header: encoded by core.record. Raises OSError when the flash is full.
        """
        self.close_run()
        self._log = open(RUNS + "/%05d" % run + LOG, "wb")
        self._open = run
        self._log.write(header)
        self._log.flush()

    def append(self, data: bytes | bytearray | memoryview) -> None:
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
