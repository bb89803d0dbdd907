"""Pieces and sides by the names a maker types."""

from difflib import get_close_matches
from typing import Any

from ribwright_host.errors import FileError

from .models import Piece, Side

MOST_NAMES = 6


def piece_named(name: str) -> Piece:
    """A piece by its name, in any case of letters, or by a beginning that only one has. A simulated one is
    never meant by a beginning.

    name: as typed. Raises FileError with code no_piece or which_piece.
    """
    exact = Piece.get_or_none(Piece.name == name)
    if exact is not None:
        return exact
    rows: Any = Piece.select(Piece.name, Piece.simulated).order_by(Piece.id).tuples()
    simulated = dict(rows)
    names = list(simulated)
    low = name.casefold()
    found = [one for one in names if one.casefold() == low] or [
        one for one in names if one.casefold().startswith(low) and not simulated[one]
    ]
    if len(found) == 1:
        return Piece.get(Piece.name == found[0])
    if found:
        listed = ", ".join(found[:MOST_NAMES])
        hint = "write more of its name"
        raise FileError(f"{name!r} begins {len(found)} pieces: {listed}", hint, code="which_piece")
    near = get_close_matches(name, names, MOST_NAMES, 0.5)
    hint = f"there is {', '.join(near)}" if near else "see: ribwright book list"
    raise FileError(f"the book has no piece {name!r}", hint, code="no_piece")


def side_of(piece: Piece, which: str) -> Side:
    """One side of a piece.

    piece: of the open book. which: bass or treble. Raises FileError with code no_side.
    """
    side = Side.get_or_none((Side.piece == piece) & (Side.which == which))
    if side is None:
        raise FileError(
            f"{piece.name} has no {which} side yet",
            f'take its run in: ribwright book add RUN --piece "{piece.name}" --side {which}',
            code="no_side",
        )
    return side
