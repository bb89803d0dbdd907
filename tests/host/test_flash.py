"""The flash command's words and refusals that need no board."""

import pytest
from click.testing import CliRunner
from mpremote.transport import TransportError, TransportExecError

from host.peer import LIBRARY, Peer
from ribwright_host import flash, prompt
from ribwright_host.boards import the_port
from ribwright_host.cli import cli
from ribwright_host.errors import LinkLostError, NoBoardError, RefusedByBoardError, UsageError
from ribwright_host.flash_checks import CHIPS, check_board, takes_bytecode
from ribwright_host.prompt import Facts
from ribwright_host.transport import MemoryTransport

RIG_FILE = str(LIBRARY / "rig_two_zone_120v.toml")
PICO = Facts("micropython", (1, 28, 0), "Raspberry Pi Pico with RP2040", 6, 900_000)


def test_virtual_rig_is_never_flashed():
    done = CliRunner().invoke(cli, ["flash", RIG_FILE, "--port", "virtual"])
    assert done.exit_code == 2
    assert "it gets the present firmware whenever it starts" in done.output


def test_rig_file_is_checked_before_any_board_is_looked_for(tmp_path, monkeypatch):
    monkeypatch.setattr(flash, "the_port", lambda: pytest.fail("looked for a board"))
    (tmp_path / "rig.toml").write_text("schema = 1\n", encoding="utf-8")
    assert CliRunner().invoke(cli, ["flash", str(tmp_path / "rig.toml")]).exit_code == 3


def test_the_one_likely_port_is_taken_and_more_must_be_named():
    assert the_port(["COM3"]) == "COM3"
    with pytest.raises(UsageError, match="2 boards may be meant: COM3, COM4"):
        the_port(["COM3", "COM4"])
    with pytest.raises(NoBoardError, match="no board was found"):
        the_port([])


def test_port_without_anything_behind_it_is_no_board():
    done = CliRunner().invoke(cli, ["flash", RIG_FILE, "--port", "socket://127.0.0.1:9"])
    assert done.exit_code == 4, done.output


@pytest.mark.parametrize("machine", ["Raspberry Pi Pico with RP2040", "Raspberry Pi Pico W with RP2040"])
def test_boards_with_the_right_chip_are_taken(machine):
    check_board(Facts("micropython", (1, 28, 0), machine, 6, 0), {"board": "pico"}, "COM3")


def test_chips_are_those_that_the_boards_carry():
    # From the makers' product pages: Pico RP2040, Pico 2 RP2350; ESP32 modules name their chip.
    assert CHIPS == {"pico": "RP2040", "pico2": "RP2350", "esp32": "ESP32"}


def test_bytecode_is_sent_only_where_it_is_taken():
    assert takes_bytecode(PICO)
    assert not takes_bytecode(Facts("micropython", (1, 40, 0), PICO.machine, 7, 0))
    assert not takes_bytecode(Facts("micropython", (1, 28, 0), PICO.machine, 0, 0))


@pytest.mark.parametrize(
    ("raised", "kind", "words"),
    [
        (
            TransportExecError(1, "Traceback\n  File x\nMemoryError: no"),
            RefusedByBoardError,
            "MemoryError: no",
        ),
        (TransportExecError(1, ""), RefusedByBoardError, "nothing"),
        (TransportError("could not enter raw repl"), LinkLostError, "could not enter raw repl"),
        (OSError(5, "gone"), LinkLostError, "gone"),
        (OSError(28, "main.py.new"), RefusedByBoardError, "is full"),
        (TypeError(), LinkLostError, "TypeError"),
    ],
)
def test_whatever_goes_wrong_at_the_prompt_is_said_in_our_words(raised, kind, words):
    with pytest.raises(kind) as caught, prompt._plainly("COM3"):
        raise raised
    assert words in caught.value.seen
    assert "COM3" in caught.value.seen
    assert "again" in caught.value.hint


def test_what_the_transport_prints_is_not_shown(capsys):
    def act():
        with prompt._plainly("COM3"):
            print(b"raw bytes of the board")
            raise TransportError("could not enter raw repl")

    with pytest.raises(LinkLostError):
        act()
    assert capsys.readouterr().out == ""


@pytest.fixture
def peer(monkeypatch):
    found = Peer()
    monkeypatch.setattr(flash, "open_port", lambda name: MemoryTransport(found.take, name))
    monkeypatch.setattr(flash, "RESET_S", 0.0)
    return found


def test_running_firmware_is_asked_for_its_prompt(peer):
    board = flash.ask_for_prompt("COM3")
    assert board.rig_name == "two-zone bench rig"
    assert peer.verbs == ["hello", "to_prompt"]
    assert peer.shelf.planned == {}


def test_trip_that_stands_is_handed_over(peer):
    peer.controller.guard.shut("too_hot", 0, 171.0, 160.0, "C", 5)
    peer.controller.tick(100, [None, None], ())
    assert peer.controller.mode == "tripped"
    flash.ask_for_prompt("COM3")
    assert peer.shelf.planned["code"] == "too_hot"


def test_silent_port_is_a_board_without_firmware(monkeypatch):
    monkeypatch.setattr(flash, "open_port", lambda name: MemoryTransport(lambda _: b"", name))
    monkeypatch.setattr(flash, "HELLO_S", 0.01)
    assert flash.ask_for_prompt("COM3") is None


def test_firmware_of_another_link_is_still_asked(peer):
    answer = peer.service._ask_hello

    def older(data):
        return {**answer(data), "v": 0}

    peer.service._ask_hello = older
    assert flash.ask_for_prompt("COM3").firmware == "of another version"
    assert peer.verbs == ["hello", "to_prompt"]


@pytest.mark.usefixtures("peer")
def test_firmware_that_does_not_know_the_ask_says_so(monkeypatch):
    from ribwright_board.core import messages

    monkeypatch.delitem(messages.ASKS, "to_prompt")
    with pytest.raises(RefusedByBoardError, match="does not know to_prompt"):
        flash.ask_for_prompt("COM3")
