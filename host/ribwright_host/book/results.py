"""What came of a side, written down: spring-back after rest, defects, remarks, pictures."""

import re
import shutil
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from ribwright_host.errors import FileError, UsageError

from .checking import photo_name
from .facts import day
from .models import DEFECTS, Defect, Measurement, Photo, Side, open_book
from .quantities import length_mm

GAPS = {"upper": "upper bout", "waist": "waist", "lower": "lower bout"}
# A ruler's span; what lies outside is a slip of the decimal point.
GAP_MM = (-60.0, 60.0)
CUP_MM = (-10.0, 10.0)
PICTURES = (".jpg", ".jpeg", ".png")
# First bytes of the two kinds of picture (ISO/IEC 10918-1 and PNG specification 5.2, both from memory).
KINDS = {b"\xff\xd8\xff": ".jpg", b"\x89PNG\r\n\x1a\n": ".png"}
WRITTEN_DEFECT = re.compile(r"([^@:]+?)\s*(?:@([^:]+?)\s*)?(?::\s*([0-3]))?")


def defect_from(text: str) -> dict[str, Any]:
    """A defect from text like "cracked@waist:2".

    text: kind, place behind @, how bad behind a colon: 0 looked for and not there, 1 slight (taken where
    nothing is said), 2 shows, 3 lost. Raises UsageError.

    >>> defect_from("cracked@waist:2")
    {'kind': 'cracked', 'place': 'waist', 'badness': 2}
    """
    found = WRITTEN_DEFECT.fullmatch(text.strip())
    kind = found[1].strip().lower() if found else ""
    if found is None or kind not in DEFECTS:
        raise UsageError(
            f"{text!r} is no defect; known are {', '.join(DEFECTS)}",
            "write it like cracked@waist:2, with 0 to 3 for how bad",
            code="defect",
        )
    return {"kind": kind, "place": found[2], "badness": int(found[3] or 1)}


def measured_from(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Columns of a measurement from the command's options; empty where none is given.

    facts: upper, waist, lower, cup as text with or without unit, twist in degrees, on_form and since in
    hours. Raises UsageError.
    """
    found: dict[str, Any] = {
        f"gap_{name}_mm": length_mm(facts[name], f"the gap at the {words}", *GAP_MM)
        for name, words in GAPS.items()
        if facts.get(name) is not None
    }
    if facts.get("cup") is not None:
        found["cup_mm"] = length_mm(facts["cup"], "the cup", *CUP_MM)
    for option, column in (
        ("twist", "twist_deg"),
        ("on_form", "hours_on_form"),
        ("since", "hours_since_release"),
    ):
        if facts.get(option) is not None:
            found[column] = float(facts[option])
    return found


def note(
    side: Side,
    measured: Mapping[str, Any],
    defects: Sequence[Mapping[str, Any]],
    remark: str | None,
    noted: str | None = None,
) -> None:
    """Write what was found at a side, all of it or nothing.

    side: of the open book. measured: columns of a measurement. defects: columns of defects. remark: about
    what was found. noted: the day, None for today. Raises UsageError.
    """
    noted_on = day(noted) if noted else datetime.now(UTC).astimezone().date().isoformat()
    with open_book.atomic("IMMEDIATE"):
        if measured or (remark and not defects):
            Measurement.create(side=side, noted_on=noted_on, remark=remark, **measured)
            remark = None
        for defect in defects:
            Defect.create(side=side, remark=remark, **defect)


def kind_of(data: bytes) -> str | None:
    """The file ending of a picture, told by its first bytes; None for anything but a JPEG or PNG.

    data: the file, or its beginning.

    >>> kind_of(b"no picture")
    """
    return next((ending for begin, ending in KINDS.items() if data.startswith(begin)), None)


def add_photo(side: Side, path: Path, beside: Path | None) -> Path:
    """Note a picture of a side; gives where it lies.

    side: of the open book. path: a JPEG or PNG. beside: the book's file, to copy the picture beside it, or
    None to leave it where it is. Raises FileError.
    """
    if path.suffix.lower() not in PICTURES:
        raise FileError(f"{path} is none of {', '.join(PICTURES)}", "save it as one of these", code="picture")
    try:
        data = path.read_bytes()
        digest, kept = photo_name(data), path.resolve()
        if kind_of(data) is None:
            seen = f"{path} is called a picture and is none: neither a JPEG nor a PNG"
            raise FileError(seen, "name the photo itself, or save it as one of these", code="picture")
        if beside is not None:
            folder = beside.resolve().with_name(beside.stem + "-photos")
            folder.mkdir(exist_ok=True)
            kept = folder / (digest + path.suffix.lower())
            shutil.copyfile(path, kept)
    except OSError as error:
        hint = "look at the path and its permissions"
        raise FileError(f"{path} cannot be read or copied: {error.strerror}", hint, code="picture") from error
    if not Photo.select().where((Photo.side == side) & (Photo.path == str(kept))).exists():
        Photo.create(side=side, path=str(kept), copied=beside is not None)
    return kept
