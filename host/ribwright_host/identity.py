"""Who a board is."""

from dataclasses import dataclass

# Every virtual board's unique number begins so, and no other's does.
SIMULATED_ID = b"ribsim".hex()


@dataclass(frozen=True)
class Board:
    """What a board said of itself.

    port: where it is. firmware, python: versions. board_id: unique, hexadecimal. rig, rig_name: the rig it
    holds.
    zones: their names. unit: of its rig file.
    """

    port: str
    firmware: str
    board_id: str
    python: str
    rig: str
    rig_name: str
    zones: list[str]
    unit: str

    @property
    def simulated(self) -> bool:
        """Whether this is the virtual rig; said on every screen."""
        return self.board_id.startswith(SIMULATED_ID)

    def title(self) -> str:
        """The board in one line."""
        mark = "SIMULATED, " if self.simulated else ""
        return f"{self.rig_name} ({mark}rig {self.rig}, board {self.board_id}, firmware {self.firmware})"
