"""The one owner of the board's port: a thread that listens, asks, and connects again by itself.

Nothing waits for a browser here. What the board tells goes into a bounded queue whose oldest lines give way,
and a stop goes before everything else, even before the answer that is being waited for.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Any, cast

from ribwright_host.errors import HostError, LinkLostError
from ribwright_host.identity import Board
from ribwright_host.link import Link, Tell
from ribwright_host.transport import Transport

from .catching_up import CatchUp

Connect = Callable[[], AbstractContextManager[tuple[Link, Board]]]

LISTEN_S = 0.05
SILENT_S = 3.0
AGAIN_S = 1.0
# The board may be silent for a flash erase of 0.4 s before it answers.
TRY_S, TRIES = 0.7, 3
# A stop that finds no link is sent as soon as there is one, for so long.
STOP_KEEP_S = 10.0
MOST_WAITING = 600
MOST_JOBS = 16
# Events after which a status knows more than the rows.
ASK_AFTER = ("trip", "refused", "acknowledged", "proving", "stop", "done")


class StopFirstError(Exception):
    """Raised out of an ask that waits, because a stop has come."""


@dataclass
class Heard:
    """One thing the thread passes on. kind: board, lost, status, row, event, head or log. data: what came."""

    kind: str
    data: Any
    at_s: float


@dataclass
class Job:
    """An ask that waits for its turn. until_s: a stop is kept so long when there is no link."""

    verb: str
    values: dict[str, Any]
    until_s: float
    answer: "Future[dict[str, Any]]" = field(default_factory=Future)

    def __post_init__(self) -> None:
        # Whoever waits may give up; the thread still answers, and must not meet a future that is cancelled.
        self.answer.set_running_or_notify_cancel()


class _Hurried:
    """A transport whose reads end at once when a stop waits, unless it is the stop that is being asked."""

    def __init__(self, inner: Transport, urgent: Callable[[], bool]) -> None:
        self.name = inner.name
        self.write = inner.write
        self.close = inner.close
        self._inner = inner
        self._urgent = urgent

    def read(self) -> bytes:
        """The next bytes. Raises StopFirstError, LinkLostError."""
        if self._urgent():
            raise StopFirstError
        return self._inner.read()


class Cable:
    """The link to one board, kept up by a thread of its own from start() until end().

    connect: a fresh link and who answered. wake: called from this thread whenever something was heard.
    """

    def __init__(self, connect: Connect, wake: Callable[[], None] = lambda: None) -> None:
        self._thread = threading.Thread(target=self._run, name="cable", daemon=True)
        self.wake = wake
        self.first: Future[Board] = Future()
        self._connect = connect
        self._heard: deque[Heard] = deque(maxlen=MOST_WAITING)
        self._jobs: deque[Job] = deque()
        self._stops: deque[Job] = deque()
        self._lock = threading.Lock()
        self._ended = threading.Event()
        self._stopping = False
        self._status_due = False
        self._catch: CatchUp | None = None
        self._last_s = 0.0

    # From other threads ----------------------------------------------------------------------

    def start(self) -> None:
        """Connect; `first` tells who answered, or why nobody did."""
        self._thread.start()

    def heard(self) -> list[Heard]:
        """All that came since this was last called, in order."""
        found = []
        while self._heard:
            found.append(self._heard.popleft())
        return found

    def ask(self, verb: str, values: dict[str, Any]) -> "Future[dict[str, Any]]":
        """Ask the board something; a stop goes first, and stops that wait share one answer.

        verb, values: checked. The future ends with the answer's values or with a HostError.
        """
        job = Job(verb, values, time.monotonic() + STOP_KEEP_S)
        with self._lock:
            if verb == "stop":
                if self._stops:
                    return self._stops[0].answer
                self._stops.append(job)
            elif len(self._jobs) < MOST_JOBS:
                self._jobs.append(job)
            else:
                job.answer.set_exception(
                    LinkLostError(f"{MOST_JOBS} asks wait already for the board", "wait, or stop at the rig")
                )
        return job.answer

    def catch_up(self, run: int) -> None:
        """Read a run's log, when nothing else is to be done; does nothing while it is being read.

        run: its number.
        """
        if self._catch is None or self._catch.run != run:
            self._catch = CatchUp(run)

    def end(self) -> None:
        """Let go of the port; the rig goes on by itself."""
        self._ended.set()
        if self._thread.is_alive():
            self._thread.join(10.0)

    # The thread ------------------------------------------------------------------------------

    def _run(self) -> None:
        """Connect, talk, and connect again."""
        while not self._ended.is_set():
            try:
                with self._connect() as (link, board):
                    # The link has no other use for its transport than these three calls.
                    link.transport = cast("Transport", _Hurried(link.transport, self._urgent))
                    link.on_tell = self._on_tell
                    self._pass_on("board", board)
                    if not self.first.done():
                        self.first.set_result(board)
                    self._talk(link)
            except HostError as error:
                if not self.first.done():
                    self.first.set_exception(error)
                    break
                self._pass_on("lost", f"{error.seen[:1].upper()}{error.seen[1:]}.")
            except Exception as error:  # noqa: BLE001 - this thread is the only way to a stop: it goes on
                if not self.first.done():
                    self.first.set_exception(error)
                    break
                self._pass_on("lost", f"The board says what makes no sense ({type(error).__name__}).")
            self._give_up_jobs()
            self._ended.wait(AGAIN_S)
        self._give_up_jobs(all_of_them=True)

    def _pass_on(self, kind: str, data: object) -> None:
        self._heard.append(Heard(kind, data, time.monotonic()))
        self.wake()

    def _on_tell(self, tell: Tell) -> None:
        self._last_s = time.monotonic()
        if tell.verb == "event" and tell.data.get("code") in ASK_AFTER:
            self._status_due = True
        self._pass_on(tell.verb, tell.data)

    def _urgent(self) -> bool:
        return bool(self._stops) and not self._stopping

    def _talk(self, link: Link) -> None:
        self._status_due = True
        while not self._ended.is_set():
            try:
                self._turn(link)
            except StopFirstError:
                continue

    def _turn(self, link: Link) -> None:
        """One thing: a stop, an ask, a status that is due, a piece of a log, else listening."""
        if self._stops:
            self._send_stop(link)
        elif self._jobs:
            self._carry_out(link, self._jobs[0])
        elif self._status_due or time.monotonic() - self._last_s > SILENT_S:
            self._status(link)
        elif self._catch is not None:
            self._read_log(link, self._catch)
        else:
            link.listen(LISTEN_S)

    def _send_stop(self, link: Link) -> None:
        # What was touched before it means nothing behind it.
        while self._jobs:
            self._drop(self._jobs[0], "a stop came first, so this was not sent")
        self._stopping = True
        try:
            answer = link.ask("stop", {}, try_s=TRY_S, tries=TRIES)
        except LinkLostError:
            # The job stays: it is sent again once there is a link.
            raise
        except HostError as error:
            self._stops.popleft().answer.set_exception(error)
        else:
            self._stops.popleft().answer.set_result(answer)
            self._status_due = True
        finally:
            self._stopping = False

    def _carry_out(self, link: Link, job: Job) -> None:
        try:
            answer = link.ask(job.verb, job.values, try_s=TRY_S, tries=TRIES)
        except StopFirstError:
            self._drop(job, "a stop came first; whether this was done shows on the page")
            raise
        except LinkLostError as error:
            self._drop(job, error.seen)
            raise
        except HostError as error:
            self._jobs.popleft()
            job.answer.set_exception(error)
        else:
            self._jobs.popleft()
            job.answer.set_result(answer)
            self._status_due = True

    def _drop(self, job: Job, why: str) -> None:
        self._jobs.remove(job)
        job.answer.set_exception(LinkLostError(f"not confirmed: {why}", "look at the rig, then ask again"))

    def _status(self, link: Link) -> None:
        status = link.ask("status", try_s=TRY_S, tries=TRIES)
        if status.get("trip"):
            status["trip"]["text"] = link.ask("trip", try_s=TRY_S, tries=TRIES).get("text")
        self._status_due = False
        self._last_s = time.monotonic()
        self._pass_on("status", status)

    def _read_log(self, link: Link, catch: CatchUp) -> None:
        """One piece of a run's log; a run without one yet, or one that cannot be read, tells nothing."""
        try:
            found, ended = catch.piece(link)
        except LinkLostError:
            self._catch = None
            raise
        except HostError:
            found, ended = [], True
        if ended:
            self._catch = None
        for kind, data in found:
            self._pass_on(kind, data)
        link.listen(LISTEN_S)

    def _give_up_jobs(self, *, all_of_them: bool = False) -> None:
        """Answer what waits: there is no link. A stop is kept until its time is over."""
        now_s = time.monotonic()
        while self._jobs:
            self._drop(self._jobs[0], "there is no link to the board")
        while self._stops and (all_of_them or self._stops[0].until_s <= now_s):
            self._stops.popleft().answer.set_exception(
                LinkLostError("STOP is not confirmed: there is no link to the board", "press stop AT THE RIG")
            )
