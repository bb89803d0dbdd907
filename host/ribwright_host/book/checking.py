"""What an export brings, held against the tables before any of it is taken in; where its photos may lie."""

import hashlib
import re
from collections.abc import Mapping
from pathlib import Path, PureWindowsPath
from typing import Any

from peewee import Field, ForeignKeyField

from ribwright_host.errors import FileError

from .models import Defect, Measurement, Page, Photo, Piece, Run, RunZone, Side, Thickness, open_book

# Lists below a row, by what a row of theirs is; what else stands beside a row's own columns.
BELOW: Mapping[type[Page], Mapping[str, type[Page]]] = {
    Piece: {"sides": Side},
    Side: {
        "thicknesses": Thickness,
        "runs": Run,
        "measurements": Measurement,
        "defects": Defect,
        "photos": Photo,
    },
    Run: {"zones": RunZone},
}
BESIDE: Mapping[type[Page], set[str]] = {RunZone: {"step_s", "curve_c"}}
MOST_ROWS = 100_000
COPY = re.compile("[0-9a-f]{12}")


def check_piece(tree: object, path: Path, where: str) -> None:
    """Raise FileError with the place in the file for what is no piece with its sides and runs.

    tree: as read. path: of the file. where: in it. Codes: not_an_export, unknown_column.
    """
    _check(tree, Piece, path, where)


def own_columns(model: type[Page]) -> dict[str, Field]:
    """Fields of a table by name that an export holds: all but its number and what it belongs to.

    model: the table.
    """
    # Peewee's documented place for a table's fields.
    fields = model._meta.sorted_fields  # noqa: SLF001
    return {one.name: one for one in fields if one.name != "id" and not isinstance(one, ForeignKeyField)}


def _check(row: object, model: type[Page], path: Path, where: str) -> None:
    if not isinstance(row, Mapping):
        raise _wrong(path, f"{where} is {type(row).__name__}, not a table of columns")
    own = own_columns(model)
    lists = BELOW.get(model, {})
    for key in row:
        if key not in own and key not in lists and key not in BESIDE.get(model, set()):
            known = ", ".join((*own, *lists))
            raise FileError(
                f"{path}: {where} has a column {key!r}, which this version does not know; known are {known}",
                "take it out, or use the version that wrote it; nothing was taken in",
                code="unknown_column",
                where={"file": str(path), "place": where},
            )
    for key, one in own.items():
        if row.get(key) is None and not one.null and one.default is None:
            raise _wrong(path, f"{where} has no {key}")
    if model is Piece and not (isinstance(row["name"], str) and row["name"]):
        raise _wrong(path, f"{where} has the name {row['name']!r}, which is no name")
    for key, below in lists.items():
        rows = row.get(key, [])
        if not isinstance(rows, list) or len(rows) > MOST_ROWS:
            raise _wrong(path, f"{where} has {key} that are no list of at most {MOST_ROWS}")
        for number, inner in enumerate(rows, 1):
            _check(inner, below, path, f"{where}, {key} {number}")


def _wrong(path: Path, seen: str) -> FileError:
    return FileError(
        f"{path}: {seen}",
        "export it again, or correct it there; nothing was taken in",
        code="not_an_export",
        where={"file": str(path)},
    )


def photo_folder() -> Path:
    """The folder beside the open book in which its pictures lie."""
    book = Path(str(open_book.obj.database)).resolve()
    return book.with_name(book.stem + "-photos")


def photo_name(content: bytes) -> str:
    """The name under which a picture is copied beside the book: of its content alone.

    content: of the file.
    """
    return hashlib.sha256(content).hexdigest()[:12]


def known_photos(tree: Mapping[str, Any], folder: Path) -> dict[str, Any]:
    """A piece whose photos elsewhere on this computer are noted by their names alone.

    A page shows what a path names, and a path in somebody else's export may name any picture here. What lies
    in the export's folder or beside the book stays as it is, and so does a copy, which a page shows only if
    its name fits its content; a bare name is looked for beside the book.

    tree: a checked piece. folder: of the export.
    """
    roots = (folder.resolve(), photo_folder())
    sides = []
    for side in tree["sides"]:
        photos = [
            row if _is_copy(row) else row | {"path": _noted(str(row["path"]), roots)}
            for row in side.get("photos", [])
        ]
        sides.append(side | {"photos": photos} if "photos" in side else side)
    return {**tree, "sides": sides}


def _is_copy(row: Mapping[str, Any]) -> bool:
    return bool(row.get("copied")) and COPY.fullmatch(PureWindowsPath(str(row["path"])).stem) is not None


def _noted(path: str, roots: tuple[Path, ...]) -> str:
    file = Path(path)
    if file.is_absolute() and any(file.resolve().is_relative_to(root) for root in roots):
        return path
    # Names of either kind of system; one that is all dots is no name.
    name = PureWindowsPath(path).name
    return name if name.strip(". ") else "photo without a name"
