"""A repeated profile as a TOML file, with what side one did beside each stage."""

from collections.abc import Iterator, Mapping
from typing import Any

import tomlkit

from ribwright_host.toml_lines import comment_lines

from .again import Again

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
    lines = [line for text in found.words for line in comment_lines(text)]
    lines += ["", *_pairs({key: mapping[key] for key in ("schema", "name", "unit")})]
    lines += ["", "[piece]", *_pairs(mapping["piece"])]
    if found.side is not None:
        lines += ["", "# How the strips lie; `ribwright start FILE --side ...` draws it."]
        lines += _table("side", found.side)
    notes = [note for one in found.took for note in one.notes]
    for stage, beside in zip(mapping["stages"], notes, strict=True):
        lines += [
            "",
            *(line for note in beside for line in comment_lines(note)),
            "[[stages]]",
            *_pairs(stage),
        ]
    return "\n".join(lines) + "\n"


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
