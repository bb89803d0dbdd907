"""The firmware's zone law in single precision, as the board's floats are."""

from __future__ import annotations

from typing import Any

import numpy as np

from ribwright_board.core.zone import ZoneLoop, slope_windows

F32 = np.float32


class SingleLoop(ZoneLoop):
    """A ZoneLoop whose every number is numpy.float32: what it adds and multiplies stays so.

    gains, window_ms: as of ZoneLoop.
    """

    def __init__(self, gains: dict[str, float], window_ms: int) -> None:
        """As ZoneLoop."""
        super().__init__({name: F32(value) for name, value in gains.items()}, window_ms)  # type: ignore[misc]
        mine: Any = self
        for name, value in list(vars(self).items()):
            if type(value) is float:
                setattr(mine, name, F32(value))
        mine.__dict__["_means"] = [F32(0.0)] * slope_windows(window_ms / 1000.0)

    def aim(self, target_c: float | None) -> None:
        """As ZoneLoop."""
        super().aim(None if target_c is None else F32(target_c))  # type: ignore[arg-type]

    def add(self, temperature_c: float) -> None:
        """As ZoneLoop."""
        super().add(F32(temperature_c))  # type: ignore[arg-type]
