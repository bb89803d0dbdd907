"""Frames into a real link of the computer, and logs into its reader: only announced errors may come out.

side: the computer's, as host(). tally: where everything is counted.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from random import Random
from typing import Any

from . import logs
from .host_peer import Clock, LyingPeer, PeerTalk
from .oracle import LINE_BYTES
from .tally import Tally

# The computer's own modules: named here, so that this room need not know that one.
LINK, ERRORS, RUNLOG = "ribwright_host.link", "ribwright_host.errors", "ribwright_host.runlog"
PROFILE = bytes(range(256)) * 4
VERBS = ("status", "trip", "stop", "ready", "next")
LOGS_EVERY = 6
# A call that never comes to an end is a finding as well: no call needs so many asks.
ASKS_MOST = 20_000
RUNS_MOST = 100_000


class EndlessError(Exception):
    """A call went on asking for ever."""


class _Bounded(LyingPeer):
    def write(self, data: bytes) -> None:
        """An ask of the computer, counted."""
        if self.asks >= ASKS_MOST:
            raise EndlessError(f"{self.asks} asks in one call")
        super().write(data)


@dataclass(frozen=True)
class Host:
    """The computer's side under test: its modules link, errors and runlog, or what a test puts there."""

    link: Any
    errors: Any
    runlog: Any


def host() -> Host:
    """The computer's side as it is installed; raises ImportError where it is not."""
    return Host(*(import_module(name) for name in (LINK, ERRORS, RUNLOG)))


@dataclass(frozen=True)
class _Caller:
    """Calls of a link as a command makes them; each looks at what it got.

    side: the computer's side. link: its link. chance: draws arguments.
    """

    side: Host
    link: Any
    chance: Random

    def ask(self) -> None:
        answer = self.link.ask(self.chance.choice(VERBS), {"a": 1})
        if not isinstance(answer, dict):
            raise TypeError("the answer is no mapping")

    def listen(self) -> None:
        for tell in self.link.listen(2.0):
            if not isinstance(tell.data, dict):
                raise TypeError("the tell is no mapping")

    def hello(self) -> None:
        board = self.side.link.hello(self.link, unix=1_790_000_000)
        "".join([board.title(), *board.zones]).encode()

    def list_runs(self) -> None:
        runs, free = self.side.link.list_runs(self.link)
        numbers = [free] + [number for run in runs for number in (run.number, run.size_bytes)]
        if len(runs) > RUNS_MOST or any(type(number) is not int for number in numbers):
            raise TypeError(f"the runs are no pairs of numbers, or {len(runs)}")

    def put_profile(self) -> None:
        seen: list[int] = []
        body = PROFILE[: self.chance.choice((1, 240, 1024))]
        self.side.link.put_profile(self.link, body, lambda at, _size: seen.append(at))

    def get_run(self) -> None:
        have = b"" if self.chance.random() < 0.7 else PROFILE[:60]
        limit = self.chance.choice((None, 100))
        body = self.side.link.get_run(self.link, 3, have, lambda at, size: (int(at), int(size)), limit)
        if len(body) > self.side.link.MAX_RUN_BYTES + LINE_BYTES:
            raise ValueError(f"{len(body)} bytes of a run")


CALLS = ("ask", "listen", "hello", "list_runs", "put_profile", "get_run")


def _told(error: Any) -> None:  # noqa: ANN401
    """An announced error must also be fit to be shown."""
    error.line().encode()
    json.dumps(error.as_json()).encode()


def call(side: Host, name: str, link: Any, chance: Random, tally: Tally, sent: Callable[[], object]) -> None:  # noqa: ANN401
    """One call, and what came out of it.

    name: one of CALLS. link: of the side, with what answers it behind. chance: draws the call's arguments.
    sent: gives the frames it was answered with.
    """
    try:
        try:
            getattr(_Caller(side, link, chance), name)()
            tally.answers["ok"] += 1
        except side.errors.HostError as error:
            tally.answers[type(error).__name__] += 1
            _told(error)
    except Exception as error:  # noqa: BLE001 - any at all is a finding
        tally.escape(error, name, sent())
    kept, part = len(link._tells), len(link._reader._part)  # noqa: SLF001 - its two buffers
    tally.bytes_most = max(tally.bytes_most, part)
    tally.hold(part, LINE_BYTES, name, "bytes of a line")
    tally.hold(kept, side.link.MAX_TELLS, name, "tells that wait")


def read(side: Host, log: bytes, tally: Tally, kind: str = "log") -> None:
    """One log through the reader and everything a run says of itself; nothing may be raised.

    log: its bytes. kind: of log, under which a finding is kept.
    """
    try:
        run = side.runlog.read_log(log, {"waist": 240.0}, 1_790_000_000)
        run.stages()
        run.spans()
        said = (run.profile_name, run.simulated, run.started_unix, run.wood_bands_k, run.word("fw"))
        str((said, run.rows, run.events, run.problems)).encode("utf-8", "backslashreplace")
    except Exception as error:  # noqa: BLE001 - any at all is a finding
        tally.escape(error, kind, log)


def play(seed: str, count: int, side: Host | None = None, only: tuple[str, ...] | None = None) -> Tally:
    """So many frames and logs into the computer's side.

    seed: of everything. count: how many at least, for the last call is not cut short. side: None for host().
    only: kinds of frames, None for the mix and logs.
    """
    side = side or host()
    tally, chance = Tally(), Random(f"calls {seed}")  # noqa: S311 - calls that can be made again, no secret
    peer = _Bounded(seed, PeerTalk(), only)
    place = 0
    while peer.sent.total() + tally.total < count:
        place += 1
        if only is None and place % LOGS_EVERY == 0:
            kind, log = logs.draw(chance)
            tally.frames[kind] += 1
            read(side, log, tally, kind)
            continue
        name = chance.choice(CALLS)
        peer.asks, peer.lately = 0, []
        # Mostly a link that has been in use: what lies in its reader is part of the play.
        if place % 7 == 1:
            link = side.link.Link(peer, clock=Clock(), first_seq=chance.randrange(65536))
        before = peer.sent.total()
        call(side, name, link, chance, tally, lambda: peer.lately[-6:])
        tally.modes[name] += peer.sent.total() - before
    tally.frames += Counter(peer.sent)
    return tally
