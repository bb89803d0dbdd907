"""The commands against a board: what each does, and that every refusal changes nothing there."""

import json
import subprocess
import sys

import pytest

from host.commands import one_line, run
from host.peer import BOARD_ID, PROFILE_TEXT, RIG_TEXT, Peer, on_socket
from page.fake_board import FakeBoard
from ribwright_board.core import record
from ribwright_host import counted


@pytest.fixture(autouse=True)
def counted_file(tmp_path, monkeypatch):
    """What boards have counted is kept for the test alone."""
    file = tmp_path / "data" / "counted.json"
    monkeypatch.setattr(counted, "default_file", lambda: file)
    return file


def untouched(peer):
    """Whether the board is as it was: nothing stored, nothing laid out."""
    return peer.shelf.writes == 0 and peer.controller.profile is None and peer.controller.mode == "idle"


def test_profile_is_uploaded_and_laid_out_but_never_armed(peer, port, profile):
    sent = run("upload", profile, "--port", port)
    assert sent.exit_code == 0, sent.output
    assert len(peer.shelf.profiles) == 1
    ready = run("start", profile, "--port", port, "--yes")
    assert ready.exit_code == 0, ready.output
    # The next step names the same board.
    assert f"Next: ribwright start {profile} --port {port}\n" in sent.stdout
    assert f"look on with: ribwright watch --port {port}\n" in ready.stdout
    assert "press the start button AT THE RIG" in ready.stdout
    assert "Stay with it until it is cold" in ready.stdout
    # Ready is as far as a computer gets: the mode table needs the press for more.
    assert peer.controller.mode == "ready"


def test_how_the_rig_stands_is_told_as_watch_tells_it(port):
    stopped = run("stop", "--port", port)
    assert stopped.exit_code == 0, stopped.output
    assert "The rig is at rest, relays off.\n" in stopped.stdout
    line = one_line(run("next", "--port", port), "not_waiting", 7)
    assert "nothing waits for next, the rig is at rest, relays off;" in line


def test_no_to_the_cautions_changes_nothing(peer, port, profile):
    run("upload", profile, "--port", port)
    result = run("start", profile, "--port", port, answers="n\n")
    assert result.exit_code == 130
    assert "Nothing was changed." in result.stdout
    assert peer.controller.mode == "idle"


@pytest.mark.parametrize("more", [["--yes"], []])
def test_cautions_are_shown_before_heat_to_whoever_reads_beside_a_program(peer, port, profile, more):
    run("upload", profile, "--port", port)
    result = run("start", profile, "--port", port, "--json", *more, answers="y\n")
    assert json.loads(result.stdout)["run"] == 1
    assert "Stay with it until it is cold" in result.stderr
    assert peer.controller.mode == "ready"


def test_no_in_json_says_that_nothing_was_laid_out(peer, port, profile):
    run("upload", profile, "--port", port)
    result = run("start", profile, "--port", port, "--json", answers="n\n")
    assert result.exit_code == 130
    told = json.loads(result.stdout)
    assert (told["run"], told["agreed"]) == (None, False)
    assert "Nothing was changed." in result.stderr
    assert peer.controller.mode == "idle"


def test_profile_the_board_lacks_cannot_be_started(peer, port, profile):
    line = one_line(run("start", profile, "--port", port, "--yes"), "no_profile", 7)
    assert "upload it first" in line
    assert untouched(peer)


def test_start_without_a_name_takes_the_last_laid_out_or_says_so(peer, port, profile):
    one_line(run("start", "--port", port, "--yes"), "no_profile", 7)
    run("upload", profile, "--port", port)
    run("start", profile, "--port", port, "--yes")
    run("stop", "--port", port)
    assert run("start", "--port", port, "--yes").exit_code == 0
    assert peer.controller.mode == "ready"


def test_stop_ends_what_was_ready(peer, port, profile):
    run("upload", profile, "--port", port)
    run("start", profile, "--port", port, "--yes")
    result = run("stop", "--port", port, "--json")
    assert json.loads(result.stdout) == {
        "mode": "idle",
        "board": BOARD_ID,
        "rig": json.loads(result.stdout)["rig"],
        "simulated": False,
    }
    assert peer.controller.mode == "idle"


@pytest.mark.parametrize(
    ("verb", "mode"), [("stop", "running"), ("stop", "paused"), ("pause", "running"), ("pause", "proving")]
)
def test_board_that_goes_on_after_it_was_asked_is_no_success(verb, mode):
    with FakeBoard({verb: {"mode": mode}}) as board:
        line = one_line(run(verb, "--port", board.url), "not_done", 7)
    assert f"still says {mode}" in line
    assert "press stop AT THE RIG" in line


def test_next_and_pause_say_when_nothing_waits(peer, port):
    one_line(run("next", "--port", port), "not_waiting", 7)
    one_line(run("pause", "--port", port), "not_running", 7)
    assert untouched(peer)
    assert "next" not in peer.verbs


BAD_PROFILES = [
    ("target = 155 ", "target = 310 ", "range"),
    ("target = 155 ", "target_c = 155 ", "doubled_unit"),
    ('zones = ["full"]', 'zones = ["tail"]', "no_zone"),
    ("longest_min = 8 ", "# ", "endless"),
    ("schema = 1", "schema = 2", "schema"),
]


@pytest.mark.parametrize(("old", "new", "code"), BAD_PROFILES, ids=[bad[2] for bad in BAD_PROFILES])
def test_bad_profile_never_reaches_the_board(peer, port, profile, old, new, code):
    profile.write_text(PROFILE_TEXT.replace(old, new, 1), encoding="utf-8")
    line = one_line(run("upload", profile, "--port", port), code, 3)
    assert f"{profile} line " in line
    assert untouched(peer)
    assert not [verb for verb in peer.verbs if verb.startswith("put")]


def test_rest_of_many_mistakes_is_counted_in_the_one_line(peer, port, profile):
    text = PROFILE_TEXT.replace("target = 155 ", "target = 310 ").replace("minutes = 12", "minutes = -1")
    profile.write_text(text, encoding="utf-8")
    assert "more: ribwright check" in one_line(run("upload", profile, "--port", port), "range", 3)
    assert untouched(peer)


def test_ceiling_that_only_the_board_knows_is_refused_by_the_board(peer, port, profile):
    # The firmware allows 190 C at most, this rig's zones 190 less 10 C.
    profile.write_text(PROFILE_TEXT.replace("target = 155 ", "target = 185 ", 1), encoding="utf-8")
    line = one_line(run("upload", profile, "--port", port), "range", 7)
    assert "185" in line
    assert "180" in line
    assert untouched(peer)


@pytest.mark.parametrize("command", ["upload", "start"])
def test_board_of_another_version_is_not_changed(profile, command):
    peer = Peer(firmware="0.0.9")
    with on_socket(peer) as port:
        more = ["--yes"] if command == "start" else []
        line = one_line(run(command, profile, "--port", port, *more), "version", 6)
    assert "0.0.9" in line
    assert "update the board" in line
    assert untouched(peer)


def test_board_of_another_version_can_still_be_stopped():
    with on_socket(Peer(firmware="0.0.9")) as port:
        assert run("stop", "--port", port).exit_code == 0


def test_rig_file_of_another_rig_is_refused(peer, port, profile, tmp_path):
    rig = tmp_path / "rig.toml"
    rig.write_text(RIG_TEXT.replace("power_w = 420", "power_w = 400"), encoding="utf-8")
    line = one_line(run("upload", profile, "--port", port, "--rig", rig), "other_rig", 3)
    assert "two-zone bench rig" in line
    assert untouched(peer)


def test_no_board_and_no_port_end_as_documented(profile):
    one_line(run("upload", profile, "--port", "socket://127.0.0.1:9"), "no_board", 4)
    one_line(run("watch", "--port", "/dev/ribwright-nothing"), "no_board", 4)


def test_busy_port_ends_as_documented():
    peer = Peer()
    peer.cut_after = 0
    with on_socket(peer) as port:
        one_line(run("runs", "--port", port), "port_busy", 5)


def test_link_cut_in_the_middle_of_an_upload_ends_as_documented(peer, port, profile):
    peer.cut_after = 3
    line = one_line(run("upload", profile, "--port", port), "link_lost", 8)
    assert port in line
    assert untouched(peer)


def test_error_in_json_carries_the_same_for_a_program(port):
    result = run("pause", "--port", port, "--json")
    said = json.loads(result.stdout)
    assert said["error"] == "not_running"
    assert said["exit_code"] == result.exit_code == 7
    assert said["next"]


@pytest.mark.parametrize(
    ("args", "exit_code", "code"),
    [
        (["runs", "--port", "socket://127.0.0.1:9"], 4, "no_board"),
        (["upload", "absent.toml", "--port", "socket://127.0.0.1:9"], 3, "missing_file"),
        (["bend"], 2, "usage"),
        (["fetch", "many"], 2, "usage"),
        (["check"], 2, "usage"),
        (["report", "absent.csv"], 3, "missing_file"),
    ],
)
def test_error_is_one_line_in_a_real_process(tmp_path, args, exit_code, code):
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_host", *args],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        cwd=tmp_path,
    )
    assert done.returncode == exit_code, done.stderr
    assert done.stderr.startswith(f"{code}: ")
    assert done.stderr.count("\n") == 1
    assert done.stdout == ""


# Reading runs back ---------------------------------------------------------------------------------


def log_of(seconds, name="sapele baritone side", **profile):
    """A run's log as the firmware writes it."""
    header = {
        "board": BOARD_ID,
        "fw": "0.1.0",
        "python": "MicroPython 1.28.0",
        "rig": "ab41ae20ffe6",
        "rig_name": "two-zone bench rig",
        "zones": ["waist", "full"],
        "profile": {"name": name, **profile},
        "profile_hash": "83580f21a5a7",
        "run": 1,
        "unix": 1_767_225_600,
        "started_ms": 5000,
    }
    log = bytearray(record.header_bytes(header))
    row = bytearray(record.record_size(2))
    for second in range(seconds):
        none = record.TENTHS_MISSING
        zones = [(1550, 1500 + second % 50, 300, 300, 1100), (none, 210, 0, 0, none)]
        record.pack_row(row, 0, second, second * 1000, 3, 0, 0, zones)
        log += row
    return bytes(log)


def test_runs_are_listed_with_name_and_time(peer, port):
    peer.shelf.logs = {1: log_of(120), 2: b"RWL1 cut off"}
    result = run("runs", "--port", port)
    assert result.exit_code == 0, result.output
    # 2026-01-01 in seconds since 1970, as any calendar gives it.
    assert "2026-01-01T00:00:00" in result.stdout
    assert "sapele baritone side" in result.stdout
    assert "its head is damaged" in result.stdout
    listed = json.loads(run("runs", "--port", port, "--json").stdout)["runs"]
    assert [entry["run"] for entry in listed] == [1, 2]


def test_runs_are_pinned_and_let_go_and_the_room_is_told(peer, port):
    peer.shelf.logs = {1: log_of(120), 2: log_of(60)}
    result = run("runs", "--pin", 2, "--port", port)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert [("pinned" in line) for line in lines[1:3]] == [False, True]
    # 900,000 bytes of 36-byte records, one a second: 6.94 h.
    assert lines[3] == "878 KB are free, room for about 7 h."
    assert len(lines) == 4
    told = json.loads(run("runs", "--unpin", 2, "--port", port, "--json").stdout)
    assert [entry["pinned"] for entry in told["runs"]] == [False, False]
    assert told["free_bytes"] == 900_000
    refused = run("runs", "--pin", 9, "--port", port)
    assert refused.exit_code != 0
    assert "no run 9" in refused.output


def test_what_the_board_has_counted_is_told(peer, port):
    peer.shelf.counted = {"run": 9, "runs": 8, "trips": 1, "on_s": [5400, 7300], "switches": [410, 520]}
    lines = run("runs", "--port", port).stdout.splitlines()
    assert lines[-3:] == [
        "Counted since its flash was new: 8 runs, 1 shut down.",
        "  waist: its relay came on 410 times and was on for 1.5 h.",
        "  full: its relay came on 520 times and was on for 2.0 h.",
    ]
    # Counters that make no sense are passed over.
    peer.shelf.counted = {"runs": "x", "on_s": 5}
    assert "room for about" in run("runs", "--port", port).stdout.splitlines()[-1]


def test_run_is_fetched_whole_with_csv_and_log(peer, port, tmp_path):
    peer.shelf.logs = {1: log_of(300)}
    result = run("fetch", 1, "-o", tmp_path / "side.csv", "--port", port)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "side.rlg").read_bytes() == peer.shelf.logs[1]
    assert len((tmp_path / "side.csv").read_text(encoding="utf-8").strip().split("\n")) == 301
    assert not (tmp_path / "side.rlg.part").exists()


def test_broken_fetch_goes_on_where_it_stopped(peer, port, tmp_path):
    peer.shelf.logs = {1: log_of(600)}
    out = tmp_path / "side.csv"
    peer.cut_after = 30
    one_line(run("fetch", 1, "-o", out, "--port", port), "link_lost", 8)
    kept = (tmp_path / "side.rlg.part").stat().st_size
    assert kept > 0
    peer.cut_after, peer.asks = None, []
    assert run("fetch", 1, "-o", out, "--port", port).exit_code == 0
    assert (tmp_path / "side.rlg").read_bytes() == peer.shelf.logs[1]
    # One piece to see that it is the same run, then only what was missing.
    pieces = -(-(len(peer.shelf.logs[1]) - kept) // 240)
    assert peer.verbs.count("get") == 1 + pieces


def test_part_of_another_run_is_not_continued(peer, port, tmp_path):
    peer.shelf.logs = {1: log_of(100)}
    (tmp_path / "side.rlg.part").write_bytes(log_of(300, name="walnut tenor side"))
    assert run("fetch", 1, "-o", tmp_path / "side.csv", "--port", port).exit_code == 0
    assert (tmp_path / "side.rlg").read_bytes() == peer.shelf.logs[1]


def test_run_the_board_lacks_writes_nothing(peer, port, tmp_path):
    peer.shelf.logs = {3: log_of(10)}
    line = one_line(run("fetch", 9, "-o", tmp_path / "side.csv", "--port", port), "no_run", 7)
    assert "3 to 3" in line
    assert list(tmp_path.iterdir()) == []


def test_report_is_drawn_from_a_fetched_run(peer, port, tmp_path):
    peer.shelf.logs = {1: log_of(60)}
    run("fetch", 1, "-o", tmp_path / "side.csv", "--port", port)
    result = run("report", tmp_path / "side.csv", "--json")
    assert result.exit_code == 0, result.output
    assert json.loads(result.stdout)["report"] == str(tmp_path / "side-report" / "report.html")
    assert (tmp_path / "side-report" / "report.html").stat().st_size > 1000


@pytest.mark.parametrize(
    ("stated", "asked", "shown"),
    [("F", [], "F"), ("F", ["--unit", "C"], "C"), ("C", [], "C"), ("x", [], "C")],
)
def test_report_shows_the_unit_of_the_profile_unless_told(tmp_path, stated, asked, shown):
    log = tmp_path / "side.rlg"
    log.write_bytes(log_of(60, unit=stated))
    assert run("report", log, *asked).exit_code == 0
    text = (tmp_path / "side-report" / "report.html").read_text(encoding="utf-8")
    assert {unit for unit in "CF" if f"\u00b0{unit}" in text} == {shown}


def test_what_a_real_board_has_counted_is_kept_by_the_day(peer, port, counted_file):
    peer.shelf.logs[1] = record.header_bytes({"run": 1})
    assert run("runs", "--port", port).exit_code == 0
    assert not counted_file.exists(), "a board that has counted nothing yet tells nothing"
    peer.shelf.counted = {"run": 1, "runs": 1, "trips": 0, "on_s": [60, 90], "switches": [30, 40]}
    assert run("runs", "--port", port).exit_code == 0
    (day,) = json.loads(counted_file.read_text(encoding="utf-8"))[BOARD_ID].values()
    assert day["switches"] == [30, 40]
    counted_file.unlink()
    counted_file.mkdir()
    told = run("runs", "--port", port)
    assert told.exit_code == 0
    assert "What the board has counted is not kept" in told.stderr
