"""What is measured at a board's pins: a Meter, told of a decision only after it was made, and its books."""

from __future__ import annotations

from dataclasses import dataclass

from ribwright_board.core.rig_values import Rig
from ribwright_sim.rig_physics import Physics

from .meter import CURRENT_SLACK_A, SECOND_US, Meter

# An alive line without an edge for so long is given up, by whoever looks at it from outside.
GAP_US = 150_000


@dataclass
class BoardMeter(Meter):
    """A Meter whose decisions arrive late, since the board tells of a trip one tick after it.

    Pins and contactor are known to the microsecond; so is the decision, once its own time has been told.
    """

    acted_us: int = 0
    open_since_us: int | None = 0

    def act(self, now_us: int) -> None:
        """A relay's pin was high, or the alive line changed, until now."""
        self.acted_us = now_us
        super().act(now_us)

    def flow(self, now_us: int, dt_us: int, *, flows: bool, over: bool, closed: bool) -> None:
        """Take a stretch of time; flows, over, closed and the rest as in Meter."""
        super().flow(now_us, dt_us, flows=flows, over=over, closed=closed)
        if closed:
            self.open_since_us = None
        elif self.open_since_us is None:
            self.open_since_us = now_us

    def decide(self, now_us: int) -> None:
        """The firmware tripped or refused, at a moment that has passed."""
        if self.decided_us is not None:
            return
        self.decided_us = now_us
        self.off_us = max(now_us, self.acted_us)
        if self.open_since_us is not None:
            self.open_us = max(now_us, self.open_since_us)
        self.leave(now_us)

    def leave(self, now_us: int) -> None:
        """The firmware went to a mode that does not heat, at a moment that has passed."""
        if self._heated:
            self._heated = False
            self._left_us = now_us


class Books:
    """Keeps a meter informed of what happens at a board's pins; `account` is called after every change there.

    physics: what moves pins, relays and time. meter: is informed. rig: currents and limit of the branch.

    flowed_s: per blanket, seconds of full power so far. alive_us: when the alive line last changed.
    """

    def __init__(self, physics: Physics, meter: BoardMeter, rig: Rig) -> None:
        self._physics, self._meter = physics, meter
        self._currents_a = [zone.current_a for zone in rig.zones]
        self._most_a = rig.branch_limit_a + CURRENT_SLACK_A
        self.flowed_s = [0.0] * len(rig.zones)
        self.alive_us = 0
        self._alive_from_us = self._until_us = 0
        self._high = self._over = self._closed = False
        self._share: tuple[float, ...] = (0.0,) * len(rig.zones)
        self._alive = 0

    @property
    def alive_since_us(self) -> int | None:
        """Return since when alive edges have come, None while they do not."""
        return self._alive_from_us if self._physics.now_us - self.alive_us <= GAP_US else None

    def account(self) -> None:
        """Book the time since the last change, and take the new state."""
        bench, meter, now_us = self._physics.bench, self._meter, self._physics.now_us
        dt_us = now_us - self._until_us
        if dt_us:
            meter.flow(self._until_us, dt_us, flows=any(self._share), over=self._over, closed=self._closed)
            for zone, flows in enumerate(self._share):
                self.flowed_s[zone] += flows * dt_us / SECOND_US
            self._until_us = now_us
        if self._high:
            meter.act(now_us)
        if bench.alive != self._alive:
            if now_us - self.alive_us > GAP_US:
                self._alive_from_us = now_us
            self.alive_us = now_us
            meter.act(now_us)
        wanted = bench.commanded
        drawn_a = sum(current_a for on, current_a in zip(wanted, self._currents_a, strict=True) if on)
        self._high, self._over, self._closed = any(wanted), drawn_a > self._most_a, bench.contactor
        self._share, self._alive = bench.powered(), bench.alive
