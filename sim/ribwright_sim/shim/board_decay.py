"""What becomes of a board's flash by itself or by another hand: full, worn, torn, or with a bit changed.

Sent as a whole to a board that has just come up.
"""

import os
import sys

from board_flash import BLOCK, State

FILLER = "filler%d.bin"
# Small: a board's heap need not have a whole block in one piece.
PIECE = bytes(512)


def flash(how):
    """Make the flash as how says: "full", "worn" (takes nothing more) or "torn" (in its next program)."""
    if how == "full" and sys.implementation.name == "micropython":
        _fill()
    else:
        State.how = how


def _fill():
    """Put files there that nobody asked for until the file system has no block left."""
    State.free = True
    number = 0
    while number == 0 or size(FILLER % (number - 1)) > 0:
        try:
            with open(FILLER % number, "wb") as file:
                for _ in range(64):
                    for _ in range(BLOCK // len(PIECE)):
                        file.write(PIECE)
                    # What is committed stays when the next block finds no room.
                    file.flush()
        except OSError:
            pass  # the next file shows whether there is still a block
        number += 1
    State.free = False


def size(path):
    """Size of the file at path in bytes, -1 for none."""
    try:
        return os.stat(path)[6]
    except OSError:
        return -1


def flip(path, share, bit):
    """Change one bit of a file's content, where the file system has no checksum of its own.

    path: of the file. share: how far into it, from 0 to 1. bit: 0 to 7.
    """
    at = int(share * size(path))
    State.free = True
    with open(path, "r+b") as file:
        file.seek(at)
        old = file.read(1)[0]
        file.seek(at)
        file.write(bytes((old ^ (1 << bit),)))
    State.free = False
