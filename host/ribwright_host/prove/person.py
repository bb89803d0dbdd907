"""What only a person sees: asked at the terminal, or taken from a file of answers.

key: what an answer is called in a file, its tables first, e.g. ("cold", "earth_ohm"). question: what is asked
for, without a question mark. unit: which a number is to be in. options: the answers there are, one of which
is given. text: what is to be done.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import click

from ribwright_host.errors import FileError
from ribwright_host.toml_lines import read_toml

Key = tuple[str, ...]


class Person(Protocol):
    """Somebody beside the rig; arguments as on top."""

    def done(self, text: str) -> None:
        """Have something done; returns when it is."""

    def text(self, key: Key, question: str) -> str:
        """Words."""

    def number(self, key: Key, question: str, unit: str) -> float:
        """A number."""

    def choice(self, key: Key, question: str, options: Sequence[str]) -> str:
        """One of options."""


class AtTerminal:
    """Asks whoever sits at the terminal."""

    def done(self, text: str) -> None:
        """Say what to do, and wait for Enter."""
        click.echo(f"  {text}")
        click.prompt("  Enter when that is done", default="", show_default=False, prompt_suffix=" ")

    def text(self, key: Key, question: str) -> str:
        """Ask for words; as Person."""
        return str(click.prompt(f"  {question}")).strip()

    def number(self, key: Key, question: str, unit: str) -> float:
        """Ask for a number; as Person."""
        return float(click.prompt(f"  {question}, {unit}", type=float))

    def choice(self, key: Key, question: str, options: Sequence[str]) -> str:
        """Ask for one of options; as Person."""
        return str(click.prompt(f"  {question}", type=click.Choice(list(options))))


class FromFile:
    """Takes answers from a TOML file; what is only to be done counts as done.

    path: of the file. values: of its tables.
    """

    def __init__(self, path: Path, values: Mapping[str, Any]) -> None:
        self._path = path
        self._values = values

    def done(self, text: str) -> None:
        """Nothing to wait for."""

    def _value(self, key: Key, kind: type | tuple[type, ...], wanted: str) -> Any:  # noqa: ANN401 - of a file
        value: Any = self._values
        for name in key:
            value = value.get(name) if isinstance(value, Mapping) else None
        if value is None:
            raise self._bad(key, "is missing", wanted)
        if isinstance(value, bool) or not isinstance(value, kind):
            raise self._bad(key, f"is {value!r}", wanted)
        return value

    def _bad(self, key: Key, seen: str, wanted: str) -> FileError:
        name = ".".join(key)
        where = {"file": str(self._path), "key": name}
        return FileError(f"{self._path}: {name} {seen}", f"put {wanted} there", code="answers", where=where)

    def text(self, key: Key, question: str) -> str:
        """The words under a key; as Person. Raises FileError."""
        return str(self._value(key, str, f"words ({question})"))

    def number(self, key: Key, question: str, unit: str) -> float:
        """The number under a key; as Person. Raises FileError."""
        return float(self._value(key, (int, float), f"a number ({question}, {unit})"))

    def choice(self, key: Key, question: str, options: Sequence[str]) -> str:
        """The option under a key; as Person. Raises FileError."""
        wanted = f"one of {', '.join(options)} ({question})"
        value = str(self._value(key, str, wanted))
        if value not in options:
            raise self._bad(key, f"is {value!r}", wanted)
        return value


def read_answers(path: Path) -> FromFile:
    """Answers in a TOML file. Raises FileError; path: of the file."""
    if not path.exists():
        raise FileError(
            f"{path} does not exist", "without --answers whoever stands at the rig is asked", code="missing"
        )
    return FromFile(path, read_toml(path)[0])
