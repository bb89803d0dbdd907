"""A zone nobody heats, beside heated ones, whose reading falls as no loaded stack does: its junction is off.

No heat of its own can test it, and a zone that is not seen is not protected from its neighbours.
"""

from .expect import Expectation
from .recent import Recent

# So much of what the reading stood above the room, in so many seconds. On drawn rigs a loaded stack gave up
# 0.44 at most, with cold wet wood closed onto it, and a junction in air more than 0.58.
FALL_SHARE = 0.54
FALL_S = 30
FALL_LEAST_K = 50.0
FALL_MS = 3000
# Its neighbours' heat counts from this share of full power on, as a mean over so many seconds.
NEAR_SHARE = 0.2
NEAR_S = 10.0
OWN_SHARE = 0.05


class Adrift:
    """One zone.

    recent: its last seconds.

    seen, limit: fall and what is allowed, K, of the rule that is broken.
    """

    def __init__(self, recent: Recent) -> None:
        self.seen = 0.0
        self.limit = 0.0
        self._recent = recent
        self._near_k = 0.0
        self._unheated_s = 0
        self._ms = 0

    def second(self, expect: Expectation, lagged: float, near_k: float, dt_ms: int) -> bool:
        """Judge one second; whether the junction is off its zone.

        expect: the zone's energy balance. lagged: own share of full power as the junction feels it. near_k:
        rise its neighbours' heat may bring. dt_ms: its length.
        """
        self._near_k += (near_k * 1000.0 / dt_ms - self._near_k) / NEAR_S
        self._unheated_s = self._unheated_s + 1 if lagged <= OWN_SHARE else 0
        recent = self._recent
        near = self._near_k > NEAR_SHARE * expect.rate_k_per_s
        # A blanket with next to nothing on it cools as fast.
        if not expect.loaded or not near or self._unheated_s < FALL_S or recent.count <= FALL_S:
            self._ms = 0
            return False
        above_k = recent.ago_c(FALL_S) - expect.ambient_c
        self.seen = -recent.rise_k(FALL_S)
        self.limit = FALL_SHARE * above_k
        if above_k < FALL_LEAST_K or self.seen < self.limit:
            self._ms = max(0, self._ms - dt_ms)
            return False
        self._ms += dt_ms
        return self._ms >= FALL_MS
