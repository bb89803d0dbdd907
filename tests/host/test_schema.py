"""The schemas for editors say what the board's parsers ask for; judged by the library jsonschema."""

import copy
import json
import tomllib
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from ribwright_board.core import profile as core_profile
from ribwright_board.core import rig as core_rig
from ribwright_board.core.checks import Table
from ribwright_host.cli import cli
from ribwright_host.schema import KINDS, schema_of

LIBRARY = Path(__file__).parents[2] / "host" / "ribwright_host" / "library"
FILES = sorted(LIBRARY.glob("*.toml"))


def values(name):
    return tomllib.loads((LIBRARY / name).read_text(encoding="utf-8"))


def wrong(kind, document):
    return list(jsonschema.Draft202012Validator(schema_of(kind)).iter_errors(document))


@pytest.mark.parametrize("kind", KINDS)
def test_schema_is_itself_right(kind):
    jsonschema.Draft202012Validator.check_schema(schema_of(kind))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_shipped_files_pass(path):
    document = values(path.name)
    assert wrong("profile" if "stages" in document else "rig", document) == []


@pytest.mark.parametrize(
    ("kind", "change"),
    [
        ("profile", lambda it: it["piece"].update(thicknes_mm=1.7)),
        ("profile", lambda it: it["piece"].update(thickness_mm=17)),
        ("profile", lambda it: it["piece"].update(wetted="damp")),
        ("profile", lambda it: it["piece"].pop("species")),
        ("profile", lambda it: it["stages"][0].update(minutes=3)),
        ("profile", lambda it: it["stages"][0].update(target="hot")),
        ("profile", lambda it: it["stages"][-1].update(target=100)),
        ("profile", lambda it: it["stages"][0].update(kind="warm")),
        ("profile", lambda it: it.update(unit="K")),
        ("profile", lambda it: it.pop("unit")),
        ("rig", lambda it: it["zones"][0].update(power_w="105")),
        ("rig", lambda it: it["zones"][0].update(relay="lamp")),
        ("rig", lambda it: it["pins"].pop("alive")),
        ("rig", lambda it: it["mains"].update(volts=24)),
        ("rig", lambda it: it.update(colour="red")),
    ],
)
def test_what_is_broken_is_refused_as_the_board_does(kind, change):
    name = "rig_two_zone_120v.toml" if kind == "rig" else "sapele_baritone_side.toml"
    document = copy.deepcopy(values(name))
    change(document)
    assert wrong(kind, document)
    parser = core_rig if kind == "rig" else core_profile
    assert parser.check(document)


def test_keys_of_every_branch_are_there():
    stages = schema_of("profile")["properties"]["stages"]["items"]["oneOf"]
    by_kind = {one["properties"]["kind"]["const"]: one["properties"] for one in stages}
    assert {"heat_for", "mid_wood", "wood_face"} <= set(by_kind["ramp"])
    assert {"until", "minutes", "mid_wood_s", "cues"} <= set(by_kind["hold"])
    zone = schema_of("rig")["properties"]["zones"]["items"]["properties"]
    assert {"gains", "wood", "response", "relay_hours"} <= set(zone)


def test_the_parsers_keep_their_own_tables():
    schema_of("rig")
    assert core_rig.Table is Table
    assert core_profile.Table is Table


def test_command_prints_and_writes(tmp_path):
    shown = CliRunner().invoke(cli, ["schema", "profile"])
    assert json.loads(shown.stdout) == schema_of("profile")
    out = tmp_path / "rig.json"
    assert CliRunner().invoke(cli, ["schema", "rig", "-o", str(out)]).exit_code == 0
    assert json.loads(out.read_text()) == schema_of("rig")
