"""Computers that behave badly at the cable: minutes of what `make bench` does for an hour."""

import pytest

from ribwright_sim.computers import cable as cables
from ribwright_sim.computers import trial as trials
from ribwright_sim.computers.cable import KINDS, SECOND_US, TURN_US, RoughCable
from ribwright_sim.computers.report import broken
from ribwright_sim.computers.trial import trial
from ribwright_sim.lockstep import DRAINING


def cable_in(kind):
    cable = RoughCable(4, (kind,))
    cable.begin()
    cable.take(1000, 512)
    assert cable.kind == kind
    return cable


def test_every_kind_has_its_turn_in_order():
    cable = RoughCable(4)
    cable.begin()
    seen = []
    for _ in range(2 * len(KINDS)):
        cable.take(TURN_US // 2, 512)
        seen.append(cable.kind)
        cable.take(TURN_US - TURN_US // 2, 0)
    assert seen == [*KINDS, *KINDS]


def test_frozen_computer_fills_the_ports_buffer_and_takes_nothing():
    cable = cable_in("frozen")
    assert cable.room == 256
    cable.send(b"x" * 192)
    assert cable.room == 64
    cable.send(b"x" * 64)
    cable.take(10 * SECOND_US, 512)
    assert cable.room == 0


def test_flood_brings_a_megabyte_a_second_and_no_more_than_there_is_room_for():
    cable = cable_in("floods with noise")
    taken = sum(len(cable.take(10_000, 1_000_000)) for _ in range(100))
    assert taken == pytest.approx(1_000_000, rel=0.01)
    assert len(cable.take(SECOND_US, 512)) == 512


def test_unplugged_cable_loses_what_the_board_says():
    cable = cable_in("unplugged")
    assert (cable.connected, cable.room) == (False, DRAINING)
    cable.send(b"x" * 300)
    assert cable.lost_bytes == 300
    assert cable.take(SECOND_US, 512) == b""


def test_slow_reader_takes_a_packet_a_second():
    cable = cable_in("reads a packet a second")
    cable.send(b"x" * 256)
    rooms = []
    for _ in range(5):
        rooms.append(cable.room)
        cable.take(SECOND_US, 512)
    assert rooms == [0, 64, 128, 192, 256]


@pytest.fixture(scope="module")
def ended(micropython_cmd):
    assert micropython_cmd
    return trial(set_min=1)


def test_bend_goes_on_whatever_the_computer_does(ended):
    figures = {
        "host_fault_ending": ended.ending,
        "host_fault_worst_late_ms": ended.worst_late_ms,
        "host_fault_rows_lost": ended.rows_lost,
    }
    assert broken(figures) == []
    assert min(ended.turns.values()) >= 2
    # None of them held a write up: whole packets go out only when there is room.
    assert ended.stalled_writes == 0
    assert ended.lost_bytes > 0


def test_late_loop_a_lost_row_and_another_end_are_noticed():
    good = {"host_fault_ending": "done", "host_fault_worst_late_ms": 250, "host_fault_rows_lost": 0}
    assert broken(good) == []
    for name, value in (
        ("host_fault_ending", "trip"),
        ("host_fault_worst_late_ms", 251),
        ("host_fault_rows_lost", 1),
    ):
        assert broken(good | {name: value}) == [name]


def test_write_into_a_port_without_room_is_noticed(micropython_cmd, monkeypatch):
    """A buffer that is not emptied in whole packets: the driver's rule does not hold, and stalls show."""
    assert micropython_cmd
    # Some rows fill the buffer. The run need not end: every later write waits, which takes long to play.
    monkeypatch.setattr(trials, "LONGEST_S", 180)
    assert trial(("frozen",)).stalled_writes == 0
    monkeypatch.setattr(cables, "PACKET_BYTES", 1)
    monkeypatch.setattr(cables, "FIFO_BYTES", 250)
    assert trial(("frozen",)).stalled_writes > 0
