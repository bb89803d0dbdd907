"""What becomes of a board's flash under a run: orders to the board, carried out below its file system.

rig: a BoardRig always, since no other has a flash.
"""

from __future__ import annotations

import json
from random import Random
from typing import TYPE_CHECKING, cast

from ribwright_board.core import record, wire
from ribwright_sim.interpreter import SHIM

from .core_rig import CoreRig
from .strike import Strike

if TYPE_CHECKING:
    from .board_rig import BoardRig

# A run of long ago, so that there is a log to spoil and a number that must not be given again.
OLD_RUN = 6
OLD_LOG = f"runs/{OLD_RUN:05d}.rlg"
COUNTERS, MARK, RIG = "counters.json", "mark.json", "rig.json"
PROFILE = "profile"


def bring(rig: BoardRig) -> None:
    """Give a board that has just come up what shim/board_decay.py can do; no other has it in its memory."""
    text = (SHIM / "board_decay.py").read_text(encoding="utf-8")
    rig.loop.order_board(f"{text}\nimport board_orders\nboard_orders.flash, board_orders.flip = flash, flip")


def _order(rig: CoreRig, act: str) -> None:
    cast("BoardRig", rig).loop.order_board(f"import board_orders\nboard_orders.{act}")


def flash(how: str) -> Strike:
    """The flash fails; how: "full", "worn" so that nothing is programmed or erased, or "torn" in its next
    program.
    """

    def strike(rig: CoreRig, _zone: int, _draw: Random) -> None:
        _order(rig, f"flash({how!r})")

    return strike


def flip(path: str) -> Strike:
    """One bit of a file is another; path: of the file, or PROFILE for the one that is laid out."""

    def strike(rig: CoreRig, _zone: int, draw: Random) -> None:
        own = f"profiles/{cast('BoardRig', rig).key}.json" if path == PROFILE else path
        _order(rig, f"flip({own!r}, {draw.random()!r}, {draw.randrange(8)})")

    return strike


def lived_in() -> dict[str, bytes]:
    """Files of a board that has run before: the log of its last run, and what it has counted."""
    life = {"run": OLD_RUN, "runs": OLD_RUN, "trips": 0, "on_s": [9, 9], "switches": [9, 9]}
    counted = json.dumps(life).encode()
    header = {"run": OLD_RUN, "zones": ["waist", "full"], "profile": None}
    return {
        OLD_LOG: record.header_bytes(header),
        COUNTERS: counted + b" " + wire.checksum(counted) + b"\n",
    }
