"""Copies of a world, quickly: what nothing ever changes is shared by all of them."""

from __future__ import annotations

import io
import pickle
from typing import cast

from ribwright_board.core.profile_values import Profile
from ribwright_board.core.rig_values import Rig

from .rigs import Files, Variant
from .world import World

SHARED = (Rig, Profile, Variant, Files)


class _Loader(pickle.Unpickler):
    def __init__(self, data: bytes, shared: dict[int, object]) -> None:
        super().__init__(io.BytesIO(data))
        self._shared = shared

    def persistent_load(self, pid: int) -> object:
        return self._shared[pid]


class _Saver(pickle.Pickler):
    def __init__(self, file: io.BytesIO, shared: dict[int, object]) -> None:
        super().__init__(file, pickle.HIGHEST_PROTOCOL)
        self._shared = shared

    def persistent_id(self, obj: object) -> int | None:
        if not isinstance(obj, SHARED):
            return None
        self._shared[id(obj)] = obj
        return id(obj)


class Shelf:
    """Saved worlds by number."""

    def __init__(self) -> None:
        self._saved: list[bytes] = []
        self._shared: dict[int, object] = {}

    def __len__(self) -> int:
        """How many are saved."""
        return len(self._saved)

    def put(self, world: World) -> int:
        """Save one; returns its number."""
        file = io.BytesIO()
        _Saver(file, self._shared).dump(world)
        self._saved.append(file.getvalue())
        return len(self._saved) - 1

    def take(self, number: int) -> World:
        """A copy of a saved one."""
        return cast("World", _Loader(self._saved[number], self._shared).load())
