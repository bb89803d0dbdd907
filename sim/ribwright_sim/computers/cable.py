"""A serial cable with a computer at its end that does everything wrong, in virtual time."""

from __future__ import annotations

from random import Random

from ribwright_board.core import wire
from ribwright_sim.campaign.board_cable import ShortCable
from ribwright_sim.lockstep import DRAINING
from ribwright_sim.serial_link import FIFO_BYTES, PACKET_BYTES

SECOND_US = 1_000_000
# How each computer behaves; each has its turn for so long, again and again.
TURN_US = 45 * SECOND_US
KINDS = (
    "well behaved",
    "unplugged",
    "frozen",
    "floods with noise",
    "floods with asks",
    "reconnects each second",
    "reads a packet a second",
    "asks and freezes",
)
FLOOD_BYTES_PER_US = 1.0  # 1 MB/s
NOISE_BYTES = 1 << 16
ASK_EVERY_US = SECOND_US
AWAY_US = SECOND_US // 5
# An "asks and freezes" reads for this long of every second.
AWAKE_US = SECOND_US // 4


class RoughCable(ShortCable):
    """The cable of a campaign until `begin`, from then on one with computers of all KINDS in turn.

    seed: of the noise. kinds: which take turns. turns: how often each had its turn. lost_bytes: what the
    board wrote and nobody took.
    """

    def __init__(self, seed: int, kinds: tuple[str, ...] = KINDS) -> None:
        super().__init__()
        draw = Random(f"noise {seed}")  # noqa: S311 - noise, no secret
        self._noise = draw.randbytes(NOISE_BYTES)
        self._asks = b"".join(
            wire.encode("ask", seq, draw.choice(("status", "runs", "trip", "counters")), {})
            for seq in range(2000)
        )
        self.kinds = kinds
        self.kind = ""
        self.turns = dict.fromkeys(kinds, 0)
        self.lost_bytes = 0
        self.now_us = 0
        self._begun_us: int | None = None
        self._held = 0  # bytes in the port's buffer that nobody has read
        self._credit = 0.0
        self._at = 0
        self._asked_us = self._drained_us = 0
        self._seq = 30_000

    def begin(self) -> None:
        """Let the first of the computers take its turn."""
        self._begun_us = self.now_us

    def end(self) -> None:
        """A computer that does what it should is at the cable again."""
        self._begun_us = None
        self._become("")
        self._held = 0
        self.connected = True
        self._incoming.clear()

    @property
    def room(self) -> int:
        """How many bytes the board may write before it stalls."""
        if not self.connected or self._reads():
            return DRAINING
        return max(0, FIFO_BYTES - self._held) // PACKET_BYTES * PACKET_BYTES

    @room.setter
    def room(self, _value: int) -> None:
        """It follows from who is there."""

    def _reads(self) -> bool:
        if self.kind == "asks and freezes":
            return self.now_us % SECOND_US < AWAKE_US
        return self.kind not in ("frozen", "reads a packet a second")

    def send(self, data: bytes) -> None:
        """Carry data, which the board writes, to whoever is there."""
        if self._begun_us is None:
            super().send(data)
            return
        self.bytes_out += len(data)
        if not self.connected:
            self.lost_bytes += len(data)
        elif not self._reads():
            self._held += len(data)

    def take(self, elapsed_us: int, room: int) -> bytes:
        """Bring what the computer sends in elapsed_us, at most `room` bytes."""
        self.now_us += elapsed_us
        if self._begun_us is None:
            return super().take(elapsed_us, room)
        turn = (self.now_us - self._begun_us) // TURN_US
        kind = self.kinds[turn % len(self.kinds)]
        if kind != self.kind:
            self._become(kind)
            self.turns[kind] += 1
        self._live(elapsed_us)
        data = bytes(self._incoming[:room])
        del self._incoming[:room]
        self.bytes_in += len(data)
        return data

    def _become(self, kind: str) -> None:
        self.kind = kind
        self.connected = kind != "unplugged"
        self._held = 0
        self._credit = 0.0
        if not self.connected:
            self._incoming.clear()

    def _live(self, elapsed_us: int) -> None:
        """What the computer does in this time."""
        kind = self.kind
        if self._reads():
            self._held = 0
        if kind.startswith("floods"):
            self._flood(self._noise if kind.endswith("noise") else self._asks, elapsed_us)
        elif kind == "reconnects each second":
            self.connected = self.now_us % SECOND_US >= AWAY_US
            if not self.connected:
                # What was on its way is cut in the middle of a line.
                del self._incoming[len(self._incoming) // 2 :]
        elif kind == "reads a packet a second" and self.now_us - self._drained_us >= SECOND_US:
            self._drained_us = self.now_us
            self._held = max(0, self._held - PACKET_BYTES)
        every_us = SECOND_US // 20 if kind == "asks and freezes" else ASK_EVERY_US
        if self.connected and kind != "frozen" and self.now_us - self._asked_us >= every_us:
            self._asked_us = self.now_us
            self._seq = (self._seq + 1) % wire.SEQUENCE_MODULO
            self._incoming += wire.encode("ask", self._seq, "hello", {"v": wire.PROTOCOL, "unix": None})
            self._incoming += wire.encode("ask", self._seq + 1, "status", {})

    def _flood(self, source: bytes, elapsed_us: int) -> None:
        """A megabyte a second; what the board has no room for holds the computer up."""
        self._credit = min(self._credit + FLOOD_BYTES_PER_US * elapsed_us, float(NOISE_BYTES))
        count = min(int(self._credit), NOISE_BYTES - len(self._incoming))
        for _ in range(2):
            piece = source[self._at : self._at + count]
            self._incoming += piece
            self._credit -= len(piece)
            count -= len(piece)
            self._at = (self._at + len(piece)) % len(source)
