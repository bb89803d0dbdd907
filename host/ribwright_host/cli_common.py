"""What several commands share: options, a connection, output for people or programs.

function, of an option: the command that gets it, before click makes a command of it; it is given back.
"""

import json
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from .cli import JSON_WANTED, plain_number

if TYPE_CHECKING:
    from .link import Board, Link

F = TypeVar("F", bound=Callable[..., Any])

FILE = click.Path(path_type=Path)


def _note_json(ctx: click.Context, _param: click.Parameter, value: bool) -> bool:
    ctx.meta[JSON_WANTED] = value
    return value


def json_option(function: F) -> F:
    """Add --json, which also puts errors into JSON."""
    return click.option(
        "--json", "as_json", is_flag=True, callback=_note_json, help="Answer in JSON, for programs."
    )(function)


def port_option(function: F) -> F:
    """Add --port."""
    return click.option(
        "--port",
        metavar="PORT",
        help="Where the board is: a serial port, socket://host:port, or virtual. Left out, it is looked for.",
    )(function)


def rig_option(function: F) -> F:
    """Add --rig."""
    return click.option(
        "--rig", "rig_path", type=FILE, metavar="FILE", help="Rig file; the board must hold the same."
    )(function)


def unit_option(function: F) -> F:
    """Add --unit."""
    return click.option(
        "--unit",
        type=click.Choice(["C", "F"]),
        help="Show temperatures in this unit, whatever the files state.",
    )(function)


def port_words(port: str | None) -> str:
    """How a next step names the same board, "" where it is looked for.

    port: as --port.

    >>> port_words("virtual"), port_words(None)
    (' --port virtual', '')
    """
    return f" --port {port}" if port else ""


def prompted(question: str, suggestion: object, kind: click.ParamType[Any] | type) -> Any:  # noqa: ANN401
    """The answer to a question at the terminal, asked again until it fits.

    question: in the maker's words. suggestion: taken without an answer. kind: click type of the answer.
    """
    convert = click.types.convert_type(kind)

    def take(text: str) -> object:
        try:
            return convert(text)
        except click.UsageError as error:
            raise click.UsageError(plain_number(error.message)) from None

    return click.prompt(question, default=suggestion, type=kind, value_proc=take)


def say(text: str) -> None:
    """One line for people.

    text: the line.
    """
    click.echo(text)


def say_json(value: Mapping[str, Any] | list[Any]) -> None:
    """One line for programs.

    value: what JSON can hold.
    """
    click.echo(json.dumps(value, sort_keys=True))


@contextmanager
def connected(
    port: str | None, rig_path: Path | None = None, piece: Mapping[str, Any] | None = None
) -> Iterator[tuple["Link", "Board"]]:
    """A board that has been greeted, let go at the end.

    port: as --port. rig_path: rig file that the board must hold, or the one for the virtual rig. piece: what
    lies in a virtual rig that has to be started.
    Raises the errors of link.hello() and link.find_board(), and FileError with code other_rig.
    """
    from .boards import find_board
    from .errors import FileError
    from .link import Link, hello
    from .transport import open_port

    rig = None
    if rig_path is not None:
        from .rigs import load_rig

        rig = load_rig(rig_path)
    if port is None:
        link, board = find_board()
    elif port == "virtual":
        from .virtual import shared_board

        link, board = shared_board(rig, piece)
    else:
        link = Link(open_port(port))
        try:
            board = hello(link)
        except BaseException:
            link.close()
            raise
    try:
        if rig is not None and rig.hash != board.rig:
            raise FileError(
                f"{rig.path} is rig {rig.hash}, "
                f"the board on {board.port} holds {board.rig_name}, rig {board.rig}",
                "name the rig file this board was set up with",
                code="other_rig",
                where={"file": str(rig.path), "rig": rig.hash, "board_rig": board.rig},
            )
        yield link, board
    finally:
        link.close()
