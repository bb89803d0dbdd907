"""Values that nobody should send: JSON texts of every wrong type, depth and size.

chance: what everything is drawn from.
"""

from __future__ import annotations

import json
from random import Random

# Numbers at and behind the edges of bytes, words, floats and what a parser takes for a number.
NUMBERS = (
    "-1 0 1 2 255 256 65535 65536 2147483647 2147483648 -2147483649 4294967296 9007199254740993 "
    "18446744073709551616 1e15 1e308 1e309 -1e309 1e-320 0.5 -0.0 1.5 NaN Infinity -Infinity"
).split()
WORDS = (
    "",
    "0",
    "idle",
    "../../boot.py",
    "a" * 64,
    "f" * 12,
    "====",
    "AAAA",
    "%s%d%n",
    "\x00",
    "\x1b[2J",
    "\u00e9",
    "\u2028",
    "\U0001f525",
)
# As they stand in a line: halves of a letter, broken escapes, letters that are none.
BROKEN_TEXTS = (
    rb'"\ud800"',
    rb'"\udfff\ud800"',
    rb'"\ud83d\ud83d"',
    rb'"\u00"',
    rb'"\x41"',
    b'"\xff\xfe"',
    b'"\xed\xa0\x80"',
    b'"\xc0\xaf"',
    b'"\xf4\x90\x80\x80"',
    b'"open',
)
LONG_DIGITS = (30, 100, 300, 430)
DEPTHS = (3, 20, 60, 100, 150, 220, 420)
KEYS = ("v", "unix", "size", "sha", "kind", "at", "data", "run", "runs", "more", "from", "profile", "code")


def number(chance: Random) -> bytes:
    """One number, seldom one that fits."""
    if chance.random() < 0.2:
        return (b"-" if chance.random() < 0.3 else b"") + b"9" * chance.choice(LONG_DIGITS)
    return chance.choice(NUMBERS).encode()


def text(chance: Random) -> bytes:
    """One text as JSON, seldom a plain one."""
    if chance.random() < 0.3:
        return chance.choice(BROKEN_TEXTS)
    return json.dumps(chance.choice(WORDS)).encode()


def nested(chance: Random) -> bytes:
    """Lists or mappings inside one another, some without an end."""
    depth = chance.choice(DEPTHS)
    if chance.random() < 0.5:
        return b"[" * depth + b"]" * (depth if chance.random() < 0.7 else depth // 2)
    depth = min(depth, 90)
    return b'{"a":' * depth + b"1" + b"}" * (depth if chance.random() < 0.7 else depth // 2)


def value(chance: Random, depth: int = 2) -> bytes:
    """Any JSON value.

    depth: levels of lists and mappings drawn at most; the innermost may be one of a few small ones that are
    fixed.
    """
    kind = chance.randrange(8 if depth else 5)
    if kind < 2:
        return number(chance)
    if kind == 2:
        return text(chance)
    if kind == 3:
        return chance.choice((b"null", b"true", b"false"))
    if kind == 4:
        return chance.choice((b"[]", b"{}", b"[[]]", b'[{"a": []}]', b"[null, null]", b"[[1, 2], [3]]"))
    if kind == 5:
        return b"[" + b", ".join(value(chance, depth - 1) for _ in range(chance.randrange(4))) + b"]"
    return mapping(chance, depth - 1)


def mapping(chance: Random, depth: int = 2) -> bytes:
    """A mapping of any values under keys that are known or not.

    depth: of each value, as value().
    """
    pairs = []
    for _ in range(chance.randrange(5)):
        key = json.dumps(chance.choice(KEYS)).encode() if chance.random() < 0.8 else text(chance)
        pairs.append(key + b": " + value(chance, depth))
    return b"{" + b", ".join(pairs) + b"}"


def changed(chance: Random, values: dict[str, object], make: object = None) -> bytes:
    """A mapping with one of its values replaced, left out or doubled, as JSON.

    values: what would fit. make: callable(Random) -> bytes for the replacement; None for any value.
    """
    pairs = [(json.dumps(key).encode(), json.dumps(found).encode()) for key, found in values.items()]
    put = make(chance) if callable(make) else value(chance)
    if not pairs or chance.random() < 0.15:
        pairs.append((json.dumps(chance.choice(KEYS)).encode(), put))
    else:
        at = chance.randrange(len(pairs))
        if callable(make) or chance.random() < 0.8:
            pairs[at] = (pairs[at][0], put)
        else:
            del pairs[at]
    return b"{" + b", ".join(key + b": " + found for key, found in pairs) + b"}"
