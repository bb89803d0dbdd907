"""Junctions out of their place: in a warm hand, in boiling water, and on their way back into the stack."""

from __future__ import annotations

import math
from dataclasses import dataclass

SECOND_US = 1_000_000
LAG_S = 3.0


@dataclass
class _Grip:
    """One junction: at_c, where it goes [C], None for back into the stack; from from_c at since_us."""

    at_c: float | None
    lag_s: float
    since_us: int
    from_c: float

    def now_c(self, now_us: int, stack_c: float) -> float:
        goal_c = stack_c if self.at_c is None else self.at_c
        left = math.exp(-(now_us - self.since_us) / SECOND_US / self.lag_s)
        return goal_c + (self.from_c - goal_c) * left


class Hands:
    """What somebody does with the junctions of a rig; without anybody they lie in the stack."""

    def __init__(self) -> None:
        """Start with empty hands."""
        self._grips: dict[int, _Grip] = {}

    def put(self, zone: int, at_c: float | None, lag_s: float, now_us: int, stack_c: float) -> None:
        """Put a zone's junction at at_c [C], None for back into the stack, which is at stack_c [C] there.

        lag_s: first-order time constant of the junction in its new place. now_us: the rig's time.
        """
        self._grips[zone] = _Grip(at_c, lag_s, now_us, self.junction_c(zone, now_us, stack_c))

    def junction_c(self, zone: int, now_us: int, stack_c: float) -> float:
        """Return the temperature of a zone's junction in C; stack_c: what it has where it belongs [C]."""
        grip = self._grips.get(zone)
        return stack_c if grip is None else grip.now_c(now_us, stack_c)
