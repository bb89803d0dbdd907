"""A piece with all that the book holds of it, read once, for lists, comparisons and pages."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from peewee import fn

from ribwright_host.errors import FileError

from .compare import Figure, figures, verdict
from .heat import unpack
from .models import (
    BASS,
    MEASURED_AT_START,
    SUMS,
    TREBLE,
    WHICH,
    Curve,
    Defect,
    Measurement,
    Photo,
    Piece,
    Run,
    RunZone,
    Side,
    Thickness,
)

Row = dict[str, Any]


@dataclass(frozen=True)
class SideBook:
    """One side with everything below it, rows by column. facts: of the side; thickness_mm among them is the
    mean over its places. zones: sums of each zone over the side's runs are not made; they stand by run.
    """

    facts: Row
    thicknesses: list[Row] = field(default_factory=list)
    runs: list[Row] = field(default_factory=list)
    measurements: list[Row] = field(default_factory=list)
    defects: list[Row] = field(default_factory=list)
    photos: list[Row] = field(default_factory=list)

    @property
    def rested(self) -> Row | None:
        """The measurement that counts: the last one."""
        gaps = [row for row in self.measurements if mean_gap(row) is not None]
        return gaps[-1] if gaps else (self.measurements[-1] if self.measurements else None)


@dataclass(frozen=True)
class PieceBook:
    """One piece with its sides by which."""

    facts: Row
    sides: dict[str, SideBook]

    @property
    def simulated(self) -> bool:
        """Whether it was bent on the virtual rig."""
        return bool(self.facts["simulated"])

    def figures(self) -> list[Figure]:
        """The pair's figures. Raises FileError with code no_pair."""
        for which in WHICH:
            if which not in self.sides:
                name = self.facts["name"]
                hint = f'take its run in: ribwright book add RUN --piece "{name}" --side {which}'
                raise FileError(f"{name} has no {which} side to compare yet", hint, code="no_pair")
        return figures(self.sides[BASS].facts, self.sides[TREBLE].facts)


def mean_gap(row: Mapping[str, Any]) -> float | None:
    """Mean of the gaps that were measured, mm; above 0 the side has opened.

    row: a measurement by column.

    >>> mean_gap({"gap_upper_mm": 1.0, "gap_waist_mm": None, "gap_lower_mm": 2.0})
    1.5
    """
    gaps = [row[name] for name in ("gap_upper_mm", "gap_waist_mm", "gap_lower_mm")]
    known = [gap for gap in gaps if gap is not None]
    return sum(known) / len(known) if known else None


def _rows(model: Any, owner: Any, of: Any) -> list[Row]:  # noqa: ANN401 - tables and columns of the library
    """Rows of a table that belong to one row, in the order they were written, without ids."""
    rows: Iterable[Row] = model.select().where(owner == of).order_by(model.id).dicts()
    return [{name: value for name, value in row.items() if name not in ("id", "side", "run")} for row in rows]


def _runs(side: Side) -> list[Row]:
    """Runs of a side with their zones, each with its curve."""
    found = []
    for run in Run.select().where(Run.side == side).order_by(Run.started_unix, Run.number, Run.id):
        row = {name: value for name, value in run.__data__.items() if name not in ("id", "side")}
        zones = []
        for zone in RunZone.select().where(RunZone.run == run).order_by(RunZone.id):
            curve = Curve.get_or_none(Curve.run_zone == zone)
            told = {name: value for name, value in zone.__data__.items() if name not in ("id", "run")}
            told["step_s"] = None if curve is None else curve.step_s
            told["curve_c"] = None if curve is None else unpack(bytes(curve.packed))
            zones.append(told)
        found.append(row | {"zones": zones})
    return found


def whole_piece(piece: Piece) -> PieceBook:
    """Everything the book holds of a piece.

    piece: a row of the open book.
    """
    sides = {}
    for side in Side.select().where(Side.piece == piece).order_by(Side.id):
        facts = {name: value for name, value in side.__data__.items() if name not in ("id", "piece")}
        thicknesses = _rows(Thickness, Thickness.side, side)
        sizes = [row["thickness_mm"] for row in thicknesses]
        facts["thickness_mm"] = sum(sizes) / len(sizes) if sizes else None
        sides[side.which] = SideBook(
            facts,
            thicknesses,
            _runs(side),
            _rows(Measurement, Measurement.side, side),
            _rows(Defect, Defect.side, side),
            _rows(Photo, Photo.side, side),
        )
    about = {name: value for name, value in piece.__data__.items() if name != "id"}
    return PieceBook(about, sides)


def all_verdicts(unit: str = "C") -> dict[str, str]:
    """The verdict on every whole pair of the book, by the piece's name, from stored sums alone.

    unit: "C" or "F".
    """
    thick: Any = (
        Thickness.select(Thickness.side, fn.AVG(Thickness.thickness_mm).alias("mean"))
        .group_by(Thickness.side)
        .tuples()
    )
    mean_mm = dict(thick)
    names = (*SUMS, *MEASURED_AT_START)
    columns = [getattr(Side, name) for name in names]
    pairs: dict[str, dict[str, Row]] = {}
    rows: Any = Side.select(Side.id, Piece.name, Side.which, *columns).join(Piece).tuples()
    for side_id, name, which, *sums in rows:
        told = dict(zip(names, sums, strict=True))
        pairs.setdefault(name, {})[which] = told | {"thickness_mm": mean_mm.get(side_id)}
    return {
        name: verdict(figures(sides[BASS], sides[TREBLE]), unit)
        for name, sides in pairs.items()
        if len(sides) == len(WHICH)
    }
