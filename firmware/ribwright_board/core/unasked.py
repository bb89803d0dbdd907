"""Heat that nobody asked for: a reading that rises, stays or runs faster than the heat given explains."""

from .expect import Expectation
from .recent import Recent

EXCESS_K = 3.0
EXCESS_MS = 8000
EXCESS_WEIGHT_MOST = 4.0
EXCESS_SLOPE_S = 4
EXCESS_SLOPE_K = 0.6
# A large rise of which so much came within two seconds is a step.
STEP_SHARE = 0.85
# What a pulse may do at the junction's own place, over what the nearest layers show on average.
MOST_SHARE = 1.6
# The whole load takes part in so many seconds; what rises faster than this is not the declared load.
FAST_SHARE = 1.8
FAST_WINDOW = 45  # as far back as core.recent keeps
FAST_LEAST_K = 25.0
# The same in a hurry.
BURST_SHARE = 2.3
BURST_WINDOW = 6
BURST_LEAST_K = 20.0
FAST_MS = 3000
# Off and still climbing: where it would be after so long counts, since a blanket's hottest part runs ahead
# of its thermocouple by that much.
AHEAD_S = 25.0
AHEAD_MS = 1000
# What neighbours give goes into the losses first; of those so much is sure.
LOSS_SHARE = 0.6
# It comes through the layers between, the later the more they hold, and goes on arriving when it has ended:
# for about as long as full power takes for so many kelvin.
NEAR_LAG_K = 12.0
# Off for long and not cooling: of the fall that loss and neighbours' heat leave, so much, less a kelvin, is
# asked for.
COOL_SHARE = 0.3
COOL_LEAST_K = 8.0
COOL_SLACK_K = 1.0
COOL_WINDOW = 30
COOL_MS = 10000
# A share this small is off.
OFF_SHARE = 0.02
LITTLE_SHARE = 0.15
# No heat raises a reading faster than a bare blanket at high mains; what does is another fault.
RISE_MOST = 1.3
AIMED_MS = 12000
OVER_SLOPE_S = 10
OVER_CLIMB_K_PER_S = 0.2
TOO_HOT_K = 15.0
TOO_HOT_MS = 3000
# Every so many kelvin above the limit count a second more.
TOO_HOT_STEP_K = 3.0
_NONE_C = 1.0e9


class Unasked:
    """Rules of one zone; broken() says which one is broken for long enough.

    expect: its energy balance. recent: its last seconds.

    code, seen, limit, unit: the rule broken in this second, "" for none, and what it was about.
    """

    def __init__(self, expect: Expectation, recent: Recent) -> None:
        self.expect = expect
        self.code = ""
        self.seen = 0.0
        self.limit = 0.0
        self.unit = ""
        self._recent = recent
        self._given_k = [0.0] * FAST_WINDOW  # by the heat given, nothing lost
        self._given_at = 0
        self._seconds = 0  # since the last deliberate change
        self._excess_k = 0.0
        self._excess_ms = 0
        self._ahead_ms = 0
        self._warm_ms = 0
        self._fast_ms = 0
        self._over_ms = 0
        self._least_c = _NONE_C  # lowest since the target changed
        self._aimed_ms = AIMED_MS
        self._near_k_per_s = 0.0  # of the neighbours' heat, what is still under way

    def restart(self) -> None:
        """A deliberate change: rises before and after it are not compared. What does not cool never does."""
        self._seconds = 0

    def aim(self, mean_c: float) -> None:
        """The target has changed; mean_c: the reading now, C."""
        self._least_c = mean_c
        self._aimed_ms = 0

    def second(
        self,
        rise_k: float,
        share: float,
        lagged: float,
        near_k: float,
        target_c: float | None,
        ceiling_c: float,
        powered: bool,
        dt_ms: int,
    ) -> str:
        """Judge one second; the code of the rule that is broken for long enough, "" for none.

        rise_k: over the second before. share: of full power it was given. lagged: the same as the junction
        feels it. near_k: rise its neighbours' heat may bring. target_c, ceiling_c: C. powered: the contactor
        is closed, so that a switch that stays on can heat. dt_ms: its length.
        """
        self.code = ""
        self._seconds += 1
        mean_c = self._recent.ago_c(0)
        dt_s = dt_ms / 1000.0
        self._given_k[self._given_at] = lagged * self.expect.rate_k_per_s * dt_s + near_k
        self._given_at = (self._given_at + 1) % FAST_WINDOW
        lost_k = self.expect.hold_share(mean_c) * self.expect.rate_k_per_s * dt_s
        near_k_per_s = max(0.0, near_k - LOSS_SHARE * lost_k) / dt_s
        near_s = NEAR_LAG_K / self.expect.rate_k_per_s
        self._near_k_per_s += (near_k_per_s - self._near_k_per_s) * min(1.0, dt_s / near_s)
        late_k_per_s = max(near_k_per_s, self._near_k_per_s)
        self._judge_excess(rise_k, max(share, lagged), late_k_per_s * dt_s, dt_s, dt_ms, powered)
        self._judge_target(mean_c, target_c, lagged, late_k_per_s, dt_ms)
        off = lagged < OFF_SHARE
        self._judge_ahead(mean_c, ceiling_c, off, near_k_per_s, dt_ms)
        self._judge_warmth(off and powered, lost_k / dt_s, dt_ms)
        fast = "heat_while_off" if off else "fast_rise"
        self._judge_speed(fast, dt_ms)
        self._judge_burst(fast)
        return self.code

    def _count(self) -> int:
        """Seconds that may be compared with each other."""
        return min(self._seconds, self._recent.count)

    def _broken(self, code: str, seen: float, limit: float, unit: str) -> None:
        if self.code == "":
            self.code = code
            self.seen = seen
            self.limit = limit
            self.unit = unit

    def _climbed_k(self) -> float:
        """Rise of the last few seconds, K; 0 for a step, the sign of another fault, and for too few."""
        recent = self._recent
        if self._count() <= EXCESS_SLOPE_S:
            return 0.0
        rise_k = recent.rise_k(EXCESS_SLOPE_S)
        most_k = 0.0
        for at in range(EXCESS_SLOPE_S - 1):
            most_k = max(most_k, recent.ago_c(at) - recent.ago_c(at + 2))
        return 0.0 if rise_k > EXCESS_K and most_k > STEP_SHARE * rise_k else rise_k

    def _judge_excess(
        self, rise_k: float, share: float, near_k: float, dt_s: float, dt_ms: int, powered: bool
    ) -> None:
        """More rise than the commanded heat can explain, however little of the load took part."""
        allowed_k = MOST_SHARE * self.expect.most_rise_k(share, dt_s) + near_k
        rise_k = min(rise_k, RISE_MOST * self.expect.bare_k_per_s * dt_s)
        self._excess_k = max(0.0, self._excess_k + rise_k - allowed_k)
        rising = self._climbed_k() > EXCESS_SLOPE_K + allowed_k * EXCESS_SLOPE_S
        if self._excess_k > EXCESS_K and rising:
            # A rise four times too large needs a quarter of the time.
            self._excess_ms += int(dt_ms * min(self._excess_k / EXCESS_K, EXCESS_WEIGHT_MOST))
            # With the contactor open two switches must have failed: rarer than a hand at a thermocouple.
            if self._excess_ms >= EXCESS_MS * (1 if powered else 2):
                self._broken("heat_while_off", self._excess_k, EXCESS_K, "K")
        else:
            self._excess_ms = max(0, self._excess_ms - dt_ms)

    def _judge_target(
        self, mean_c: float, target_c: float | None, lagged: float, near_k_per_s: float, dt_ms: int
    ) -> None:
        """Far above its target, and not on the way down to it."""
        self._aimed_ms += dt_ms
        # Heat that is under way still arrives for a while.
        self._least_c = (
            max(self._least_c, mean_c) if self._aimed_ms <= AIMED_MS else min(self._least_c, mean_c)
        )
        if target_c is None:
            self._over_ms = 0
            return
        limit_c = max(target_c + TOO_HOT_K + self.expect.window_k, self._least_c + EXCESS_K)
        # Off for long: only what climbs faster than its neighbours and a hot form explain is driven by power.
        driven = lagged > LITTLE_SHARE
        if not driven and self._count() > OVER_SLOPE_S:
            climb_k_per_s = self._recent.rise_k(OVER_SLOPE_S) / OVER_SLOPE_S
            driven = climb_k_per_s > near_k_per_s + OVER_CLIMB_K_PER_S
        if mean_c > limit_c and driven:
            self._over_ms += int(dt_ms * (1.0 + (mean_c - limit_c) / TOO_HOT_STEP_K))
            if self._over_ms >= TOO_HOT_MS:
                # Control that has long taken the heat back is not what drives it.
                self._broken("too_hot" if lagged > LITTLE_SHARE else "heat_while_off", mean_c, limit_c, "C")
        else:
            self._over_ms = max(0, self._over_ms - dt_ms)

    def _judge_ahead(
        self, mean_c: float, ceiling_c: float, off: bool, near_k_per_s: float, dt_ms: int
    ) -> None:
        """Off, and climbing towards the ceiling faster than its neighbours explain."""
        ahead_c = mean_c
        if off:
            climb_k_per_s = self._climbed_k() / EXCESS_SLOPE_S - near_k_per_s
            ahead_c += AHEAD_S * max(0.0, climb_k_per_s)
        # Above the ceiling itself the guard's own rule is faster.
        self._ahead_ms = self._ahead_ms + dt_ms if ahead_c > ceiling_c >= mean_c else 0
        if self._ahead_ms >= AHEAD_MS:
            self._broken("heat_while_off", ahead_c, ceiling_c, "C")

    def _judge_warmth(self, off: bool, lost_k_per_s: float, dt_ms: int) -> None:
        """Off, and not cooling although its neighbours do not make up for what it loses."""
        if not off or self._recent.count <= COOL_WINDOW:
            self._warm_ms = 0
            return
        wanted_k = lost_k_per_s * COOL_WINDOW - self._given_in_k(COOL_WINDOW)
        limit_k = COOL_SHARE * wanted_k - COOL_SLACK_K
        fallen_k = -self._recent.rise_k(COOL_WINDOW)
        if wanted_k > COOL_LEAST_K and fallen_k < limit_k:
            self._warm_ms += dt_ms
            if self._warm_ms >= COOL_MS:
                self._broken("heat_while_off", fallen_k, limit_k, "K")
        else:
            self._warm_ms = max(0, self._warm_ms - dt_ms)

    def _given_in_k(self, seconds: int) -> float:
        """Rise that the heat of the last seconds brings, its own and its neighbours', nothing lost."""
        given_k = 0.0
        for i in range(seconds):
            given_k += self._given_k[self._given_at - 1 - i]
        return given_k

    def _judge_speed(self, code: str, dt_ms: int) -> None:
        """Faster than the declared load can be: no load, the wrong voltage, a part of the element bridged."""
        if self._count() <= FAST_WINDOW:
            return
        given_k = self._given_in_k(FAST_WINDOW)
        got_k = self._recent.rise_k(FAST_WINDOW)
        limit_k = max(FAST_SHARE * given_k, FAST_LEAST_K)
        if got_k > limit_k:
            self._fast_ms += dt_ms
            if self._fast_ms >= FAST_MS:
                self._broken(code, got_k, limit_k, "K")
        else:
            self._fast_ms = max(0, self._fast_ms - dt_ms)

    def _judge_burst(self, code: str) -> None:
        """So fast that there is no time for the whole load to take part: the wrong voltage above all."""
        if self._count() <= BURST_WINDOW:
            return
        given_k = self._given_in_k(BURST_WINDOW)
        got_k = self._recent.rise_k(BURST_WINDOW)
        limit_k = max(BURST_SHARE * given_k, BURST_LEAST_K)
        if got_k > limit_k:
            self._broken(code, got_k, limit_k, "K")
