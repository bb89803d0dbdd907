"""What a board gets: complete, hashed, and the same from whatever place Ribwright is installed in."""

import hashlib
import json
import tomllib

from host.peer import RIG_TEXT
from ribwright_board import __version__
from ribwright_host.payload import board_files, pins_module
from ribwright_host.rigs import rig_hash

RIG = tomllib.loads(RIG_TEXT)
PANEL = {"display": "SSD1306", "sda": 4, "scl": 5, "knob_a": 6, "knob_b": 7, "buzzer": 8}


def modules(root):
    """Every module of the firmware by its path on the board, but those that a panel's part brings along."""
    package = root / "firmware" / "ribwright_board"
    return {
        f"lib/ribwright_board/{path.relative_to(package).as_posix()}": path.read_bytes()
        for path in package.rglob("*.py")
        if not {"root", "carried", "knob_list.py", "push.py"} & set(path.relative_to(package).parts)
    }


def test_every_firmware_file_is_on_the_list_and_the_manifest_comes_last(root):
    found = board_files(RIG, source=True)
    ours = modules(root)
    assert ours.items() <= found.items()
    assert set(found) - set(ours) == {
        "boot.py",
        "main.py",
        "stay.py",
        "pins.py",
        "rig.json",
        "manifest.json",
        "lib/simple_pid/__init__.py",
        "lib/simple_pid/pid.py",
    }
    # Whatever else is cut off: the pins stand before what reads them, the manifest behind all.
    assert next(iter(found)) == "pins.py"
    assert list(found)[-1] == "manifest.json"


def test_what_ships_is_bytecode_of_just_these_modules():
    found, sources = board_files(RIG), board_files(RIG, source=True)
    assert {path.replace(".mpy", ".py") for path in found} == set(sources)
    assert sorted(path for path in found if path.endswith(".py")) == [
        "boot.py",
        "main.py",
        "pins.py",
        "stay.py",
    ]
    compiled = {path: body for path, body in found.items() if path.endswith(".mpy")}
    # The format of MicroPython 1.23 and later, as its documentation of .mpy files states it.
    assert {body[:2] for body in compiled.values()} == {b"M\x06"}
    assert sum(map(len, compiled.values())) < sum(map(len, sources.values())) / 2


def test_without_a_compiler_the_board_gets_the_sources(monkeypatch):
    monkeypatch.setattr("ribwright_host.payload.compiler", lambda: None)
    assert board_files(RIG) == board_files(RIG, source=True)


def test_manifest_tells_size_and_hash_of_every_other_file():
    found = board_files(RIG)
    manifest = json.loads(found.pop("manifest.json"))
    assert manifest["firmware"] == __version__
    assert manifest["rig"] == rig_hash(RIG)
    listed = {entry["path"]: (entry["size"], entry["sha256"]) for entry in manifest["files"]}
    assert listed == {path: (len(data), hashlib.sha256(data).hexdigest()) for path, data in found.items()}


def test_pins_are_the_rigs_own():
    names = {}
    exec(pins_module(RIG).decode(), names)  # noqa: S102 - the board runs exactly this text
    # As the example rig states them, typed in here.
    assert (names["BOARD"], names["SCK"], names["MOSI"], names["MISO"]) == ("pico", 18, 19, 16)
    assert (names["ALIVE"], names["START"], names["NEXT"], names["STOP"]) == (15, 12, 13, 14)
    assert (names["RELAYS"], names["SELECTS"]) == ((10, 11), (17, 20))
    assert (names["CHIPS"], names["TYPES"]) == (("MAX31855", "MAX31855"), ("K", "K"))
    assert (names["HERTZ"], names["BUS"]) == (60, 0)


def test_one_zone_is_still_a_tuple():
    names = {}
    exec(pins_module({**RIG, "zones": RIG["zones"][:1]}).decode(), names)  # noqa: S102 - as above
    assert names["RELAYS"] == (10,)
    assert (names["CHIPS"], names["TYPES"]) == (("MAX31855",), ("K",))


def test_bus_is_the_one_whose_pins_the_board_brings_out():
    # SPI block 0 of a Pico; 2 of an ESP32, whose own pins are 18, 23 and 19.
    for board, bus in (("pico", 0), ("pico2", 0), ("esp32", 2)):
        names = {}
        exec(pins_module({**RIG, "board": board}).decode(), names)  # noqa: S102 - as above
        assert names["BUS"] == bus


def test_panel_is_carried_as_stated_and_a_displays_driver_only_with_a_display():
    names = {}
    exec(pins_module(RIG).decode(), names)  # noqa: S102 - as above
    assert names["PANEL"] is None
    exec(pins_module({**RIG, "panel": PANEL}).decode(), names)  # noqa: S102 - as above
    assert names["PANEL"] == PANEL
    carried = "lib/ribwright_board/carried/"
    plain, shown = board_files(RIG), board_files({**RIG, "panel": PANEL})
    mute = board_files({**RIG, "panel": {"buzzer": 8}})
    assert set(shown) - set(plain) == {carried + "__init__.mpy", carried + "ssd1306.mpy"}
    assert set(mute) == set(plain)
    # What a push of the knob opens is carried where it can be pushed.
    pushed = board_files({**RIG, "panel": {**PANEL, "knob_push": 9}})
    opens = {"core/knob_list.mpy", "drivers/push.mpy"}
    assert set(pushed) - set(shown) == {"lib/ribwright_board/" + name for name in opens}


def test_panel_makes_no_other_rig_of_it():
    assert rig_hash({**RIG, "panel": PANEL}) == rig_hash(RIG)


def test_gains_and_calibration_do_not_make_another_rig_but_power_does():
    tuned = {**RIG, "zones": [{**zone, "gains": {"kp": 1.0}} for zone in RIG["zones"]]}
    stronger = {**RIG, "zones": [{**zone, "power_w": zone["power_w"] + 1} for zone in RIG["zones"]]}
    assert rig_hash(tuned) == rig_hash(RIG)
    known = {"resistance": 0.006, "loss": 9.0, "escape_s": 50}
    calibrated = {**RIG, "zones": [{**zone, "wood": known} for zone in RIG["zones"]]}
    assert rig_hash(calibrated) == rig_hash(RIG)
    assert rig_hash(stronger) != rig_hash(RIG)


def test_board_reads_back_the_rig_it_was_given():
    stored = json.loads(board_files(RIG)["rig.json"])
    assert stored.pop("sum")
    assert stored == {"hash": rig_hash(RIG), "rig": RIG}
