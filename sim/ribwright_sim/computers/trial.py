"""An hour's bend on the shipped firmware in its own interpreter while computers of every kind come and go."""

from __future__ import annotations

import base64
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Any

from ribwright_board.core import events, record, wire
from ribwright_sim.campaign.board_cable import Talk, upload
from ribwright_sim.campaign.board_runs import fresh_flash
from ribwright_sim.campaign.rigs import Setting, piece_mapping, rig_mapping
from ribwright_sim.interpreter import RigError
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_scenario import from_mapping

from .cable import KINDS, SECOND_US, RoughCable

PATIENCE_S = 30
LONGEST_S = 3 * 3600
# The stages of an hour and more, waist first; the maker presses, and says that they are there when asked.
WAIST, FULL = ["waist"], ["full"]
STAGES: list[dict[str, Any]] = [
    {"kind": "ramp", "zones": WAIST, "target": 150, "longest_min": 20},
    {
        "kind": "hold",
        "zones": WAIST,
        "target": 150,
        "until": "maker",
        "longest_min": 8,
        "cues": ["waist home"],
    },
    {"kind": "ramp", "zones": WAIST, "target": 80, "longest_min": 45},
    {"kind": "ramp", "zones": FULL, "target": 150, "longest_min": 30},
    {"kind": "hold", "zones": FULL, "target": 150, "minutes": 4, "longest_min": 10},
    {"kind": "set", "zones": FULL, "target": 127, "minutes": 45, "longest_min": 120},
    {"kind": "cool", "below": 90},
]
ENDINGS = ("done", "stop", "trip", "refused")


@dataclass
class Ended:
    """How it went: the last event, virtual seconds, the log's figures and what was wrong with it.

    worst_late_ms: of any tick in the log. rows_lost: seconds without a row, and holes in the numbering.
    """

    ending: str = ""
    seconds: float = 0.0
    worst_late_ms: int = 0
    worst_late_at_s: float = 0.0
    rows: int = 0
    rows_lost: int = 0
    stalled_writes: int = 0
    lost_bytes: int = 0
    turns: dict[str, int] = field(default_factory=dict)


class _Board:
    """A virtual rig in this process, asked through a rough cable."""

    def __init__(self, folder: Path, kinds: tuple[str, ...], costs: str, seed: int) -> None:
        setting = Setting(seed)
        self.cable = RoughCable(seed, kinds)
        self._talk = Talk(self.cable)
        scenario: dict[str, Any] = {
            "image": fresh_flash(setting, folder),
            "rig": rig_mapping(setting),
            "piece": piece_mapping(setting),
            "seed": seed,
            "maker": {},
            "costs": costs,
            "idle_speed": 1e12,
        }
        self.loop = RigLoop(from_mapping(scenario), lambda _: None, cable=self.cable)

    @property
    def seconds(self) -> float:
        """Virtual time since power-on."""
        return self.loop.physics.now_us / SECOND_US

    def step(self) -> None:
        """One frame of the board."""
        self.loop.step()
        if self.loop.quit is not None:
            raise RigError(f"board: {self.loop.quit}")

    def ask(self, verb: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """Ask, again after a second without an answer, and wait; raises RigError when it refuses or stays
        silent.
        """
        for _ in range(PATIENCE_S):
            seq = self._talk.ask(verb, data)
            end_s = self.seconds + 1.0
            while (answer := self._talk.answer(seq)) is None and self.seconds < end_s:
                self.step()
                self._talk.read()
            if answer is not None:
                break
        else:
            raise RigError(f"board: no answer to {verb} within {PATIENCE_S} s")
        if answer.verb != "ok":
            raise RigError(f"board: refused {verb}: {answer.data}")
        return dict(answer.data)

    def log(self, run: int) -> bytes:
        """The whole log of a run."""
        data = b""
        while True:
            answer = self.ask("get", {"run": run, "at": len(data)})
            data += base64.b64decode(answer["data"])
            if len(data) >= answer["size"]:
                return data


def trial(
    kinds: tuple[str, ...] = KINDS, *, costs: str = "typical", seed: int = 4, set_min: int = 45
) -> Ended:
    """One bend with these computers at the cable.

    kinds: which take turns; one that is well behaved alone, for comparison. costs: column of the cost table.
    seed: of rig, maker and noise. set_min: minutes of the set stage.
    Raises RigError when the board does not come up or comes down.
    """
    with tempfile.TemporaryDirectory(prefix="ribwright_computers_") as folder:
        board = _Board(Path(folder), kinds, costs, seed)
        try:
            return _bend(board, set_min)
        finally:
            board.loop.close()


def _bend(board: _Board, set_min: int) -> Ended:
    stages = [stage | ({"minutes": set_min} if stage["kind"] == "set" else {}) for stage in STAGES]
    piece = piece_mapping(Setting(4))
    profile = {"schema": 1, "name": "an hour", "unit": "C", "piece": piece, "stages": stages}
    run = int(board.ask("ready", {"profile": upload(board.ask, profile)})["run"])
    told: list[str] = []
    hear = board.loop.hear

    def listen(message: wire.Message, second: float) -> None:
        if hear is not None:
            hear(message, second)
        if message.verb == "row":
            told.append(str(message.data["mode"]))

    board.loop.hear = listen
    while "running" not in told:
        board.step()
        if board.seconds > LONGEST_S:
            raise RigError(f"board: never began to heat, it told {sorted(set(told))}")
    board.cable.begin()
    begun_s = board.seconds
    # Whoever stands at the rig sees its panel whatever the computer does; a run ends by itself.
    while board.seconds - begun_s < LONGEST_S and told[-1] in ("running", "paused"):
        told[:-1] = []
        board.step()
    ended = Ended(seconds=board.seconds - begun_s, turns=dict(board.cable.turns))
    board.cable.end()
    # The last records are on the flash with the run's end.
    log = board.log(run)
    _read(log, ended)
    ended.lost_bytes = board.cable.lost_bytes
    ended.stalled_writes = board.loop.figures.counted("stalled_write")
    return ended


def _read(log: bytes, ended: Ended) -> None:
    """Fill in what the log says."""
    header, at = record.read_header(log)
    zones = len(header["zones"])
    size = record.record_size(zones)
    items = [record.unpack(log[i : i + size], zones) for i in range(at, len(log), size)]
    ended.rows_lost = sum(item is None for item in items)
    kept = [item for item in items if item is not None]
    ended.rows_lost += sum(b.seq - a.seq != 1 for a, b in pairwise(kept))
    rows = [item for item in kept if isinstance(item, record.Row)]
    ended.rows = len(rows)
    ended.rows_lost += sum(not 500 < b.at_ms - a.at_ms < 1500 for a, b in pairwise(rows))
    for row in rows:
        if row.late_ms > ended.worst_late_ms:
            ended.worst_late_ms, ended.worst_late_at_s = row.late_ms, row.at_ms / 1000
    names = [item.name for item in kept if isinstance(item, record.Event)]
    ended.ending = next((name for name in reversed(names) if name in ENDINGS), "")
    unknown = set(names) - set(events.EVENTS)
    if unknown:
        raise RigError(f"log: events that nobody knows: {unknown}")
