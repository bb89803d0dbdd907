"""Measured sides of the open book as cases to learn from. Simulated ones are never among them."""

from collections import Counter
from dataclasses import dataclass
from typing import Any

from peewee import fn

from .learn import Case
from .models import Defect, Measurement, Piece, Side, Thickness
from .pairs import mean_gap

EVERY_WOOD = "all"


@dataclass(frozen=True)
class Cases:
    """Sides to learn from, the oldest first. species: their wood, or "all". others: measured sides of other
    woods. defects: kinds that each side has, in the same order. simulated: sides left out for that.
    """

    cases: list[Case]
    species: str
    others: int
    defects: list[set[str]]
    simulated: int


def _last_measured() -> dict[int, dict[str, Any]]:
    """The measurement that counts of each side: the last one with a gap."""
    found: dict[int, dict[str, Any]] = {}
    rows: Any = Measurement.select().order_by(Measurement.id).dicts()
    for row in rows:
        if mean_gap(row) is not None:
            found[row["side"]] = row
    return found


def collect(species: str | None = None) -> Cases:
    """Every real side that was measured, of one wood.

    species: its name, "all" for every wood, None for that of the newest measured side.
    """
    measured = _last_measured()
    thick: Any = Thickness.select(Thickness.side, fn.AVG(Thickness.thickness_mm)).group_by(Thickness.side)
    mean_mm = dict(thick.tuples())
    kinds: dict[int, set[str]] = {}
    noted: Any = Defect.select(Defect.side, Defect.kind).where(Defect.badness > 0).tuples()
    for side_id, kind in noted:
        kinds.setdefault(side_id, set()).add(kind)
    columns = [Side.species, Side.set_c, Side.set_s, Side.heat_s, Side.moisture_percent]
    rows: Any = (
        Side.select(Side.id, Piece.id, Piece.simulated, *columns, Side.tightest_radius_mm)
        .join(Piece)
        .order_by(Piece.made_on, Piece.id, Side.id)
        .tuples()
    )
    listed = [row for row in rows if row[0] in measured]
    real = [row for row in listed if not row[2]]
    chosen = species or (real[-1][3] or "unknown wood" if real else EVERY_WOOD)
    of_wood = [row for row in real if chosen in (EVERY_WOOD, row[3] or "unknown wood")]
    cases = []
    for side_id, piece_id, _, _, set_c, set_s, heat_s, moisture, radius in of_wood:
        values = {
            "set_c": set_c,
            "set_min": None if set_s is None else set_s / 60,
            "heat_min": None if heat_s is None else heat_s / 60,
            "thickness_mm": mean_mm.get(side_id),
            "moisture_percent": moisture,
            "tightest_radius_mm": radius,
        }
        cases.append(Case(piece_id, values, mean_gap(measured[side_id]) or 0.0))
    return Cases(
        cases,
        chosen,
        len(real) - len(of_wood),
        [kinds.get(row[0], set()) for row in of_wood],
        len(listed) - len(real),
    )


def woods() -> dict[str, int]:
    """Real measured sides by wood, to say what there is."""
    measured = _last_measured()
    rows: Any = (
        Side.select(Side.id, Side.species).join(Piece).where(Piece.simulated == False).tuples()  # noqa: E712
    )
    return dict(Counter(name or "unknown wood" for side_id, name in rows if side_id in measured))
