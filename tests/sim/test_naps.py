"""A board that keeps short sleeps to itself while it rests reads and answers as one that tells each."""

import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

from ribwright_board.core.wire import Message
from ribwright_sim.campaign.board_cable import ShortCable, Talk
from ribwright_sim.campaign.board_runs import board_payload
from ribwright_sim.interpreter import NAPS, choose, install_files
from ribwright_sim.longrun.setting import PIECE, rig_mapping
from ribwright_sim.maker import TellWatcher
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_physics import SECOND_US
from ribwright_sim.rig_scenario import from_mapping

ASKED_S = 20.0


class Rest:
    """A board at rest for half a minute, asked once: its rows, what it was asked and answered, exchanges."""

    def __init__(self, folder: Path, naps: int) -> None:
        self.talk = Talk(ShortCable())
        scenario = {
            "image": folder / "image",
            "rig": rig_mapping(),
            "piece": PIECE,
            "idle_speed": 1e12,
            "naps": naps,
        }
        install_files(folder / "image", board_payload(rig_mapping(), choose()), choose())
        self.rows: list[dict] = []
        self.answered_s = 0.0
        with self._loop(scenario) as loop:
            asked = -1
            loop.hear = self._hear
            while loop.physics.now_us < 30 * SECOND_US:
                loop.step()
                now_s = loop.physics.now_us / SECOND_US
                self.talk.read()
                if asked < 0 and now_s >= ASKED_S:
                    asked = self.talk.ask("status", {})
                if asked >= 0 and not self.answered_s and self.talk.answer(asked):
                    self.answered_s = now_s
            self.exchanges = loop.figures.exchanges
            self.quit = loop.quit

    def _hear(self, message: Message, _second: float) -> None:
        if message.verb == "row":
            self.rows.append(message.data)

    @contextmanager
    def _loop(self, scenario: dict) -> Iterator[RigLoop]:
        loop = RigLoop(from_mapping(scenario), lambda _: None, cable=self.talk.cable)
        try:
            yield loop
        finally:
            loop.close()


@pytest.mark.usefixtures("micropython_cmd")
def test_board_that_naps_reads_and_answers_as_one_that_does_not(tmp_path):
    told, kept = Rest(tmp_path / "told", 0), Rest(tmp_path / "kept", NAPS)
    assert told.quit is kept.quit is None
    # No tick is missed and none reads what is not of its own moment.
    assert len(kept.rows) == len(told.rows) >= 28
    assert max(row["late_ms"] for row in kept.rows) <= max(row["late_ms"] for row in told.rows) + 1
    for one, other in zip(kept.rows, told.rows, strict=True):
        # Tenths of a kelvin, and noise.
        assert all(abs(a[1] - b[1]) < 15 for a, b in zip(one["zones"], other["zones"], strict=True))
    # An ask after a rest waits for the next look that is told.
    assert 0.0 < told.answered_s - ASKED_S < 0.2
    assert 0.0 < kept.answered_s - ASKED_S < 0.2
    assert kept.exchanges < 0.6 * told.exchanges


@contextmanager
def alone(image: Path, **settings: float) -> Iterator[RigLoop]:
    """A rig with a port of its own that ends by itself; settings: further keys of its scenario."""
    install_files(image, board_payload(rig_mapping(), choose()), choose())
    scenario = {"image": image, "rig": rig_mapping(), "piece": PIECE, **settings}
    loop = RigLoop(from_mapping(scenario), lambda _: None)
    try:
        yield loop
    finally:
        loop.close()


@pytest.mark.parametrize(("running", "least_s"), [(False, 0.2), (True, 1.0)])
def test_rig_without_a_computer_ends_in_a_run_as_well_only_later(tmp_path, monkeypatch, running, least_s):
    monkeypatch.setattr(TellWatcher, "running", running)
    with alone(tmp_path / "image", idle_speed=1e12, linger_s=0.2) as loop:
        loop.step()
        begun_s = loop.link.last_seen_s
        while loop.quit is None and time.monotonic() - begun_s < 20.0:
            loop.step()
        assert "no computer" in str(loop.quit)
        assert time.monotonic() - begun_s >= least_s


@pytest.mark.parametrize("looked_at", [False, True])
def test_run_on_a_rig_that_outlives_its_commands_waits_for_who_looks_on(tmp_path, monkeypatch, looked_at):
    monkeypatch.setattr(TellWatcher, "running", True)
    with alone(tmp_path / "image", idle_speed=1.0, linger_s=60.0) as loop, ExitStack() as stack:
        if looked_at:
            stack.enter_context(socket.create_connection(("127.0.0.1", loop.link.port)))
            while not loop.link.connected:
                loop.step()
        while loop.physics.now_us < SECOND_US:
            loop.step()
        begun_s, begun_us = time.monotonic(), loop.physics.now_us
        while time.monotonic() - begun_s < 0.5:
            loop.step()
        passed_s = (loop.physics.now_us - begun_us) / SECOND_US
    # Board and simulation are twenty times as quick as a clock on any computer.
    assert passed_s > 2.0 if looked_at else passed_s < 0.7
