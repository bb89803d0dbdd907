"""Whole files on the board's flash, replaced so that a cut of power leaves the old one or the new one.

Paths are relative to the flash's root.
"""

import os

TYPE_CHECKING = False
if TYPE_CHECKING:
    from ribwright_board.core.shapes import BinaryIO

# Ends the name of what is being written.
NEW = ".new"
EXISTS = 17
PIECE = 128


def names(folder: str) -> list[str]:
    """Names in a folder, sorted; none when there is no such folder."""
    try:
        return sorted(os.listdir(folder))
    except OSError:
        return []


def size(path: str) -> int:
    """Size of a file in bytes, -1 when there is none; path: of the file."""
    try:
        return int(os.stat(path)[6])
    except OSError:
        return -1


def read(path: str) -> bytes | None:
    """Content of a file, None when it cannot be read; path: of the file."""
    try:
        with open(path, "rb") as file:
            # A stated length takes memory once; without one it would grow, in ever larger pieces.
            body: bytes = file.read(max(0, size(path)))
    except OSError:
        return None
    return body


def holds(path: str, body: bytes | bytearray) -> bool:
    """Whether a file has exactly this content; compared piece by piece, to need little memory.

    path: of the file. body: what it should hold. Raises OSError when it cannot be read.
    """
    if size(path) != len(body):
        return False
    piece = bytearray(PIECE)
    with open(path, "rb") as file:
        for at in range(0, len(body), PIECE):
            count = file.readinto(piece)
            if not count or piece[:count] != body[at : at + count]:
                return False
    return True


def replace(path: str, body: bytes | bytearray) -> None:
    """Put a whole file in the place of another.

    path, body: of the file. Raises OSError, and then the old one stands.
    """
    file: BinaryIO = open(path + NEW, "wb")
    try:
        file.write(body)
    finally:
        # Also after a write that failed: whoever collects the file object later would commit what there is.
        file.close()
    if not holds(path + NEW, body):
        raise OSError(5)
    try:
        os.rename(path + NEW, path)
    except OSError as error:
        if error.errno != EXISTS:
            raise
        # A computer's file system may not rename over a file; a board's does.
        os.remove(path)
        os.rename(path + NEW, path)


def sweep(folder: str) -> None:
    """Remove what a cut of power has left half-written in a folder; "" is the root."""
    for name in names(folder or "."):
        if name.endswith(NEW):
            try:
                os.remove(folder + "/" + name if folder else name)
            except OSError:
                continue  # a flash that takes nothing more loses nothing either
