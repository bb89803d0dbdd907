"""Bends on the virtual rig with every converter, alone and mixed; what breaks ends in its own fault."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from loop.bending import OVER, Bench, greeted, short_profile
from ribwright_host.logbook import read_log
from ribwright_host.virtual import example_rig

MAKER = {"start_after_s": 3, "next_after_s": 10}
# Converter and type of each zone.
PAIRS = {
    "registers": (("MAX31856", "K"), ("MAX31856", "T")),
    "short frames": (("MAX6675", "K"), ("MAX6675", "K")),
    "other types": (("MAX31855", "J"), ("MAX31855", "N")),
    "registers and frames": (("MAX31856", "N"), ("MAX31855", "T")),
    "registers and short frames": (("MAX31856", "J"), ("MAX6675", "K")),
}


def rig_of(pair: tuple[tuple[str, str], ...], hertz: int = 60) -> dict[str, Any]:
    """The example's rig with these converters and types."""
    values = copy.deepcopy(example_rig().mapping)
    values["mains"]["hertz"] = hertz
    for zone, (chip, kind) in zip(values["zones"], pair, strict=True):
        zone["chip"], zone["thermocouple"] = chip, kind
    return values


@pytest.mark.parametrize("name", PAIRS)
def test_bend_ends_as_its_profile_says_with_every_converter(tmp_path: Path, name: str) -> None:
    hertz = 50 if "registers" in name else 60
    truth = tmp_path / "truth.csv"
    with greeted(rig_of(PAIRS[name], hertz), tmp_path, maker=MAKER, truth_csv=str(truth)) as rig:
        run = rig.ready(short_profile())
        assert rig.until(*OVER) == "done"
        log = read_log(rig.log(run))
    assert log.problems == []
    assert "zone_off" not in [event.name for event in log.events]
    started_ms = int(str(log.header["started_ms"]))
    rows = [line.split(",") for line in truth.read_text().splitlines()]
    columns = [rows[0].index(f"{zone}_thermocouple_c") for zone in ("waist", "full")]
    at_ms = rows[0].index("board_ms")
    true_c = {int(row[at_ms]) // 1000: [float(row[column]) for column in columns] for row in rows[1:]}
    errors = [
        abs(zone.measured_c - true_c[(row.at_ms + started_ms) // 1000][at])
        for row in log.rows
        for at, zone in enumerate(row.zones)
        if row.stage in (1, 3) and zone.measured_c is not None and (row.at_ms + started_ms) // 1000 in true_c
    ]
    # A mean of three readings or more with 0.3 K of noise, slopes of 0.1 K/s; a MAX6675 is 0.25 K off more.
    assert len(errors) > 120
    assert max(errors) < 1.2


BROKEN = (
    ("MAX31856", "open", "open"),
    ("MAX31856", "bus_low", "no_chip"),
    ("MAX31856", "bus_high", "no_chip"),
    ("MAX31856", "frozen", "frozen"),
    ("MAX31856", "overvoltage", "overvoltage"),
    ("MAX31856", "setup_lost", "setup_lost"),
    ("MAX6675", "open", "open"),
    ("MAX6675", "bus_low", "no_chip"),
    ("MAX6675", "bus_high", "no_chip"),
    ("MAX6675", "frozen", "frozen"),
    ("MAX6675", "reversed", "implausible"),
)


def begun(rig: Bench) -> None:
    """Have the first stage under way, and the zone warm."""
    rig.ready(short_profile())
    rig.until("stage")
    rig.listen_until(lambda: any(row["mode"] == "running" and row["zones"][0][0] > 450 for row in rig.rows()))


@pytest.mark.parametrize(("chip", "state", "code"), BROKEN)
def test_what_breaks_ends_in_its_own_fault(tmp_path: Path, chip: str, state: str, code: str) -> None:
    with greeted(rig_of(((chip, "K"), ("MAX31855", "K"))), tmp_path, maker=MAKER) as rig:
        begun(rig)
        rig.rig.command({"chip": 0, "state": state})
        assert rig.until(*OVER) == "trip"
        trip = rig.link.ask("status")["trip"]
    assert (trip["code"], trip["zone"]) == (code, 0)


def test_dip_of_a_converters_supply_costs_some_readings_and_no_run(tmp_path: Path) -> None:
    with greeted(rig_of((("MAX31856", "K"), ("MAX31855", "K"))), tmp_path, maker=MAKER) as rig:
        begun(rig)
        rig.rig.command({"chip": 0, "state": "dip"})
        assert rig.until("zone_back", *OVER) == "zone_back"
        assert rig.until(*OVER) == "done"
        told = [tell.data for tell in rig.tells if tell.verb == "event"]
    off = next(event for event in told if event["code"] == "zone_off")
    back = next(event for event in told if event["code"] == "zone_back")
    assert off["text"] == "setup_lost"
    # A conversion and its open-circuit test, and up to two ticks around them.
    assert 100 <= back["ms"] - off["ms"] <= 400
