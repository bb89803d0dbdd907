"""The page on rig and profile files is what the parsers ask for, and its defaults are the parsers' own."""

import copy
import tomllib

import pytest

from host.test_schema import values, wrong
from ribwright_board.core import profile as core_profile
from ribwright_board.core import rig as core_rig
from ribwright_host import files_page
from ribwright_host.schema import KINDS, schema_of
from ribwright_host.side.facts import side_of

WOOD = {"resistance": 0.007, "loss": 7.0, "escape_s": 40.0}


def parsed(kind, document):
    """What the firmware makes of a file, as plain values all the way down."""

    def plain(value):
        if hasattr(value, "__dict__"):
            return {key: plain(inner) for key, inner in vars(value).items()}
        return [plain(inner) for inner in value] if isinstance(value, list) else value

    return plain((core_rig if kind == "rig" else core_profile).parse(document))


def sample(kind):
    document = copy.deepcopy(
        values("rig_two_zone_120v.toml" if kind == "rig" else "sapele_baritone_side.toml")
    )
    if kind == "rig":
        document["zones"][0]["wood"] = dict(WOOD)
    return document


def tables_at(place, document):
    """The tables of a document that a dotted place of the page speaks of."""
    parts = place.split(".") if place else []
    if parts[:1] == ["stages"] and len(parts) > 1:
        return [one for one in document["stages"] if one["kind"] == parts[1]]
    found = [document]
    for part in parts:
        found = [table[part] for table in found if part in table]
        found = [row for table in found for row in (table if isinstance(table, list) else [table])]
    return found


def defaults():
    words = files_page._Words()
    for kind in KINDS:
        for place, schema in files_page.tables_of(schema_of(kind)):
            for key, value in schema["properties"].items():
                if files_page.is_key(value) and "default" in (said := words.of(kind, place, key)):
                    yield kind, place, key, said["default"]


@pytest.mark.parametrize(("kind", "place", "key", "default"), list(defaults()))
def test_a_default_does_what_leaving_the_key_out_does(kind, place, key, default):
    if place.startswith("side"):
        stated = {"neck_end": "left"}
        assert side_of(stated) == side_of({**stated, key: default})
        return
    if place == "panel":
        # Only the driver knows: a buzzer is passive when it is said to be.
        assert (key, default) == ("buzzer_type", "active")
        return
    without, stated = sample(kind), sample(kind)
    for table in tables_at(place, without):
        table.pop(key, None)
    changed = tables_at(place, stated)
    assert changed
    for table in changed:
        table[key] = default
    one, other = parsed(kind, without), parsed(kind, stated)
    # A profile keeps its piece as it was written; who reads it takes one for what is left out.
    one.pop("piece", None)
    other.pop("piece", None)
    assert one == other


def test_the_comparison_would_see_another_default():
    less = sample("rig")
    less["zones"][0]["ceiling"] = 180
    assert parsed("rig", sample("rig")) != parsed("rig", less)
    assert len(list(defaults())) > 10


def test_key_without_words_and_words_without_a_key_are_noticed(monkeypatch, tmp_path):
    table = tomllib.loads(files_page.WORDS.read_text(encoding="utf-8"))
    assert "piece.plies" in table["keys"]["profile"]
    text = files_page.WORDS.read_text(encoding="utf-8")
    changed = tmp_path / "words.toml"
    monkeypatch.setattr(files_page, "WORDS", changed)
    changed.write_text(text.replace('"piece.plies" =', '"piece.plys" ='), encoding="utf-8")
    with pytest.raises(KeyError, match="plies"):
        files_page.page()
    changed.write_text(text + '"zones.colour" = { does = "nothing" }\n', encoding="utf-8")
    with pytest.raises(ValueError, match="colour"):
        files_page.page()
    changed.write_text(text.replace(", default = 20 }", " }"), encoding="utf-8")
    with pytest.raises(ValueError, match="what counts without"):
        files_page.page()


def test_every_key_of_the_shipped_files_is_on_the_page():
    page = files_page.page()
    for kind in KINDS:
        part = page.split(f"## {kind.capitalize()}\n")[1].split("\n## ")[0]
        document = sample(kind)
        tables = [document, *(one for one in document.values() if isinstance(one, dict))]
        tables += [row for one in document.values() if isinstance(one, list) for row in one]
        for table in tables:
            for key, value in table.items():
                if not isinstance(value, dict | list) or key in ("zones", "cues"):
                    assert f"`{key}`" in part or f"[[{key}]]" in part, (kind, key)


@pytest.mark.parametrize("change", ["panel", "offset", "watching"])
def test_schema_takes_what_the_board_takes(change):
    document = sample("rig")
    if change == "panel":
        document["panel"] = {"display": "SSD1306", "sda": 4, "scl": 5, "buzzer": 8}
    if change == "offset":
        document["zones"][0]["offset"] = {"reads_high_by": 1.2, "date": "2026-11-29"}
    if change == "watching":
        for zone in document["zones"]:
            zone["relay"] = "none"
            del zone["relay_pin"]
    assert core_rig.check(document) == []
    assert wrong("rig", document) == []
    if change == "panel":
        document["panel"]["sound"] = 8
        assert core_rig.check(document)
        assert wrong("rig", document)
