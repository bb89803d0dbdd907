"""Asks about files beyond transfers: room for the next run, pins, counters; and asks that wait their turn."""

from board.samples import profile_mapping
from board.service_bench import Bench
from ribwright_board.core import wire
from ribwright_board.core.record import MAX_HEADER, record_size

LOG_S = 10800
MOST_WAITING = 8


def test_laying_a_run_out_makes_room_for_its_log_and_tells_what_went():
    bench = Bench()
    _, stored = bench.upload()
    bench.store.logs = {3: bytes(20000), 4: bytes(30000), 5: b""}
    bench.store.free = 350000
    assert bench.ok("ready", {"profile": stored["hash"]}) == {"run": 6, "stage": 1}
    # Three hours of records for two zones, and the head.
    assert bench.store.wanted == MAX_HEADER + LOG_S * record_size(2)
    assert sorted(bench.store.logs) == [5]
    assert [event[1:4] for event in bench.controller.events if event[1] == "made_room"] == [
        ("made_room", -1, 3),
        ("made_room", -1, 4),
    ]


def test_run_without_room_is_refused_and_nothing_is_laid_out():
    bench = Bench()
    _, stored = bench.upload()
    bench.store.logs = {3: bytes(6000)}
    bench.store.free = 350000
    bench.ok("pin", {"run": 3, "pinned": True})
    assert bench.no("ready", {"profile": stored["hash"]})["code"] == "no_room"
    assert bench.controller.mode == "idle"
    assert sorted(bench.store.logs) == [3]


def test_flash_that_refuses_to_make_room_stops_no_run():
    bench = Bench()
    _, stored = bench.upload()

    def refused(_):
        raise OSError(30)

    bench.store.make_room = refused
    assert bench.ok("ready", {"profile": stored["hash"]}) == {"run": 1, "stage": 1}
    assert [event[1] for event in bench.controller.events] == ["log_lost"]


def test_run_under_way_makes_no_room_for_another():
    bench = Bench()
    bench.run()
    bench.store.logs = {1: bytes(6000)}
    bench.store.free = 0
    key = next(iter(bench.store.profiles))
    assert bench.no("ready", {"profile": key})["code"] == "not_idle"
    assert sorted(bench.store.logs) == [1]


def test_pins_are_listed_and_nothing_is_pinned_while_heat_may_flow():
    bench = Bench()
    bench.store.logs = {3: b"log", 4: b"log"}
    assert bench.ok("pin", {"run": 4, "pinned": True}) == {"run": 4, "pinned": True}
    assert bench.ok("runs")["runs"] == [[3, 3, 0], [4, 3, 1]]
    bench.ok("pin", {"run": 4, "pinned": False})
    assert bench.ok("runs")["runs"] == [[3, 3, 0], [4, 3, 0]]
    bench.run()
    assert bench.no("pin", {"run": 3, "pinned": True})["code"] == "busy"
    # Listing and reading back go on meanwhile.
    assert len(bench.ok("runs")["runs"]) == 2
    assert bench.ok("get", {"run": 3, "at": 0})["size"] == 3


def test_counters_are_told_as_they_are_kept_and_offsets_as_the_rig_has_them():
    bench = Bench()
    assert bench.ok("counters") == {"counters": {}, "offsets_k": [0.0, 0.0]}
    bench.store.counted = {"run": 4, "switches": [1, 2]}
    bench.rig.zones[1].offset_k = -1.5
    assert bench.ok("counters") == {"counters": {"run": 4, "switches": [1, 2]}, "offsets_k": [0.0, -1.5]}


def asks(count):
    return [wire.encode("ask", seq, "status", {}) for seq in range(count)]


def test_asks_beyond_what_is_looked_at_now_wait_in_order():
    service = Bench().service
    answers = service.feed(b"".join(asks(5)), 2)
    assert [wire.decode(answer).seq for answer in answers] == [0, 1]
    assert service.waiting()
    assert [wire.decode(answer).seq for answer in service.feed(b"", 2)] == [2, 3]
    assert [wire.decode(answer).seq for answer in service.feed(b"", 2)] == [4]
    assert not service.waiting()
    assert service.feed(b"", 2) == []


def test_flood_of_asks_is_bounded_and_the_newest_are_kept():
    service = Bench().service
    for _ in range(50):
        service.feed(b"".join(asks(100)), 0)
    answers = service.feed(b"", 100)
    assert [wire.decode(answer).seq for answer in answers] == list(range(100 - MOST_WAITING, 100))
    assert service.crc_errors == 50 * 100 - MOST_WAITING


def test_profile_that_arrives_is_the_one_that_status_shows():
    bench = Bench()
    _, stored = bench.upload(profile_mapping())
    assert bench.ok("status")["profile"] == stored
