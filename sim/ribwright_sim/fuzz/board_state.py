"""Boards in every mode, and what of a board's state no stray frame may change.

world: a board with its files and service, as modes_check.world has it.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable
from typing import cast

from ribwright_board.core.errors import RefusedError
from ribwright_board.core.modes import HEAT_MODES, MODES
from ribwright_board.core.service import Service
from ribwright_board.core.wire import LineReader
from ribwright_sim.modes_check.rigs import VARIANTS, Files
from ribwright_sim.modes_check.world import World

PROFILES_MOST = 24
# Counters of the service that a damaged line or the passing of time may move.
COUNTERS = ("crc_errors", "heap_low", "_tell_seq")
APART = ("controller", "store", "identity", *COUNTERS)
PLAIN = (dict, str, int, float)
CLOCK = ("unix", "unix_ms")
# Part of the state -> the asks that may change it. An ask that stands nowhere may change the files alone.
MAY_CHANGE = {
    "clock": ("hello",),
    "transfer": ("put_open", "put_piece", "put_close", "ready", "to_prompt"),
    "mode": ("ready", "stop", "pause"),
    "plan": ("ready",),
    "stage": ("ready", "next", "back_off"),
    "targets": ("ready", "next", "back_off"),
    "by hand": ("ready", "next", "back_off", "nudge", "extend"),
    "files": ("put_close", "ready", "pin", "to_prompt"),
    "trip": (),
    "alive": ("stop", "pause", "next", "back_off"),
    "refused": ("ready",),
}
PARTS = tuple(MAY_CHANGE)
NO_ASK = "no ask that was taken"
ALIVE = PARTS.index("alive")
NAMED = {verb for verbs in MAY_CHANGE.values() for verb in verbs} | {"status", "trip", "runs", "get", "mark"}
# (mode before, ask) -> mode after; nothing else of the link changes a mode.
MOVES = {
    ("idle", "ready"): "ready",
    ("ready", "stop"): "idle",
    ("proving", "stop"): "idle",
    ("running", "stop"): "idle",
    ("paused", "stop"): "idle",
    ("running", "pause"): "paused",
}


class Shelf(Files):
    """Files in memory with two runs on them; as many profiles as a board keeps.

    key: first twelve hexadecimal digits of a profile's SHA-256. run: a log's number.
    """

    def __init__(self, profiles: dict[str, bytes]) -> None:
        super().__init__(profiles=dict(profiles))
        self.logs = {1: bytes(range(256)) * 9, 7: b""}
        self.pinned: set[int] = set()
        self.writes = 0

    def put_profile(self, key: str, body: bytes) -> None:
        """Keep a profile as the last that came; the first makes room where need be. body: its bytes."""
        self.writes += 1
        self.profiles.pop(key, None)
        if len(self.profiles) >= PROFILES_MOST:
            del self.profiles[next(iter(self.profiles))]
        super().put_profile(key, body)

    def next_run(self) -> int:
        """The number behind the last log's, as a board counts."""
        return max(self.logs) + 1

    def runs(self) -> list[list[int]]:
        """Runs as [number, bytes, 1 where it is pinned, else 0]."""
        return [[run, len(body), int(run in self.pinned)] for run, body in self.logs.items()]

    def free_bytes(self) -> int:
        """Room on the flash, always the same."""
        return 900_000

    def make_room(self, wanted: int) -> list[int]:
        """There is room enough, so no run is removed; wanted: bytes, passed over."""
        return []

    def pin_run(self, run: int, pinned: bool) -> None:  # noqa: FBT001 - as the board's store
        """Keep a run whatever comes, or not any more.

        pinned: whether it is kept. Raises RefusedError for a run that is not there.
        """
        if run not in self.logs:
            raise RefusedError("no_run", f"the board holds no run {run}")
        self.writes += 1
        (self.pinned.add if pinned else self.pinned.discard)(run)

    def plan_reset(self, trip: dict[str, object] | None) -> None:
        """A planned reset; nothing here resets. trip: the one that stands, passed over."""
        self.writes += 1

    def counters(self) -> dict[str, int]:
        """Nothing has been counted."""
        return {}

    def read_run(self, run: int, at: int, most: int) -> tuple[int, bytes] | None:
        """Size of a log in bytes and a piece of it, None for a run that is not there.

        at: offset in bytes. most: bytes at most.
        """
        return (len(self.logs[run]), self.logs[run][at : at + most]) if run in self.logs else None


def _ready(world: World) -> None:
    world.ask("ready", profile=world.profile_name)
    for _ in range(10):
        world.tick()


def _proving(world: World) -> None:
    _ready(world)
    world.tick(pressed=("start",))
    for _ in range(120):
        world.tick()


def _running(world: World) -> None:
    _proving(world)
    while world.controller.mode == "proving":
        world.tick()
    for _ in range(60):
        world.tick()


def _paused(world: World) -> None:
    _running(world)
    world.ask("pause")
    world.tick()


def _tripped(world: World) -> None:
    _running(world)
    world.controller.guard.shut("too_hot", 0, 171.0, 160.0, "C", world.now_ms)
    world.tick()


WAYS: dict[str, Callable[[World], None]] = {
    "idle": World.tick,
    "ready": _ready,
    "proving": _proving,
    "running": _running,
    "paused": _paused,
    "tripped": _tripped,
}


def warm(mode: str, make: type[Service] = Service) -> bytes:
    """A board in a mode, with its files and service, to be taken up any number of times.

    mode: one of MODES. make: the service under test. Raises RuntimeError when the board does not get there.
    """
    world = World(VARIANTS[0])
    shelf = Shelf(world.files.profiles)
    world.files = shelf
    world.service = make(world.controller, shelf, dict(world.service.identity))  # type: ignore[arg-type]
    WAYS[mode](world)
    if world.controller.mode != mode:
        raise RuntimeError(f"the board is {world.controller.mode}, wanted was {mode}")
    return pickle.dumps(world, pickle.HIGHEST_PROTOCOL)


def warm_all(make: type[Service] = Service) -> dict[str, bytes]:
    """A board in every mode; make: the service under test."""
    return {mode: warm(mode, make) for mode in MODES}


def take_up(frozen: bytes) -> World:
    """A board as warm() left it; frozen: what that gave, in this process."""
    found: World = pickle.loads(frozen)  # noqa: S301 - our own, made in this process
    return found


def _plain(value: object) -> object:
    """A value of the service that can be compared cheaply; what it holds counts by its size."""
    if isinstance(value, dict):
        return tuple([len(v) if isinstance(v, bytearray) else v for v in value.values()])
    return value


def _own(holder: object, *, inside: bool = False) -> list[object]:
    """Plain values of a service, and of what it has handed parts of its work to."""
    found: list[object] = []
    for name, value in vars(holder).items():
        if name in APART or name in CLOCK:
            continue
        if value is None or type(value) in PLAIN:
            found.append(_plain(value))
        elif not inside and not isinstance(value, LineReader) and hasattr(value, "__dict__"):
            found += _own(value, inside=True)
    return found


def fingerprint(world: World) -> tuple[object, ...]:
    """The state by PARTS, cheap enough for every frame."""
    controller, service, files = world.controller, world.service, world.files
    runner = controller.runner
    return (
        (service.unix, service.unix_ms),
        _own(service),
        controller.mode,
        (controller.run, controller.profile, controller.guard.hottest_c, controller.run_start_ms),
        None if runner is None else (runner.index, runner.cue_index, runner.finished),
        None if runner is None else list(runner.targets_c),
        None if runner is None else (runner.by_hand.moved_k(), runner.by_hand.more_ms()),
        (len(files.profiles), getattr(files, "writes", 0)),
        controller.guard.trip,
        controller.alive_due(),
        (controller.refusal, controller.interrupted),
    )


class _Cut(pickle.Pickler):
    """Writes an object without what merely hangs on it: board, service and readers."""

    def persistent_id(self, obj: object) -> str | None:
        """A word in place of what is left out."""
        return type(obj).__name__ if isinstance(obj, (World, Service, LineReader)) else None


def deep(world: World) -> bytes:
    """Everything of controller, files and service but its counters and waiting lines, byte for byte."""
    service = {
        name: value
        for name, value in vars(world.service).items()
        if name not in APART and not isinstance(value, (LineReader, list))
    }
    file = io.BytesIO()
    _Cut(file, pickle.HIGHEST_PROTOCOL).dump((world.controller, vars(world.files), service))
    return file.getvalue()


def forbidden(before: tuple[object, ...], after: tuple[object, ...], verbs: tuple[str, ...]) -> str:
    """What changed that may not, in words, "" for nothing.

    before, after: as fingerprint(). verbs: asks that the bytes between them carry, as read by the oracle.
    """
    for place, part in enumerate(PARTS):
        if before[place] == after[place]:
            continue
        allowed = [
            verb for verb in verbs if verb in MAY_CHANGE[part] or (part == "files" and verb not in NAMED)
        ]
        if not allowed:
            return f"{part} changed by {', '.join(verbs) or NO_ASK}: {before[place]} -> {after[place]}"
    if after[ALIVE] and not before[ALIVE]:
        return f"alive by {', '.join(verbs)}"
    return _moved(str(before[2]), str(after[2]), verbs)


def _moved(before: str, after: str, verbs: tuple[str, ...]) -> str:
    reached = {before}
    for verb in verbs:
        reached |= {MOVES[mode, verb] for mode in reached if (mode, verb) in MOVES}
    if after in reached and not (after in HEAT_MODES and before != after):
        return ""
    return f"mode {before} -> {after} by {', '.join(verbs) or NO_ASK}"


def unsound(world: World) -> str:
    """What is wrong with the run that is laid out, though it was accepted: "" or in words."""
    profile = world.controller.profile
    for place, stage in enumerate(profile.stages if profile else [], 1):
        if stage.kind != "cool" and (not stage.zones or stage.target_c is None or stage.longest_ms is None):
            return f"stage {place} was accepted without zones, target or longest time"
    return ""


def held(value: object, seen: set[int] | None = None) -> int:
    """Bytes of texts and buffers in a service, its controller, files and identity left out.

    value: the service, or anything it holds. seen: ids of what was counted already, None to begin with.
    """
    seen = set() if seen is None else seen
    if id(value) in seen:
        return 0
    seen.add(id(value))
    if isinstance(value, (bytes, bytearray, str)):
        return len(value)
    if isinstance(value, dict):
        return sum(held(item, seen) for pair in value.items() for item in pair)
    if isinstance(value, (list, tuple)) or type(value).__name__ == "deque":
        return sum([held(item, seen) for item in cast("list[object]", value)])
    inner = vars(value) if hasattr(value, "__dict__") and not callable(value) else {}
    return sum(
        held(item, seen) for name, item in inner.items() if name not in ("controller", "store", "identity")
    )
