"""Remarks and photos from the bench, into the notebook, while the run is still on the form."""

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ribwright_host.book.heat import unpack
from ribwright_host.book.intake import FROM_PROFILE, WHOLE
from ribwright_host.book.models import Curve, Piece, Run, RunZone, Side, Thickness, open_book
from ribwright_host.book.results import add_photo, kind_of, note
from ribwright_host.book.store import opened
from ribwright_host.errors import FileError, UsageError

from .behind import Last

REMARK_LETTERS = 600
PHOTO_BYTES = 8 * 1024 * 1024


@dataclass(frozen=True)
class Notebook:
    """Where notes of this bend go. path: the book's file. piece, which: the side they belong to."""

    path: Path
    piece: str
    which: str

    @property
    def title(self) -> str:
        """The side in words."""
        return f"{self.piece}, {self.which}"


def picture_kind(data: bytes) -> str:
    """The file ending of a picture, told by its first bytes.

    data: the file. Raises UsageError for anything but a JPEG or PNG, and for one that is too large.
    """
    if len(data) > PHOTO_BYTES:
        raise UsageError(
            f"the photo has {len(data) / 2**20:.1f} MB, {PHOTO_BYTES // 2**20} MB are the limit",
            "take it with a smaller setting",
        )
    if (ending := kind_of(data)) is not None:
        return ending
    raise UsageError("this is neither a JPEG nor a PNG picture", "send a photo as one of these")


def add_remark(book: Notebook, text: str, *, simulated: bool, listed: Mapping[str, Any]) -> None:
    """Write a remark at the side.

    book: where. text: the remark. simulated: of the board. listed: the profile's facts of the piece, for a
    side that the book does not have yet. Raises UsageError, FileError.
    """
    # Half a character pair, which JSON can hold and no file can, becomes a question mark.
    words = " ".join(text.split()).encode(errors="replace").decode()
    if not words or len(words) > REMARK_LETTERS:
        raise UsageError(
            f"the remark has {len(words)} letters, 1 to {REMARK_LETTERS} are allowed", "write it again"
        )
    with opened(book.path, make=True):
        note(_side(book, simulated=simulated, listed=listed), {}, [], words)


def add_picture(book: Notebook, data: bytes, *, simulated: bool, listed: Mapping[str, Any]) -> Path:
    """Keep a photo of the side beside the book; where it lies.

    book, simulated, listed: as add_remark(). data: the file. Raises UsageError, FileError.
    """
    ending = picture_kind(data)
    with tempfile.TemporaryDirectory() as folder, opened(book.path, make=True):
        path = Path(folder) / f"photo{ending}"
        path.write_bytes(data)
        return add_photo(_side(book, simulated=simulated, listed=listed), path, book.path)


def _side(book: Notebook, *, simulated: bool, listed: Mapping[str, Any]) -> Side:
    """The side in the open book, begun with the profile's facts where it is new."""
    with open_book.atomic("IMMEDIATE"):
        today = datetime.now(UTC).astimezone().date().isoformat()
        piece, _ = Piece.get_or_create(name=book.piece, defaults={"simulated": simulated, "made_on": today})
        if piece.simulated != simulated:
            kinds = ("real", "simulated")
            raise FileError(
                f"{book.piece} holds {kinds[piece.simulated]} runs, this rig is {kinds[simulated]}; they are "
                "kept apart",
                "start the page with another --piece",
                code="mixed_piece",
            )
        side, new = Side.get_or_create(piece=piece, which=book.which)
        if new:
            for name in FROM_PROFILE:
                if listed.get(name) is not None:
                    setattr(side, name, listed[name])
            side.save()
            thickness = listed.get("thickness_mm")
            if isinstance(thickness, int | float):
                plies = listed.get("plies", 1)
                Thickness.create(side=side, place=WHOLE, thickness_mm=float(thickness) * plies)
    return side


def last_of(book: Notebook, profile_hash: str, *, simulated: bool) -> Last | None:
    """The last run of this piece with this profile, else of the piece; None without.

    book: where. profile_hash: of the run at hand, "" where not known. simulated: of the board: real and
    simulated runs are never shown together.
    """
    if not book.path.is_file():
        return None
    with opened(book.path):
        rows = (
            Run.select()
            .join(Side)
            .join(Piece)
            .where((Piece.name == book.piece) & (Run.simulated == simulated))
            .order_by((Run.profile_hash == profile_hash).desc(), Run.started_unix.desc(), Run.id.desc())
        )
        run = rows.first()
        if run is None:
            return None
        lines = {
            zone.zone: [(at * curve.step_s, value) for at, value in enumerate(unpack(curve.packed))]
            for zone in RunZone.select().where(RunZone.run == run)
            for curve in Curve.select().where(Curve.run_zone == zone)
        }
        return Last(f"{book.piece}, {run.side.which}, run {run.number}", lines)
