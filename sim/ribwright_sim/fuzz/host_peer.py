"""A board that answers with anything: the other end of a computer's link, in memory, with its own clock."""

from __future__ import annotations

import json
from collections import Counter
from random import Random

from ribwright_board.core import wire

from .frames import Frames, seal

# The link looks at the clock before each read; so many reads fill one try of a second.
LOOK_S = 0.34
PIECE = "QUJD" * 20
ZONES = ["waist", "full"]


class Clock:
    """Time that goes on whenever it is looked at."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        """Present time, s."""
        self.now_s += LOOK_S
        return self.now_s


class PeerTalk:
    """Answers and tells as a board would send them, true to the ask in most cases.

    seq, verb, values: the ask that waits for an answer. truth: share of answers that fit it, 0 to 1. chance:
    what is drawn from.
    """

    def __init__(self, truth: float = 0.8) -> None:
        self.truth = truth
        self.seq, self.verb = 0, "status"
        self.values: dict[str, object] = {}

    def hear(self, line: bytes) -> None:
        """Take an ask of the computer, which is always whole.

        line: with its number, checksum and line feed.
        """
        _, number, verb, rest = line.split(b" ", 3)
        self.seq, self.verb, self.values = int(number), verb.decode(), json.loads(rest[:-10])

    def words(self, chance: Random) -> tuple[bytes, dict[str, object]]:
        """Head of an answer or a tell and what belongs behind it."""
        fate = chance.random()
        if fate < 0.15:
            return b"tell %d row" % chance.randrange(65536), {
                "ms": 5,
                "mode": "idle",
                "zones": [[1, 2, 3, 0]],
            }
        seq = self.seq if fate < 0.9 else (self.seq - chance.randrange(4)) % wire.SEQUENCE_MODULO
        if fate < 0.25:
            no: dict[str, object] = {
                "code": chance.choice(("busy", "protocol", "size")),
                "text": "no: so; then",
            }
            return b"ans %d no" % seq, no
        verb = (
            self.verb if chance.random() < self.truth else chance.choice(("hello", "runs", "get", "put_open"))
        )
        return b"ans %d ok" % seq, self._answer(chance, verb)

    def exchange(self, chance: Random) -> list[bytes]:
        """A few tells and an answer in one read."""
        lines = []
        for _ in range(chance.randrange(1, 5)):
            head, values = self.words(chance)
            lines.append(seal(head + b" " + json.dumps(values).encode()))
        return [b"".join(lines)]

    def _answer(self, chance: Random, verb: str) -> dict[str, object]:
        """What fits the verb, with numbers that may lie."""
        at = self.values.get("at", 0)
        lie = chance.random() < 0.2
        if verb == "hello":
            names = {"board": "00", "fw": "0.1.0", "python": "3", "rig": "ab41ae20ffe6", "rig_name": "bench"}
            return {"v": 2 if lie else 1, "zones": ZONES, "unit": "C", **names}
        if verb == "runs":
            first = self.values.get("from", 0)
            first = first if isinstance(first, int) and not lie else chance.choice((-5, 0, 3, 10**12))
            runs = [[first + place, 240 * place, place % 2] for place in range(chance.randrange(17))]
            return {"runs": runs, "more": chance.random() < 0.7, "free": -1 if lie else 900_000}
        if verb == "get":
            size = chance.choice((0, 60, 120, 400, 10**7, -1, 10**12)) if lie else 180
            offset = chance.choice((0, 60, -60, 10**9, True)) if lie else at
            return {
                "at": offset,
                "size": size,
                "data": chance.choice((PIECE, PIECE, "", "QQ==", "Q", "=", "\u00e9")),
            }
        if verb in ("put_open", "put_piece"):
            at = at if isinstance(at, int) else 0
            step = chance.choice((-240, 0, 1, 10**9)) if lie else wire.PIECE_BYTES
            return {"at": at + step if verb == "put_piece" else 0}
        if verb == "put_close":
            return {"name": "sides", "hash": "ab41ae20ffe6"}
        return {"mode": "idle"}


class LyingPeer:
    """The transport of a link: every read brings one frame.

    seed: of the frames. talk: as PeerTalk. only: kinds of frames, None for the mix. name: shown in errors.
    """

    name = "memory"

    def __init__(self, seed: str, talk: PeerTalk, only: tuple[str, ...] | None = None) -> None:
        self.talk = talk
        self.frames = Frames(seed, talk, only)
        self.sent: Counter[str] = Counter()
        self.asks = 0
        # The frames of this call, for whoever has to play it again.
        self.lately: list[bytes] = []
        self._pieces: list[bytes] = []

    def read(self) -> bytes:
        """The next frame, or its next piece."""
        if not self._pieces:
            kind, frame = self.frames.draw()
            self.sent[kind] += 1
            self._pieces = list(frame)
        piece = self._pieces.pop(0)
        self.lately.append(piece)
        return piece

    def write(self, data: bytes) -> None:
        """An ask of the computer.

        data: its line.
        """
        self.asks += 1
        self.talk.hear(data)

    def close(self) -> None:
        """Nothing is held."""
