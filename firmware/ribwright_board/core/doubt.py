"""Heat that a reading does not answer: evidence first, then less power, then a test that decides.

A cold form, water that boils off and an open door also keep a reading down, so evidence alone never trips:
the zone is held below what keeps its target, then heated a little more than that for a while. A
thermocouple that sits where it should answers; one that hangs in air, or a blanket without power, does not.
"""

from .expect import Expectation
from .recent import Recent
from .weakly import AGAIN_K, WeakRow

# The rise asked for is a third of the expected one, less a kelvin, over this many seconds, or as many as
# there are since the last deliberate change.
SHARE = 0.33
SLACK_K = 1.0
WINDOW = 15
FROM = 8
LEAST_K = 2.5
# So long unanswered, or as long as a bare blanket takes for so many kelvin.
SUSPECT_MS = 10000
SUSPECT_BARE_K = 33.0
# A fall that no cooling of a whole stack brings while it is heated.
FALL_K = 12.0
FALL_S = 5
HEATED_SHARE = 0.05
# Nor does any cold form or wet strip take so much of what a reading stands above the room, so fast.
SINK_SHARE = 0.45
SINK_S = 16
SINK_LEAST_K = 40.0
# While water boils off, the reading may stand still: evidence waits for the declared water, then counts half.
STEAM_FROM_C = 85.0
STEAM_TO_C = 170.0
# A plateau stands; what falls while it is heated is something else.
STEAM_FALL_K = 2.0
# Nor does it fall towards the end of a test.
STEAM_TEST_S = 10
STEAM_TEST_FALL_K = 1.0
# So near its target and standing, a zone that cannot arrive is late, but it is not running away.
STAND_K = 25.0
NEAR_K = 5.0
# What a cold form, a door or a wet cloth may take before it counts, anew for every arrival at a target; and
# what it may take when the maker has said that the strip meets the form.
LOAD_K = 15.0
FORM_K = 40.0
# After a passed test, and after the form was met, a fall is no news for so long.
QUIET_MS = 30000
CAP_MS = 15000
CAP_SHARE = 0.6
# Less heat is a question as well: what turns down by so much of what that heat was worth is heated.
TURN_SHARE = 0.5
TURN_LEAST_K_PER_S = 0.5
TURN_S = 5
TEST_MS = 14000
TEST_MORE_SHARE = 0.4
TEST_SHARE = 0.2
# Passed before its end only by an answer that no noise looks like.
TEST_CLEAR_SHARE = 0.4
# Of the heat a test adds: what climbs this slowly by itself does not answer by climbing on.
TREND_SHARE = 0.4
TEST_LEAST_K = 2.0
TEST_SLACK_K = 0.5
TESTS = 2
DETACHED_FALL_K = 15.0
# What turned down by this share has answered well: healthy zones were seen to do so by 0.7 and more.
TURN_CLEAR_SHARE = 0.62
WEAK_SHARE = 0.1


class Doubt:
    """One zone.

    expect: its energy balance. recent: its last seconds.

    doubtful: power is limited. cap: duty that may be switched, 0 to 1. code, seen, limit: of a failed test.
    """

    def __init__(self, expect: Expectation, recent: Recent) -> None:
        self.expect = expect
        self.doubtful = False
        self.cap = 1.0
        self.code = ""
        self.seen = 0.0
        self.limit = 0.0
        self._recent = recent
        self._wanted_k = [0.0] * WINDOW
        self._wanted_at = 0
        self._water_k = expect.water_k
        self._load_k = LOAD_K
        self._unanswered_ms = 0
        self._quiet_ms = 0
        self._onset_c = 0.0
        self._phase_ms = 0
        self._slope = 0.0  # K/s as the power was capped, then what a test leaves out of its answer
        self._felt = 0.0  # share of full power as it was capped
        self._testing = False
        self._tested_k = 0.0
        self._from_c = 0.0
        self._failed = 0
        self._turn_share = 0.0
        self._row = WeakRow()
        self._seconds = 0  # since the last deliberate change
        self._target_c: float | None = None

    def load(self, expect: Expectation) -> None:
        """Expect another load from now on; expect: its energy balance."""
        self.expect = expect
        self._water_k = expect.water_k
        self._load_k = LOAD_K
        self.trust()

    def trust(self) -> None:
        """Forget evidence: a test was passed, or a deliberate change has made it void."""
        self.doubtful = False
        self.cap = 1.0
        self._unanswered_ms = 0
        self._failed = 0
        self._testing = False

    def restart(self) -> None:
        """A deliberate change: what was before it is no evidence.

        What is doubtful by now stays so until a test or the end of heat settles it.
        """
        self._seconds = 0
        self._row.clear()
        if self.doubtful:
            self._testing = False
            self._phase_ms = 0
        else:
            self.trust()

    def meet_form(self) -> None:
        """The strip meets the cold form here: what the reading does now is no fault."""
        self._load_k = FORM_K
        self._quiet_ms = QUIET_MS

    def second(self, wanted_k: float, lagged: float, target_c: float | None, usual: float, dt_ms: int) -> str:
        """Judge one second; code of a fault that is proved, "" for none.

        wanted_k: rise this second's heat must bring. lagged: share of full power as the junction feels it.
        target_c: C, or None. usual: share that holds the target. dt_ms: its length.
        """
        self.code = ""
        self._seconds += 1
        self._wanted_k[self._wanted_at] = wanted_k
        self._wanted_at = (self._wanted_at + 1) % WINDOW
        self._quiet_ms = max(0, self._quiet_ms - dt_ms)
        mean_c = self._recent.ago_c(0)
        climbs = target_c is not None and self._target_c is not None and target_c > self._target_c
        self._target_c = target_c
        if target_c is None or (mean_c >= target_c - NEAR_K and not climbs):
            # A reading where it is wanted needs no rise, unless what is wanted rises itself; one that cannot
            # change has a rule of its own.
            self._load_k = max(self._load_k, LOAD_K)
            self._row.clear()
            self.trust()
        elif not self.doubtful:
            self._collect(mean_c, target_c, lagged, dt_ms)
        else:
            self._phase_ms += dt_ms
            if self._testing:
                self._test(wanted_k, mean_c, target_c, lagged)
            elif self._phase_ms >= CAP_MS and self._turned(lagged):
                self._answered(self._turn_share < TURN_CLEAR_SHARE)
            elif self._phase_ms >= CAP_MS:
                self._begin_test(mean_c)
        if self.doubtful:
            self.cap = min(1.0, usual + TEST_MORE_SHARE) if self._testing else min(1.0, usual) * CAP_SHARE
        return self.code

    def _suspect(self, onset_c: float, lagged: float) -> None:
        if self._failed == 0:
            self._onset_c = onset_c
            if self._row.doubted(onset_c):
                self.code = "weak_rise"
                self.seen, self.limit = self._row.progress_k, AGAIN_K
        self._felt = lagged
        self._slope = self._rising_k_per_s()
        self.doubtful = True
        self._testing = False
        self._phase_ms = 0

    def _collect(self, mean_c: float, target_c: float, lagged: float, dt_ms: int) -> None:
        """Evidence of unanswered heat."""
        recent = self._recent
        count = min(self._seconds, recent.count)
        fell_s = self._fell_s(count) if lagged > HEATED_SHARE else 0
        if fell_s:
            self._suspect(recent.ago_c(fell_s), lagged)
            return
        seconds = min(WINDOW, count - 1)
        if seconds < FROM:
            return
        wanted_k = 0.0
        for i in range(seconds):
            wanted_k += self._wanted_k[self._wanted_at - 1 - i]
        if wanted_k < LEAST_K:
            return
        got_k = recent.rise_k(seconds)
        if got_k >= SHARE * wanted_k - SLACK_K:
            self._unanswered_ms = max(0, self._unanswered_ms - dt_ms)
            return
        missing_k = (wanted_k - got_k) / seconds
        if self._load_k > 0.0:
            self._load_k -= missing_k
            return
        if self._may_boil(mean_c, target_c, got_k, missing_k):
            return
        self._unanswered_ms += dt_ms
        if self._unanswered_ms >= min(SUSPECT_MS, int(SUSPECT_BARE_K / self.expect.bare_k_per_s * 1000.0)):
            self._suspect(recent.ago_c(seconds), lagged)

    def _fell_s(self, count: int) -> int:
        """Seconds in which a heated reading fell as no stack does, or 0; count: of those to be compared."""
        recent = self._recent
        if count > FALL_S and self._quiet_ms == 0 and recent.rise_k(FALL_S) < -FALL_K:
            return FALL_S
        if recent.count > SINK_S:
            # More than anything takes that may lie against it, just met or not.
            above_k = recent.ago_c(SINK_S) - self.expect.ambient_c
            if above_k > SINK_LEAST_K and recent.rise_k(SINK_S) < -SINK_SHARE * above_k:
                return SINK_S
        return 0

    def _may_boil(self, mean_c: float, target_c: float, got_k: float, missing_k: float) -> bool:
        """Whether a reading that stands may do so by right: water boils off, or it is as good as there."""
        if not STEAM_FROM_C <= mean_c <= STEAM_TO_C or got_k < -STEAM_FALL_K:
            return False
        if self._water_k > 0.0:
            self._water_k -= missing_k
            return True
        return mean_c >= target_c - STAND_K

    def _begin_test(self, mean_c: float) -> None:
        self._testing = True
        self._phase_ms = 0
        self._tested_k = 0.0
        self._from_c = mean_c
        most = TREND_SHARE * TEST_MORE_SHARE * self.expect.rate_k_per_s * self.expect.factor
        self._slope = min(max(0.0, self._rising_k_per_s()), most)

    def _rising_k_per_s(self) -> float:
        """Slope of the last few seconds; 0 for too few."""
        return self._recent.rise_k(TURN_S) / TURN_S if self._recent.count > TURN_S else 0.0

    def _turned(self, lagged: float) -> bool:
        """Whether the reading has turned down with the heat that was taken from it."""
        less_k_per_s = (self._felt - lagged) * self.expect.rate_k_per_s * self.expect.factor
        if less_k_per_s < TURN_LEAST_K_PER_S or self._recent.count <= TURN_S:
            return False
        self._turn_share = (self._slope - self._rising_k_per_s()) / less_k_per_s
        return self._turn_share >= TURN_SHARE

    def _answered(self, weakly: bool) -> None:
        self._row.answered(weakly)
        self.trust()
        self._quiet_ms = QUIET_MS

    def _test(self, wanted_k: float, mean_c: float, target_c: float, lagged: float) -> None:
        """A little more heat than holds, measured from the lowest reading since."""
        self._tested_k += wanted_k
        self._from_c = min(self._from_c, mean_c)
        got_k = mean_c - self._from_c - self._slope * self._phase_ms / 1000.0
        needed_k = max(TEST_SHARE * self._tested_k - TEST_SLACK_K, TEST_SLACK_K)
        ends = self._phase_ms >= TEST_MS
        clear_k = needed_k if ends else TEST_CLEAR_SHARE * self._tested_k
        if self._failed and self._onset_c - mean_c > DETACHED_FALL_K:
            # Fallen far, and a test has failed: the air around a junction warms as well.
            needed_k = max(needed_k, TEST_CLEAR_SHARE * self._tested_k)
            clear_k = max(clear_k, needed_k)
        if self._tested_k >= TEST_LEAST_K and got_k >= clear_k:
            self._answered(got_k < TEST_CLEAR_SHARE * self._tested_k)
            return
        if not ends:
            return
        missing_k = self._tested_k - got_k
        stands = self._recent.count > STEAM_TEST_S and self._recent.rise_k(STEAM_TEST_S) > -STEAM_TEST_FALL_K
        boils = stands and self._may_boil(mean_c, target_c, got_k, missing_k)
        if self._tested_k < TEST_LEAST_K or boils:
            # Too little heat to tell, or a plateau: nothing is proved either way.
            self.trust()
            return
        self._failed += 1
        if self._failed < TESTS:
            self._suspect(mean_c, lagged)
            return
        self.seen = got_k
        self.limit = needed_k
        if self._onset_c - mean_c > DETACHED_FALL_K:
            self.code = "detached"
        else:
            self.code = "weak_rise" if got_k > WEAK_SHARE * self._tested_k else "no_rise"
