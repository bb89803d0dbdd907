"""Property rows of the stack (materials.csv), each with unit, range and source.

A row is one number.  `value` is what a nominal plant uses, `low` and `high` bound what a drawn
plant may use; a test walks every row.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    import numpy as np

# The one unit every quantity is written in; the row test refuses any other pairing.
UNIT_OF: Mapping[str, str] = {
    "density": "kg/m3",
    "specific_heat": "J/(kg K)",
    "conductivity": "W/(m K)",
    "emissivity": "1",
    "contact_conductance": "W/(m2 K)",
    "surface_coefficient": "W/(m2 K)",
    "heat_capacity": "J/(m2 K)",
    "conductivity_factor": "1",
    "conductivity_rise": "1/(10 K)",
    "power_factor": "1",
    "face_weight": "1",
    "room_moisture": "%",
    "ramp_time": "s",
    "escape_time": "s",
    "seep_time": "s",
    "lag": "s",
    "rise": "K",
    "watt_density_limit": "W/m2",
    "edge_length": "mm",
    "edge_power": "1",
    "waist_place": "1",
    "along_grain": "1",
    "added_water": "kg/m2",
    "vent": "kg/(m2 s)",
}


class StackError(ValueError):
    """The described stack cannot be simulated: says what was seen, the limit, the unit and what to do.

    Attributes:
        code: short stable word for programs (`range`, `missing`, `unknown`).
        where: dotted place of the value, such as `piece.thickness_mm`.
        seen: the value met, as text.
        limit: what is allowed, as text.
        unit: unit of both, empty where there is none.
        advice: the next step for a person.
    """

    def __init__(self, code: str, where: str, seen: object, limit: str, unit: str, advice: str) -> None:
        self.code = code
        self.where = where
        self.seen = str(seen)
        self.limit = limit
        self.unit = unit
        self.advice = advice
        suffix = f" {unit}" if unit else ""
        super().__init__(f"{code}: {where} is {self.seen}, {limit}{suffix}; {advice}")


@dataclass(frozen=True, slots=True)
class Row:
    """One property: nominal value, unit, range, temperature it holds at [C], source with status."""

    name: str
    quantity: str
    value: float
    unit: str
    low: float
    high: float
    at_c: float | None
    source: str

    def pick(self, rng: np.random.Generator | None) -> float:
        """Nominal value [unit of the row], or one drawn evenly within its range when `rng` is given."""
        return self.value if rng is None else float(rng.uniform(self.low, self.high))


class Materials:
    """All property rows, found by name and quantity."""

    def __init__(self, rows: Iterator[Row]) -> None:
        self._rows = {(row.name, row.quantity): row for row in rows}

    def __iter__(self) -> Iterator[Row]:
        """Every row in file order."""
        return iter(self._rows.values())

    def row(self, name: str, quantity: str) -> Row:
        """The row of `name` and `quantity`; raises StackError when there is none."""
        found = self._rows.get((name, quantity))
        if found is not None:
            return found
        known = sorted({row.name for row in self if row.quantity == quantity})
        raise StackError(
            "missing",
            f"{quantity} of a material",
            repr(name),
            f"known: {', '.join(known)}",
            "",
            "use a known material, or add its row with a source to materials.csv",
        )


def read_table(filename: str) -> list[dict[str, str]]:
    """Rows of one CSV, as mappings of column to text; filename: of one that lies beside this file."""
    text = files(__package__ or "ribwright_sim").joinpath(filename).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def load_materials() -> Materials:
    """Read materials.csv once."""
    return Materials(
        Row(
            name=line["name"],
            quantity=line["quantity"],
            value=float(line["value"]),
            unit=line["unit"],
            low=float(line["low"]),
            high=float(line["high"]),
            at_c=float(line["at_c"]) if line["at_c"] else None,
            source=line["source"],
        )
        for line in read_table("materials.csv")
    )
