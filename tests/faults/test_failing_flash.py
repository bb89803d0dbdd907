"""A flash that is full or read-only never stops protection, and a run goes on without its log."""

import json

import pytest

from board.samples import profile_mapping, rig_mapping, until
from board.stand_in import Board
from ribwright_board.app import Loop, run
from ribwright_board.core import wire
from ribwright_board.core.profile import parse as parse_profile

NO_SPACE = 28


class FullStore:
    """Refuses the named acts, as a flash without room does."""

    def __init__(self, board, acts, error):
        for act in acts:
            setattr(board.store, act, self.refuse)
        self.refused = 0
        self.error = error

    def refuse(self, *_):
        self.refused += 1
        raise self.error


def running_loop(*acts, error=None):
    """A run under way on a board whose flash fails in some acts."""
    board = Board(rig_mapping())
    store = FullStore(board, acts, error or OSError(NO_SPACE))
    loop = Loop(board)
    controller = loop.controller
    for _ in range(20):
        loop.step()
    controller.lay_out(parse_profile(profile_mapping(), controller.rig), 1)
    board.panel.waiting = ["start"]
    until(lambda: controller.mode not in ("idle", "ready", "proving"), loop.step)
    assert controller.mode == "running"
    return board, loop, store


def told(board):
    """Names of the events told so far."""
    messages = [wire.decode(line) for line in board.link.lines]
    return [message.data["code"] for message in messages if message.verb == "event"]


def steps(loop, seconds):
    end_ms = loop.board.clock.now_ms() + seconds * 1000
    while loop.board.clock.now_ms() < end_ms:
        loop.step()


def test_run_heats_on_when_memory_has_no_room_in_one_piece_for_a_write():
    board, loop, _ = running_loop()

    def refuse(_):
        raise MemoryError

    board.store.append = refuse
    steps(loop, 70)
    assert told(board).count("log_lost") == 1
    assert loop.controller.mode == "running"


def test_run_heats_on_when_its_log_cannot_be_opened_and_says_so():
    board, loop, store = running_loop("open_run")
    steps(loop, 70)
    assert store.refused == 1
    assert told(board).count("log_lost") == 1
    assert board.zones[0].body_c > 60.0
    assert loop.controller.guard.trip is None


@pytest.mark.parametrize("act", ["open_run", "mark_run"])
def test_run_heats_on_when_there_is_no_memory_in_one_piece_for_a_file(act):
    board, loop, _ = running_loop(act, error=MemoryError("memory allocation failed, allocating 1200 bytes"))
    steps(loop, 70)
    assert "log_lost" in told(board)
    assert board.zones[0].body_c > 60.0
    assert loop.controller.guard.trip is None


def test_run_heats_on_when_its_log_cannot_be_written_on_and_no_half_record_is_followed_by_others():
    board, loop, store = running_loop("append")
    steps(loop, 100)
    # Given up at the first failure: a part of a record would shift all that come after it.
    assert store.refused == 1
    assert told(board).count("log_lost") == 1
    assert board.zones[0].body_c > 60.0


def test_relays_are_off_while_the_flash_is_written_and_counted_so():
    board, loop, _ = running_loop()
    steps(loop, 1)
    seen = []
    append = board.store.append

    def watch(data):
        drive = loop.controller.drive
        seen.append([zone.on or drive.relay_on(at) for at, zone in enumerate(board.zones)])
        append(data)

    board.store.append = watch
    steps(loop, 65)
    assert len(seen) == 2
    assert not any(any(states) for states in seen)


def test_trip_is_total_even_when_the_flash_fails_in_the_same_moment():
    board, loop, _ = running_loop("append", "close_run")
    steps(loop, 10)
    board.sensors[0].read = lambda _: None
    steps(loop, 5)
    assert loop.controller.mode == "tripped"
    assert loop.controller.guard.trip.code == "stale"
    assert not any(zone.on for zone in board.zones)
    edges, fed = board.alive.count, board.watchdog.count
    steps(loop, 2)
    # The loop is well and goes on judging; only the heat is gone, and what would close the contactor.
    assert board.watchdog.count >= fed + 20
    assert board.alive.count == edges


def test_largest_profile_a_board_takes_still_fits_the_head_of_its_log():
    board = Board(rig_mapping())
    loop = Loop(board)
    values = profile_mapping()
    hold = next(stage for stage in values["stages"] if stage["kind"] == "hold")
    hold["cues"] = ["x" * 60] * 12
    while len(json.dumps(values)) < 8000 and len(values["stages"]) < 24:
        values["stages"].insert(1, dict(hold))
    assert len(json.dumps(values)) <= 8192 + 1200
    loop.controller.lay_out(parse_profile(values, loop.controller.rig), 1)
    loop.service.profile_values = values
    board.panel.waiting = ["start"]
    until(lambda: loop.controller.mode not in ("ready", "proving"), loop.step)
    steps(loop, 1)
    assert loop.controller.mode == "running"
    assert "log_lost" not in told(board)
    assert board.store.logs[1]


class UnpluggedError(Exception):
    """What nobody expects."""


def test_whatever_ends_the_loop_leaves_every_relay_off():
    board = Board(rig_mapping())
    rounds = []

    def wait(at_ms):
        rounds.append(at_ms)
        if len(rounds) == 5:
            # As a switch that was on in the middle of its window.
            for zone in board.zones:
                zone.on = True
            raise UnpluggedError

    board.clock.sleep_until = wait
    with pytest.raises(UnpluggedError):
        run(board)
    assert [zone.on for zone in board.zones] == [False] * len(board.zones)
