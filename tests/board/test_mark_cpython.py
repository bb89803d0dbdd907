"""The mark of a run under way, in real files: whole, torn, missing, or on a flash that takes nothing."""

import json
import os

import pytest

from ribwright_board.drivers import store as store_module
from ribwright_board.drivers.store import MARK, PLANNED, STAY, Store


@pytest.fixture
def store(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return Store()


def test_no_mark_means_that_nothing_was_cut_off(store):
    assert store.boot_mark() == (0, 0)
    store.mark_run(0)
    assert store.boot_mark() == (0, 0)


def test_every_boot_counts_one_reset_more(store):
    store.mark_run(41)
    assert [store.boot_mark() for _ in range(4)] == [(41, 1), (41, 2), (41, 3), (41, 4)]
    # The next run begins at none.
    store.mark_run(42)
    assert store.boot_mark() == (42, 1)


def test_end_of_a_run_takes_the_mark_away(store):
    store.mark_run(41)
    store.mark_run(0)
    assert store.boot_mark() == (0, 0)
    assert MARK not in os.listdir()


@pytest.mark.parametrize("body", ["", "{", '{"run": 41', "[]", "null", '{"run": "x", "resets": 0}', "{}"])
def test_mark_that_cannot_be_read_is_none(store, body):
    (store_file := open(MARK, "w")).write(body)
    store_file.close()
    assert store.boot_mark() == (0, 0)


def test_cut_of_power_while_the_mark_is_written_leaves_the_whole_old_one(store, monkeypatch):
    store.mark_run(41)

    def cut(*_):
        raise OSError(5)

    monkeypatch.setattr(store_module.os, "rename", cut)
    with pytest.raises(OSError, match="5"):
        store.mark_run(42)
    with open(MARK) as file:
        assert json.loads(file.read())["run"] == 41


def test_goal_13_flash_that_takes_nothing_still_says_what_was_cut_off(store, monkeypatch):
    store.mark_run(41, 1)

    def full(*_):
        raise OSError(28)

    monkeypatch.setattr(store, "mark_run", full)
    # It cannot count on; what it holds is told, and locks.
    assert store.boot_mark() == (41, 2)
    assert store.boot_mark() == (41, 2)


def test_planned_reset_counts_as_none_and_is_one_only(store):
    store.mark_run(41, 1)
    store.plan_reset(None)
    assert STAY in os.listdir()
    assert Store().boot_mark() == (41, 1)
    assert Store().boot_mark() == (41, 2)


def test_trip_that_stood_is_handed_over_once(store):
    trip = {"code": "stale", "zone": 0, "seen": 2.0, "limit": 2.0, "unit": "s"}
    store.plan_reset(trip)
    assert Store().planned == trip
    assert Store().planned is None


@pytest.mark.parametrize("body", ["", "{", "[]", "null", "7"])
def test_damaged_plan_is_none(store, body):
    store.mark_run(41)
    (store_file := open(PLANNED, "w")).write(body)
    store_file.close()
    assert Store().boot_mark() == (41, 1)
    assert PLANNED not in os.listdir()


def test_plan_that_cannot_be_taken_away_pardons_nothing(store, monkeypatch):
    store.mark_run(41)
    store.plan_reset(None)

    def read_only(*_):
        raise OSError(30)

    monkeypatch.setattr(store_module.os, "remove", read_only)
    assert Store().boot_mark() == (41, 1)
