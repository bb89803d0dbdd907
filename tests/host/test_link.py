"""The serial link: lost, doubled and damaged lines, silence, a cut cable, over memory, a socket and a pty."""

import random
import sys

import pytest

from host.peer import BOARD_ID, PROFILE_TEXT, Peer, on_pty, on_socket
from ribwright_board.core import wire
from ribwright_host import boards, transport
from ribwright_host.errors import (
    LinkLostError,
    NoBoardError,
    PortBusyError,
    RefusedByBoardError,
    UsageError,
    VersionMismatchError,
)
from ribwright_host.link import MAX_TELLS, Link, StoredRun, get_run, hello, list_runs, put_profile
from ribwright_host.transport import MemoryTransport, open_port

NEEDS_PTY = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no pseudo terminals of this kind")
PROFILE = b'{"not":"checked on the way"}' * 40


class Clock:
    """Time that goes on by 10 ms whenever it is looked at."""

    def __init__(self):
        self.now_s = 0.0

    def __call__(self):
        self.now_s += 0.01
        return self.now_s


def linked(peer, **more):
    return Link(MemoryTransport(peer.take), clock=Clock(), **more)


def test_board_is_greeted_and_names_itself():
    board = hello(linked(Peer()))
    assert (board.board_id, board.zones, board.unit) == (BOARD_ID, ["waist", "full"], "C")
    assert not board.simulated
    assert "SIMULATED" not in board.title()


def test_virtual_board_is_known_by_its_id():
    board = hello(linked(Peer(board=b"ribsim".hex() + "0001")))
    assert board.simulated
    assert "SIMULATED" in board.title()


def test_lost_answer_is_asked_for_again_with_the_same_number():
    peer = Peer()
    answers = iter([b"", None])
    peer.spoil = lambda data: b"" if next(answers, None) == b"" else data
    link = linked(peer, first_seq=7)
    hello(link)
    assert peer.asks[0] == peer.asks[1]
    assert link.repeats == 1


def test_damaged_answer_is_dropped_and_asked_for_again():
    peer = Peer()
    flips = iter([True, False])
    peer.spoil = lambda data: bytes([data[0], data[1] ^ 1]) + data[2:] if next(flips, False) else data
    link = linked(peer)
    assert hello(link).board_id == BOARD_ID
    assert (link.bad_lines, link.repeats) == (1, 1)


def test_doubled_answer_is_taken_once():
    peer = Peer()
    peer.spoil = lambda data: data + data
    link = linked(peer)
    hello(link)
    # The second copy of the greeting must not be taken for the answer to what follows.
    assert "mode" in link.ask("status")


def test_profile_arrives_whole_over_a_line_that_loses_and_spoils():
    # One in four answers is lost and one in four damaged; seeded, so that the run is always the same.
    chance = random.Random(3)
    peer = Peer()

    def spoil(data):
        fate = chance.random()
        if fate < 0.25:
            return b""
        if fate < 0.5:
            at = chance.randrange(len(data) - 1)
            return data[:at] + bytes([data[at] ^ 0x20]) + data[at + 1 :]
        return data

    peer.spoil = spoil
    link = linked(peer)
    with pytest.raises(RefusedByBoardError) as refused:
        put_profile(link, PROFILE)
    # It arrived unchanged (else the refusal were "sha") and was checked whole before it replaced anything.
    assert refused.value.code in ("empty", "schema", "json")
    assert peer.shelf.writes == 0
    assert link.repeats > 0


def test_broken_sending_is_taken_up_where_it_stopped():
    peer = Peer()
    progress = []
    link = linked(peer)
    link.ask("put_open", {"kind": "profile", "size": len(PROFILE), "sha": peer.shelf.sha256(PROFILE)})
    link.ask("put_piece", {"at": 0, "data": "AAAA"})
    with pytest.raises(RefusedByBoardError) as refused:
        put_profile(linked(peer), PROFILE, lambda done, _whole: progress.append(done))
    assert progress[0] == 3
    # Those three bytes were not the profile's, and the board saw it.
    assert refused.value.code == "sha"


def test_silence_is_no_board_before_and_a_lost_link_after_the_greeting():
    peer = Peer()
    link = linked(peer)
    peer.spoil = lambda _data: b""
    with pytest.raises(NoBoardError) as none:
        hello(link)
    assert "4.0 s" in none.value.line()
    assert len(peer.asks) == 4
    peer.spoil = lambda data: data
    hello(link)
    peer.spoil = lambda _data: b""
    with pytest.raises(LinkLostError):
        link.ask("status")


def test_noise_without_end_neither_fills_memory_nor_counts_as_an_answer():
    peer = Peer()
    noise = random.Random(5)
    peer.spoil = lambda _data: noise.randbytes(200_000)
    link = linked(peer)
    with pytest.raises(NoBoardError) as raised:
        hello(link)
    assert "make no sense" in raised.value.line()
    assert len(link._reader._part) <= wire.MAX_LINE


def test_tells_are_handed_on_and_only_the_newest_are_kept():
    link = linked(Peer())
    for number in range(MAX_TELLS + 50):
        link.transport.push(wire.encode("tell", number, "row", {"ms": number}))
    kept = link.listen(1.0)
    assert len(kept) == MAX_TELLS
    assert kept[-1].data["ms"] == MAX_TELLS + 49


def test_tell_between_ask_and_answer_is_not_lost():
    peer = Peer()
    peer.spoil = lambda data: wire.encode("tell", 1, "event", {"code": "press"}) + data
    heard = []
    hello(linked(peer, on_tell=heard.append))
    assert [(tell.verb, tell.data["code"]) for tell in heard] == [("event", "press")]


def test_refusal_carries_the_boards_code_and_words():
    with pytest.raises(RefusedByBoardError) as raised:
        linked(Peer()).ask("pause")
    assert raised.value.code == "not_running"
    assert raised.value.line() == (
        "not_running: the rig is idle, there is nothing to pause; see what it is doing: ribwright watch"
    )


@pytest.mark.parametrize("theirs", [wire.PROTOCOL + 1, wire.PROTOCOL - 1])
def test_other_link_version_says_which_side_to_update(theirs, monkeypatch):
    link = linked(Peer())
    # The peer keeps its own number, as a board of another version does.
    monkeypatch.setattr("ribwright_host.link.wire", _WireOf(theirs))
    with pytest.raises(VersionMismatchError) as raised:
        hello(link)
    side = "the board" if theirs > wire.PROTOCOL else "Ribwright on the computer"
    assert f"update {side}" in raised.value.line()
    assert "nothing was changed" in raised.value.line()


class _WireOf:
    """The wire module with another protocol number."""

    def __init__(self, protocol):
        self.PROTOCOL = protocol

    def __getattr__(self, name):
        return getattr(wire, name)


@pytest.mark.parametrize(("firmware", "side"), [("0.0.9", "the board"), ("99.0.0", "this computer")])
def test_other_firmware_is_never_changed(firmware, side):
    board = hello(linked(Peer(firmware=firmware)))
    with pytest.raises(VersionMismatchError) as raised:
        boards.require_same_version(board)
    assert firmware in raised.value.line()
    assert f"update {side}" in raised.value.line()


def test_long_run_and_long_list_are_read_in_pieces():
    peer = Peer()
    peer.shelf.logs = {number: bytes(range(256)) * number for number in range(1, 41)}
    link = linked(peer)
    peer.shelf.pinned = {7}
    listed, free = list_runs(link)
    assert listed == [StoredRun(number, 256 * number, pinned=number == 7) for number in range(1, 41)]
    assert free == 900_000
    assert get_run(link, 40) == bytes(range(256)) * 40
    assert get_run(link, 40, have=(bytes(range(256)) * 40)[:10_000]) == bytes(range(256)) * 40


def ask_on(link):
    """Far more asks than the cable lives for."""
    for _ in range(50):
        link.ask("status", try_s=0.2, tries=2)


def bend(name):
    """Greet a real port, ask, and be cut off."""
    port = open_port(name)
    link = Link(port)
    try:
        board = hello(link)
        with pytest.raises(LinkLostError) as lost:
            ask_on(link)
    finally:
        link.close()
    assert board.board_id == BOARD_ID
    assert lost.value.line().startswith(f"link_lost: the link to {name} was lost")
    assert "\n" not in lost.value.line()


def test_cable_cut_in_the_middle_is_one_line_over_a_socket():
    peer = Peer()
    peer.cut_after = 5
    with on_socket(peer) as name:
        bend(name)


@NEEDS_PTY
def test_cable_cut_in_the_middle_is_one_line_over_a_pty():
    peer = Peer()
    peer.cut_after = 5
    with on_pty(peer) as name:
        bend(name)


@NEEDS_PTY
def test_whole_log_is_read_over_a_pty():
    peer = Peer()
    peer.shelf.logs = {1: bytes(range(256)) * 20}
    with on_pty(peer) as name:
        link = Link(open_port(name))
        try:
            hello(link)
            assert get_run(link, 1) == bytes(range(256)) * 20
        finally:
            link.close()


@NEEDS_PTY
def test_second_program_on_a_port_is_told_that_it_is_busy():
    with on_pty(Peer()) as name:
        first = open_port(name)
        try:
            with pytest.raises(PortBusyError) as raised:
                open_port(name)
        finally:
            first.close()
    assert name in raised.value.line()


def test_socket_that_shuts_the_door_at_once_is_a_busy_port():
    peer = Peer()
    peer.cut_after = 0
    with on_socket(peer) as name:
        link = Link(open_port(name))
        try:
            with pytest.raises(PortBusyError):
                hello(link)
        finally:
            link.close()


def test_port_that_is_not_there_is_no_board():
    for name in ("socket://127.0.0.1:9", "/dev/ribwright-nothing", "socket://nonsense"):
        with pytest.raises(NoBoardError) as raised:
            open_port(name)
        assert name in raised.value.line()


class Port:
    """What the system says of one serial port."""

    def __init__(self, device, vid):
        self.device = device
        self.vid = vid


def test_only_ports_of_likely_boards_are_written_to(monkeypatch):
    listed = [Port("ttyA", 0x2E8A), Port("ttyB", 0x1234), Port("ttyC", None), Port("ttyD", 0x10C4)]
    monkeypatch.setattr(transport.list_ports, "comports", lambda: listed)
    assert transport.board_ports() == ["ttyA", "ttyD"]


def opener(ports):
    """Open a peer, or raise what stands in its place."""

    def open_it(name):
        there = ports[name]
        if isinstance(there, Exception):
            raise there
        return MemoryTransport(there.take, name)

    return open_it


def test_the_one_board_that_answers_is_found():
    busy = PortBusyError("a is in use", "close it")
    _, board = boards.find_board(["a", "b"], opener({"a": busy, "b": Peer()}))
    assert board.port == "b"


def test_two_boards_need_a_choice_and_none_or_a_busy_one_say_so():
    with pytest.raises(UsageError) as several:
        boards.find_board(["a", "b"], opener({"a": Peer(), "b": Peer()}))
    assert "a, b" in several.value.line()
    with pytest.raises(PortBusyError):
        boards.find_board(["a"], opener({"a": PortBusyError("a is in use", "close it")}))
    with pytest.raises(NoBoardError) as none:
        boards.find_board([])
    assert "--port virtual" in none.value.line()


def test_example_profile_is_taken_by_the_boards_own_check():
    import tomllib

    from ribwright_host.profiles import canonical_json, short_hash

    data = canonical_json(tomllib.loads(PROFILE_TEXT))
    peer = Peer()
    answer = put_profile(linked(peer), data)
    assert answer == {"name": "sapele baritone side", "hash": short_hash(data)}
    assert peer.shelf.profiles == {short_hash(data): data}
