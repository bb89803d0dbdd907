"""A repeated profile as a TOML file, with what side one did beside each stage."""

import textwrap
from collections.abc import Iterator, Mapping
from typing import Any

import tomlkit

from .again import Again

WIDTH = 110
# As the examples have them; a board's log keeps no order.
ORDER = (
    "schema name unit kind zones target rate_per_min heat_for mid_wood wood_face until minutes mid_wood_s "
    "below band longest_min cues species cut figure oiliness thickness_mm width_mm length_mm "
    "tightest_radius_mm pieces plies wetted moisture_percent density_kg_m3"
).split()


def profile_text(found: Again) -> str:
    """The whole file.

    found: of repeated().
    """
    mapping = found.mapping
    lines = [line for text in found.words for line in _comment(text)]
    lines += ["", *_pairs({key: mapping[key] for key in ("schema", "name", "unit")})]
    lines += ["", "[piece]", *_pairs(mapping["piece"])]
    if found.side is not None:
        lines += ["", "# How the strips lie; `ribwright start FILE --side ...` draws it."]
        lines += _table("side", found.side)
    notes = [note for one in found.took for note in one.notes]
    for stage, beside in zip(mapping["stages"], notes, strict=True):
        lines += ["", *(line for note in beside for line in _comment(note)), "[[stages]]", *_pairs(stage)]
    return "\n".join(lines) + "\n"


def _comment(text: str) -> list[str]:
    """A comment of as many lines as it needs; a name with a line break in it stays a comment."""
    plain = " ".join(text.split())
    return textwrap.wrap(plain, WIDTH, initial_indent="# ", subsequent_indent="#   ", break_on_hyphens=False)


def _pairs(values: Mapping[str, Any]) -> Iterator[str]:
    place = {key: at for at, key in enumerate(ORDER)}
    for key in sorted(values, key=lambda key: place.get(key, len(ORDER))):
        yield f"{key} = {tomlkit.item(values[key]).as_string()}"


def _table(name: str, values: Mapping[str, Any]) -> Iterator[str]:
    """A table with the tables inside it."""
    yield f"[{name}]"
    yield from _pairs({key: value for key, value in values.items() if not isinstance(value, Mapping)})
    for key, value in values.items():
        if isinstance(value, Mapping):
            yield from _table(f"{name}.{key}", value)
