"""Who may look, who may stop, who may steer. Pure rules; time comes in as seconds of a monotonic clock."""

import hashlib
import hmac
import secrets
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass

CODE_DIGITS = 6
# Wrong codes of all together: so many in a minute, then all wait; so many in all, then there is a new code.
WRONG_A_MINUTE = 5
WRONG_A_CODE = 20
MINUTE_S = 60.0
MOST_SEATS = 64
MOST_STREAMS = 32
STREAMS_A_SEAT = 3
# Acts other than stop: a gloved hand may slip, a broken page must not flood the board.
ACTS_IN_10_S = 20
# Whoever steers and is away for so long steers no more.
AWAY_S = 15.0


class NotNowError(Exception):
    """Too many of something in a short time; its text says how long to wait."""


class Bucket:
    """So many in so many seconds.

    most: how many. in_s: the seconds.
    """

    def __init__(self, most: int, in_s: float) -> None:
        self._most = most
        self._in_s = in_s
        self._times: deque[float] = deque()

    def full(self, now_s: float) -> bool:
        """Whether one more is one too many now."""
        while self._times and now_s - self._times[0] >= self._in_s:
            self._times.popleft()
        return len(self._times) >= self._most

    def add(self, now_s: float) -> None:
        """One more."""
        self._times.append(now_s)


@dataclass
class Seat:
    """One browser. name: for people. streams: pages of it that look on. gone_s: when the last one left."""

    name: str
    gone_s: float
    acts: Bucket
    streams: int = 0

    def here(self, now_s: float) -> bool:
        """Whether it looks on, or did a moment ago."""
        return self.streams > 0 or now_s - self.gone_s < AWAY_S


class Door:
    """Lets browsers in. On loopback everybody who asks; on a network those with the code.

    open_to_network: whether the code is asked for. show: told the code, at first and whenever it changes.
    """

    def __init__(self, *, open_to_network: bool, show: Callable[[str], None] = lambda _code: None) -> None:
        self.open_to_network = open_to_network
        self._show = show
        self._seats: OrderedDict[str, Seat] = OrderedDict()
        self._wrong_lately = Bucket(WRONG_A_MINUTE, MINUTE_S)
        self._wrong = 0
        self._named = 0
        self.code = ""
        if open_to_network:
            self._new_code()

    def _new_code(self) -> None:
        self._wrong = 0
        self.code = "".join(secrets.choice("0123456789") for _ in range(CODE_DIGITS))
        self._show(self.code)

    def seat(self, token: str | None) -> Seat | None:
        """The seat of a browser, None for one that is not let in.

        token: from its cookie.
        """
        return self._seats.get(_kept(token)) if token else None

    def admit(self, now_s: float) -> tuple[str, Seat]:
        """A new seat and its token; the seat that has been empty longest gives way.

        Only for a browser at this very computer, or after pair().
        """
        token = secrets.token_urlsafe(32)
        if len(self._seats) >= MOST_SEATS:
            empty = [key for key, seat in self._seats.items() if not seat.here(now_s)]
            del self._seats[empty[0] if empty else next(iter(self._seats))]
        self._named += 1
        seat = Seat(f"screen {self._named}", now_s, Bucket(ACTS_IN_10_S, 10.0))
        self._seats[_kept(token)] = seat
        return token, seat

    def pair(self, code: str, now_s: float) -> tuple[str, Seat] | None:
        """A seat for the right code, None for a wrong one. Raises NotNowError after too many wrong ones.

        code: as typed, spaces allowed. now_s: monotonic time.
        """
        if self._wrong_lately.full(now_s):
            raise NotNowError("too many wrong codes; wait a minute, then read the code at the terminal again")
        given = "".join(code.split()).encode(errors="replace")
        if self.code and hmac.compare_digest(given, self.code.encode()):
            return self.admit(now_s)
        self._wrong_lately.add(now_s)
        self._wrong += 1
        if self._wrong >= WRONG_A_CODE:
            self._new_code()
        return None

    @property
    def streams(self) -> int:
        """How many pages look on."""
        return sum(seat.streams for seat in self._seats.values())


def _kept(token: str) -> str:
    """What is kept of a token: reading our memory does not give it away."""
    return hashlib.sha256(token.encode()).hexdigest()


class Helm:
    """The steering: one seat has it, another may ask for it, and only its holder gives it away.

    holder, asker: seats or None.
    """

    def __init__(self) -> None:
        self.holder: Seat | None = None
        self.asker: Seat | None = None

    def tend(self, now_s: float) -> None:
        """Free what belongs to somebody who has gone.

        now_s: monotonic time.
        """
        if self.holder is not None and not self.holder.here(now_s):
            self.holder, self.asker = self.asker, None
        if self.asker is not None and not self.asker.here(now_s):
            self.asker = None

    def want(self, seat: Seat, now_s: float) -> None:
        """A seat wants to steer: it does at once when nobody else does, else the holder is asked."""
        self.tend(now_s)
        if self.holder is None:
            self.holder = seat
        elif self.holder is not seat:
            self.asker = seat

    def give(self, seat: Seat) -> None:
        """The holder gives it to whoever asked, or lets go of it. From anybody else it does nothing."""
        if self.holder is seat:
            self.holder, self.asker = self.asker, None

    def keep(self, seat: Seat) -> None:
        """The holder keeps it, or the asker no longer wants it."""
        if seat in (self.holder, self.asker):
            self.asker = None

    def told(self, seat: Seat) -> dict[str, str | bool]:
        """How the steering stands, to one seat."""
        return {
            "mine": self.holder is seat,
            "holder": self.holder.name if self.holder else "",
            "asker": self.asker.name if self.asker and self.asker is not seat else "",
            "asked": self.asker is seat,
            "me": seat.name,
        }
