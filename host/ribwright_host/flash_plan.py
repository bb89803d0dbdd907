"""What flashing changes on a board, in which order, so that a cut at any point leaves a board that stays off.

The order: files beside the old ones, verified; the manifest goes; each is renamed over its old one; what no
longer belongs goes, earlier where room is scarce; the new manifest comes last. Before the manifest goes, the
old firmware is whole. From then on until the new one is there, the board finds no manifest and stays at its
prompt.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Protocol

from .errors import LinkLostError
from .payload import MANIFEST
from .prompt import AGAIN, BY_HAND, NEW

# The file system's own: blocks of a file, and what a directory may take while it splits.
BLOCK_BYTES = 4096
SPARE_BYTES = 32768


class Place(Protocol):
    """Where files are put: a board at its prompt.

    path, paths: from the root of its flash, such as main.py, or below lib/.
    """

    def hashes(self, paths: list[str]) -> dict[str, str]:
        """SHA-256 of files in hexadecimal, "" for one that is not there."""
        ...

    def write(self, path: str, data: bytes, progress: Callable[[int], None]) -> None:
        """Write a file.

        data: all of it. progress: called with the bytes of this file that are written so far.
        """
        ...

    def put_in_place(self, path: str) -> None:
        """Rename path.new to path."""
        ...

    def remove(self, path: str) -> None:
        """Remove a file, if it is there."""
        ...

    def tidy(self) -> None:
        """Remove empty folders."""
        ...


@dataclass(frozen=True)
class Plan:
    """What is to be done.

    wanted: path and content of every file, the manifest last. changed: paths to write, in the order of
    wanted, without the manifest. stale: paths below lib/ that no longer belong. left: half-written files of
    an earlier flashing. manifest: whether it is missing or another. groups: changed, in portions that fit on
    the flash beside the old files.
    """

    wanted: Mapping[str, bytes]
    changed: list[str]
    stale: list[str]
    left: list[str]
    manifest: bool
    groups: list[list[str]] = field(default_factory=list)

    @property
    def nothing(self) -> bool:
        """Whether the board is already as it should be."""
        return not (self.changed or self.stale or self.manifest)

    @property
    def bytes_to_write(self) -> int:
        """Bytes of all files to write."""
        return sum(len(self.wanted[path]) for path in self.changed) + len(self.wanted[MANIFEST])


def _blocks(data: bytes) -> int:
    return -(-len(data) // BLOCK_BYTES) * BLOCK_BYTES


def make_plan(
    wanted: Mapping[str, bytes], there: Mapping[str, int], hashes: Mapping[str, str], free_bytes: int
) -> Plan:
    """Compare what a board should hold with what it holds.

    wanted: as payload.board_files(). there: path and size of what is in its root and below lib/. hashes:
    SHA-256 of those of them whose size is right. free_bytes: of its flash.
    """
    differs = [path for path, data in wanted.items() if hashes.get(path) != sha256(data).hexdigest()]
    changed = [path for path in differs if path != MANIFEST]
    left = sorted(path for path in there if path.endswith(NEW) and path.removesuffix(NEW) in wanted)
    stale = sorted(
        path for path in there if path.startswith("lib/") and path not in wanted and path not in left
    )
    room = free_bytes + sum(-(-there[path] // BLOCK_BYTES) * BLOCK_BYTES for path in left)
    together = sum(_blocks(wanted[path]) for path in changed) + SPARE_BYTES <= room
    groups = [changed] if together else [[path] for path in changed]
    return Plan(wanted, changed, stale, left, MANIFEST in differs, [group for group in groups if group])


def to_hash(wanted: Mapping[str, bytes], there: Mapping[str, int]) -> list[str]:
    """Paths that may be the same already: the others need no hashing.

    wanted, there: as make_plan().
    """
    return [path for path, data in wanted.items() if there.get(path) == len(data)]


def carry_out(place: Place, plan: Plan, progress: Callable[[int, int], None]) -> None:
    """Do what the plan says.

    place: the board. plan: what to do. progress: called with bytes written and in all.
    Raises LinkLostError with code not_verified when a file arrived changed, and whatever the board's prompt
    raises; the board can be flashed again after any of them.
    """
    for path in plan.left:
        place.remove(path)
    if plan.nothing:
        return
    done, whole = [0], plan.bytes_to_write

    def put(paths: list[str]) -> None:
        for path in paths:
            place.write(path + NEW, plan.wanted[path], lambda part: progress(done[0] + part, whole))
            done[0] += len(plan.wanted[path])
        _verify(place, {path + NEW: plan.wanted[path] for path in paths})

    for count, group in enumerate(plan.groups):
        put(group)
        if count == 0:
            place.remove(MANIFEST)
        if count == 0 and len(plan.groups) > 1:
            # Where room is scarce, what nobody starts any more makes some.
            _drop(place, plan.stale)
        for path in group:
            place.put_in_place(path)
    if not plan.groups:
        place.remove(MANIFEST)
    if len(plan.groups) <= 1:
        _drop(place, plan.stale)
    put([MANIFEST])
    place.put_in_place(MANIFEST)


def _drop(place: Place, stale: list[str]) -> None:
    for path in stale:
        place.remove(path)
    if stale:
        place.tidy()


def _verify(place: Place, written: Mapping[str, bytes]) -> None:
    found = place.hashes(list(written))
    for path, data in written.items():
        if found.get(path) != sha256(data).hexdigest():
            raise LinkLostError(
                f"{path} arrived on the board changed; it was not put in place",
                f"{AGAIN}; {BY_HAND}",
                code="not_verified",
                where={"path": path},
            )
