"""What is measured at a campaign's rig: heat, currents, and how long "off" takes."""

from __future__ import annotations

from dataclasses import dataclass

from ribwright_board.core.modes import HEAT_MODES

SECOND_US = 1_000_000
# From the decision to the contactor open (G2); what flows in this time was armed.
GRACE_US = SECOND_US
# Noise and window edges apart, two rated currents on at once.
CURRENT_SLACK_A = 1e-6


@dataclass
class Meter:
    """Figures of one rig since `clear()`.

    hottest_c: of any blanket. unarmed_us: time in which current flowed though the firmware was in no mode
    that heats, from GRACE_US after it left one. strict_us: the same without the grace. over_us: time in which
    the relays' commands together drew more than the branch's limit. decided_us: moment of the first trip or
    refusal, None while there is none. off_us: last moment since at which a relay's pin was high or the alive
    line changed. open_us: moment the contactor was open. flowed_us: time in which current flowed.
    """

    hottest_c: float = -273.0
    unarmed_us: int = 0
    strict_us: int = 0
    over_us: int = 0
    decided_us: int | None = None
    off_us: int | None = None
    open_us: int | None = None
    flowed_us: int = 0
    _left_us: int = -GRACE_US
    _heated: bool = False

    def clear(self) -> None:
        """Forget what was measured."""
        self.hottest_c = -273.0
        self.unarmed_us = self.strict_us = self.over_us = self.flowed_us = 0
        self.decided_us = self.off_us = self.open_us = None

    def mode(self, now_us: int, mode: str) -> None:
        """Take the firmware's mode after a tick."""
        heats = mode in HEAT_MODES
        if self._heated and not heats:
            self._left_us = now_us
        self._heated = heats

    def decide(self, now_us: int) -> None:
        """The firmware tripped or refused, now."""
        if self.decided_us is None:
            self.decided_us = self.off_us = now_us

    def act(self, now_us: int) -> None:
        """A relay's pin was high, or the alive line changed, until now."""
        if self.decided_us is not None and self.open_us is None:
            self.off_us = now_us

    def flow(self, now_us: int, dt_us: int, *, flows: bool, over: bool, closed: bool) -> None:
        """Take a stretch of time.

        Args:
            now_us: its beginning.
            dt_us: its length.
            flows: any blanket carries current.
            over: the relays' commands draw more than the branch's limit.
            closed: the contactor is closed.
        """
        if flows:
            self.flowed_us += dt_us
            if not self._heated:
                self.strict_us += dt_us
                if now_us - self._left_us >= GRACE_US:
                    self.unarmed_us += dt_us
        if over:
            self.over_us += dt_us
        if not closed and self.decided_us is not None and self.open_us is None:
            self.open_us = now_us

    def half_cycles(self, spent_us: int, hertz: float = 60.0) -> int:
        """Mains half cycles that begin in a time, rounded up; hertz: of the mains [Hz]."""
        return -int(-spent_us * 2.0 * hertz // SECOND_US)

    @property
    def off_ms(self) -> float | None:
        """From the decision to every output off and the alive line still [ms]."""
        if self.decided_us is None or self.off_us is None:
            return None
        return (self.off_us - self.decided_us) / 1000.0

    @property
    def contactor_ms(self) -> float | None:
        """From the decision to the contactor open [ms]; None when it never was."""
        if self.decided_us is None or self.open_us is None:
            return None
        return (self.open_us - self.decided_us) / 1000.0
