"""Run files of a one-zone rig with a known answer, as `ribwright fetch` writes them."""

import math
import tomllib

import numpy as np

from ribwright_host.logbook import write_csv
from ribwright_host.rigs import rig_hash
from ribwright_host.runlog import LogRow, RunLog, ZoneRow
from sim.warmups import problem_for, recorded

RIG = """\
# My own rig: this line must survive.
schema = 1
name = "one-zone rig"
unit = "C"
board = "pico"

[mains]
volts = 120
hertz = 60
branch_limit_a = 12

[pins]
sck = 18
mosi = 19
miso = 16
alive = 15
start = 12
next = 13
stop = 14

[[zones]]
name = "full"
power_w = 420           # on the label
length_mm = 600
width_mm = 90
relay = "solid-state"
relay_pin = 11
chip = "MAX31855"
thermocouple = "K"
select_pin = 20

[stack]
ambient = 21
"""
PIECE = {
    "kind": "trial",
    "species": "sapele",
    "thickness_mm": 1.7,
    "plies": 2,
    "width_mm": 80,
    "length_mm": 560,
    "wetted": "dry",
}
# As thick and as wet as the side.
THIN = {**PIECE, "thickness_mm": 0.85, "wetted": "misted"}
PROFILE = {
    "schema": 1,
    "name": "calibration",
    "unit": "C",
    "piece": PIECE,
    "stages": [
        {"kind": "ramp", "zones": ["full"], "target": 135},
        {"kind": "hold", "zones": ["full"], "target": 135, "minutes": 5, "cues": ["home"]},
        {"kind": "cool", "below": 70},
    ],
}
REAL, SIMULATED = "e6614103e7452d2f", "72696273696d0001"


def known_log(*, wood, piece=PIECE):
    """A log of 330 s heat and 60 s of cooling, of a rig drawn within what is believed."""
    slots = problem_for(tomllib.loads(RIG), piece, wood=wood).slots
    steps = np.clip(0.8 * np.random.default_rng(8).standard_normal(len(slots)), -1.5, 1.5)
    return recorded(tomllib.loads(RIG), piece, steps, [(330, [135.0]), (60, [None])], wood=wood, seed=8)


def run_file(
    path, log, *, board=REAL, rig=RIG, unix=1_767_261_600, number=7, rows=None, cue_at_s=None, piece=PIECE
):
    """Write a log as a run file; rows: which seconds of it, cue_at_s: when its second stage begins."""
    header = {
        "board": board,
        "fw": "0.1.0",
        "rig": rig_hash(tomllib.loads(rig)),
        "rig_name": "one-zone rig",
        "zones": ["full"],
        "profile": {**PROFILE, "piece": piece},
        "run": number,
        "unix": unix,
    }
    run = RunLog(header, ("full",), power_w={"full": 420.0})
    for at_s, (measured,), (on_s,) in zip(log.row_s, log.measured_c, log.on_s, strict=True):
        if rows is not None and int(at_s) not in rows:
            continue
        seen = None if math.isnan(measured) else float(measured)
        zone = ZoneRow(135.0, seen, float(on_s), round(1000 * on_s))
        stage = 1 if cue_at_s is not None and at_s > cue_at_s else 0
        run.rows.append(LogRow(round(1000 * at_s), stage, "running", 0, 0, (zone,)))
    write_csv(run, path)
    return path


def wood_file(path, log):
    """The second thermocouple's readings as a maker types them."""
    lines = [
        f"{at:.1f},{value:.1f}"
        for at, value in zip(log.wood.time_s[1::2], log.wood.wood_c[1::2], strict=True)
    ]
    path.write_text("time_s,wood_c\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return path
