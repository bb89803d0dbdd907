"""What a computer says to a board: asks as they should be, and whole profiles, good and bad."""

from __future__ import annotations

import base64
import copy
import hashlib
import json
from random import Random
from typing import Any

from ribwright_board.core import wire
from ribwright_board.core.acts import MARKS
from ribwright_board.core.messages import ASKS as MESSAGES
from ribwright_sim.modes_check.rigs import PROFILE

from . import nonsense
from .frames import seal
from .oracle import PROFILE_BYTES

ASKS = tuple(MESSAGES)
# Values of profiles that are wrong one at a time: the board must refuse them in words.
ODD: tuple[Any, ...] = (
    None, True, -1, 0, 1e308, float("inf"), float("nan"), 10**30, "", "x" * 300, "\ud800", [], {}, [[]],
    [None], {"a": []}, "150", 150.5, ["waist", "waist"], ["nowhere"], [1], "nan",
)  # fmt: skip


class BoardTalk:
    """Asks with numbers that go on, and transfers that come to their end.

    chance: what is drawn from.
    """

    def __init__(self) -> None:
        self.seq = 0
        self.hashes: list[str] = ["0" * 12]

    def words(self, chance: Random) -> tuple[bytes, dict[str, object]]:
        """Head of an ask of any verb and values that fit."""
        verb = chance.choice(ASKS)
        return self._head(verb), self._values(chance, verb)

    def exchange(self, chance: Random) -> list[bytes]:
        """All asks that bring one profile and lay it out."""
        asks = self._transfer(chance)
        return [seal(self._head(verb) + b" " + json.dumps(values).encode()) for verb, values in asks]

    def _head(self, verb: str) -> bytes:
        self.seq = (self.seq + 1) % wire.SEQUENCE_MODULO
        return f"ask {self.seq} {verb}".encode()

    def _values(self, chance: Random, verb: str) -> dict[str, object]:
        if verb == "hello":
            return {"v": wire.PROTOCOL, "unix": 1_790_000_000 + chance.randrange(10**6)}
        if verb == "put_open":
            size, sha = chance.choice((1, 240, 900, 8192)), chance.choice(self.hashes).ljust(64, "0")
            return {"kind": "profile", "size": size, "sha": sha}
        if verb == "put_piece":
            return {"at": chance.choice((0, 240, 480)), "data": "QUJD" * chance.choice((1, 40, 80))}
        if verb == "ready":
            stage = chance.choice((None, 1, 3, 6, 24))
            return {"profile": chance.choice(self.hashes)} | ({} if stage is None else {"stage": stage})
        if verb == "runs":
            return {"from": chance.choice((0, 5))}
        # An ask that is not named here is asked with a run and with what acts need: it may need none of it.
        run = chance.choice((1, 7, 9))
        acts = {"by_k": chance.randint(-10, 10), "minutes": chance.randint(1, 30)}
        more: tuple[str, object] = (
            ("at", chance.choice((0, 240, 10**6))) if verb == "get" else ("pinned", True)
        )
        return {"run": run, more[0]: more[1], "what": chance.choice((*MARKS, "melted")), **acts}

    def _transfer(self, chance: Random) -> list[tuple[str, dict[str, object]]]:
        body = profile_bytes(chance)
        sha = hashlib.sha256(body).hexdigest()
        self.hashes = [*self.hashes[-8:], sha[:12]]
        asks: list[tuple[str, dict[str, object]]] = [
            ("put_open", {"kind": "profile", "size": len(body), "sha": sha})
        ]
        for at in range(0, len(body), wire.PIECE_BYTES):
            piece = base64.b64encode(body[at : at + wire.PIECE_BYTES]).decode()
            asks.append(("put_piece", {"at": at, "data": piece}))
        return [*asks, ("put_close", {}), ("ready", {"profile": sha[:12]})]


def _places(values: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Paths to every value of a nested mapping."""
    found = [path] if path else []
    pairs = (
        values.items() if isinstance(values, dict) else enumerate(values) if isinstance(values, list) else ()
    )
    for key, value in pairs:
        found += _places(value, (*path, key))
    return found


_PLACES = _places(PROFILE)


def profile_bytes(chance: Random) -> bytes:
    """A profile's bytes: good, wrong in one place or two, or no profile at all; PROFILE_BYTES at most.

    chance: what is drawn from.
    """
    fate = chance.random()
    if fate < 0.1:
        return nonsense.nested(chance)[:8000] if fate < 0.05 else nonsense.mapping(chance, 3)
    values: Any = copy.deepcopy(PROFILE)
    values["name"] = f"sides {chance.randrange(10**6)}"
    for _ in range(0 if fate < 0.25 else chance.choice((1, 1, 2))):
        *path, last = chance.choice(_PLACES)
        inner = values
        try:
            for key in path:
                inner = inner[key]
            inner[last] = chance.choice(ODD)
        except (KeyError, IndexError, TypeError):
            # The first change has taken away where the second was to go.
            continue
    return json.dumps(values).encode()[:PROFILE_BYTES]
