"""The board's run log becomes a run file and comes back unchanged, whatever was lost on the way."""

import csv
import json
import math
import random
import re
import struct

import pytest

from ribwright_board.core import event_words, events, record
from ribwright_board.core.errors import FAULTS
from ribwright_board.core.units import TENTHS_MISSING, tenths
from ribwright_host import logbook
from ribwright_host.errors import FileError
from ribwright_host.logbook import read_csv, read_log, write_csv

ZONES = ["waist", "full"]
# Bytes of one record of two zones.
SIZE = 36
POWER_W = {"waist": 250.0, "full": 600.0}
SIMULATED_BOARD = b"ribsim\x00\x01".hex()
HOLD_CUES = ["waist to 6 mm", "waist home"]
PROFILE = {
    "schema": 1,
    "name": "Sapele baritone sides, 1.7 mm",
    "unit": "C",
    "piece": {
        "kind": "side",
        "species": "sapele",
        "thickness_mm": 1.7,
        "width_mm": 82,
        "length_mm": 560,
        "wetted": "misted",
    },
    "stages": [
        {"kind": "ramp", "name": "waist up", "zones": ["waist"], "target": 150},
        {
            "kind": "hold",
            "name": "press the waist",
            "zones": ["waist"],
            "target": 150,
            "until": "maker",
            "longest_min": 10,
            "cues": HOLD_CUES,
        },
        {"kind": "ramp", "name": "bouts up", "zones": ["full"], "target": 145},
        {"kind": "hold", "name": "bouts round", "zones": ["waist", "full"], "target": 145, "minutes": 6},
        {"kind": "set", "name": "let it take", "zones": ["waist", "full"], "target": 120, "minutes": 10},
        {"kind": "cool", "name": "rest", "below": 45},
    ],
}
# Ends of the stages, s after the start; the rows before 20 s are the start checks.
STAGE_ENDS_S = (230, 560, 830, 1190, 1790, 2400)


def header(**changes):
    base = {
        "board": SIMULATED_BOARD,
        "fw": "0.1.0",
        "python": "micropython 1.28.0",
        "rig": "5f0c9a",
        "rig_name": "ukulele bench",
        "zones": ZONES,
        "profile": PROFILE,
        "profile_hash": "a41b",
        "run": 7,
        "unix": 1_767_261_600,
        "started_ms": 4000,
    }
    return base | changes


class LogMaker:
    """Writes a run log as the board does, record by record."""

    def __init__(self, **changes):
        head = header(**changes)
        self.zones = len(head["zones"])
        self.parts = [record.header_bytes(head)]
        self.seq = 0

    def row(self, at_ms, stage, zones, mode="running", late_ms=0):
        """zones: (target_c, measured_c, duty, on_ms[, mid_wood_c]) each; None is a missing temperature."""
        whole = [(*zone, None)[:5] for zone in zones]
        raw = [(tenths(t), tenths(m), round(duty * 1000), on, tenths(mid)) for t, m, duty, on, mid in whole]
        buffer = bytearray(record.record_size(self.zones))
        record.pack_row(buffer, stage, self.seq, at_ms, record.MODES.index(mode), 0, late_ms, raw)
        self._add(buffer)

    def event(self, at_ms, name, *, stage=0, zone=-1, a=0, b=0, text=""):
        buffer = bytearray(record.record_size(self.zones))
        record.pack_event(buffer, stage, self.seq, at_ms, events.event_number(name), zone, a, b, text)
        self._add(buffer)

    def trail(self, at_ms, zone, values, *, stage=0, step_ms=100):
        """values: temperatures in C, fault names, or None for no reading."""
        raw = [
            TENTHS_MISSING + FAULTS[value][0] if isinstance(value, str) else tenths(value) for value in values
        ]
        buffer = bytearray(record.record_size(self.zones))
        record.pack_trail(buffer, stage, self.seq, at_ms, zone, step_ms, raw)
        self._add(buffer)

    def _add(self, buffer):
        self.parts.append(bytes(buffer))
        self.seq += 1

    def bytes(self):
        return b"".join(self.parts)


def _target_c(stage, zone):
    spec = PROFILE["stages"][stage]
    return float(spec["target"]) if ZONES[zone] in spec.get("zones", []) else None


def sample_log(seconds=2400, **changes):
    """Bytes of a whole run of the two-zone rig: about 40 minutes, readings lost for a while."""
    noise = random.Random(11)
    log = LogMaker(**changes)
    log.event(0, "press")
    log.event(200, "proving")
    reading_c, stage = [24.0, 23.0], 0
    for second in range(1, seconds + 1):
        at_ms = second * 1000
        if second == 20:
            log.event(at_ms, "proved")
            log.event(at_ms, "stage", a=1, b=1500)
        if second - 1 in STAGE_ENDS_S[:-1]:
            stage += 1
            target = PROFILE["stages"][stage].get("target")
            log.event(at_ms, "stage", stage=stage, a=stage + 1, b=tenths(target))
        if second in (225, 822):
            log.event(
                at_ms, "arrived", stage=stage, zone=0 if second == 225 else 1, a=1498 - 50 * (second > 400)
            )
        if second in (236, 380):
            log.event(at_ms, "cue", stage=1, a=1 if second == 236 else 2)
        if second in (290, 430):
            log.event(at_ms, "cue_done", stage=1, a=1 if second == 290 else 2)
        if second == 559:
            log.event(at_ms, "next", stage=1)
        proving, zones = second < 20, []
        for zone in (0, 1):
            target_c = None if proving else _target_c(stage, zone)
            rest_c = 24.0 if target_c is None else target_c
            reading_c[zone] += (rest_c - reading_c[zone]) / (60 if target_c else 260)
            duty = 0.0
            if target_c is not None:
                duty = min(1.0, max(0.0, (target_c - reading_c[zone]) / 12 + 0.25))
            measured_c = reading_c[zone] + noise.gauss(0, 0.2)
            lost = zone == 1 and 900 <= second < 925
            # The wood of one zone alone is known, and is behind its thermocouple.
            mid_c = None if zone or proving else reading_c[zone] - 9.0
            zones.append((target_c, None if lost else measured_c, duty, round(duty * 100) * 10, mid_c))
        log.row(at_ms, stage, zones, mode="proving" if proving else "running", late_ms=second % 7)
    if seconds == 2400:
        log.event(2_400_000, "done", stage=5)
    return log.bytes()


def header_length(data):
    return record.read_header(data)[1]


@pytest.fixture(scope="module")
def whole():
    return sample_log()


def test_a_whole_log_is_read_without_a_problem(whole):
    run = read_log(whole, POWER_W)
    assert run.problems == []
    assert (len(run.rows), run.zones, run.simulated) == (2400, ("waist", "full"), True)
    assert [span.stage for span in run.spans()] == [None, 0, 1, 2, 3, 4, 5]
    assert [span.end_ms for span in run.spans()][1:] == [second * 1000 for second in STAGE_ENDS_S]
    assert sum(span.end_ms - span.start_ms for span in run.spans()) == 2_400_000


def test_a_run_file_comes_back_unchanged(whole, tmp_path):
    run = read_log(whole, POWER_W, fetched_unix=1_767_265_200)
    write_csv(run, tmp_path / "run.csv")
    assert read_csv(tmp_path / "run.csv") == run


def test_the_csv_has_one_row_a_second_and_units_in_its_header(whole, tmp_path):
    write_csv(read_log(whole, POWER_W), tmp_path / "run.csv")
    with (tmp_path / "run.csv").open(newline="") as file:
        lines = list(csv.reader(file))
    assert (
        lines[0]
        == (
            "time_s stage stage_kind mode flags late_ms "
            "waist_target_c waist_measured_c waist_duty waist_relay_on_ms waist_estimate_mid_wood_c "
            "waist_energy_wh "
            "full_target_c full_measured_c full_duty full_relay_on_ms full_energy_wh"
        ).split()
    )
    assert [float(line[0]) for line in lines[1:]] == list(range(1, 2401))
    assert {len(line) for line in lines} == {17}
    assert lines[300][1:4] == ["2", "hold", "running"]


def test_energy_is_relay_time_times_power_and_absent_without_power(tmp_path):
    log = LogMaker()
    for second in (1, 2, 3):
        log.row(second * 1000, 0, [(150, 30, 1, 1000), (None, 25, 0.5, 500)])
    write_csv(read_log(log.bytes(), {"waist": 360.0}), tmp_path / "run.csv")
    with (tmp_path / "run.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    # 360 W for one second is 0.1 Wh.
    assert [row["waist_energy_wh"] for row in rows] == ["0.100", "0.200", "0.300"]
    assert "full_energy_wh" not in rows[0]


def test_missing_readings_are_empty_cells(whole, tmp_path):
    write_csv(read_log(whole), tmp_path / "run.csv")
    text = (tmp_path / "run.csv").read_text()
    with (tmp_path / "run.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    empty = [float(row["time_s"]) for row in rows if row["full_measured_c"] == ""]
    assert empty == list(range(900, 925))
    assert all(row["full_target_c"] == "" for row in rows[:560])
    assert not re.search(r"nan|None|3276", text)
    assert read_csv(tmp_path / "run.csv").rows[899].zones[1].measured_c is None


def test_the_side_file_tells_what_the_run_is(whole, tmp_path):
    write_csv(read_log(whole, POWER_W), tmp_path / "run.csv")
    side = json.loads((tmp_path / "run.json").read_text())
    assert (side["board"], side["rig_hash"], side["firmware"]) == (SIMULATED_BOARD, "5f0c9a", "0.1.0")
    assert side["simulated"] is True
    # 1767225600 is 2026-01-01 00:00 UTC (20454 days after 1970), and 36000 s later is 10:00.
    assert side["started"] == "2026-01-01T10:00:00+00:00"
    assert side["events"][0]["code"] == 1
    assert side["events"][0]["name"] == "press"
    arrived = next(event for event in side["events"] if event["name"] == "arrived")
    assert arrived["zone_name"] == "waist"
    assert arrived["meaning"] == event_words.MEANINGS["arrived"]


def test_an_unknown_start_time_is_null_with_a_word(tmp_path):
    write_csv(read_log(sample_log(60, unix=None)), tmp_path / "run.csv")
    side = json.loads((tmp_path / "run.json").read_text())
    assert side["started"] is None
    assert "not known" in side["started_note"]


@pytest.mark.parametrize("unix", [-5, 0, 10**15, "yesterday", True, 1.5e9, [1]])
def test_an_impossible_start_time_counts_as_unknown(unix, tmp_path):
    run = read_log(sample_log(30, unix=unix))
    write_csv(run, tmp_path / "run.csv")
    assert run.started_unix is None


def test_a_real_board_is_not_called_simulated():
    assert not read_log(sample_log(30, board="e6614103e7452d2f")).simulated


def test_an_empty_log_says_so():
    run = read_log(b"")
    assert (run.rows, run.zones) == ([], ())
    assert run.problems == ["the log is empty (0 bytes); nothing was recorded"]


def test_something_else_than_a_log_gives_no_rows():
    run = read_log(b"time,temperature\n1,20\n" * 50)
    assert run.rows == []
    assert run.problems == [
        "the file does not begin like a run log, and no record can be read; fetch the run again"
    ]


def test_a_log_without_records_says_so(whole):
    run = read_log(whole[: header_length(whole)])
    assert run.header["run"] == 7
    assert run.problems == ["the log holds no record; the run ended before its first second was written"]


@pytest.mark.parametrize("length", [3, 4, 5, 6, 40, -1])
def test_a_cut_header_gives_no_rows_and_a_reason(whole, length):
    cut = whole[: header_length(whole) - 1] if length < 0 else whole[:length]
    run = read_log(cut)
    assert run.rows == []
    assert len(run.problems) == 1
    assert "no record can be read" in run.problems[0]


def test_a_flipped_byte_in_the_header_costs_the_header_only(whole):
    for place in (2, 5, 200, header_length(whole) - 2):
        damaged = bytearray(whole)
        damaged[place] ^= 0x20
        run = read_log(bytes(damaged))
        assert len(run.rows) == 2400, place
        assert run.zones == ("zone 1", "zone 2")
        assert run.header == {}
        assert "are unknown" in run.problems[0]


def test_a_cut_record_keeps_everything_before_it(whole):
    start = header_length(whole)
    # Records 1 and 2 are events; record 100 is cut in its middle.
    run = read_log(whole[: start + 99 * SIZE + 16])
    assert len(run.rows) + len(run.events) == 99
    assert run.problems == ["the log ends inside record 100; 99 records before it are read"]


def test_one_flipped_byte_costs_one_record_and_is_named(whole):
    start = header_length(whole)
    for offset in (0, 1, 3, 12, 20, 35):
        damaged = bytearray(whole)
        damaged[start + 811 * SIZE + offset] ^= 0x01
        run = read_log(bytes(damaged))
        assert len(run.rows) == 2399
        count = len(run.rows) + len(run.events) + 1
        assert run.problems == [
            f"record 812 of about {count} fails its check; left out, reading goes on behind"
        ]


def test_a_ruined_tail_is_told_with_what_is_left(whole):
    start = header_length(whole)
    ruined = whole[: start + 100 * SIZE] + bytes(len(whole) - start - 100 * SIZE)
    run = read_log(ruined)
    assert len(run.rows) + len(run.events) == 100
    assert re.fullmatch(
        r"records 101 to (\d+) of about \1 fail their check and nothing readable follows; 100 records read",
        run.problems[0],
    )


def test_lost_bytes_do_not_cost_the_records_behind_them(whole):
    start = header_length(whole)
    run = read_log(whole[: start + 50 * SIZE] + whole[start + 50 * SIZE + 7 :])
    assert len(run.rows) == 2399
    assert len(run.problems) == 1


def test_records_that_never_came_are_counted(whole):
    start = header_length(whole)
    run = read_log(whole[: start + 50 * SIZE] + whole[start + 60 * SIZE :])
    assert run.problems == ["10 records before 0:57 never reached the board's flash"]


def test_the_record_number_may_wrap():
    log = LogMaker()
    log.seq = 65534
    for second in (1, 2, 3, 4):
        log.row(second * 1000, 0, [(None, 20, 0, 0)] * 2)
    assert read_log(log.bytes()).problems == []


def test_every_cut_of_a_short_log_is_survived(tmp_path):
    data = sample_log(12)
    start = header_length(data)
    for length in range(0, len(data), 13):
        run = read_log(data[:length])
        assert len(run.rows) + len(run.events) == max(0, (length - start) // SIZE)
        assert run.problems or (length - start) % SIZE == 0
        write_csv(run, tmp_path / "run.csv")
        assert read_csv(tmp_path / "run.csv") == run


def test_random_damage_never_raises_and_invents_nothing():
    data, dice = sample_log(40), random.Random(3)
    good = {row.at_ms: row for row in read_log(data).rows}
    for _ in range(200):
        damaged = bytearray(data)
        for _ in range(dice.randrange(1, 30)):
            damaged[dice.randrange(len(damaged))] = dice.randrange(256)
        for row in read_log(bytes(damaged)).rows:
            assert good[row.at_ms] == row


@pytest.mark.parametrize(
    "changes",
    [
        {"zones": "waist"},
        {"zones": []},
        {"zones": [1, 2]},
        {"zones": ["a"] * 40},
    ],
)
def test_a_header_with_impossible_zones_is_no_header(changes):
    head = record.header_bytes(header(**changes))
    buffer = bytearray(record.record_size(2))
    record.pack_row(buffer, 0, 0, 1000, 3, 0, 0, [(TENTHS_MISSING, 210, 0, 0, TENTHS_MISSING)] * 2)
    run = read_log(head + bytes(buffer))
    assert [row.zones[1].measured_c for row in run.rows] == [21.0]
    assert run.problems == [
        "the log's header does not name its zones; profile, zone names and firmware of this run are unknown"
    ]


def test_a_header_that_checks_but_is_no_json_is_survived():
    body = b"\xff{"
    head = b"RWL1" + struct.pack("<H", len(body)) + body + struct.pack("<I", record.binascii.crc32(body))
    assert "cannot be read" in read_log(head).problems[0]


@pytest.mark.parametrize(
    "profile", [None, [], "x", {}, {"schema": 1, "unit": "C"}, {"stages": [3]}, PROFILE | {"x": 1}]
)
def test_a_profile_this_version_cannot_read_leaves_the_rows(profile, tmp_path):
    run = read_log(sample_log(60, profile=profile))
    assert (run.stages(), len(run.rows)) == ([], 60)
    write_csv(run, tmp_path / "run.csv")
    assert read_csv(tmp_path / "run.csv") == run


def test_zone_names_cannot_become_formulas_or_double_columns(tmp_path):
    log = LogMaker(zones=["full wide 2", "=1+1", "Full, wide", "full wide"])
    log.row(1000, 0, [(None, 20.0 + i, 0, 0) for i in range(4)])
    run = read_log(log.bytes())
    write_csv(run, tmp_path / "run.csv")
    columns = (tmp_path / "run.csv").read_text().splitlines()[0].split(",")
    assert len(columns) == len(set(columns)) == 6 + 4 * 4
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", column) for column in columns)
    assert read_csv(tmp_path / "run.csv") == run


def test_a_missing_side_file_is_one_line_with_the_next_step(whole, tmp_path):
    write_csv(read_log(whole), tmp_path / "run.csv")
    (tmp_path / "run.json").unlink()
    with pytest.raises(FileError, match=r"run\.json is missing") as caught:
        read_csv(tmp_path / "run.csv")
    assert caught.value.code == "no_side_file"
    assert "fetch the run again" in caught.value.line()


@pytest.mark.parametrize(
    ("find", "put"),
    [("waist_duty", "duty"), ("2.000,", "two,"), ("3.000,1", "3.000,x"), (",23.", ",nan"), (",0,", ",,")],
)
def test_a_spoilt_csv_names_file_and_line(find, put, tmp_path):
    write_csv(read_log(sample_log(5)), tmp_path / "run.csv")
    text = (tmp_path / "run.csv").read_text()
    assert find in text
    (tmp_path / "run.csv").write_text(text.replace(find, put, 1))
    with pytest.raises(FileError, match=r"run\.csv line \d+") as caught:
        read_csv(tmp_path / "run.csv")
    assert "\n" not in caught.value.line()
    assert caught.value.exit_code == 3


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda _text: b"", "it is empty"),
        (lambda text: text.replace(",", ";").encode(), "semicolons"),
        (lambda text: "\n".join(line.split(",", 3)[0] for line in text.splitlines()).encode(), "stage, "),
        (lambda text: text.encode("utf-16"), "not UTF-8"),
        (lambda text: text.encode()[:-40], "a value is missing"),
    ],
)
def test_what_a_spreadsheet_or_a_full_disk_did_is_told_in_plain_words(spoil, said, tmp_path):
    path = tmp_path / "run.csv"
    write_csv(read_log(sample_log(5)), path)
    path.write_bytes(spoil(path.read_text(encoding="utf-8").replace("\r", "")))
    with pytest.raises(FileError, match=said) as caught:
        read_csv(path)
    assert caught.value.code == "not_a_run_file"
    assert "Error" not in caught.value.line()
    assert len(caught.value.line()) < 500
    assert caught.value.hint == "fetch the run again"
    path.with_suffix(".rlg").write_bytes(sample_log(5))
    with pytest.raises(FileError) as caught:
        read_csv(path)
    assert f"the board's own log: {path.with_suffix('.rlg')}" in caught.value.hint


def test_a_sheet_longer_than_any_run_is_not_read_to_its_end(tmp_path, monkeypatch):
    write_csv(read_log(sample_log(60)), tmp_path / "run.csv")
    rows = len(read_csv(tmp_path / "run.csv").rows)
    monkeypatch.setattr(logbook, "MOST_ROWS", rows)
    assert len(read_csv(tmp_path / "run.csv").rows) == rows
    monkeypatch.setattr(logbook, "MOST_ROWS", rows - 1)
    with pytest.raises(FileError, match=f"line {rows}, .* goes on past {rows - 1} rows") as caught:
        read_csv(tmp_path / "run.csv")
    assert caught.value.code == "not_a_run_file"


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"schema": 99}', "null", '{"schema": 1, "zones": 4}'])
def test_a_spoilt_side_file_is_refused(text, tmp_path):
    write_csv(read_log(sample_log(5)), tmp_path / "run.csv")
    (tmp_path / "run.json").write_text(text)
    with pytest.raises(FileError) as caught:
        read_csv(tmp_path / "run.csv")
    assert caught.value.code == "not_a_run_file"


def test_no_number_of_the_log_is_lost_in_the_csv(tmp_path):
    log = LogMaker(zones=["waist"])
    log.row(4_294_967_295, 254, [(-3276.7, 3276.7, 0.001, 65535, 3276.7)], late_ms=65535)
    run = read_log(log.bytes())
    write_csv(run, tmp_path / "run.csv")
    back = read_csv(tmp_path / "run.csv").rows[0]
    assert (back.at_ms, back.stage, back.late_ms) == (4_294_967_295, 254, 65535)
    assert (back.zones[0].target_c, back.zones[0].measured_c) == (-3276.7, 3276.7)
    assert math.isclose(back.zones[0].duty, 0.001)
    assert back.zones[0].mid_wood_c == 3276.7


def test_the_estimate_is_named_as_one_and_comes_with_its_band(whole, tmp_path):
    run = read_log(sample_log(60, wood_band_k=[8.0, 3.5]))
    assert run.wood_bands_k == {"waist": 8.0, "full": 3.5}
    write_csv(run, tmp_path / "run.csv")
    side = json.loads((tmp_path / "run.json").read_text())
    assert (side["schema"], side["estimate_band_k"]) == (2, {"waist": 8.0, "full": 3.5})
    assert "not measured" in side["estimate_mid_wood_c"]
    back = read_csv(tmp_path / "run.csv")
    assert back == run
    assert [row.zones[0].mid_wood_c is None for row in back.rows] == [True] * 19 + [False] * 41
    assert {row.zones[1].mid_wood_c for row in back.rows} == {None}
    # A log of a board that says nothing of a band, or says nonsense.
    assert read_log(whole).wood_bands_k == {}
    assert read_log(sample_log(5, wood_band_k=[8.0])).wood_bands_k == {}
    assert read_log(sample_log(5, wood_band_k=["8", 3.5])).wood_bands_k == {"full": 3.5}


def first_layout(data):
    """The same log as a board wrote it before it knew of the wood: bytes taken out, checks made anew."""
    start = header_length(data)
    parts = [b"RWL1", data[4:start]]
    for at in range(start, len(data), SIZE):
        body = data[at : at + SIZE - 4]
        body = body[:20] + body[22:30] if body[0] == record.ROW else body[:28]
        parts.append(body + struct.pack("<I", record.binascii.crc32(body)))
    return b"".join(parts)


def test_logs_and_run_files_of_older_boards_are_still_read(whole, tmp_path):
    old = first_layout(whole)
    assert len(old) == header_length(whole) + (len(whole) - header_length(whole)) // SIZE * 32
    run, new = read_log(old, POWER_W), read_log(whole, POWER_W)
    assert run.problems == []
    assert [row.zones[1] for row in run.rows] == [row.zones[1] for row in new.rows]
    assert {row.zones[0].mid_wood_c for row in run.rows} == {None}
    damaged = bytearray(old)
    damaged[2] ^= 0x20
    assert [row.at_ms for row in read_log(bytes(damaged)).rows] == [row.at_ms for row in run.rows]
    write_csv(run, tmp_path / "run.csv")
    side = json.loads((tmp_path / "run.json").read_text())
    for key in ("estimate_mid_wood_c", "estimate_band_k"):
        del side[key]
    (tmp_path / "run.json").write_text(json.dumps(side | {"schema": 1}))
    assert "mid_wood" not in (tmp_path / "run.csv").read_text()
    assert read_csv(tmp_path / "run.csv") == run
