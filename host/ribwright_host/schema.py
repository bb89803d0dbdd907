"""JSON Schemas of rig and profile for editors, as the board's own parsers read them.

The parsers ask for every key with its kind and limits. Here they are given tables that write down what is
asked, on samples that go down every branch, so the schemas cannot drift from the firmware. What holds between
keys stays with `ribwright check`.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from typing import Any

import tomlkit

from ribwright_board.core import profile as core_profile
from ribwright_board.core import rig as core_rig
from ribwright_board.core.checks import Table
from ribwright_board.core.errors import Problem
from ribwright_board.core.units import in_unit, in_unit_difference

from .side import facts as side_facts

Values = dict[str, Any]
Place = tuple[Any, ...]

DIALECT = "https://json-schema.org/draft/2020-12/schema"
KINDS = ("rig", "profile")
# A stage of each way to end, so that every key is asked for.
STAGES: tuple[Values, ...] = (
    {"kind": "ramp"},
    {"kind": "ramp", "heat_for": "wood"},
    {"kind": "hold", "minutes": 1},
    {"kind": "hold", "until": "wood"},
    {"kind": "set"},
    {"kind": "cool"},
)
LISTS = {("zones",): core_rig.MAX_ZONES, ("stages",): core_profile.MAX_STAGES}


class _Seen:
    """What parsers asked for: place of a table -> its keys with their schemas, and whether it was
    finished.
    """

    def __init__(self) -> None:
        self.keys: dict[Place, dict[str, Values]] = {}
        self.required: dict[Place, set[str]] = {}
        self.closed: set[Place] = set()

    def note(self, where: Place, key: str, value: Values, *, required: bool = False) -> None:
        """A key that is asked for; asked more closely later, that counts."""
        held = self.keys.setdefault(where, {}).setdefault(key, {})
        held.update(value)
        if required:
            self.required.setdefault(where, set()).add(key)


def _recorder(seen: _Seen) -> type[Table]:
    """A table that reads as the firmware's and writes down what it is asked."""

    class Recording(Table):
        def __init__(self, values: object, where: Place, problems: list[Problem], unit: str) -> None:
            super().__init__(values, where, problems, unit)
            seen.keys.setdefault(where, {})

        def take(self, key: str) -> object:
            seen.note(self.where, key, {})
            return super().take(key)

        def text(self, key: str, required: bool = True, longest: int = 60) -> str | None:
            seen.note(
                self.where, key, {"type": "string", "minLength": 1, "maxLength": longest}, required=required
            )
            return super().text(key, required, longest)

        def choice(self, key: str, allowed: tuple[str, ...], required: bool = True) -> str | None:
            seen.note(self.where, key, {"enum": list(allowed)}, required=required)
            return super().choice(key, allowed, required)

        def number(
            self,
            key: str,
            low: float,
            high: float,
            unit: str,
            required: bool = True,
            whole: bool = False,
            advice: str = "change it",
        ) -> float | None:
            kind = "integer" if whole else "number"
            limits: Values = {"type": kind, "minimum": low, "maximum": high}
            seen.note(self.where, key, limits | ({"description": unit} if unit else {}), required=required)
            return super().number(key, low, high, unit, required, whole, advice)

        def temperature(
            self,
            key: str,
            low_c: float,
            high_c: float,
            required: bool = True,
            advice: str = "change it",
        ) -> float | None:
            found = super().temperature(key, low_c, high_c, required, advice)
            # Either unit may be the file's: the wider limits of both.
            words = f"{low_c:g} to {high_c:g} C, {in_unit(low_c, 'F'):g} to {in_unit(high_c, 'F'):g} F"
            seen.note(
                self.where,
                key,
                {"minimum": low_c, "maximum": in_unit(high_c, "F"), "description": words},
            )
            return found

        def difference(self, key: str, low_k: float, high_k: float, per: str = "") -> float | None:
            found = super().difference(key, low_k, high_k, per)
            words = f"degrees of the file's unit {per}".strip()
            most = in_unit_difference(high_k, "F")
            seen.note(self.where, key, {"minimum": low_k, "maximum": most, "description": words})
            return found

        def words(self, key: str, most: int, longest: int = 60) -> list[str]:
            item = {"type": "string", "minLength": 1, "maxLength": longest}
            listed = {"type": "array", "minItems": 1, "maxItems": most, "items": item}
            # The parser says itself that a stage's zones are missing.
            seen.note(self.where, key, listed, required=key == "zones")
            return super().words(key, most, longest)

        def finish(self) -> None:
            seen.closed.add(self.where)

    return Recording


@contextmanager
def _recording() -> Iterator[_Seen]:
    """The parsers with recording tables in place of theirs."""
    seen = _Seen()
    modules: tuple[Any, ...] = (core_rig, core_profile, side_facts)
    try:
        for module in modules:
            module.Table = _recorder(seen)
        yield seen
    finally:
        for module in modules:
            module.Table = Table


def schema_of(kind: str) -> Values:
    """The JSON Schema of one kind of file.

    kind: of KINDS.
    """
    with _recording() as seen:
        if kind == "rig":
            core_rig.check(_sample_rig())
        else:
            core_profile.check(
                {"schema": core_profile.SCHEMA, "unit": "C", "piece": {}, "stages": list(STAGES)}
            )
            # The one table that the computer keeps to itself.
            seen.note((), side_facts.KEY, {})
            side_facts.problems_of({hand: {} for hand in side_facts.HANDS}, {}, None)
    whole = _table(seen, ())
    whole["properties"]["schema"] = {"const": core_rig.SCHEMA if kind == "rig" else core_profile.SCHEMA}
    whole["properties"]["unit"] = {"enum": ["C", "F"], "description": "of every temperature in the file"}
    whole["required"] = sorted({*whole.get("required", ()), "schema", "unit", *_tables(kind)})
    return {"$schema": DIALECT, "title": f"Ribwright {kind}", **whole}


def _tables(kind: str) -> tuple[str, ...]:
    return ("mains", "pins", "zones") if kind == "rig" else ("piece", "stages")


def _sample_rig() -> Values:
    """The example with every optional table, empty, and a second zone that only watches."""
    text = (files("ribwright_host") / "library" / "rig_two_zone_120v.toml").read_text(encoding="utf-8")
    rig: Values = tomlkit.parse(text).unwrap()
    rig["fit"] = {"values": {}, "sigmas": {}}
    zone = {**rig["zones"][0], "gains": {}, "wood": {}, "offset": {}}
    rig["zones"] = [zone, {"relay": core_rig.NO_RELAY}]
    rig["panel"] = {}
    return rig


def _table(seen: _Seen, where: Place) -> Values:
    """One table with those inside it."""
    properties: Values = {}
    for key, value in seen.keys[where].items():
        inside = (*where, key)
        if inside in LISTS:
            properties[key] = {"type": "array", "minItems": 1, "maxItems": LISTS[inside]}
            properties[key]["items"] = _rows(seen, inside)
        else:
            properties[key] = _table(seen, inside) if inside in seen.keys else dict(value)
    found: Values = {"type": "object", "properties": properties}
    if where in seen.required:
        found["required"] = sorted(seen.required[where])
    if where in seen.closed or where == ():
        found["additionalProperties"] = False
    return found


def _rows(seen: _Seen, where: Place) -> Values:
    """A row of a list of tables; stages by their kind, so that an editor offers what belongs to it."""
    rows = [_table(seen, place) for place in seen.keys if place[:-1] == where]
    if where != ("stages",):
        whole = rows[0]
        for row in rows[1:]:
            # Needed is what every row needs: a zone that only watches has no relay's pin.
            whole["required"] = sorted(set(whole["required"]) & set(row["required"]))
        return whole
    kinds: dict[str, Values] = {}
    for stage, row in zip(STAGES, rows, strict=True):
        held = kinds.setdefault(stage["kind"], row)
        held["properties"] = row["properties"] | held["properties"]
        held["required"] = sorted(set(held.get("required", ())) & set(row.get("required", ())))
    for kind, row in kinds.items():
        row["properties"]["kind"] = {"const": kind}
    return {"type": "object", "required": ["kind"], "oneOf": list(kinds.values())}
