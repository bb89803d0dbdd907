"""Finding a board, and making sure that it is of this computer's version before it is changed."""

from collections.abc import Callable

from ribwright_board import __version__

from .answers import UPDATE_BOARD
from .errors import HostError, LinkLostError, NoBoardError, PortBusyError, UsageError, VersionMismatchError
from .link import Board, Link, hello
from .transport import Transport, board_ports, open_port


def _version_key(text: str) -> tuple[int, ...]:
    """Figures of a version for comparing; a part that is no number counts as 0."""
    return tuple(int(part) if part.isdigit() else 0 for part in text.split("."))


def require_same_version(board: Board) -> None:
    """Refuse to change a board whose firmware is not the one these tools were made with.

    board: as hello() gives it. Raises VersionMismatchError.
    """
    if board.firmware == __version__:
        return
    newer = _version_key(board.firmware) > _version_key(__version__)
    hint = "update this computer: pip install --upgrade ribwright" if newer else UPDATE_BOARD
    raise VersionMismatchError(
        f"the board on {board.port} carries firmware {board.firmware}, this computer {__version__}; "
        "nothing was changed",
        hint,
        where={"board": board.firmware, "computer": __version__},
    )


def the_port(ports: list[str] | None = None) -> str:
    """The one likely port, for a board that need not answer yet.

    ports: to choose from, None to look for them. Raises NoBoardError, UsageError when there are more.
    """
    names = board_ports() if ports is None else ports
    if len(names) == 1:
        return names[0]
    if names:
        raise UsageError(
            f"{len(names)} boards may be meant: {', '.join(names)}",
            "say which one with --port",
            code="several_boards",
        )
    raise NoBoardError(
        "no board was found (no likely port is there)", "plug it in, or name its port with --port"
    )


def find_board(
    ports: list[str] | None = None, open_transport: Callable[[str], Transport] = open_port
) -> tuple[Link, Board]:
    """The one board that answers on any likely port.

    ports: ports to try, None to look for them. open_transport: how a port is opened.
    Raises NoBoardError, PortBusyError when the only likely ports are in use, UsageError when several answer.
    """
    names = board_ports() if ports is None else ports
    found: list[tuple[Link, Board]] = []
    busy: PortBusyError | None = None
    for name in names:
        try:
            link = Link(open_transport(name))
        except PortBusyError as error:
            busy = error
            continue
        except NoBoardError:
            continue
        try:
            found.append((link, hello(link, tries=2)))
        except (NoBoardError, LinkLostError):
            link.close()
        except HostError:
            link.close()
            raise
    if len(found) == 1:
        return found[0]
    for link, _ in found:
        link.close()
    if found:
        listed = ", ".join(board.port for _, board in found)
        raise UsageError(
            f"{len(found)} boards answer: {listed}", "say which one with --port", code="several_boards"
        )
    if busy is not None:
        raise busy
    looked = f"looked at {', '.join(names)}" if names else "no likely port is there"
    raise NoBoardError(
        f"no board was found ({looked})", "plug it in, or name its port with --port, or use --port virtual"
    )
