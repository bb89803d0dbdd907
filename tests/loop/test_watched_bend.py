"""A bend on a rig that only watches, beside another controller: the shipped firmware on the virtual rig."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from loop.bending import OVER, Bench
from ribwright_board.core import rig as core_rig
from ribwright_host.link import Link as LinkOf
from ribwright_host.link import Tell, hello
from ribwright_host.logbook import read_log
from ribwright_host.payload import pins_module
from ribwright_host.report import build
from ribwright_host.rigs import describe
from ribwright_host.transport import open_port
from ribwright_host.virtual import example_piece, example_rig, running

MAKER = {"start_after_s": 3, "next_after_s": 10}


def watching_rig() -> dict[str, Any]:
    """The example's rig with its relays taken away."""
    rig = copy.deepcopy(dict(example_rig().mapping))
    for zone in rig["zones"]:
        zone["relay"] = core_rig.NO_RELAY
        del zone["relay_pin"]
    assert core_rig.check(rig) == []
    return rig


def profile() -> dict[str, Any]:
    """A hold until the maker goes on, a short set, and cooling."""
    return {
        "schema": 1,
        "name": "sapele trial beside a thermostat",
        "unit": "C",
        "piece": example_piece() | {"kind": "trial"},
        "stages": [
            {"kind": "ramp", "zones": ["waist", "full"], "target": 120},
            {
                "kind": "hold",
                "zones": ["waist", "full"],
                "target": 120,
                "until": "maker",
                "longest_min": 5,
                "cues": ["waist home"],
            },
            {"kind": "set", "zones": ["full"], "target": 118, "minutes": 1},
            {"kind": "cool", "below": 90},
        ],
    }


@pytest.fixture(scope="module")
def watched(
    tmp_path_factory: pytest.TempPathFactory, micropython_cmd: list[str]
) -> tuple[Bench, bytes, str, list[str]]:
    """One watched bend in real MicroPython: the bench, the log, how it ended, edges of the outputs."""
    assert micropython_cmd
    folder = tmp_path_factory.mktemp("watched")
    settings: dict[str, Any] = {
        "seed": 3,
        "maker": MAKER,
        "interpreter": "micropython",
        "thermostat": {"set_c": [121.0, 121.0], "dead_k": 2.0},
        "truth_csv": str(folder / "truth.csv"),
    }
    rig = watching_rig()
    with running(rig, example_piece(), folder, **settings) as process:
        tells: list[Tell] = []
        link = LinkOf(open_port(process.url), on_tell=tells.append)
        bench = Bench(process, link, hello(link), tells)
        run = bench.ready(profile())
        assert bench.until("cue_done", *OVER) == "cue_done"
        # The last stage waits for the other controller, so it is still on when this sees it.
        bench.listen_until(lambda: bench.events().count("stage") == len(profile()["stages"]))
        assert link.ask("status")["stage_kind"] == "cool"
        # Somebody switches the other controller off.
        process.command({"thermostat": [None, None]})
        ended = bench.until(*OVER)
        log = bench.log(run)
        link.close()
    truth = (folder / "truth.csv").read_text(encoding="utf-8").splitlines()
    return bench, log, ended, truth


def test_bend_beside_a_thermostat_goes_through_its_stages_to_its_end(
    watched: tuple[Bench, bytes, str, list[str]],
) -> None:
    bench, log, ended, _ = watched
    assert ended == "done"
    assert "trip" not in bench.events()
    assert bench.events().count("stage") == 4
    run = read_log(log)
    assert run.problems == []
    assert max(row.zones[1].measured_c or 0.0 for row in run.rows) > 115.0


def test_board_switched_nothing_and_its_log_claims_no_heat(
    watched: tuple[Bench, bytes, str, list[str]], tmp_path: Path
) -> None:
    _, log, _, truth = watched
    head, *rows = (line.split(",") for line in truth)
    alive, contactor = head.index("alive"), head.index("contactor")
    assert {(row[alive], row[contactor]) for row in rows} == {("0", "0")}
    run = read_log(log, {"waist": 105.0, "full": 420.0})
    assert run.watched
    assert {zone.relay_on_ms for row in run.rows for zone in row.zones} == {0}
    assert {zone.duty for row in run.rows for zone in row.zones} == {0.0}
    assert "Heat came from elsewhere" in build(run, tmp_path).read_text(encoding="utf-8")


def test_board_carries_no_pin_of_a_relay_and_the_file_says_what_the_rig_is() -> None:
    rig = watching_rig()
    assert b"RELAYS = ()\n" in pins_module(rig)
    assert "It only watches: no zone has a relay, and heat comes from elsewhere." in describe(rig)
