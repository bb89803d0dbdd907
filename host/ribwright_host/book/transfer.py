"""The whole book out and in: one JSON file that comes back exactly, and CSV files for a spreadsheet."""

import csv
import json
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from peewee import IntegrityError

from ribwright_host.errors import FileError
from ribwright_host.reading import why_wrong
from ribwright_host.writing import unwritable

from .checking import BELOW, check_piece, known_photos, own_columns
from .heat import pack
from .migrations import SCHEMA
from .models import (
    MEASURED_AT_START,
    SUMS,
    Curve,
    Defect,
    Measurement,
    Page,
    Photo,
    Piece,
    Run,
    RunZone,
    Side,
    Thickness,
    open_book,
)
from .pairs import PieceBook, whole_piece

WHOLE_FILE = "book.json"
KIND = "ribwright notebook"
# Ten thousand runs with their curves take about a quarter of it.
MOST_BYTES = 400_000_000
# A spreadsheet takes a cell that begins so for a formula.
FORMULA = ("=", "+", "-", "@", "\t", "\r")
BELOW_SIDE = (
    ("thicknesses", Thickness),
    ("measurements", Measurement),
    ("defects", Defect),
    ("photos", Photo),
)
# Sheets for a spreadsheet, in this order; what each line says first of its piece.
SHEETS: dict[str, type[Page]] = {"sides": Side, **BELOW[Side]}
ABOUT = ("name", "instrument", "made_on", "simulated")
# Sums of a side are made of its runs; they are told, and reckoned anew when read.
DERIVED = {"thickness_mm"}


def as_tree(piece: PieceBook) -> dict[str, Any]:
    """A piece as nested plain values.

    piece: as read.
    """
    return {
        **piece.facts,
        "sides": [
            {
                **{name: value for name, value in side.facts.items() if name not in DERIVED},
                "thicknesses": side.thicknesses,
                "runs": side.runs,
                "measurements": side.measurements,
                "defects": side.defects,
                "photos": side.photos,
            }
            for side in piece.sides.values()
        ],
    }


def _replace(path: Path, text: str) -> None:
    """Write a file whole or not at all."""
    part = path.with_name(path.name + ".part")
    with part.open("w", encoding="utf-8", newline="") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)


def _cell(value: object) -> object:
    return f"'{value}" if isinstance(value, str) and value.startswith(FORMULA) else value


def _csv(path: Path, rows: Iterable[Mapping[str, Any]], columns: Sequence[str]) -> None:
    """Rows as a sheet, its first line also where there are none yet; columns: those of a row, in order."""
    listed = list(rows)
    columns = list(dict.fromkeys([*columns, *(name for row in listed for name in row)]))
    with path.open("w", encoding="utf-8", newline="") as file:
        sheet = csv.writer(file)
        sheet.writerow(columns)
        sheet.writerows([_cell(row.get(name)) for name in columns] for row in listed)


def export(folder: Path) -> list[Path]:
    """Write the open book into a folder; gives the files, book.json first.

    folder: made when absent. Raises FileError with code unwritable.
    """
    trees = [as_tree(whole_piece(piece)) for piece in Piece.select().order_by(Piece.id)]
    whole = {"kind": KIND, "schema": SCHEMA, "pieces": trees}
    sheets: dict[str, list[dict[str, Any]]] = {name: [] for name in SHEETS}
    lists = [name for name in SHEETS if name != "sides"]
    for tree in trees:
        about = {name: tree[name] for name in ABOUT}
        for side in tree["sides"]:
            head = about | {"which": side["which"]}
            sheets["sides"].append(head | {name: v for name, v in side.items() if name not in lists})
            for name in lists:
                sheets[name] += [head | {k: v for k, v in row.items() if k != "zones"} for row in side[name]]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _replace(folder / WHOLE_FILE, json.dumps(whole, indent=1, allow_nan=False) + "\n")
        for name, rows in sheets.items():
            _csv(folder / f"{name}.csv", rows, (*ABOUT, "which", *own_columns(SHEETS[name])))
    except OSError as error:
        raise unwritable(folder, error, "choose another folder") from error
    return [folder / WHOLE_FILE, *(folder / f"{name}.csv" for name in sheets)]


def bring_in(folder: Path) -> dict[str, int]:
    """Take an export into the open book, all of it or nothing: how many pieces are "new" and "known".

    folder: as export() wrote it. A piece that stands in the book exactly so is passed over. Raises FileError:
    no_export, not_an_export, book_newer, other_piece.
    """
    path = folder / WHOLE_FILE
    try:
        if (size := path.stat().st_size) > MOST_BYTES:
            raise FileError(
                f"{path} has {size} bytes, at most {MOST_BYTES} are read",
                "bring in the whole book's file in place of its export: copy it and name it with --book",
                code="too_large",
            )
        whole = json.loads(path.read_text(encoding="utf-8"))
        schema = int(whole["schema"]) if whole["kind"] == KIND else None
        trees = list(whole["pieces"])
    except OSError as error:
        hint = "name the folder that `ribwright book export` wrote"
        raise FileError(f"{path} cannot be read: {error.strerror}", hint, code="no_export") from error
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise _not_an_export(path, error) from error
    if schema is None:
        raise _not_an_export(path, ValueError(f"it is of the kind {str(whole['kind'])[:40]!r}, not {KIND!r}"))
    if schema > SCHEMA:
        raise FileError(
            f"{path} has schema {schema}, this version knows up to {SCHEMA}",
            "use the version that wrote it, or a later one",
            code="book_newer",
        )
    counts = {"new": 0, "known": 0}
    with open_book.atomic("IMMEDIATE"):
        for number, tree in enumerate(trees, 1):
            try:
                check_piece(tree, path, f"piece {number}")
                counts["new" if _bring_piece(tree, path) else "known"] += 1
            except IntegrityError as error:
                raise _not_an_export(path, error) from error
            except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as error:
                raise _not_an_export(path, error) from error
    return counts


def _not_an_export(path: Path, error: Exception) -> FileError:
    seen = f"{path} is not a notebook's export: {why_wrong(error)}"
    return FileError(seen, "export it again; nothing was taken in", code="not_an_export")


def _bring_piece(tree: dict[str, Any], path: Path) -> bool:
    known = Piece.get_or_none(Piece.name == tree["name"])
    if known is not None:
        # An export of an older schema lacks columns, which then hold nothing.
        for side in tree["sides"]:
            for name in MEASURED_AT_START:
                side.setdefault(name, None)
            for run in side["runs"]:
                run.setdefault("laid", None)
        here = _spelt(as_tree(whole_piece(known)))
        if here in (_spelt(tree), _spelt(known_photos(tree, path.parent))):
            return False
        raise FileError(
            f"{path} tells otherwise of {tree['name']} than the book does",
            "bring it into a new book with --book, or rename one of the two; nothing was taken in",
            code="other_piece",
        )
    tree = known_photos(tree, path.parent)
    sides = tree["sides"]
    piece = Piece.create(**_plain(tree, "sides"))
    for listed in sides:
        lists = [name for name, _ in BELOW_SIDE]
        side = Side.create(piece=piece, **_plain(listed, "runs", *lists))
        for name, model in BELOW_SIDE:
            for row in listed.get(name, []):
                model.create(side=side, **row)
        for run in listed["runs"]:
            _bring_run(run, side, path)
    return True


def _spelt(tree: Mapping[str, Any]) -> str:
    """One spelling of a piece, whatever the order of its columns."""
    return json.dumps(tree, sort_keys=True)


def _bring_run(run: dict[str, Any], side: Side, path: Path) -> None:
    there = Run.get_or_none(Run.key == run["key"])
    if there is not None:
        raise FileError(
            f"{path} holds run {run['number']} for {side.piece.name}, it stands at {there.side.piece.name}",
            "rename one of the two pieces; nothing was taken in",
            code="other_piece",
        )
    row = Run.create(side=side, **_plain(run, "zones"))
    for zone in run["zones"]:
        kept = RunZone.create(run=row, **_plain(zone, "step_s", "curve_c"))
        if zone.get("curve_c") is not None:
            Curve.create(run_zone=kept, step_s=zone["step_s"], packed=pack(zone["curve_c"]))


def _plain(tree: Mapping[str, Any], *without: str) -> dict[str, Any]:
    """A row's own columns, numbers where numbers belong."""
    found = {name: value for name, value in tree.items() if name not in without}
    for name in (*SUMS, *MEASURED_AT_START):
        if name in found and found[name] is not None:
            found[name] = float(found[name])
    return found
