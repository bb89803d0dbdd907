"""Pages to keep and to print: a pair, and a month's list. Every name in them is treated as untrusted text."""

import base64
from pathlib import Path
from typing import Any

from ribwright_host.inline import inline_svg, page_templates
from ribwright_host.writing import unwritable

from . import draw, telling
from .checking import photo_folder, photo_name
from .compare import RATED_NOTE, verdict
from .listing import SideLine
from .models import WHICH
from .pairs import PieceBook
from .quantities import show_c, show_mm, show_s

# What stands inside a page has to be carried by every copy of it.
MOST_PICTURE_BYTES = 4_000_000
MEDIA = {".jpg": "jpeg", ".jpeg": "jpeg", ".png": "png"}


def _photo(path: str, *, copied: bool) -> tuple[str | None, str]:
    """A picture as a data address, or None with what is wrong with it; a copy is one only by its content."""
    file = Path(path)
    if not file.is_absolute():
        # Noted by its name alone, as an import does.
        file = photo_folder() / file.name
    kind = MEDIA.get(file.suffix.lower())
    try:
        if kind is None or file.stat().st_size > MOST_PICTURE_BYTES:
            return None, f"{file.name} is not shown: no JPEG or PNG of up to {MOST_PICTURE_BYTES // 10**6} MB"
        content = file.read_bytes()
        if copied and file.stem != photo_name(content):
            return None, f"{file.name} is not shown: it is not what was copied into the notebook"
        data = base64.b64encode(content).decode()
    except OSError:
        return None, f"{file.name} is not where it was"
    return f"data:image/{kind};base64,{data}", file.name


def write_page(path: Path, text: str) -> None:
    """Write a page; half a character pair in a name becomes a question mark.

    path: file. text: HTML. Raises FileError.
    """
    try:
        path.write_text(text, encoding="utf-8", errors="replace")
    except OSError as error:
        raise unwritable(path, error, "choose another with -o") from error


def _alt(piece: PieceBook, unit: str) -> str:
    peaks = [
        f"{which} side, peak {show_c(side.facts['peak_c'], unit)}" for which, side in piece.sides.items()
    ]
    return f"Readings of both sides over time: {'; '.join(peaks)}. The table gives the same in figures."


def pair_page(piece: PieceBook, folder: Path, unit: str = "C", lengths: str = "mm") -> Path:
    """Write pair.html, pair.svg and pair.png; gives the page.

    piece: a whole pair. folder: made when absent. unit, lengths: to show. Raises FileError: no_pair,
    unwritable.
    """
    found = piece.figures()
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _, svg = draw.save(piece, folder, unit)
        picture = inline_svg(svg.read_text(encoding="utf-8"), _alt(piece, unit))
    except OSError as error:
        raise unwritable(folder, error, "choose another with -o") from error
    sides = [(which, piece.sides[which]) for which in WHICH]
    path = folder / "pair.html"
    told: dict[str, Any] = {
        "piece": piece,
        "sides": sides,
        "verdict": verdict(found, unit, lengths),
        "sprung": telling.sprung_words(piece, lengths),
        "figures": [
            {
                "words": one.limit.words,
                "cells": [one.show(one.bass, unit, lengths), one.show(one.treble, unit, lengths)],
                "apart": one.show_size(one.difference, unit, lengths),
                "allowed": one.show_size(one.allowed, unit, lengths),
                "alike": one.alike,
                "source": one.limit.source,
            }
            for one in found
        ],
        "gaps": telling.GAP_COLUMNS,
        "photos": [
            (which, *_photo(row["path"], copied=row["copied"]))
            for which, side in sides
            for row in side.photos
        ],
        "picture": picture,
        "mm": lambda value: show_mm(value, lengths, signed=True),
        "blank": lambda side: telling.blank_words(side, lengths),
        "measured": lambda row: telling.measured_words(row, lengths),
        "defect": telling.defect_words,
        "lay": telling.LAY,
        "rated_note": RATED_NOTE,
    }
    write_page(path, page_templates().get_template("pair.html.j2").render(told))
    return path


def list_page(
    found: list[SideLine],
    verdicts: dict[str, str],
    path: Path,
    title: str,
    unit: str = "C",
    lengths: str = "mm",
) -> Path:
    """Write a list of sides as a page; gives its path.

    found: of listing.sides(). verdicts: of pairs.all_verdicts(). path: file. title: of the page. unit,
    lengths: to show. Raises FileError.
    """
    pieces: dict[str, list[SideLine]] = {}
    for side in found:
        pieces.setdefault(side.piece, []).append(side)
    text = (
        page_templates()
        .get_template("book_list.html.j2")
        .render(
            title=title,
            pieces=pieces,
            verdicts=verdicts,
            temperature=lambda value: show_c(value, unit),
            minutes=show_s,
            gap=lambda value: show_mm(value, lengths, signed=True),
        )
    )
    write_page(path, text)
    return path
