"""Whole bends of the shipped firmware on the virtual rig, through the serial link."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from loop.bending import OVER, Bench, bench, short_profile
from ribwright_host.errors import LinkLostError, RefusedByBoardError
from ribwright_host.logbook import read_log

MAKER = {"start_after_s": 3, "next_after_s": 10}


@pytest.fixture(scope="module")
def bent(
    tmp_path_factory: pytest.TempPathFactory, micropython_cmd: list[str]
) -> tuple[Bench, Path, bytes, str]:
    """One short bend in real MicroPython: the bench, its folder, the log and how it ended."""
    assert micropython_cmd
    folder = tmp_path_factory.mktemp("bend")
    settings = {"truth_csv": str(folder / "truth.csv"), "summary_json": str(folder / "summary.json")}
    with bench(folder, maker=MAKER, interpreter="micropython", **settings) as rig:
        run = rig.ready(short_profile())
        ended = rig.until(*OVER)
        log = rig.log(run)
    return rig, folder, log, ended


def test_bend_ends_as_its_profile_says_in_real_micropython(bent: tuple[Bench, Path, bytes, str]) -> None:
    rig, _, _, ended = bent
    assert ended == "done"
    assert rig.rig.interpreter.startswith("MicroPython")
    assert rig.events().count("stage") == 6
    assert "trip" not in rig.events()


def test_every_screen_can_tell_that_it_is_simulated(bent: tuple[Bench, Path, bytes, str]) -> None:
    rig, _, log, _ = bent
    assert rig.board.simulated
    assert read_log(log).simulated


def test_log_holds_one_row_for_every_second_of_the_run(bent: tuple[Bench, Path, bytes, str]) -> None:
    run = read_log(bent[2])
    assert run.problems == []
    steps = {later.at_ms - earlier.at_ms for earlier, later in zip(run.rows, run.rows[1:], strict=False)}
    # One tick of jitter is allowed, a second left out or doubled is not.
    assert all(900 <= step <= 1100 for step in steps)
    done = next(event for event in run.events if event.name == "done")
    assert abs(len(run.rows) - done.at_ms / 1000) <= 2


def test_run_names_board_rig_and_firmware(bent: tuple[Bench, Path, bytes, str]) -> None:
    header = read_log(bent[2]).header
    assert header["board"] == bent[0].board.board_id
    assert header["rig"] == bent[0].board.rig
    assert header["fw"] == bent[0].board.firmware
    assert header["profile"]["name"] == "short sapele trial"  # type: ignore[index]


def test_temperatures_in_the_log_are_the_plants_within_the_converters_error(
    bent: tuple[Bench, Path, bytes, str],
) -> None:
    _, folder, log, _ = bent
    run = read_log(log)
    started_ms = int(str(run.header["started_ms"]))
    with (folder / "truth.csv").open(newline="") as file:
        truth = {
            int(row["board_ms"]) // 1000: float(row["waist_thermocouple_c"]) for row in csv.DictReader(file)
        }
    errors = []
    for row in run.rows:
        second = (row.at_ms + started_ms) // 1000
        measured_c = row.zones[0].measured_c
        if second in truth and measured_c is not None and row.stage in (1, 3):
            errors.append(abs(measured_c - truth[second]))
    # A mean of ten readings of 0.3 K noise and 0.25 K steps, on a slope of at most 0.1 K/s here.
    assert len(errors) > 60
    assert max(errors) < 1.0


def test_hold_ends_by_the_wood_whose_estimate_is_near_the_truth(
    bent: tuple[Bench, Path, bytes, str],
) -> None:
    _, folder, log, _ = bent
    run = read_log(log)
    hot = next(event for event in run.events if event.name == "wood_hot")
    assert (hot.b, hot.zone) == (4, -1)
    assert hot.a >= 1050
    assert "hold_longest" not in [event.name for event in run.events]
    started_ms = int(str(run.header["started_ms"]))
    with (folder / "truth.csv").open(newline="") as file:
        truth = {int(row["board_ms"]) // 1000: row for row in csv.DictReader(file)}
    away = []
    for row in run.rows:
        second = (row.at_ms + started_ms) // 1000
        for zone, column in ((0, "waist"), (1, "lower_bout")):
            mid_c = row.zones[zone].mid_wood_c
            if second in truth and mid_c is not None and row.stage in (0, 1, 2, 3):
                away.append(abs(mid_c - float(truth[second][f"{column}_wood_mid_c"])))
    assert len(away) > 600
    assert sum(one <= run.wood_bands_k["waist"] for one in away) > 0.85 * len(away)


def test_energy_of_the_whole_switched_run_is_accounted_for(bent: tuple[Bench, Path, bytes, str]) -> None:
    summary = json.loads((bent[1] / "summary.json").read_text())
    assert summary["energy_residual"] < 1e-3


def test_no_message_of_the_link_begins_heating(tmp_path: Path) -> None:
    with bench(tmp_path, maker=None) as rig:
        rig.ready(short_profile())
        asks: list[tuple[str, dict[str, Any]]] = [
            ("next", {}),
            ("status", {}),
            ("hello", {"v": 1}),
            ("runs", {"from": 0}),
        ]
        for verb, values in asks:
            rig.link.ask(verb, values)
        for verb in ("press", "arm", "start", "acknowledge", "proved"):
            with pytest.raises(RefusedByBoardError):
                rig.link.ask(verb)
        status = rig.link.ask("status")
        assert status["mode"] == "ready"
        assert all(zone[2] == 0 and zone[3] == 0 for zone in status["zones"])


def test_press_at_the_rig_begins_it_and_stop_from_the_computer_ends_it(tmp_path: Path) -> None:
    with bench(tmp_path, maker=None) as rig:
        run = rig.ready(short_profile())
        rig.rig.press("start")
        assert rig.until("proved", "refused") == "proved"
        rig.link.ask("stop")
        assert rig.until(*OVER) == "stop"
        assert rig.link.ask("status")["mode"] == "idle"
        names = [event.name for event in read_log(rig.log(run)).events]
        assert names[-1] == "stop"


def test_open_thermocouple_trips_names_its_zone_and_needs_the_rig_to_go_on(tmp_path: Path) -> None:
    with bench(tmp_path, maker=MAKER) as rig:
        run = rig.ready(short_profile())
        rig.until("stage")
        rig.rig.command({"chip": 0, "state": "open"})
        assert rig.until(*OVER) == "trip"
        status = rig.link.ask("status")
        assert (status["mode"], status["trip"]["code"], status["trip"]["zone"]) == ("tripped", "open", 0)
        assert all(zone[3] == 0 for zone in status["zones"])
        with pytest.raises(RefusedByBoardError):
            rig.ready(short_profile())
        names = [event.name for event in read_log(rig.log(run)).events]
        assert names.index("zone_off") < names.index("trip")


def test_killed_rig_is_told_in_one_line_and_comes_back_cold_unarmed_with_its_log(tmp_path: Path) -> None:
    with bench(tmp_path, maker=MAKER, speed=60.0) as rig:
        run = rig.ready(short_profile())
        rig.until("arrived")
        rows_told = sum(row["mode"] == "running" for row in rig.rows())
        rig.rig.kill()
        with pytest.raises(LinkLostError) as lost:
            rig.link.ask("status")
        assert "\n" not in str(lost.value)
    with bench(tmp_path, maker=None) as again:
        status = again.link.ask("status")
        assert (status["mode"], status["trip"]) == ("idle", None)
        assert status["interrupted"] == run
        assert all(zone[2] == 0 and zone[3] == 0 for zone in status["zones"])
        kept = read_log(again.log(run))
        # Rows reach the flash every 30 s; the waist needs about 80 s to arrive.
        assert len(kept.rows) >= 30
        assert len(kept.rows) >= rows_told - 45
        assert [row.mode for row in kept.rows] == ["running"] * len(kept.rows)


def test_same_bend_runs_in_cpython_where_there_is_no_micropython(tmp_path: Path) -> None:
    with bench(tmp_path, maker=MAKER, interpreter="cpython") as rig:
        assert rig.rig.interpreter.startswith("CPython")
        run = rig.ready(short_profile())
        assert rig.until(*OVER) == "done"
        assert read_log(rig.log(run)).problems == []


def test_pause_is_ended_by_a_press_and_a_short_proof(tmp_path: Path) -> None:
    with bench(tmp_path, maker=MAKER, interpreter="cpython") as rig:
        rig.ready(short_profile())
        rig.until("stage")
        rig.link.ask("pause")
        assert rig.until("resume", "refused", "trip") == "resume"
        assert rig.until(*OVER) == "done"
        told = rig.events()
        assert told.count("proved") == 2
        assert told.index("pause") < told.index("resume")


def test_goal_6_rig_that_was_cut_off_twice_in_one_run_locks_until_a_press(tmp_path: Path) -> None:
    with bench(tmp_path, maker=MAKER, speed=60.0) as rig:
        run = rig.ready(short_profile())
        rig.until("arrived")
        rig.rig.kill()
    for _ in range(2):
        with bench(tmp_path, maker=None) as again:
            status = again.link.ask("status")
            assert status["interrupted"] == run
            assert all(zone[3] == 0 for zone in status["zones"])
    assert (status["mode"], status["trip"]["code"]) == ("tripped", "resets")
    with bench(tmp_path, maker=None) as again:
        with pytest.raises(RefusedByBoardError):
            again.ready(short_profile())
        again.rig.press("start")
        assert again.until("acknowledged") == "acknowledged"
        assert again.link.ask("status")["mode"] == "idle"
    with bench(tmp_path, maker=None) as again:
        assert again.link.ask("status")["interrupted"] is None
