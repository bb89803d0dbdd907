"""The store in real files: what is replaced is whole, old runs make room, pinned ones stay, numbers go on."""

import json
import os

import pytest

from ribwright_board.core.errors import RefusedError
from ribwright_board.drivers import files
from ribwright_board.drivers.store import COUNTERS, MAX_PROFILES, ORDER, PROFILES, RUNS, SPARE_BYTES, Store

BLOCK = 4096


@pytest.fixture
def store(tmp_path, monkeypatch):
    """A store on a folder as the board's flash, of 100 blocks."""
    monkeypatch.chdir(tmp_path)

    def statvfs(_):
        used = sum(
            -(-(tmp_path / where / name).stat().st_size // BLOCK)
            for where in (PROFILES, RUNS)
            for name in os.listdir(where)
        )
        return (BLOCK, BLOCK, 100, 100 - used, 100 - used, 0, 0, 0, 0, 255)

    monkeypatch.setattr(os, "statvfs", statvfs)
    store = Store()
    yield store
    store.close_run()


def key(number):
    return f"{number:012x}"


def write_run(store, number, size):
    store.open_run(number, b"h" * size)
    store.close_run()


def test_oldest_runs_give_their_room_to_the_next_one(store):
    for number in range(1, 9):
        write_run(store, number, 10 * BLOCK)
    assert store.free_bytes() == 20 * BLOCK
    wanted = 25 * BLOCK - SPARE_BYTES
    assert store.make_room(wanted) == [1]
    assert store.make_room(wanted) == []
    assert store.make_room(wanted + 15 * BLOCK) == [2]
    assert store.make_room(wanted + 35 * BLOCK) == [3, 4]
    assert [run[0] for run in store.runs()] == [5, 6, 7, 8]


def test_free_blocks_that_wrap_round_below_nothing_are_none(store, monkeypatch):
    write_run(store, 1, 10)
    monkeypatch.setattr(os, "statvfs", lambda _: (BLOCK, BLOCK, 100, (1 << 32) - 3, 0, 0, 0, 0, 0, 255))
    assert store.free_bytes() == 0
    with pytest.raises(RefusedError, match="0 KB free"):
        store.make_room(1)
    assert [run[0] for run in store.runs()] == [1]


def test_pinned_run_stays_and_is_read_like_any_other(store):
    for number in (1, 2, 3):
        write_run(store, number, 30 * BLOCK)
    store.pin_run(1, True)
    assert store.runs() == [[1, 30 * BLOCK, 1], [2, 30 * BLOCK, 0], [3, 30 * BLOCK, 0]]
    assert store.make_room(30 * BLOCK) == [2]
    assert store.read_run(1, 10, 5) == (30 * BLOCK, b"hhhhh")
    # Said twice is the same.
    store.pin_run(1, True)
    store.pin_run(3, True)
    with pytest.raises(RefusedError, match=r"160 KB free, a run needs 352; .* unpin"):
        store.make_room(80 * BLOCK)
    # Nor does one go that would not have helped.
    write_run(store, 4, 20 * BLOCK)
    with pytest.raises(RefusedError, match=r"80 KB free"):
        store.make_room(80 * BLOCK)
    assert [run[0] for run in store.runs()] == [1, 3, 4]
    assert store.make_room(30 * BLOCK) == [4]
    assert [run[0] for run in store.runs()] == [1, 3]
    store.pin_run(1, False)
    assert store.make_room(60 * BLOCK) == [1]


def test_run_that_is_being_written_is_neither_pinned_nor_removed(store):
    write_run(store, 1, 40 * BLOCK)
    store.open_run(2, b"h" * 40 * BLOCK)
    with pytest.raises(RefusedError, match="being written"):
        store.pin_run(2, True)
    with pytest.raises(RefusedError):
        store.make_room(90 * BLOCK)
    assert store.make_room(30 * BLOCK) == [1]
    assert [run[0] for run in store.runs()] == [2]
    with pytest.raises(RefusedError, match="no run 1"):
        store.pin_run(1, True)


def test_number_of_a_run_is_never_given_twice(store):
    assert store.next_run() == 1
    store.mark_run(1)
    write_run(store, 1, 10)
    # The run is cut off, its log gives way, its mark is acknowledged away.
    os.remove(f"{RUNS}/00001.rlg")
    assert store.next_run() == 2
    store = Store()
    store.boot_mark()
    store.mark_run(0)
    assert store.next_run() == 2
    assert Store().next_run() == 2
    store.put_counters({"run": 7, "runs": 3})
    assert store.next_run() == 8
    write_run(store, 12, 10)
    assert store.next_run() == 13


@pytest.mark.parametrize("spoil", [b"", b"{}", b'{"run": 7} 00000000\n', b"\xff\xfe", b"[1] 0db16bc8"])
def test_counters_that_are_damaged_count_as_none(store, spoil):
    store.put_counters({"run": 7, "on_s": [1, 2]})
    assert store.counters() == {"run": 7, "on_s": [1, 2]}
    with open(COUNTERS, "wb") as file:
        file.write(spoil)
    assert store.counters() == {}
    assert store.next_run() == 1


def test_profile_that_arrived_longest_ago_gives_way(store):
    # Keys in an order that is not that of their names.
    numbers = [(7 * n) % 64 + 1 for n in range(MAX_PROFILES)]
    for number in numbers:
        store.put_profile(key(number), b"%d" % number)
    # Sent again it is the newest.
    store.put_profile(key(numbers[0]), b"%d" % numbers[0])
    store.put_profile(key(1000), b"1000")
    left = {name[:-5] for name in os.listdir(PROFILES)}
    assert left == {key(number) for number in numbers if number != numbers[1]} | {key(1000)}
    # Without the order nothing is lost but that.
    os.remove(ORDER)
    store.put_profile(key(1001), b"1001")
    assert len(os.listdir(PROFILES)) == MAX_PROFILES
    assert store.get_profile(key(1001)) == b"1001"
    with open(ORDER, "w") as file:
        file.write("{")
    store.put_profile(key(1002), b"1002")
    assert json.loads(files.read(ORDER))[-1] == key(1002)


def test_what_was_half_written_is_swept_away(store):
    for name in (f"{PROFILES}/{key(1)}.json.new", "mark.json.new", f"{COUNTERS}.new"):
        with open(name, "wb") as file:
            file.write(b"half")
    store = Store()
    assert not [name for where in (".", PROFILES) for name in os.listdir(where) if name.endswith(".new")]
    assert store.counters() == {}


def test_flash_that_fails_while_writing_leaves_the_old_file(store, tmp_path, monkeypatch):
    store.put_counters({"run": 7})

    monkeypatch.setattr(files, "holds", lambda *_: False)
    with pytest.raises(OSError, match="5"):
        store.put_counters({"run": 8})
    monkeypatch.undo()
    os.chdir(tmp_path)
    assert store.counters() == {"run": 7}


def test_goal_13_flash_that_takes_nothing_still_says_what_it_holds(store, monkeypatch):
    store.put_profile(key(1), b"one")
    write_run(store, 4, 10)
    with open("left.new", "wb") as file:
        file.write(b"half")

    def refused(*_):
        raise OSError(30)

    for act in ("mkdir", "remove", "rename"):
        monkeypatch.setattr(os, act, refused)
    store = Store()
    assert store.runs() == [[4, 10, 0]]
    assert store.get_profile(key(1)) == b"one"
    assert store.next_run() == 5


def test_names_that_are_no_runs_are_passed_over(store):
    for name in ("x.rlg", "00001.txt", "rlg", ".rlg"):
        with open(f"{RUNS}/{name}", "wb"):
            pass
    assert store.runs() == []
    assert store.read_run(1, 0, 10) is None


def test_content_is_compared_to_the_last_byte(store):
    for length in (0, 1, 127, 128, 129, 300):
        body = bytes(range(256)) * 2
        store.put_profile(key(1), body[:length])
        path = f"{PROFILES}/{key(1)}.json"
        assert files.holds(path, bytearray(body[:length]))
        assert not files.holds(path, body[: length + 1])
        if length:
            assert not files.holds(path, body[: length - 1])
            assert not files.holds(path, body[: length - 1] + b"\xff")
