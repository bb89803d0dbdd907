"""Frames of every kind, drawn from a seed: what a line can carry that nobody meant to send.

A frame is a list of pieces as they arrive; most are one piece that ends with a line feed. The checksum is
computed here by zlib, not by the code under test.
"""

from __future__ import annotations

import json
import zlib
from collections import deque
from collections.abc import Callable
from itertools import accumulate
from random import Random
from typing import Protocol

from . import nonsense

Frame = list[bytes]
# Bytes that end, interrupt or reset something on some link or in some console.
CONTROLS = (b"\x00", b"\x03", b"\x04", b"\r", b"\x11", b"\x13", b"\x1b", b"\x7f", b"\n")
REMEMBERED = 64
LONGEST_NOISE = 600
LONGEST_LINE = 4000


class Talk(Protocol):
    """Whose words the frames are made of: what a computer says to a board, or a board to a computer.

    chance: what is drawn from.
    """

    def words(self, chance: Random) -> tuple[bytes, dict[str, object]]:
        """Head of a line ("ask 12 get") and the values that belong behind it."""
        ...

    def exchange(self, chance: Random) -> list[bytes]:
        """Whole lines that belong together, as they should be."""
        ...


def seal(body: bytes) -> bytes:
    """A line with the right checksum of its body.

    body: the line up to the space before its checksum.
    """
    return body + b" %08x\n" % zlib.crc32(body)


class Frames:
    """A stream of frames.

    seed: what everything is drawn from. talk: whose words they are made of. only: kinds to draw, None for
    the mix of KINDS.

    counts: frames so far, by kind.
    """

    def __init__(self, seed: str, talk: Talk, only: tuple[str, ...] | None = None) -> None:
        self.chance = Random(seed)  # noqa: S311 - frames that can be drawn again, no secret
        self.talk = talk
        self.old: deque[bytes] = deque([b"tell 0 row {} 00000000\n"], REMEMBERED)
        self._names = list(only or KINDS)
        self._sums = list(accumulate(KINDS[name][0] for name in self._names))
        self.counts = dict.fromkeys(self._names, 0)

    def draw(self) -> tuple[str, Frame]:
        """The next frame and its kind."""
        kind = self.chance.choices(self._names, cum_weights=self._sums)[0]
        self.counts[kind] += 1
        return kind, KINDS[kind][1](self)

    def valid(self) -> bytes:
        """A line as it should be, remembered for later."""
        head, values = self.talk.words(self.chance)
        line = seal(head + b" " + json.dumps(values).encode())
        self.old.append(line)
        return line

    def behind(self, make: Callable[[Random], bytes]) -> Frame:
        """A right head and checksum around values made by a function.

        make: draws the bytes that stand where the values' JSON belongs.
        """
        return [seal(self.talk.words(self.chance)[0] + b" " + make(self.chance))]


def _valid(frames: Frames) -> Frame:
    return [frames.valid()]


def _exchange(frames: Frames) -> Frame:
    lines = frames.talk.exchange(frames.chance)
    frames.old.extend(lines)
    return lines


def _noise(frames: Frames) -> Frame:
    chance = frames.chance
    return [chance.randbytes(chance.randrange(LONGEST_NOISE)) + b"\n"]


def _bits(frames: Frames) -> Frame:
    chance, line = frames.chance, bytearray(frames.valid())
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        line[chance.randrange(len(line))] ^= 1 << chance.randrange(8)
    return [bytes(line)]


def _edited(frames: Frames) -> Frame:
    chance, line = frames.chance, bytearray(frames.valid())
    for _ in range(chance.choice((1, 1, 2))):
        at = chance.randrange(len(line) - 1)
        how = chance.randrange(3)
        if how == 0:
            del line[at]
        elif how == 1:
            line.insert(at, line[at])
        else:
            line[at], line[at + 1] = line[at + 1], line[at]
    return [bytes(line)]


def _digits(frames: Frames) -> Frame:
    chance, line = frames.chance, bytearray(frames.valid())
    places = [at for at, byte in enumerate(line) if 48 <= byte <= 57]
    for at in chance.sample(places, min(len(places), chance.choice((1, 1, 2, 4)))):
        line[at] = 48 + chance.randrange(10)
    return [bytes(line)]


def _truncated(frames: Frames) -> Frame:
    chance, line = frames.chance, frames.valid()
    # Without its line feed it runs into whatever comes next.
    return [line[: chance.randrange(len(line))] + (b"\n" if chance.random() < 0.7 else b"")]


def _interleaved(frames: Frames) -> Frame:
    chance, one, two = frames.chance, frames.valid(), frames.valid()
    mixed = bytearray()
    while one or two:
        take = chance.randrange(1, 30)
        mixed += one[:take]
        one, two = two, one[take:]
    return [bytes(mixed)]


def _wrong_crc(frames: Frames) -> Frame:
    body = frames.valid().rstrip(b"\n")[:-8]
    return [body + b"%08x\n" % frames.chance.getrandbits(32)]


def _json(frames: Frames) -> Frame:
    return frames.behind(nonsense.mapping if frames.chance.random() < 0.7 else nonsense.value)


def _nested(frames: Frames) -> Frame:
    def make(chance: Random) -> bytes:
        inner = nonsense.nested(chance)
        return inner if chance.random() < 0.5 else nonsense.changed(chance, values, lambda _: inner)

    head, values = frames.talk.words(frames.chance)
    return [seal(head + b" " + make(frames.chance))]


def _replaced(make: Callable[[Random], bytes] | None) -> Callable[[Frames], Frame]:
    """Right in everything but one value."""

    def drawn(frames: Frames) -> Frame:
        head, values = frames.talk.words(frames.chance)
        return [seal(head + b" " + nonsense.changed(frames.chance, values, make))]

    return drawn


def _head(frames: Frames) -> Frame:
    """Right checksum over a head that is wrong: kind, number, verb, or a word too many or too few."""
    chance = frames.chance
    words = frames.talk.words(chance)[0].split(b" ")
    at = chance.randrange(3)
    odd = (
        b"",
        b"ASK",
        b"-1",
        b"65536",
        b"00001",
        b"+7",
        "\u0663".encode(),
        b"1.0",
        b"__init__",
        b"\xff",
        b"x y",
    )
    words[at] = chance.choice((*odd, b"tell", b"ans", b"ask", b"start", b"acknowledge"))
    return [seal(b" ".join(words) + chance.choice((b" {}", b"", b" ", b"  {}", b" {} {}")))]


def _long_words(frames: Frames) -> Frame:
    chance = frames.chance
    words = frames.talk.words(chance)[0].split(b" ")
    word = chance.choice((b"x", b"9", b"_", "\u00e9".encode(), b"%")) * chance.randrange(50, 240)
    at = chance.randrange(4)
    if at == 3:
        return [seal(b" ".join(words) + b' {"' + word + b'": "' + word + b'"}')]
    words[at] = word
    return [seal(b" ".join(words) + b" {}")]


def _too_long(frames: Frames) -> Frame:
    chance = frames.chance
    size = chance.randrange(500, LONGEST_LINE)
    if chance.random() < 0.3:
        return [chance.randbytes(size).replace(b"\n", b" ")]
    return [seal(frames.talk.words(chance)[0] + b' {"a": "' + b"a" * size + b'"}')]


def _replayed(frames: Frames) -> Frame:
    return [frames.chance.choice(frames.old)]


def _split(frames: Frames) -> Frame:
    chance = frames.chance
    line = frames.valid() if chance.random() < 0.5 else KINDS[chance.choice(SPLIT)][1](frames)[0]
    cuts = sorted(chance.randrange(len(line) + 1) for _ in range(chance.randrange(1, 6)))
    return [line[a:b] for a, b in zip([0, *cuts], [*cuts, len(line)], strict=True)]


def _controls(frames: Frames) -> Frame:
    chance, line = frames.chance, bytearray(frames.valid())
    for _ in range(chance.randrange(1, 4)):
        at = chance.choice((0, len(line), len(line) - 1, chance.randrange(len(line))))
        line[at:at] = chance.choice(CONTROLS) * chance.choice((1, 1, 3))
    return [bytes(line)]


SPLIT = ("bits", "json", "types", "controls", "wrong_crc")
# kind -> share of all frames, and how one is made.
KINDS: dict[str, tuple[int, Callable[[Frames], Frame]]] = {
    "valid": (12, _valid),
    "exchange": (1, _exchange),
    "noise": (6, _noise),
    "bits": (8, _bits),
    "edited": (8, _edited),
    "digits": (5, _digits),
    "truncated": (5, _truncated),
    "interleaved": (3, _interleaved),
    "wrong_crc": (4, _wrong_crc),
    "json": (8, _json),
    "nested": (4, _nested),
    "numbers": (7, _replaced(nonsense.number)),
    "texts": (5, _replaced(nonsense.text)),
    "types": (8, _replaced(None)),
    "head": (4, _head),
    "long_words": (3, _long_words),
    "too_long": (2, _too_long),
    "replayed": (4, _replayed),
    "split": (2, _split),
    "controls": (2, _controls),
}
