"""The example's rig with a whole panel in this process: the shipped firmware, no computer at its link."""

from __future__ import annotations

import copy
import hashlib
from pathlib import Path

from loop.bending import short_profile
from ribwright_host.profiles import canonical_json
from ribwright_host.virtual import example_piece, example_rig, scenario
from ribwright_sim import rig_scenario
from ribwright_sim.campaign.board_cable import ShortCable
from ribwright_sim.rig_loop import RigLoop
from ribwright_sim.rig_orders import carry_out
from seam.rig_parts import need

PANEL = {"display": "SSD1306", "sda": 4, "scl": 5, "knob_a": 6, "knob_b": 7, "buzzer": 8}
NAMES = ("sapele trial, bass", "sapele trial, treble", "another strip")


class Rig:
    """One virtual rig, driven frame by frame.

    folder: for its flash. kind: of interpreter. names: of the profiles on its flash. panel: the rig's.
    profile: what these hold, None for the short one.
    """

    def __init__(
        self, folder: Path, kind: str = "micropython", *, names=NAMES, panel=PANEL, profile=None, **more
    ):
        mapping = copy.deepcopy(dict(example_rig().mapping))
        if panel:
            mapping["panel"] = dict(panel)
        # Every sleep told and all memory collected: both interpreters are held to the same moments.
        exact = {"naps": 0, "collect_every": 1}
        settings = {"seed": 3, "interpreter": need(kind), "idle_speed": 1e12, **exact, **more}
        asked = scenario(mapping, example_piece(), folder, settings)
        stored = Path(asked["files"]) / "profiles"
        stored.mkdir()
        for name in names:
            body = canonical_json((profile or short_profile()) | {"name": name})
            (stored / f"{hashlib.sha256(body).hexdigest()[:12]}.json").write_bytes(body)
        self.events: list[dict] = []
        self.heard: list[tuple[float, str, dict]] = []
        self.cable = ShortCable()
        self.image = Path(asked["image"])
        self.loop = RigLoop(rig_scenario.from_mapping(asked), self.events.append, cable=self.cable)
        inner = self.loop.hear

        def hear(message, at_s):
            self.heard.append((at_s, message.verb, message.data))
            if inner is not None:
                inner(message, at_s)

        self.loop.hear = hear

    @property
    def now_s(self) -> float:
        return self.loop.physics.now_us / 1e6

    def order(self, **command):
        assert carry_out(self.loop, command), command

    def run(self, seconds: float) -> None:
        end_us = self.loop.physics.now_us + int(seconds * 1e6)
        while self.loop.physics.now_us < end_us and self.loop.quit is None:
            self.loop.step()

    def until(self, *names: str, most_s: float = 2000.0) -> str:
        """Go on until the board tells one of these events."""
        end_s, seen = self.now_s + most_s, len(self.heard)
        while self.now_s < end_s:
            self.loop.step()
            for _, verb, data in self.heard[seen:]:
                if verb == "event" and data["code"] in names:
                    return str(data["code"])
            seen = len(self.heard)
        raise AssertionError(f"none of {names} in {most_s} s: {self.codes()[-12:]}")

    def codes(self) -> list[str]:
        """Events told so far."""
        return [str(data["code"]) for _, verb, data in self.heard if verb == "event"]

    def modes(self) -> list[str]:
        return [str(data["mode"]) for _, verb, data in self.heard if verb == "row"]

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.loop.close()
