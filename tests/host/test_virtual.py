"""The virtual rig that a user's commands share: started once, found again, never chosen by itself."""

import json
import os
import signal

import pytest
from click.testing import CliRunner

from ribwright_host import virtual
from ribwright_host.cli import cli
from ribwright_host.errors import VirtualRigError
from ribwright_host.payload import board_files


@pytest.fixture
def home(tmp_path, monkeypatch):
    """Folders of a user of whom nothing is known yet; whatever was started is ended."""
    (tmp_path / "state").mkdir()
    monkeypatch.setattr(virtual, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    monkeypatch.setattr(virtual, "user_data_path", lambda *_a, **_k: tmp_path / "data")
    yield tmp_path
    for path in (tmp_path / "state").glob("virtual-*.json"):
        os.kill(json.loads(path.read_text(encoding="utf-8"))["pid"], signal.SIGTERM)


def state(home):
    (path,) = (home / "state").glob("virtual-*.json")
    return json.loads(path.read_text(encoding="utf-8"))


def test_shared_rig_is_started_once_and_found_again(home):
    first = CliRunner().invoke(cli, ["runs", "--port", "virtual", "--json"])
    assert first.exit_code == 0, first.output
    told = json.loads(first.stdout)
    assert (told["runs"], told["counters"], told["simulated"]) == ([], {}, True)
    # A Pico's 1408 KB less what the firmware's own files take, a whole block each.
    assert 600_000 < told["free_bytes"] < 1_200_000
    started = state(home)
    second = CliRunner().invoke(cli, ["runs", "--port", "virtual"])
    assert second.exit_code == 0, second.output
    assert "SIMULATED" in second.stdout
    assert state(home) == started
    assert not list((home / "state").glob("*.lock"))


def test_state_of_a_rig_that_has_ended_is_forgotten(home):
    rig = virtual.example_rig()
    (home / "state" / f"virtual-{rig.hash}.json").write_text('{"port": 9, "pid": 1}', encoding="utf-8")
    assert virtual._greet(home / "state" / f"virtual-{rig.hash}.json", rig.hash) is None
    assert not list((home / "state").iterdir())


def test_rig_that_cannot_start_is_one_line(tmp_path):
    rig = virtual.example_rig().mapping
    with (
        pytest.raises(VirtualRigError) as raised,
        virtual.running(rig, virtual.example_piece(), tmp_path, interpreter="abacus"),
    ):
        pytest.fail("it started")
    line = raised.value.line()
    assert line.startswith("virtual_rig: the virtual rig did not start")
    assert "abacus" in line
    assert "\n" not in line


def test_payload_folder_holds_the_boards_files_and_nothing_else(tmp_path):
    rig = virtual.example_rig().mapping
    (tmp_path / "p").mkdir()
    (tmp_path / "p" / "old.py").write_text("left over", encoding="utf-8")
    folder = virtual.write_payload(rig, tmp_path / "p")
    written = {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    assert written == board_files(rig)
