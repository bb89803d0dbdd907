"""The page on rig and profile files, written from the schemas and so from what the board's parsers ask for.

`python -m ribwright_host.files_page --write` writes it. Without --write it only says whether host/FILES.md is
what the schemas make of it; exit code 1 when not.
"""

import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from .schema import schema_of
from .written_page import keep

WORDS = Path(__file__).parent / "templates" / "file_words.toml"
PAGE = Path(__file__).resolve().parents[1] / "FILES.md"
SOURCE = (
    "Written from the schemas by `python -m ribwright_host.files_page --write`; change the parsers or the "
    "words in `templates/file_words.toml`, never this page."
)
HEAD = (
    "Both files are TOML, of at most 256 KB. A key that nobody reads is an error, so a slip of the pen is "
    "found. Every temperature in a file is in the file's own `unit`; lengths, powers and times have their "
    "unit in their name or below. `ribwright schema rig` and `ribwright schema profile` print the same as "
    "JSON Schema, for editors that complete and check TOML. What holds between keys, `ribwright check` says."
)
TABLE = ("| key | what may stand there | left out | what it does |", "| --- | --- | --- | --- |")
Node = dict[str, Any]


def tables_of(schema: Node, place: str = "") -> Iterator[tuple[str, Node]]:
    """Every table of a schema by its dotted place, stages by their kind, the outer one first.

    schema: of one table. place: where it stands.
    """
    yield place, schema
    for key, value in schema["properties"].items():
        inner = f"{place}.{key}".strip(".")
        if value.get("type") == "object":
            yield from tables_of(value, inner)
        elif "properties" in value.get("items", {}):
            yield from tables_of(value["items"], inner)
        for one in value.get("items", {}).get("oneOf", ()):
            yield from tables_of(one, f"{inner}.{one['properties']['kind']['const']}")


def is_key(value: Node) -> bool:
    """Whether a schema is of a plain key: tables have a part of the page to themselves.

    value: what a table's `properties` say of one of them.
    """
    return value.get("type") != "object" and not {"properties", "oneOf"} & set(value.get("items", ()))


def _limits(value: Node) -> str:
    """What may be written, with its unit."""
    if words := value.get("enum", [value["const"]] if "const" in value else ()):
        return ", ".join(f"`{one}`" for one in words)
    if value["type"] == "string":
        return f"text, up to {value['maxLength']} characters"
    if value["type"] == "array":
        longest = f" of up to {value['items']['maxLength']} characters" if "items" in value else ""
        return f"list of {value['minItems']} to {value['maxItems']} texts{longest}"
    return _range(value)


def _range(value: Node) -> str:
    """Limits of a number, with its unit."""
    unit = str(value.get("description", ""))
    if " C, " in unit:
        return unit
    whole = "whole number, " if value["type"] == "integer" else ""
    if unit.startswith("degrees"):
        # A difference: the schema bears the wider limits of both units.
        low, high, per = value["minimum"], value["maximum"] / 1.8, unit.partition(" per ")[2]
        tail = f" per {per}" if per else ""
        return f"{low:g} to {high:g} K{tail}, {low * 1.8:g} to {high * 1.8:g} degrees F{tail}"
    return f"{whole}{value['minimum']:.12g} to {value['maximum']:.12g} {unit}".rstrip()


class _Words:
    """Words by place of a key; whatever is not used is left over."""

    def __init__(self) -> None:
        self.all = tomllib.loads(WORDS.read_text(encoding="utf-8"))
        self.used: set[tuple[str, str]] = set()

    def of(self, kind: str, place: str, key: str) -> Node:
        """Words for a key: its own, those of its list whatever the kind of stage, or the outer table's.

        Raises KeyError when nobody has any.
        """
        parts = [*filter(None, place.split("."))]
        while True:
            dotted = ".".join([*parts, key])
            for group in (kind, "both"):
                if dotted in self.all["keys"][group]:
                    self.used.add((group, dotted))
                    return dict(self.all["keys"][group][dotted])
            if not parts:
                raise KeyError(f"no words for {place}.{key} of a {kind}")
            parts.pop()

    def left(self) -> list[str]:
        """Words for keys that no schema has."""
        every = {(group, key) for group, keys in self.all["keys"].items() for key in keys}
        return sorted(key for _, key in every - self.used)


def _default(value: Node, words: Node, *, needed: bool) -> str:
    """What counts where a key is left out.

    Raises ValueError when the words of an optional key do not say.
    """
    if needed:
        return "needed"
    if "default" in words:
        found = words["default"]
        return f"`{found}`" if isinstance(found, str) else _with_unit(found, value)
    if "without" not in words:
        raise ValueError(f"words do not say what counts without it: {words['does']}")
    return str(words["without"])


def _with_unit(number: float, value: Node) -> str:
    unit = value.get("description", "")
    if unit.startswith("degrees"):
        return f"{number:g} K"
    return f"{number:g} {'C' if ' C, ' in unit else unit}".rstrip()


def page() -> str:
    """The whole page as Markdown.

    Raises KeyError when a key or a table has no words, ValueError when words are left over.
    """
    words = _Words()
    lines = ["# Rig and profile files", "", SOURCE, "", HEAD]
    for kind in ("profile", "rig"):
        lines += ["", f"## {kind.capitalize()}", "", str(words.all[kind]["text"]).strip()]
        titles = dict(words.all["table"][kind])
        for place, schema in tables_of(schema_of(kind)):
            needed = set(schema.get("required", ()))
            rows = [
                (key, value, words.of(kind, place, key))
                for key, value in schema["properties"].items()
                if is_key(value)
            ]
            title = (place.replace(".", ", ") if place.startswith("stages") else place) or "head"
            lines += ["", f"### {kind.capitalize()}: {title}", "", titles.pop(place)]
            if rows:
                lines += ["", *TABLE]
            for key, value, said in rows:
                cells = (f"`{key}`", _limits(value), _default(value, said, needed=key in needed))
                lines.append(f"| {' | '.join(cells)} | {said['does']} |")
        if titles:
            raise ValueError(f"words for tables that no {kind} has: {', '.join(sorted(titles))}")
    if left := words.left():
        raise ValueError(f"words for keys that no file has: {', '.join(left)}")
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Write the page, or say whether it is up to date; the exit code.

    arguments: of the command line, None for the process's own; with --write it is written.
    """
    return keep(PAGE, page(), "ribwright_host.files_page", arguments)


if __name__ == "__main__":
    sys.exit(main())
