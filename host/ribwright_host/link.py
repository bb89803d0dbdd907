"""Talking with a board: asks with numbers, deadlines and repeats; tells handed on; bulk in pieces."""

import base64
import hashlib
import secrets
import time
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from ribwright_board.core import wire
from ribwright_board.core.errors import WireError

from .answers import check_letters, plain, protocol_error, refusal, whole
from .errors import (
    HostError,
    LinkLostError,
    NoBoardError,
    PortBusyError,
    RefusedByBoardError,
    VersionMismatchError,
)
from .identity import Board
from .transport import Transport

__all__ = ["Board", "Link", "Tell", "get_run", "hello", "list_runs", "put_profile"]

# A board may be silent for a flash erase (up to 0.4 s) before it answers; the answer is under 0.1 s away
# otherwise.
TRY_S = 1.0
TRIES = 4
# Five minutes of rows; older ones are dropped, because the log on the board holds them all.
MAX_TELLS = 300
# A run of a day with four zones is about 4 MB.
MAX_RUN_BYTES = 16 * 1024 * 1024
# Run numbers have five digits on the board.
MAX_RUNS = 100_000
MAX_FLASH_BYTES = 1 << 31
# Number, bytes and pin of each.
RUN_VALUES = 3


@dataclass(frozen=True)
class Tell:
    """Something the board said unasked.

    verb: "row" or "event". data: its values.
    """

    verb: str
    data: dict[str, Any]


class Link:
    """One conversation with one board.

    transport: where its bytes go. on_tell: called with every tell; without it they wait in a bounded queue.
    clock: monotonic seconds. first_seq: first sequence number, by chance unless a test needs one: a number
    left
    over from an earlier conversation must not meet the board's remembered answer.
    """

    def __init__(
        self,
        transport: Transport,
        *,
        on_tell: Callable[[Tell], None] | None = None,
        clock: Callable[[], float] = time.monotonic,
        first_seq: int | None = None,
    ) -> None:
        self.transport = transport
        self.on_tell = on_tell
        self.bad_lines = 0
        self.repeats = 0
        self.answered = False
        self._clock = clock
        self._seq = secrets.randbelow(wire.SEQUENCE_MODULO) if first_seq is None else first_seq
        self._reader = wire.LineReader()
        self._tells: deque[Tell] = deque(maxlen=MAX_TELLS)

    def ask(
        self, verb: str, data: Mapping[str, Any] | None = None, *, try_s: float = TRY_S, tries: int = TRIES
    ) -> dict[str, Any]:
        """Ask one thing and return the answer's values.

        verb, data: the ask. try_s: seconds to wait for the answer before the ask is repeated with the same
        number,
        which the board answers from memory. tries: how often it is sent in all.
        Raises RefusedByBoardError, NoBoardError when nothing ever answered, LinkLostError when something
        once did.
        """
        seq, self._seq = self._seq, (self._seq + 1) % wire.SEQUENCE_MODULO
        line = wire.encode("ask", seq, verb, dict(data or {}))
        try:
            answer = self._exchange(seq, line, try_s, tries)
        except LinkLostError:
            if self.answered or not self.transport.name.startswith("socket://"):
                raise
            # The virtual rig has one cable: a second computer is let in and put out again at once.
            raise PortBusyError(
                f"{self.transport.name} closed the link at once, another program holds it",
                "close it (perhaps another ribwright watch), then try again",
                where={"port": self.transport.name},
            ) from None
        if answer is None:
            raise self._silence(verb, try_s * tries)
        self.answered = True
        if answer.verb != "ok":
            raise refusal(verb, answer.data)
        return answer.data

    def _exchange(self, seq: int, line: bytes, try_s: float, tries: int) -> wire.Message | None:
        """Send a line, again and again, until its answer comes; None when it never does."""
        for attempt in range(tries):
            if attempt:
                self.repeats += 1
            self.transport.write(line)
            deadline = self._clock() + try_s
            while self._clock() < deadline:
                answer = self._answer_to(seq)
                if answer is not None:
                    return answer
        return None

    def listen(self, seconds: float) -> list[Tell]:
        """Tells that came, waiting at most some seconds for the first.

        seconds: longest wait. Raises LinkLostError when the port is gone.
        """
        deadline = self._clock() + seconds
        while not self._tells and self._clock() < deadline:
            self._answer_to(-1)
        found = list(self._tells)
        self._tells.clear()
        return found

    def close(self) -> None:
        """Give the port back."""
        self.transport.close()

    def _answer_to(self, seq: int) -> wire.Message | None:
        """Read once; hand tells on; the answer with that number, if it came."""
        found = None
        for line in self._reader.feed(self.transport.read()):
            try:
                message = wire.decode(line)
                check_letters(line, message.data)
            except (WireError, UnicodeError):
                # A damaged line is as good as a lost one: the ask is repeated, a row comes again in a second.
                self.bad_lines += 1
                continue
            if message.kind == "ans" and message.seq == seq:
                found = message
            elif message.kind == "tell":
                (self.on_tell or self._tells.append)(Tell(message.verb, message.data))
        return found

    def _silence(self, verb: str, waited_s: float) -> HostError:
        name, where = self.transport.name, {"port": self.transport.name}
        if self.answered:
            return LinkLostError(
                f"the link to {name} was lost (no answer to {verb} in {waited_s:.1f} s)",
                "the rig goes on by itself; look at it, then connect again with: ribwright watch",
                where=where,
            )
        heard = f", but {self.bad_lines} lines came that make no sense here" if self.bad_lines else ""
        return NoBoardError(
            f"no board answers on {name} in {waited_s:.1f} s{heard}",
            "check that the board has power and carries Ribwright, or name another --port",
            where=where,
        )


def hello(link: Link, *, try_s: float = TRY_S, tries: int = TRIES, unix: int | None = None) -> Board:
    """Greet a board and learn who it is.

    link: a fresh link. try_s, tries: as Link.ask(). unix: seconds since 1970, None for now.
    Raises VersionMismatchError when it speaks another protocol; else as Link.ask().
    """
    now = int(time.time()) if unix is None else unix
    answer = link.ask("hello", {"v": wire.PROTOCOL, "unix": now}, try_s=try_s, tries=tries)
    if answer.get("v") != wire.PROTOCOL:
        raise protocol_error(answer.get("v"))
    try:
        return Board(
            port=link.transport.name,
            firmware=plain(answer["fw"]),
            board_id=plain(answer["board"]),
            python=plain(answer["python"]),
            rig=plain(answer["rig"]),
            rig_name=plain(answer["rig_name"]),
            zones=[plain(name) for name in answer["zones"]],
            unit="F" if answer["unit"] == "F" else "C",
        )
    except (KeyError, TypeError) as error:
        raise VersionMismatchError(
            f"the board's greeting lacks {error}", "install the same version on both sides"
        ) from None


def put_profile(
    link: Link, data: bytes, progress: Callable[[int, int], None] | None = None
) -> dict[str, Any]:
    """Send a profile; the board checks it whole before it replaces the old one.

    link: to a board of the same version. data: canonical bytes. progress: called with bytes done and in all.
    Raises as Link.ask(). Taken up where an earlier, broken sending of the same bytes stopped.
    """
    sha = hashlib.sha256(data).hexdigest()
    at = _offset(link.ask("put_open", {"kind": "profile", "size": len(data), "sha": sha}), len(data))
    # Twice the pieces needed: a board that never comes to the end must not keep us for ever.
    for _ in range(2 * (len(data) // wire.PIECE_BYTES + 1)):
        if progress:
            progress(at, len(data))
        if at >= len(data):
            break
        piece = base64.b64encode(data[at : at + wire.PIECE_BYTES]).decode("ascii")
        at = _offset(link.ask("put_piece", {"at": at, "data": piece}), len(data))
    return link.ask("put_close")


def _offset(answer: Mapping[str, Any], size: int) -> int:
    return whole(answer.get("at"), 0, size, "the next byte wanted")


@dataclass(frozen=True)
class StoredRun:
    """One run on the board: its number, the bytes of its log, whether it stays when room is needed."""

    number: int
    size_bytes: int
    pinned: bool


def list_runs(link: Link) -> tuple[list[StoredRun], int]:
    """Every run on the board, oldest first, and the bytes that are free.

    link: to a board. Raises as Link.ask(), and RefusedByBoardError for a list that is none.
    """
    runs: list[StoredRun] = []
    while True:
        least = runs[-1].number + 1 if runs else 0
        answer = link.ask("runs", {"from": least})
        page = answer.get("runs")
        for told in page if isinstance(page, list) else [page]:
            number, size, pinned = (
                told if isinstance(told, list) and len(told) == RUN_VALUES else (told, 0, 0)
            )
            # Numbers that do not rise would be asked for without end.
            least = whole(number, least, MAX_RUNS - 1, "the number of a run") + 1
            size = whole(size, 0, MAX_RUN_BYTES, "the size of a run")
            runs.append(StoredRun(least - 1, size, pinned=whole(pinned, 0, 1, "the pin of a run") == 1))
        if not page or not answer.get("more"):
            return runs, whole(answer.get("free"), 0, MAX_FLASH_BYTES, "the bytes that are free")


def get_run(
    link: Link,
    run: int,
    have: bytes = b"",
    progress: Callable[[int, int], None] | None = None,
    limit: int | None = None,
) -> bytes:
    """The bytes of a run's log.

    link: to a board. run: its number. have: bytes already here, to go on from. progress: called with bytes
    done
    and in all. limit: stop after so many bytes. Raises as Link.ask().
    """
    data = bytearray(have)
    while True:
        answer = link.ask("get", {"run": run, "at": len(data)})
        size = whole(answer.get("size"), 0, MAX_RUN_BYTES, "the size of the run")
        whole(answer.get("at"), len(data), len(data), "the place of a piece")
        try:
            piece = base64.b64decode(str(answer.get("data", "?")), validate=True)
        except ValueError:
            raise RefusedByBoardError(
                "a piece of the log is not readable", "fetch it again", code="bad_piece"
            ) from None
        data += piece
        if progress:
            progress(len(data), size)
        if len(data) >= size or not piece or (limit is not None and len(data) >= limit):
            return bytes(data)
