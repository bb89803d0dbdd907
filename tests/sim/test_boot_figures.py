"""Figures of a board's start: of the files that ship, within what a board offers."""

import importlib.util
import os

import pytest

from ribwright_sim.measure import boot

# Storage of a stock Pico build, 352 blocks of 4096 bytes, and its heap of about 190 KB, twice as long here.
FLASH_BYTES = 352 * 4096
HEAP_BYTES = 2 * 190 * 1024


@pytest.fixture(scope="module")
def figures():
    if importlib.util.find_spec("micropython_run") is None:
        if os.environ.get("RIBWRIGHT_REQUIRE_MICROPYTHON", "0") not in ("", "0"):
            pytest.fail("the board's interpreter is not installed (RIBWRIGHT_REQUIRE_MICROPYTHON is set)")
        pytest.skip("the board's interpreter is not installed")
    return boot.measured()


def test_firmware_leaves_room_on_the_flash_for_hours_of_log(figures):
    assert figures["firmware_bytes"] < figures["firmware_source_bytes"] / 2
    # Each file takes whole blocks at worst; an hour of log of two zones is 36 bytes a row (core/record.py).
    blocks = figures["firmware_bytes"] // 4096 + figures["firmware_files"]
    assert FLASH_BYTES - 4096 * blocks > 3 * 3600 * 36 + 32768


def test_memory_after_the_start_is_bounded_and_in_large_pieces(figures):
    assert 60_000 < figures["heap_free_after_boot_bytes"] < HEAP_BYTES
    # Loaded in one go, without collections between, the largest was 8 KB.
    assert figures["heap_largest_piece_bytes"] > 60_000


def test_outputs_are_off_long_before_the_firmware_is_loaded(figures):
    assert 0 < figures["boot_to_safe_ms"] < 200
    assert figures["boot_to_safe_ms"] < figures["start_ms"]
    assert 0 < figures["start_here_ms"] < 5000


def test_outputs_that_go_off_too_late_are_named():
    assert boot.broken({"boot_to_safe_ms": 49.9}) == []
    assert boot.broken({"boot_to_safe_ms": 50.1}) == ["boot_to_safe_ms"]
