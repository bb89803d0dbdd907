"""The page on the physics, written from the laws' own docstrings, the tables of figures and the ranges.

`python -m ribwright_sim.physics_page --write` writes it. Without --write it only says whether
sim/PHYSICS.md is what the code makes of it; exit code 1 when not.
"""

from __future__ import annotations

import inspect
import sys
import tomllib
from collections import Counter
from collections.abc import Iterable
from importlib import import_module
from importlib.resources import files
from pathlib import Path
from typing import Any

from ribwright_board.core.wood import MOISTURE_BY_WETTED

from . import chips, colour, cut, ensemble, field, layers, softening, stack, strain
from .materials import load_materials
from .rehearsal import BRIDGES
from .wood import all_species

PAGE = Path(__file__).resolve().parents[1] / "PHYSICS.md"
WORDS = "physics_words.toml"
SOURCE = (
    "Written from the code by `python -m ribwright_sim.physics_page --write`; change docstrings, tables or "
    "`physics_words.toml`, never this page."
)
# Words of a source, and what they are counted as; the first that is found decides, the weakest first.
STANDINGS = (
    ("proposal", "a proposal, whole or in part"),
    ("common practice", "common practice, no source"),
    ("from memory", "from memory, unverified, whole or in part"),
    ("seen secondary", "seen second-hand"),
    ("computed", "computed"),
    ("seen", "seen"),
)


def law_text(module: str, name: str) -> str:
    """What a law says of itself: its docstring without arguments, errors and examples, as one paragraph.

    Args:
        module: of this package.
        name: of the function in it.

    Raises AttributeError for a law that is not there, ValueError for one without a word.
    """
    doc = inspect.getdoc(getattr(import_module(f"{__package__}.{module}"), name))
    if not doc:
        raise ValueError(f"{module}.{name} says nothing of itself")
    kept = [
        " ".join(part.split())
        for part in doc.split("\n\n")
        if not part.startswith(("Args:", "Raises", "Returns", ">>>"))
    ]
    return " ".join(kept)


def module_text(module: str) -> str:
    """What a module says of itself, as one paragraph; module: of this package."""
    return " ".join((inspect.getdoc(import_module(f"{__package__}.{module}")) or "").split())


def standing(source: str) -> str:
    """The weakest standing that a source names; raises ValueError for one that names none.

    >>> standing("EN 12524 (seen); range a proposal")
    'a proposal, whole or in part'
    """
    for word, meaning in STANDINGS:
        if word in source:
            return meaning
    raise ValueError(f"a source without a standing: {source!r}")


def _row(*cells: str) -> str:
    return "| " + " | ".join(cells) + " |"


def _table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> list[str]:
    heads = tuple(heads)
    return [_row(*heads), _row(*["---"] * len(heads)), *(_row(*row) for row in rows)]


def _figures() -> list[str]:
    rows = list(load_materials())
    counted = Counter(standing(row.source) for row in rows)
    told = ", ".join(f"{counted[meaning]} {meaning}" for _, meaning in STANDINGS if counted[meaning])
    lines = [f"{len(rows)} figures, by the weakest word of their source: {told}.", ""]
    return lines + _table(
        ("of", "quantity", "value", "range", "unit", "at, C", "source"),
        (
            (
                row.name,
                row.quantity.replace("_", " "),
                f"{row.value:g}",
                f"{row.low:g} to {row.high:g}",
                row.unit,
                "" if row.at_c is None else f"{row.at_c:g}",
                row.source,
            )
            for row in rows
        ),
    )


def _species() -> list[str]:
    return _table(
        ("wood", "botanical", "basic specific gravity", "range", "source"),
        (
            (
                one.name,
                f"*{one.botanical}*",
                f"{one.basic_gravity:.2f}",
                f"{one.low:.2f} to {one.high:.2f}",
                one.source,
            )
            for one in all_species()
        ),
    )


def _values() -> dict[str, str]:
    """Figures of the code that the words name."""
    doc = stack.__doc__ or ""
    _, _, order = doc.partition("from the form outwards: ")
    return {
        "layers": order.split(".")[0],
        "cells": str(layers.CELLS),
        "form_cells": str(layers.FORM_CELLS),
        "wood_cells": str(layers.WOOD_CELLS),
        "blanket_cells": str(cut.BLANKET_CELLS),
        "refresh_s": f"{field.REFRESH_S:g}",
        "noise_k": f"{chips.Chip.noise_k:g}",
        "mains_low": f"{100 * (1 - ensemble.MAINS_SHARE):g} %",
        "mains_high": f"{100 * (1 + ensemble.MAINS_SHARE):g} %",
        "stated": f"{ensemble.STATED_POINTS:g}",
        "guessed": f"{ensemble.GUESSED_POINTS:g}",
        "spread_k": f"{softening.SPREAD_K:g}",
        "activation_low": f"{colour.ACTIVATION_LOW_J_MOL / 1000:g}",
        "activation_high": f"{colour.ACTIVATION_HIGH_J_MOL / 1000:g}",
        "reference_c": f"{colour.REFERENCE_C:g}",
        "visible_c": f"{colour.VISIBLE_ABOVE_C:g}",
        "breakdown_c": f"{colour.BREAKDOWN_C:g}",
    }


def _limits() -> list[str]:
    """The few published states of stretch, and the words for colour."""
    none = "not stated"
    lines = ["Stretch and compression at which the fibres gave way:", ""]
    lines += _table(
        ("state", "C", "water, %", "stretch, %", "compression, %", "source"),
        (
            (
                one.state,
                none if one.at_c is None else f"{one.at_c:g}",
                none if one.moisture_percent is None else f"{one.moisture_percent:g}",
                f"{one.tension_percent:g}",
                f"{one.compression_percent:g}",
                f"{one.source} ({one.status})",
            )
            for one in strain.LIMITS
        ),
    )
    lines += ["", "Words for colour:", ""]
    return lines + _table(
        ("word", "from, min", "meaning", "limit", "standing"),
        ((one.word, f"{one.from_minutes:g}", one.meaning, one.source, one.status) for one in colour.SHADES),
    )


def page() -> str:
    """The whole page as Markdown.

    Raises KeyError for a figure that the words name and the code has not, AttributeError for such a law,
    ValueError for a source that says nothing of its standing.
    """
    words: dict[str, Any] = tomllib.loads(
        (files(__package__ or "ribwright_sim") / WORDS).read_text(encoding="utf-8")
    )
    values = _values()
    lines = [
        "# What the simulation holds",
        "",
        SOURCE,
        "",
        words["intro"].strip(),
        "",
        words["reading"].strip(),
    ]
    lines += ["", "## The stack", "", *(f"- {text.format_map(values)}" for text in words["stack"])]
    for group in words["group"]:
        lines += [
            "",
            f"## {group['title']}",
            "",
            f"`{group['module']}.py`: {module_text(group['module'])}",
            "",
        ]
        laws = ((f"`{name}`", law_text(group["module"], name)) for name in group["names"])
        lines += _table(("law", "what it says, and where it is from"), laws)
    lines += ["", *_limits(), "", "## Figures", "", words["unit_note"], "", *_figures(), "", "## Woods", ""]
    lines += _species()
    wetted = ", ".join(f"{word} {percent:g} %" for word, percent in MOISTURE_BY_WETTED.items())
    lines += [
        "",
        f"Water in wood of which only the wetting is stated: {wetted} (common practice, no source).",
    ]
    uncertain = words["uncertain"]
    lines += ["", "## What is uncertain, and by how much", "", uncertain["text"].strip(), ""]
    lines += [
        f"- {uncertain[key].format_map(values)}" for key in ("mains", "water", "softening", "activation")
    ]
    lines += ["", uncertain["even"], "", "Unverified bridges, shown with every figure that rests on one:", ""]
    lines += _table(("bridge", "what it is", "rests on"), ((b.name, b.what, b.rests_on) for b in BRIDGES))
    lines += ["", "## What it cannot tell", ""]
    lines += [f"- {text.format_map(values)}" for text in words["cannot"]["items"]]
    return "\n".join(lines) + "\n"


def main(arguments: list[str] | None = None) -> int:
    """Write the page, or say whether it is up to date; the exit code.

    arguments: ["--write"] or nothing; absent, as the command line has it.
    """
    text = page()
    if "--write" in (sys.argv[1:] if arguments is None else arguments):
        PAGE.write_text(text, encoding="utf-8", newline="\n")
        return 0
    try:
        same = PAGE.read_text(encoding="utf-8") == text
    except OSError:
        same = False
    if not same:
        sys.stderr.write(
            f"{PAGE} is out of date; write it again: python -m ribwright_sim.physics_page --write\n"
        )
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
