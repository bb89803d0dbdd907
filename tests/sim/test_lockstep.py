"""The board's process by frames: virtual time, pins, chips, link, watchdog, flash; both interpreters."""

import os
import re
import signal
import sys

import pytest

from ribwright_sim.interpreter import RigError, choose, flash_path, install_files, read_files
from ribwright_sim.lockstep import ENDED, NEVER, RESET, SLEEP
from seam.rig_parts import RELAYS, WORDS, Driven

INTERPRETERS = ("micropython", "cpython")
PERIOD_MS = 1 << 30


@pytest.fixture(params=INTERPRETERS)
def kind(request):
    return request.param


def test_time_moves_by_sleeps_and_charges_alone(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        for _ in range(12):
            board.step()
        ticks = [frame for frame in board.frames if frame.kind == SLEEP]
        # The loop sleeps up to the next 100 ms; waking, work and clock reads all lie within.
        assert all(99_000 <= frame.elapsed_us <= 101_100 for frame in ticks[1:])
        # Tick code 12 ms, two sensor reads of 0.07 ms, three or four clock reads of 0.003 ms.
        assert all(12_140 <= frame.busy_us <= 12_170 for frame in ticks)


def test_alive_edges_come_after_the_ticks_own_code(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        for _ in range(8):
            board.step()
        edges = [edge for frame in board.frames[2:] for edge in frame.edges if edge[1] == 22]
        assert [level for _, _, level in edges] == [(n + 1) % 2 for n in range(len(edges))]
        assert all(after_us >= 12_000 for after_us, _, _ in edges)


def test_a_relay_pin_is_told_once_for_each_change(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        board.ask(b"heat")
        board.ask(b"heat")
        board.ask(b"cold")
        edges = [edge[1:] for frame in board.frames for edge in frame.edges if edge[1] in RELAYS]
        assert edges == [(20, 1), (20, 0)]


def test_each_chip_answers_when_its_own_select_is_low(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        assert board.ask(b"w") == b"0afc1900 01901900\n"
        board.words = [WORDS[1], WORDS[0]]
        board.step()
        assert board.ask(b"w") == b"01901900 0afc1900\n"


SELECT_STUCK = """
import machine, time
pins = [machine.Pin(n, machine.Pin.OUT, value=1) for n in (17, 18)]
spi = machine.SPI(0, baudrate=1000000)
buf = bytearray(4)
def read():
    spi.readinto(buf)
    print("%08x" % int.from_bytes(buf, "big"))
read()
pins[0].value(0)
for n in range(3):
    time.sleep_ms(100)
    read()
pins[1].value(0)
read()
while True:
    time.sleep_ms(100)
"""


def test_a_select_that_stays_low_freezes_the_chip_and_two_low_at_once_mix(tmp_path, kind):
    with Driven(tmp_path, kind, main=SELECT_STUCK) as board:
        board.step()
        board.words = [bytes.fromhex("12345670"), WORDS[1]]
        for _ in range(5):
            board.step()
        said = (board.text + bytes(board.board.noise)).split()
        assert said[:4] == [b"ffffffff", b"0afc1900", b"0afc1900", b"0afc1900"]
        assert int(said[4], 16) == 0x0AFC1900 & 0x01901900


def test_tick_counts_wrap_at_2_to_the_30(tmp_path, kind):
    with Driven(tmp_path, kind, start_us=(PERIOD_MS - 600) * 1000) as board:
        before = int(board.ask(b"t", 1).split()[0])
        for _ in range(5):
            board.step()
        after = int(board.ask(b"t").split()[0])
        assert PERIOD_MS - 400 < before < PERIOD_MS
        assert 0 <= after < 1000
        ticks = [frame for frame in board.frames if frame.kind == SLEEP]
        assert all(90_000 < frame.elapsed_us < 110_000 for frame in ticks[1:])


def test_buttons_are_levels_of_their_pins(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        board.step()
        board.inputs &= ~(1 << 10)
        assert board.ask(b"hi", 4).count(b"pressed") >= 2
        board.inputs |= 1 << 10
        board.step()
        assert board.ask(b"hi") == b"echo hi\n"


def test_interrupt_bytes_are_data_once_the_firmware_says_so(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        board.step()
        assert board.ask(b"a\x03b\x04") == b"echo a\x03b\x04\n"


def test_interrupt_bytes_stop_a_firmware_that_did_not(tmp_path, kind):
    main = "import time\nwhile True:\n    time.sleep_ms(100)\n"
    with Driven(tmp_path, kind, main=main) as board:
        board.step()
        board.step(b"\x03")
        frame = board.frame()
        assert frame.kind == ENDED
        assert b"KeyboardInterrupt" in frame.data


def test_a_collection_and_a_stalled_write_take_their_time(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        assert 10_000 <= int(board.ask(b"gc")) <= 10_020
        board.step()
        # Six writes of two units each, 1.5 ms a unit.
        assert board.ask(b"flood", 6).split()[-2:] == [b"1", b"18"]
        board.room = 0
        board.step()
        board.ask(b"flood", 40)
        board.room = 0xFFFF
        # Four writes into a full buffer, 500 ms each.
        stalled = [frame for frame in board.frames if frame.busy_us > 1_500_000]
        assert stalled
        assert 2_000_000 <= stalled[0].busy_us <= 2_200_000


@pytest.mark.parametrize(
    ("costs", "least_us", "most_us"), [("typical", 400, 200_000), ("maximum", 3000, 2_000_000)]
)
def test_flash_writes_take_their_time_while_outputs_keep_their_state(
    tmp_path, kind, costs, least_us, most_us
):
    with Driven(tmp_path, kind, costs=costs) as board:
        board.ask(b"heat")
        before = len(board.frames)
        spent = [int(board.ask(b"file")) for _ in range(3)]
        assert all(least_us <= us <= most_us for us in spent)
        assert [edge for frame in board.frames[before:] for edge in frame.edges if edge[1] in RELAYS] == []


def test_the_watchdog_bites_at_its_exact_virtual_moment(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        board.ask(b"dog")
        fed_us = board.board.board_us
        board.step(b"spin\n")
        while (frame := board.frame()).kind != RESET:
            board.board.reply(frame.elapsed_us, board.words)
        assert frame.data == b"watchdog"
        ends_us = board.board.board_us + frame.elapsed_us
        # Fed in the last whole tick, at most one period before.
        assert fed_us + 1_880_000 <= ends_us <= fed_us + 2_220_000


def test_a_reset_runs_nothing_of_the_firmware_any_more(tmp_path, kind):
    main = (
        "import machine, time\n"
        "relay = machine.Pin(20, machine.Pin.OUT, value=1)\n"
        "try:\n    machine.reset()\n"
        "finally:\n    relay.value(0)\n    open('late.txt', 'w').write('x')\n    time.sleep_ms(10)\n"
    )
    with Driven(tmp_path, kind, main=main) as board:
        board.step()
        frame = board.frame()
        assert (frame.kind, frame.data) == (RESET, b"asked")
        assert [edge[1:] for edge in frame.edges] == [(20, 1)]
    assert "late.txt" not in read_files(tmp_path, kind)


def test_the_cause_of_a_start_is_told(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        assert board.ask(b"t").split()[1] == b"1"
    with Driven(tmp_path, kind, watchdog=True) as board:
        assert board.ask(b"t").split()[1] == b"3"


def test_an_uncaught_error_arrives_as_a_story_with_the_time_left_to_the_watchdog(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        board.step(b"die\n")
        while (frame := board.frame()).kind != ENDED:
            board.board.reply(frame.elapsed_us, board.words)
        assert frame.busy_us == NEVER
        assert re.search(rb'File "main.py", line \d+.*ValueError: told to die', frame.data, re.DOTALL)
    with Driven(tmp_path, kind) as board:
        board.ask(b"dog")
        board.step(b"die\n")
        while (frame := board.frame()).kind != ENDED:
            board.board.reply(frame.elapsed_us, board.words)
        assert 1_700_000 < frame.busy_us <= 2_000_000


def test_text_that_the_firmware_prints_is_never_taken_for_a_frame(tmp_path, kind):
    with Driven(tmp_path, kind) as board:
        written = board.ask(b"print")
        assert written + bytes(board.board.noise) == b"printed\n"


def test_a_board_that_does_not_even_ask_the_time_is_found_and_ended(tmp_path, kind):
    with Driven(tmp_path, kind, main="while True:\n    pass\n", hang_s=0.3) as board:
        board.step()
        assert board.board.next_frame() is None
        assert board.board.hung


@pytest.mark.skipif(sys.platform == "win32", reason="a process of Windows cannot be looked at this way")
def test_the_board_ends_when_the_rig_is_gone(tmp_path, kind):
    board = Driven(tmp_path, kind)
    board.step()
    board.board._to_child.close()
    # Its output closes only when it has ended.
    while board.board.next_frame() is not None:
        pass
    assert board.board._process.wait(10) == 0
    board.board.kill()


def test_installing_writes_only_what_changed_and_leaves_runs_alone(tmp_path, kind):
    files = {"boot.py": b"a = 1\n", "lib/x/old.py": b"old", "lib/x/same.py": b"same"}
    with Driven(tmp_path, kind) as board:
        board.ask(b"file")
    install_files(tmp_path, files, kind)
    flash = flash_path(kind, tmp_path)
    del files["lib/x/old.py"]
    install_files(tmp_path, {**files, "boot.py": b"a = 2\n"}, kind)
    found = read_files(tmp_path, kind)
    assert found["boot.py"] == b"a = 2\n"
    assert found["runs.txt"] == b"0123456789"
    assert "lib/x/old.py" not in found
    assert found["lib/x/same.py"] == b"same"
    if flash.is_file():
        before = flash.read_bytes()
        install_files(tmp_path, {**files, "boot.py": b"a = 2\n"}, kind)
        assert flash.read_bytes() == before


def test_a_damaged_image_is_refused_and_never_wiped(tmp_path):
    kind = "micropython"
    with Driven(tmp_path, kind):
        pass
    flash = flash_path(kind, tmp_path)
    broken = b"\x5a" * 8192 + flash.read_bytes()[8192:]
    flash.write_bytes(broken)
    with pytest.raises(RigError, match="cannot get files"):
        read_files(tmp_path, kind)
    assert flash.read_bytes() == broken


WRITER = """
import time
file = open("runs.txt", "wb")
n = 0
while True:
    file.write(b"%07d\\n" % n)
    file.flush()
    print(n)
    n += 1
    time.sleep_ms(100)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs the signal that nothing can catch")
@pytest.mark.parametrize("lines", [1, 17, 130])
def test_every_flushed_line_survives_the_plug(tmp_path, lines):
    with Driven(tmp_path, "micropython", main=WRITER) as board:
        while board.board.noise.count(b"\n") < lines:
            board.step()
        # In the midst of its next write, or before it: nobody waits.
        os.kill(board.board.pid, signal.SIGKILL)
        flushed = board.board.noise.count(b"\n")
    kept = read_files(tmp_path, "micropython")["runs.txt"].splitlines()
    assert len(kept) >= flushed
    assert kept == [b"%07d" % n for n in range(len(kept))]


def test_an_unknown_interpreter_is_named():
    with pytest.raises(RigError, match="'lua' is not one of auto"):
        choose("lua")
