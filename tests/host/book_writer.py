"""A process that writes into a book until it is killed, and says what it has saved."""

from pathlib import Path

from ribwright_host.book.models import Measurement, Piece, Side, open_book
from ribwright_host.book.store import opened


def write(path, begin, said):
    """Save pieces with two measured sides each, one transaction each, and send the id once it is saved."""
    with opened(Path(path), make=True):
        number = begin
        while True:
            with open_book.atomic("IMMEDIATE"):
                piece = Piece.create(name=f"baritone {number}", simulated=False, made_on="2026-11-28")
                for which in ("bass", "treble"):
                    side = Side.create(piece=piece, which=which, species="sapele")
                    Measurement.create(side=side, noted_on="2026-11-28", gap_waist_mm=0.5, remark="x" * 400)
            said.send_bytes(b"%d" % piece.id)
            number += 1
