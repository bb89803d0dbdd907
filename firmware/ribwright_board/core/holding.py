"""What it takes to hold a target: learned while the reading is steady, compared minute by minute."""

STEADY_K = 3.0
USUAL_S = 20
HOLD_MOST = 1.6
HOLD_LEAST = 0.5
LEAST_HOLD_SHARE = 0.05


STEADY_S = 60


class Holding:
    """Power of one zone while it is at its target.

    usual_share: of full power that holds it, as of late; None before it was steady. odd: the last minute took
    far more than the first, or far less than the last that was not: a strip that dries takes ever less.
    """

    def __init__(self) -> None:
        self.usual_share: float | None = None
        self.odd = False
        self._first_share: float | None = None
        self._before_share = 0.0
        self._sum = 0.0
        self._steady_s = 0

    def second(self, mean_c: float, target_c: float | None, share: float) -> None:
        """Take one second.

        mean_c: its mean reading, C. target_c: C, or None. share: of full power it was given.
        """
        if target_c is None or abs(mean_c - target_c) > STEADY_K:
            self._steady_s = 0
            self._sum = 0.0
            self.odd = False
            return
        usual = self.usual_share
        self.usual_share = share if usual is None else usual + (share - usual) / USUAL_S
        self._steady_s += 1
        self._sum += share
        if self._steady_s < STEADY_S:
            return
        mean_share = self._sum / STEADY_S
        self._steady_s = 0
        self._sum = 0.0
        if self._first_share is None:
            self._first_share = mean_share
            self._before_share = mean_share
        first = max(self._first_share, LEAST_HOLD_SHARE)
        before = max(self._before_share, LEAST_HOLD_SHARE)
        self.odd = not HOLD_LEAST * before <= mean_share <= HOLD_MOST * first
        if not self.odd:
            self._before_share = mean_share
