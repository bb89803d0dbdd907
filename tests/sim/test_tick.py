"""What a tick takes: the sums, and the shipped firmware measured once."""

import subprocess

import pytest

from ribwright_sim import interpreter
from ribwright_sim.campaign.board_cable import ShortCable
from ribwright_sim.costs import read_costs
from ribwright_sim.interpreter import (
    COLLECT_EVERY,
    LYING_BYTES,
    SHIM_BYTES,
    WORD_BYTES,
    beside_shim,
    lying_bytes,
)
from ribwright_sim.longrun.board import LongBoard
from ribwright_sim.measure import tick
from ribwright_sim.measure.tick_orders import NO_GROWTH
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_scenario import from_mapping
from seam.rig_parts import need, scenario

COLLECT_MS = read_costs()["gc_collect"].typical_us / 1000.0


def played(code_ms, grown=None, flash_ms=None, wake_ms=None, swept=None):
    count = len(code_ms)
    none = [0] * count
    return tick.Played(
        code_ms, grown or [100] * count, flash_ms or none, wake_ms or code_ms, swept or none, 60
    )


def test_longest_tick_is_the_longest_of_the_medians_and_a_disturbed_play_is_outvoted():
    plays = [played([20.0, 30.0, 22.0]), played([20.0, 31.0, 400.0]), played([21.0, 29.0, 23.0])]
    found = tick.figures(plays)
    assert found["tick_board_ms"] == 30.0
    assert found["tick_board_median_ms"] == 23.0
    assert found["ticks_measured"] == 3


def test_collection_costs_what_the_table_says_and_tells_no_growth():
    found = tick.figures([played([20.0, 30.0], [NO_GROWTH, 500])])
    assert found["tick_board_ms"] == max(20.0 + COLLECT_MS, 30.0)
    assert found["alloc_bytes_per_tick"] == 500


def test_what_follows_a_tick_counts_to_its_waking_and_not_to_it():
    found = tick.figures([played([20.0, 30.0], wake_ms=[26.0, 31.0], swept=[1, 0])])
    assert found["tick_board_ms"] == 30.0
    assert found["wake_board_ms"] == max(26.0 + COLLECT_MS, 31.0)


def test_tick_with_a_flush_counts_apart_with_what_the_flush_costs():
    found = tick.figures([played([20.0, 40.0], flash_ms=[0.0, 98.5])])
    assert found["tick_board_ms"] == 20.0
    assert found["tick_flush_board_ms"] == 138.5


def test_plays_of_different_bends_are_refused():
    with pytest.raises(ValueError, match=r"plays of one bend have \[1, 2\] ticks"):
        tick.figures([played([1.0]), played([1.0, 2.0])])


def test_every_figure_beyond_its_limit_is_named():
    good = {
        "tick_board_ms": 40.0,
        "tick_flush_board_ms": 200.0,
        "wake_board_ms": 60.0,
        "heap_low_in_bend_bytes": 110_000,
    }
    assert tick.broken(good) == []
    for name, value in (
        ("tick_board_ms", 50.0),
        ("tick_flush_board_ms", 250.0),
        ("wake_board_ms", 100.0),
        ("heap_low_in_bend_bytes", 96 * 1024 - 1),
    ):
        assert tick.broken(good | {name: value}) == [name]


def test_firmware_has_the_whole_of_its_heap_and_the_shim_lies_beside_it():
    assert beside_shim("190wk") == str(190 * 1024 * WORD_BYTES + SHIM_BYTES)
    assert beside_shim("64M") == "64M"


def test_room_for_the_shim_is_what_it_takes(tmp_path):
    need("micropython")
    plain = subprocess.run(
        [*interpreter.command("micropython", "-c", "190wk"), "import gc; gc.collect(); print(gc.mem_free())"],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    loop = RigLoop(from_mapping(scenario(tmp_path)), lambda _: None, cable=ShortCable())
    try:
        while not loop.figures.heap_free_bytes and loop.quit is None:
            loop.step()
    finally:
        loop.close()
    # The stand-in for the flash is loaded later, and takes some kilobytes.
    flash_bytes = 6300
    assert loop.figures.heap_free_bytes - flash_bytes == pytest.approx(int(plain.stdout), abs=3000)


def test_a_bend_is_measured_on_the_shipped_firmware(tmp_path):
    need("micropython")
    found = tick.figures([tick.play(tmp_path / "play")])
    assert found["ticks_measured"] > 1900
    assert 5.0 < found["tick_board_median_ms"] < 60.0
    assert found["tick_flush_board_ms"] > found["tick_board_median_ms"]
    assert 1000 < found["alloc_bytes_per_tick"] < 20_000
    # This one leans on no clock: a bend of two zones leaves the board room enough.
    assert tick.heap_low(tmp_path / "heap") >= tick.LEAST_HEAP


@pytest.mark.usefixtures("micropython_cmd")
def test_what_is_left_lying_is_told_to_nobody(tmp_path):
    told = {}

    def hear(message, _second):
        if message.verb == "row":
            lows.append(message.data["heap"])

    for every in (1, COLLECT_EVERY):
        lows = []
        board = LongBoard(tmp_path / str(every), 7, hear, collect_every=every)
        try:
            while board.now_s < 8.0:
                board.step()
        finally:
            board.close()
        told[every] = lows[-1]
    assert 100_000 < told[1] < 190 * 1024 * WORD_BYTES
    assert abs(told[1] - told[COLLECT_EVERY]) < 6_000


def test_room_for_what_lies_is_there_only_where_some_collections_are_left_out():
    assert lying_bytes("190wk", 1) == lying_bytes("64M", 20) == 0
    assert (
        int(beside_shim("190wk", lying=lying_bytes("190wk", 20))) == int(beside_shim("190wk")) + LYING_BYTES
    )
