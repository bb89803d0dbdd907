"""Objects in the board's memory, reached from outside: read from a copy, written by an order to the board."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

PLAIN = (int, float, str, bool, type(None))


class Reach:
    """One object of the board by the path that leads to it from the board's own names.

    twin: the same object as it was parsed here, read in its place. order: executes a statement on the board.
    Plain values come out as they are; everything else as another Reach. An assignment changes both.

    >>> from types import SimpleNamespace
    >>> said = []
    >>> rig = Reach("controller.rig", SimpleNamespace(zones=[SimpleNamespace(ceiling_c=200.0)]), said.append)
    >>> rig.zones[0].ceiling_c += 30.0
    >>> said, rig.zones[0].ceiling_c
    (['controller.rig.zones[0].ceiling_c = 230.0'], 230.0)
    """

    def __init__(self, path: str, twin: Any, order: Callable[[str], None]) -> None:  # noqa: ANN401 - any object
        self.__dict__.update(_path=path, _twin=twin, _order=order)

    def _further(self, path: str, twin: Any) -> Any:  # noqa: ANN401 - as the twin has it
        return twin if isinstance(twin, PLAIN) else Reach(path, twin, self._order)

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - as the twin has it
        """Read an attribute of the twin."""
        return self._further(f"{self._path}.{name}", getattr(self._twin, name))

    def __setattr__(self, name: str, value: object) -> None:
        """Set an attribute on the board and on the twin."""
        self._order(f"{self._path}.{name} = {value!r}")
        setattr(self._twin, name, value)

    def __getitem__(self, key: int | str) -> Any:  # noqa: ANN401 - as the twin has it
        """Read an entry of the twin."""
        return self._further(f"{self._path}[{key!r}]", self._twin[key])

    def __setitem__(self, key: int | str, value: object) -> None:
        """Set an entry on the board and on the twin."""
        self._order(f"{self._path}[{key!r}] = {value!r}")
        self._twin[key] = value

    def __len__(self) -> int:
        """Count the twin's entries."""
        return len(self._twin)

    def __iter__(self) -> Iterator[Any]:
        """Go through the entries of a list."""
        return (self[place] for place in range(len(self._twin)))
