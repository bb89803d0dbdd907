"""Offsets from boiling water: found, written into the rig file, taken off by a board that carries it."""

import json
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner

from host.test_prove import running
from ribwright_board.core.rig_values import OFFSET_MOST_K
from ribwright_host.cli import cli
from ribwright_host.errors import FileError, UsageError
from ribwright_host.link import Link, hello
from ribwright_host.prove import boiling, ladder, offsets, record
from ribwright_host.prove.hands import VirtualHands
from ribwright_host.prove.person import read_answers
from ribwright_host.prove.step import LADDER, NAMES, Work
from ribwright_host.prove.trial import PIECE
from ribwright_host.rigs import check_rig, describe, load_rig
from ribwright_host.transport import open_port

ANSWERS = Path(__file__).with_name("prove_answers.toml")
DATE = "2026-01-02T03:04:05Z"
# The converter tells quarters of a kelvin; means of fifteen rows keep up to half of one, and some noise.
ROW_K = 0.35
WATER = "water boiling at 1013.2 hPa, 99.97 C"
BOILING = LADDER[NAMES.index("boiling")]


@pytest.fixture
def rig_path(tmp_path):
    path = tmp_path / "rig.toml"
    path.write_bytes((files("ribwright_host") / "library" / "rig_two_zone_120v.toml").read_bytes())
    return path


def recorded(rig_path, offsets_k=(1.44, -0.3), *, simulated=False, result=record.PASSED):
    """A record with boiling water in it, kept beside the rig file."""
    rig = load_rig(rig_path)
    found = record.Record(rig.hash, rig.name, simulated=simulated)
    found.steps["boiling"] = record.Result(result, DATE, [], "", "", list(offsets_k), WATER)
    record.save(found, rig_path.parent / "prove")
    return rig, record.load(rig_path.parent / "prove")


def boiled(rig_path, tmp_path):
    """How the step with boiling water ends on a virtual rig whose second converter shows 2 % too much."""
    rig = load_rig(rig_path)
    with running(rig.mapping, PIECE, tmp_path / "board") as process:
        link = Link(open_port(process.url))
        process.command({"chip": 1, "state": "wrong_gain", "gain": 1.02})
        board, taken_off_k = hello(link), link.ask("counters")["offsets_k"]
        hands = VirtualHands(process.command)
        work = Work(rig, read_answers(ANSWERS), lambda _: None, lambda: (link, board, hands))
        found = ladder.one_step(work, BOILING)
        link.close()
    return taken_off_k, found


def test_offset_of_a_converter_is_found_and_a_board_with_it_shows_the_water_as_it_is(rig_path, tmp_path):
    taken_off_k, found = boiled(rig_path, tmp_path)
    assert taken_off_k == [0.0, 0.0]
    assert found.result == record.PASSED, found
    # 2 % of what the converter sees of the water, whose box is at 17 to 25 C, and what both round.
    assert found.offsets_k[1] - found.offsets_k[0] == pytest.approx(1.6, abs=ROW_K)
    assert abs(found.offsets_k[0]) < 0.25
    assert "hPa" in found.fixed_point
    offsets.keep(load_rig(rig_path), record.Record("", "", simulated=False, steps={"boiling": found}))
    taken_off_k, second = boiled(rig_path, tmp_path)
    assert taken_off_k == pytest.approx(found.offsets_k, abs=0.01)
    # What is taken off already counts: the file may be written again without harm.
    assert second.offsets_k == pytest.approx(found.offsets_k, abs=ROW_K)
    shown = {figure.name: figure.seen for figure in second.figures}
    assert shown["already taken off by the board, zone full"] == f"{found.offsets_k[1]:+.2f}"


def test_file_keeps_everything_else_and_stays_the_same_rig(rig_path):
    rig, kept = recorded(rig_path)
    before = rig_path.read_text(encoding="utf-8")
    assert offsets.keep(rig, kept) == [1.44, -0.3]
    assert check_rig(rig_path) == []
    fresh = load_rig(rig_path)
    assert fresh.hash == rig.hash
    assert [zone.offset_k for zone in fresh.rig.zones] == [1.44, -0.3]
    after = rig_path.read_text(encoding="utf-8").splitlines()
    assert [line for line in before.splitlines() if line not in after] == []
    words = " ".join(describe(fresh.mapping, "F"))
    # 1.44 K are 2.6 degrees F: by the definition of the scale.
    assert f"Zone waist reads +2.6 degrees high (2026-01-02, {WATER}); the board takes it off." in words
    # Once more: replaced, not doubled.
    offsets.keep(fresh, kept)
    assert rig_path.read_text(encoding="utf-8").count("[zones.offset]") == 2


def test_a_file_that_begins_with_a_byte_order_mark_is_written_as_well(rig_path):
    text = rig_path.read_text(encoding="utf-8")
    rig_path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    offsets.keep(*recorded(rig_path))
    assert check_rig(rig_path) == []
    assert [zone["offset"]["reads_high_by"] for zone in load_rig(rig_path).mapping["zones"]] == [1.44, -0.3]
    assert text.splitlines()[0] in rig_path.read_text(encoding="utf-8")


def test_a_file_in_fahrenheit_gets_degrees_of_its_own(rig_path):
    text = rig_path.read_text(encoding="utf-8").replace('unit = "C"', 'unit = "F"')
    rig_path.write_text(text.replace("ceiling = 200", "ceiling = 392"), encoding="utf-8")
    rig, kept = recorded(rig_path)
    assert rig.mapping["unit"] == "F"
    offsets.keep(rig, kept)
    zones = load_rig(rig_path).mapping["zones"]
    assert [zone["offset"]["reads_high_by"] for zone in zones] == pytest.approx([2.59, -0.54])


def test_nothing_is_written_of_a_simulated_rig_or_without_the_water(rig_path):
    before = rig_path.read_bytes()
    for more, code in (
        ({"simulated": True}, "simulated"),
        ({"result": record.FAILED}, "not_passed"),
        ({"offsets_k": ()}, "not_passed"),
    ):
        with pytest.raises(UsageError) as raised:
            offsets.keep(*recorded(rig_path, **more))
        assert raised.value.code == code
    assert rig_path.read_bytes() == before


def test_a_file_that_cannot_be_written_stays_as_it_was(rig_path, monkeypatch):
    rig, kept = recorded(rig_path)
    before = rig_path.read_bytes()

    def full(*_args, **_more):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(FileError, match="cannot be written"):
        offsets.keep(rig, kept)
    assert rig_path.read_bytes() == before


def test_command_says_what_it_wrote(rig_path):
    recorded(rig_path)
    result = CliRunner().invoke(cli, ["prove", str(rig_path), "--keep-offsets"], catch_exceptions=False)
    assert result.exit_code == 0
    assert "waist +1.44 K, full -0.30 K" in " ".join(result.output.split())
    told = CliRunner().invoke(cli, ["prove", str(rig_path), "--keep-offsets", "--json"])
    assert json.loads(told.stdout)["steps"]["boiling"]["offsets_k"] == [1.44, -0.3]


def test_every_offset_that_boiling_water_lets_pass_may_stand_in_a_file():
    assert max(boiling.limit_k(chip) for chip in boiling.ERRORS_K) <= OFFSET_MOST_K
