"""The virtual rig as a process: link on a socket, panel, power, resets, crashes, files, plug pulled."""

import csv
import json
import math
import socket
import subprocess
import sys
import time

import pytest
import serial

from ribwright_sim.costs import read_costs
from ribwright_sim.interpreter import RigError, read_files
from ribwright_sim.rig_scenario import from_mapping
from ribwright_sim.serial_link import DRAINING, SerialLink
from ribwright_sim.virtual_rig import VirtualRig
from seam.lag_plant import AMBIENT_C, LAG_S, RISE_K
from seam.rig_parts import RIG, scenario

KINDS = ("micropython", "cpython")


def ask(port, line):
    port.write(line + b"\n")
    return port.readline()


@pytest.fixture
def opened(tmp_path):
    """Start rigs and open their ports; everything is closed at the end."""
    rigs, ports = [], []

    def start(kind="micropython", **more):
        rig = VirtualRig(scenario(tmp_path / kind, kind, **more)).start()
        rigs.append(rig)
        port = serial.serial_for_url(rig.url, timeout=5)
        ports.append(port)
        return rig, port

    yield start
    for port in ports:
        port.close()
    for rig in rigs:
        rig.close()


@pytest.mark.parametrize("kind", KINDS)
def test_a_serial_library_talks_to_the_firmware(opened, kind):
    rig, port = opened(kind)
    assert rig.interpreter.startswith({"micropython": "MicroPython ", "cpython": "CPython "}[kind])
    assert ask(port, b"hello") == b"echo hello\n"
    assert ask(port, b"print") == b"printed\n"
    assert ask(port, b"a\x03b") == b"echo a\x03b\n"


def test_a_second_computer_is_turned_away_and_the_first_may_come_back(opened):
    rig, port = opened()
    ask(port, b"hello")
    with socket.create_connection(("127.0.0.1", rig.port), timeout=5) as second:
        assert second.recv(10) == b""
    assert ask(port, b"still") == b"echo still\n"
    port.close()
    again = serial.serial_for_url(rig.url, timeout=5)
    assert ask(again, b"again") == b"echo again\n"
    again.close()


def test_a_press_reaches_the_firmware_for_a_quarter_of_a_second(opened):
    rig, port = opened()
    ask(port, b"hello")
    rig.press("start")
    at_ms = [int(port.readline().split()[1]) for _ in range(2)]
    # A tick lasts 100 ms; whole milliseconds of its beginning may differ by one.
    assert at_ms[1] - at_ms[0] == pytest.approx(100, abs=1)
    assert rig.wait_for("press")["which"] == "start"
    third = ask(port, b"done")
    assert third == b"echo done\n" or int(third.split()[1]) == pytest.approx(at_ms[1] + 100, abs=1)


def test_an_order_that_makes_no_sense_is_refused_and_changes_nothing(opened):
    rig, port = opened()
    for order in ({"press": "fire"}, {"form": 2}, {"chip": 0, "state": "fine"}, {"jump_ms": -1}, {"heat": 1}):
        rig.command(order)
        assert rig.wait_for("refused")["command"] == order
    assert ask(port, b"hello") == b"echo hello\n"


def test_heat_needs_the_alive_signal_and_follows_the_relay(opened, tmp_path):
    truth = tmp_path / "truth.csv"
    rig, port = opened(truth_csv=truth, idle_speed=2000.0, max_sim_s=400.0)
    ask(port, b"heat")
    rig.wait_for("stopped")
    rows = list(csv.DictReader(truth.read_text().splitlines()))
    assert len(rows) == 401
    heated = [row for row in rows if row["waist_relay"] == "1" and row["contactor"] == "1"]
    assert len(heated) > 300
    # Closed form of the stand-in: a first-order lag, from the moment the power came on.
    for row in heated[::40]:
        risen = RISE_K * (1.0 - math.exp(-float(row["waist_on_s"]) / LAG_S))
        assert float(row["waist_thermocouple_c"]) == pytest.approx(AMBIENT_C + risen, abs=0.01)
    assert all(float(row["full_thermocouple_c"]) == AMBIENT_C for row in rows)


def test_a_firmware_that_falls_silent_loses_its_heat_within_820_ms(opened, tmp_path):
    truth = tmp_path / "truth.csv"
    rig, port = opened(truth_csv=truth)
    ask(port, b"heat")
    for _ in range(40):
        ask(port, b"t")
    mute_s = int(ask(port, b"t").split()[0]) / 1000
    ask(port, b"mute")
    while int(ask(port, b"t").split()[0]) / 1000 < mute_s + 3:
        pass
    rig.close()
    rows = list(csv.DictReader(truth.read_text().splitlines()))
    assert any(row["contactor"] == "1" for row in rows)
    late = [row for row in rows if float(row["board_ms"]) / 1000 > mute_s + 1.2]
    assert late
    assert all((row["alive"], row["contactor"], row["waist_relay"]) == ("0", "0", "1") for row in late)


def test_broken_chips_show_on_the_bus(opened):
    rig, port = opened()
    assert ask(port, b"w") == b"01401400 01401400\n"
    rig.command({"chip": 1, "state": "open"})
    # The order comes by another way than the asks, so it may be seen only some answers later.
    broken = b"01401400 7ffd1401\n"
    assert any(ask(port, b"w") == broken for _ in range(300))
    assert ask(port, b"w") == broken


def test_the_board_starts_again_after_a_reset_a_crash_and_a_hung_loop(opened, tmp_path):
    rig, port = opened()
    ask(port, b"file")
    port.write(b"reset\n")
    assert rig.wait_for("reset")["why"] == "asked"
    rig.wait_for("started")
    assert ask(port, b"t").split()[1] == b"3"
    ask(port, b"dog")
    port.write(b"spin\n")
    assert rig.wait_for("reset")["why"] == "watchdog"
    rig.wait_for("started")
    ask(port, b"dog")
    port.write(b"die\n")
    assert "ValueError: told to die" in rig.wait_for("crash")["traceback"]
    rig.wait_for("started")
    assert ask(port, b"alive") == b"echo alive\n"
    rig.close()
    assert read_files(tmp_path / "micropython")["runs.txt"] == b"0123456789"


def test_a_crash_with_no_watchdog_ends_the_rig_with_its_story(opened):
    rig, port = opened()
    ask(port, b"hello")
    port.write(b"die\n")
    assert rig.wait(20.0) == 1
    assert [event["event"] for event in rig.events[1:]] == ["crash", "stopped"]


@pytest.mark.skipif(sys.platform == "win32", reason="needs the signal that nothing can catch")
def test_the_plug_pulled_leaves_a_flash_that_mounts_and_a_port_that_closes(opened, tmp_path):
    rig, port = opened()
    for _ in range(5):
        ask(port, b"file")
    rig.kill()
    assert not rig.running
    # What was under way may still arrive; then the end shows.
    with pytest.raises(serial.SerialException):
        port.read(1_000_000)
    assert read_files(tmp_path / "micropython")["runs.txt"] == b"0123456789" * 5
    again, _ = opened()
    assert again.running


def test_a_computer_that_does_not_read_costs_the_board_time_and_never_stops_it(opened, tmp_path):
    summary = tmp_path / "summary.json"
    rig, port = opened(summary_json=summary)
    ask(port, b"hello")
    rig.command({"host_reads": False})
    rig.command({"press": "next"})
    rig.wait_for("press")
    port.write(b"flood\n" * 3)
    # The board is stalled for seconds of its time, yet it reads on.
    port.write(b"hello\n")
    time_out = time.monotonic() + 10
    while time.monotonic() < time_out and not summary.exists():
        rig.next_event(0.05)
    rig.command({"host_reads": True})
    said = b""
    while b"echo hello" not in said and time.monotonic() < time_out:
        port.write(b"hello\n")
        said += port.readline()
    rig.close()
    figures = json.loads(summary.read_text())
    assert figures["charges"]["stalled_write"] >= 9
    assert figures["tick_board_ms"] > 4_000


def test_the_summary_counts_what_the_table_charges(opened, tmp_path):
    summary = tmp_path / "summary.json"
    rig, port = opened(summary_json=summary, max_sim_s=60.0, idle_speed=30.0, costs="maximum")
    # An answer first: what is asked before the first sleep belongs to the setup, not to a tick.
    ask(port, b"hello")
    ask(port, b"gc")
    rig.wait_for("stopped")
    figures = json.loads(summary.read_text())
    rows = read_costs()
    for name, count in figures["charges"].items():
        assert figures["charged_ms"][name] == pytest.approx(count * rows[name].maximum_us / 1000)
    # 60 s less a second of boot, ten ticks a second, two sensors in each.
    assert figures["charges"]["boot"] == figures["charges"]["gc_collect"] == 1
    assert 580 <= figures["charges"]["tick_code"] <= 591
    assert figures["charges"]["spi_read_4_bytes"] == pytest.approx(2 * figures["charges"]["tick_code"], abs=2)
    # The worst tick is the one with the collection: 30 + 18 ms, a line of 3 ms, reads, bytes and clock.
    assert 51.0 < figures["tick_board_ms"] < 52.0


def test_speed_holds_virtual_time_to_real_time(opened):
    rig, _ = opened(speed=20.0, max_sim_s=20.0)
    began_s = time.monotonic()
    stopped = rig.wait_for("stopped")
    took_s = time.monotonic() - began_s
    assert stopped["simulated_s"] == pytest.approx(20.0, abs=0.2)
    # Twenty virtual seconds at twenty times, never faster; the start was before the clock of this test.
    assert took_s >= 0.8


def test_nobody_there_and_no_run_ends_a_rig_that_lingers(tmp_path):
    with VirtualRig(scenario(tmp_path, linger_s=0.2)) as rig:
        assert "no computer" in rig.wait_for("stopped")["why"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rig": None}, "'rig' is missing"),
        ({"pace": 3}, "'pace' is unknown"),
        ({"speed": "fast"}, "speed is 'fast'"),
        ({"speed": -1}, "speed is -1"),
        ({"costs": "average"}, "costs is 'average'"),
        ({"port": 70000}, "port is 70000"),
        ({"start_ticks_ms": 1 << 30}, "start_ticks_ms is 1073741824"),
        ({"maker": 4}, "maker is 4"),
        ({"rig": {**RIG, "pins": {"alive": 22}}}, "lacks a pin"),
        ({"interpreter": "lua"}, "interpreter is 'lua'"),
    ],
)
def test_a_wrong_scenario_is_refused_in_one_sentence(tmp_path, change, said):
    with pytest.raises(RigError, match=said):
        from_mapping({"image": str(tmp_path), "rig": RIG, "piece": {}, **change})


def test_the_command_refuses_with_one_line_and_exit_code_2(tmp_path):
    path = tmp_path / "scenario.json"
    path.write_text("{")
    done = subprocess.run(
        [sys.executable, "-m", "ribwright_sim.virtual_rig", str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "cannot be read as JSON" in done.stderr


def test_a_taken_port_is_named(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        with pytest.raises(RigError, match=f"port {port} cannot be opened"):
            VirtualRig(scenario(tmp_path, port=port)).start()


def test_the_cable_brings_no_more_than_its_pace_allows():
    link = SerialLink()
    try:
        with socket.create_connection(("127.0.0.1", link.port)) as client:
            client.sendall(b"x" * 4000)
            while link.waiting < 4000:
                link.wait(1.0)
            assert len(link.take(1_000, 512)) == 256
            assert len(link.take(5_000, 512)) == 320
            assert len(link.take(1_000_000, 512)) == 512
            assert len(link.take(1_000_000, 3)) == 3
            assert link.room == DRAINING
            link.host_reads = False
            link.send(b"y" * 180)
            # Of the 76 bytes that are left one whole packet counts.
            assert link.room == 64
            link.send(b"y" * 120)
            assert link.room == 0
            link.host_reads = True
            link.send(b"")
            assert client.recv(400) == b"y" * 300
            assert link.room == DRAINING
    finally:
        link.close()
