"""The demo's control figures, on truths small enough to reckon by hand."""

import pytest

from ribwright_host.demo_figures import bends, control_figures
from ribwright_host.errors import FileError
from ribwright_host.runlog import LogEvent, LogRow, RunLog, ZoneRow

PROFILE = {
    "schema": 1,
    "name": "two steps",
    "unit": "C",
    "piece": {
        "kind": "trial",
        "species": "sapele",
        "thickness_mm": 1.7,
        "width_mm": 80,
        "length_mm": 560,
        "wetted": "misted",
    },
    "stages": [
        {"kind": "ramp", "zones": ["waist"], "target": 100},
        {"kind": "hold", "zones": ["waist"], "target": 100, "minutes": 1},
        {"kind": "set", "zones": ["waist"], "target": 80, "minutes": 1},
        {"kind": "cool", "below": 60},
    ],
}
STARTED_MS = 5000


def run_and_truth(tmp_path, seconds):
    """A run log and its truth.csv; seconds: (stage, true temperature) one a second."""
    rows = []
    lines = ["board_ms,waist_thermocouple_c"]
    for n, (stage, true_c) in enumerate(seconds, 1):
        rows.append(LogRow(n * 1000, stage, "running", 0, 0, (ZoneRow(None, true_c, 0.0, 0),)))
        lines.append(f"{STARTED_MS + n * 1000},{true_c}")
    path = tmp_path / "truth.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path, RunLog({"profile": PROFILE, "started_ms": STARTED_MS}, ("waist",), rows)


def test_overshoot_is_the_highest_true_temperature_above_the_target(tmp_path):
    seconds = [(0, 60.0), (0, 90.0), (0, 98.5), (1, 101.2), (1, 100.4)]
    assert control_figures(*run_and_truth(tmp_path, seconds))["overshoot_k"] == pytest.approx(1.2)


def test_ripple_counts_from_the_first_time_near_the_target(tmp_path):
    # A set begins 20 K above its target: only 81, 79 and 80 are held, root mean square of 1, -1 and 0.
    seconds = [(1, 100.0), (1, 100.0), (2, 99.0), (2, 90.0), (2, 81.0), (2, 79.0), (2, 80.0)]
    figures = control_figures(*run_and_truth(tmp_path, seconds))
    assert figures["hold_rms_k"] == pytest.approx((2 / 3) ** 0.5, abs=1e-3)


def test_coming_down_to_a_lower_target_is_no_overshoot(tmp_path):
    lower = {**PROFILE, "stages": [PROFILE["stages"][1], {**PROFILE["stages"][0], "target": 70}]}
    path, run = run_and_truth(tmp_path, [(0, 100.3), (1, 95.0), (1, 80.0), (1, 71.5), (1, 70.9)])
    run.header["profile"] = {**lower, "stages": [*lower["stages"], PROFILE["stages"][3]]}
    # Of the way down only what comes after the first second within 2 K counts: 1.5 K.
    assert control_figures(path, run)["overshoot_k"] == pytest.approx(1.5)


def test_file_that_is_no_truth_is_refused_in_one_line(tmp_path):
    path, run = run_and_truth(tmp_path, [(0, 20.0)])
    path.write_text("time,temperature\n1,2\n", encoding="utf-8")
    with pytest.raises(FileError) as raised:
        control_figures(path, run)
    assert raised.value.code == "no_truth"


CUED = [
    {"kind": "hold", "zones": ["waist"], "target": 100, "until": "maker", "cues": ["home"], "longest_min": 5},
    {"kind": "hold", "zones": ["full"], "target": 90, "until": "maker", "cues": ["bout"], "longest_min": 5},
    {"kind": "cool", "below": 60},
]
COLUMNS = ("waist", "upper_bout", "lower_bout")


def bent(tmp_path, seconds, events):
    """bends() of a truth with, for each second, wood and bound water at three places along the side."""
    head = [f"{place}_{what}" for place in COLUMNS for what in ("wood_mid_c", "moisture_percent")]
    lines = [",".join(["board_ms", *head])]
    lines += [
        f"{STARTED_MS + n * 1000},{','.join(map(str, values))}" for n, values in enumerate(seconds, start=1)
    ]
    path = tmp_path / "truth.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    run = RunLog({"profile": PROFILE | {"stages": CUED}, "started_ms": STARTED_MS}, ("waist", "full"))
    run.events = [LogEvent(at_s * 1000, stage, name, -1, 1, 0, "") for at_s, stage, name in events]
    return bends(path, run, lambda wood_c, moisture_percent: wood_c - 200 + moisture_percent)


def test_wood_is_judged_at_its_zones_places_from_the_first_cue_to_the_last_acknowledged(tmp_path):
    seconds = [
        (90, 100, 300, 0, 300, 0),
        (110, 100, 300, 0, 300, 0),
        (104, 100, 0, 0, 0, 0),
        (0, 0, 130, 80, 125, 90),
        (0, 0, 128, 80, 125, 80),
        (0, 0, 1, 1, 1, 1),
    ]
    events = [(2, 0, "cue"), (3, 0, "cue_done"), (4, 1, "cue"), (5, 1, "cue_done")]
    assert bent(tmp_path, seconds, events) == [4.0, 5.0]


def test_hold_whose_cue_never_came_is_not_judged(tmp_path):
    assert bent(tmp_path, [(110, 100, 0, 0, 0, 0)] * 3, [(1, 0, "cue"), (2, 0, "cue_done")]) == [10.0]


def test_truth_without_its_columns_is_an_error(tmp_path):
    with pytest.raises(FileError):
        bends(
            tmp_path / "none.csv",
            RunLog(
                {"started_ms": 0, "profile": PROFILE | {"stages": CUED}},
                ("waist",),
                [],
                [LogEvent(1, 0, "cue", -1, 1, 0, "")],
            ),
            lambda *_: 0.0,
        )
