"""Parts of a campaign's rig with a real board: its wires, and what is known of its firmware from outside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ribwright_board.core.rig import parse as parse_rig
from ribwright_sim.chips import Harness

from .board_reach import Reach
from .rigs import rig_mapping

if TYPE_CHECKING:
    from .board_rig import BoardRig


class Wires(Harness):
    """The campaign's converters in place of the virtual rig's, with the rig's plugs and select lines."""

    def __init__(self, rig: BoardRig) -> None:
        super().__init__([converter.chip for converter in rig.converters])
        self._rig = rig

    def convert(self, hot_c: Sequence[float], cold_c: Sequence[float]) -> list[bytes]:
        """Return what the bus brings of each converter."""
        rig = self._rig
        words = [
            converter.convert(hot_c[at], cold).to_bytes(4, "big")
            for converter, at, cold in zip(rig.converters, rig.plug, cold_c, strict=True)
        ]
        self.select_low = rig.select_low
        return self.mix(words)


class Firmware:
    """What strikes and plays ask of the controller: its mode, and its memory by way of orders."""

    def __init__(self, rig: BoardRig) -> None:
        self.mode = "idle"
        self.wish = ""
        self.rig = Reach("controller.rig", parse_rig(rig_mapping(rig.setting)), rig.loop.order_board)

    def waiting(self) -> str:
        """Return what the firmware last said it waits for."""
        return self.wish
