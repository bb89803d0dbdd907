"""What the tests of whole bends share: a short profile, and a bend on the virtual rig through the link."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ribwright_host.link import Board, Link, Tell, get_run, hello, put_profile
from ribwright_host.profiles import canonical_json
from ribwright_host.transport import open_port
from ribwright_host.virtual import example_piece, example_rig, running
from ribwright_sim.virtual_rig import VirtualRig

OVER = ("done", "stop", "trip", "refused")
DEADLINE_S = 60.0


def short_profile() -> dict[str, Any]:
    """Ten simulated minutes that hold every kind of stage."""
    return {
        "schema": 1,
        "name": "short sapele trial",
        "unit": "C",
        "piece": example_piece() | {"kind": "trial"},
        "stages": [
            {"kind": "ramp", "zones": ["waist"], "target": 120},
            {
                "kind": "hold",
                "zones": ["waist"],
                "target": 120,
                "until": "maker",
                "longest_min": 5,
                "cues": ["waist home"],
            },
            {"kind": "ramp", "zones": ["waist", "full"], "target": 130},
            {
                "kind": "hold",
                "zones": ["waist", "full"],
                "target": 130,
                "until": "wood",
                "mid_wood": 105,
                "mid_wood_s": 20,
                "longest_min": 6,
            },
            {"kind": "set", "zones": ["full"], "target": 110, "minutes": 1},
            {"kind": "cool", "below": 90},
        ],
    }


@dataclass
class Bench:
    """A virtual rig and a computer at its link."""

    rig: VirtualRig
    link: Link
    board: Board
    tells: list[Tell] = field(default_factory=list)

    def events(self) -> list[str]:
        """Names of the events told so far."""
        return [str(tell.data["code"]) for tell in self.tells if tell.verb == "event"]

    def rows(self) -> list[dict[str, Any]]:
        """Rows told so far."""
        return [tell.data for tell in self.tells if tell.verb == "row"]

    def upload(self, profile: dict[str, Any]) -> str:
        """Put a profile on the board; its hash."""
        return str(put_profile(self.link, canonical_json(profile))["hash"])

    def ready(self, profile: dict[str, Any]) -> int:
        """Upload and make ready; the run's number."""
        return int(self.link.ask("ready", {"profile": self.upload(profile)})["run"])

    def until(self, *names: str) -> str:
        """Listen until one of these events is told."""
        deadline = time.monotonic() + DEADLINE_S
        seen = 0
        while time.monotonic() < deadline:
            self.link.listen(0.05)
            fresh = self.events()
            for name in fresh[seen:]:
                if name in names:
                    return name
            seen = len(fresh)
        raise AssertionError(
            f"none of {names} within {DEADLINE_S} s; told {self.events()[-8:]}; rig {self.rig.events[-4:]}"
        )

    def listen_until(self, true: Callable[[], bool]) -> None:
        """Listen until something holds. What passes by quickly may be missed: ask for what stays."""
        deadline = time.monotonic() + DEADLINE_S
        while not true():
            assert time.monotonic() < deadline, f"told {self.events()[-8:]}; rig {self.rig.events[-4:]}"
            self.link.listen(0.02)

    def log(self, run: int) -> bytes:
        """Read a run back."""
        return get_run(self.link, run)


@contextmanager
def greeted(rig: dict[str, Any], folder: Path, **settings: Any) -> Iterator[Bench]:
    """A virtual rig by the values of a rig file, with the example's piece, and a greeted link to it."""
    with running(rig, example_piece(), folder, **{"seed": 3, **settings}) as started:
        tells: list[Tell] = []
        link = Link(open_port(started.url), on_tell=tells.append)
        try:
            yield Bench(started, link, hello(link), tells)
        finally:
            link.close()


@contextmanager
def bench(folder: Path, **settings: Any) -> Iterator[Bench]:
    """A virtual rig with the example's rig and piece, and a greeted link to it."""
    with greeted(example_rig().mapping, folder, **settings) as made:
        yield made
