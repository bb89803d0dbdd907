"""One zone's readings held against the heat it was given: once a second, in every mode.

Evidence is counted in milliseconds while a rule is broken and given back while it is kept, so that a
single second never trips and a recovery is forgotten. A third of the way to a trip the zone is suspect and
its power is limited; the trip itself belongs to the guard.
"""

from .expect import Expectation
from .holding import Holding
from .recent import Recent
from .unasked import Unasked

# Starting values of the safety goals: proposals, tuned against fault and healthy runs in simulation.
NO_RISE_MS = 30000
# An unanswered bare blanket may not heat further than this before it is shut down.
NO_RISE_BARE_K = 100.0
# The rise asked for is a third of the expected one, less a kelvin, over this many seconds.
NO_RISE_SHARE = 0.33
NO_RISE_SLACK_K = 1.0
NO_RISE_WINDOW = 15
NO_RISE_LEAST_K = 2.5
# While water boils off, the reading may stand still: evidence waits for the declared water, then counts half.
STEAM_FROM_C = 85.0
STEAM_TO_C = 170.0
# A plateau stands; what falls while it is heated is something else.
STEAM_FALL_K = 2.0
# What a cold form, a door or a wet cloth may take before it counts, anew for every arrival at a target; and
# what it may take when the maker has said that the strip meets the form.
LOAD_K = 15.0
FORM_K = 40.0
DETACHED_FALL_K = 15.0
FROZEN_MS = 25000
FROZEN_ABOVE_K = 20.0
# Heat reaches the junction with about this lag.
LAG_S = 4.0
CAP_MS = 20000
NEAR_K = 5.0
# A target that moves by more is a deliberate change; a ramp with a rate moves it in small steps.
AIM_K = 5.0


class Judge:
    """One zone.

    expect: its energy balance.

    suspect: code of what is doubtful, "" for nothing. cap: duty that may be switched, 0 to 1.
    powered: the contactor is closed, so that a switch that stays on can heat; set from outside.
    seen, limit, unit: what the last broken rule was about.
    """

    def __init__(self, expect: Expectation) -> None:
        self.expect = expect
        self.suspect = ""
        self.cap = 1.0
        self.powered = False
        self.seen = 0.0
        self.limit = 0.0
        self.unit = ""
        self._code = ""
        self._recent = Recent()
        self.unasked = Unasked(expect, self._recent)
        self._wanted_k = [0.0] * NO_RISE_WINDOW
        self._wanted_at = 0
        # Lagged share of full power. What was before a reset nobody knows, so the most is assumed.
        self._share = 1.0
        self._water_k = expect.water_k
        self._load_k = LOAD_K
        self._unanswered_ms = 0
        self._onset_c = 0.0
        self._target_c: float | None = None
        self._still_ms = 0
        self._same_ms = 0  # of that, with something that should have moved them
        self._last_bits = (0.0, 0.0)
        self._cap_ms = 0
        self._holding = Holding()
        self.limit_ms = min(NO_RISE_MS, int(NO_RISE_BARE_K / expect.bare_k_per_s * 1000.0))

    def load(self, expect: Expectation) -> None:
        """Expect another load from now on; heat that is still under way, and frozen bits, know nothing of it.

        expect: its energy balance.
        """
        self.expect = expect
        self.unasked.expect = expect
        self._water_k = expect.water_k
        self._load_k = LOAD_K
        self._unanswered_ms = 0
        self._holding = Holding()

    def restart(self) -> None:
        """Forget evidence that a deliberate change has made void."""
        self._recent.clear()
        self._unanswered_ms = 0
        self._holding = Holding()

    def meet_form(self) -> None:
        """The strip meets the cold form here: what the reading does now is no fault."""
        self.restart()
        self._load_k = FORM_K

    def _shut(self, code: str, seen: float, limit: float, unit: str) -> None:
        if self._code == "":
            self._code = code
            self.seen = seen
            self.limit = limit
            self.unit = unit

    def lagged_share(self) -> float:
        """Share of full power that the junction feels by now."""
        return self._share

    def bits(self, temperature_c: float, cold_c: float, dt_ms: int, driven: bool) -> None:
        """Take one reading's bits.

        temperature_c, cold_c: as read, unfiltered. dt_ms: since the last one. driven: heat should move it.
        """
        bits = (temperature_c, cold_c)
        if bits != self._last_bits:
            self._last_bits = bits
            self._still_ms = 0
            self._same_ms = 0
            return
        self._still_ms += dt_ms
        if driven or temperature_c - cold_c > FROZEN_ABOVE_K:
            self._same_ms += dt_ms

    def still_ms(self) -> int:
        """How long the reading's bits have not changed, whether or not anything should have moved them."""
        return self._still_ms

    def second(
        self,
        mean_c: float | None,
        share: float,
        near_k: float,
        target_c: float | None,
        ceiling_c: float,
        dt_ms: int,
    ) -> str:
        """Judge one second; the code of the rule that is broken for long enough, "" for none.

        mean_c: mean of its admitted readings, C, or None. share: of full power it was given. near_k: rise its
        neighbours' heat may bring, K. target_c: what the reading should not go far above, C, or None.
        ceiling_c: the zone's, C. dt_ms: its length.
        """
        dt_s = dt_ms / 1000.0
        self._code = ""
        self._share += (share - self._share) * min(1.0, dt_s / LAG_S)
        if self._same_ms >= FROZEN_MS:
            self._shut("frozen", self._same_ms / 1000.0, FROZEN_MS / 1000.0, "s")
        if mean_c is None:
            # What cannot be seen is not judged here; a missing reading has rules of its own.
            self._recent.clear()
            return self._code
        if target_c != self._target_c:
            if target_c is None or self._target_c is None or abs(target_c - self._target_c) > AIM_K:
                self.restart()
                self.unasked.aim(mean_c)
            self._target_c = target_c
        rise_k = self._recent.add(mean_c)
        unasked = self.unasked
        if unasked.second(rise_k, share, self._share, near_k, target_c, ceiling_c, self.powered, dt_ms):
            self._shut(unasked.code, unasked.seen, unasked.limit, unasked.unit)
        self._wanted_k[self._wanted_at] = self._least_rise_k(mean_c, dt_s)
        self._wanted_at = (self._wanted_at + 1) % NO_RISE_WINDOW
        self._judge_answer(mean_c, dt_ms)
        self._holding.second(mean_c, target_c, share)
        self._limit_power(mean_c, dt_ms)
        return self._code

    def _least_rise_k(self, mean_c: float, dt_s: float) -> float:
        """Rise the heat of this second must bring, at least, before any allowance."""
        expect = self.expect
        lost = expect.hold_share(mean_c)
        usual, target_c = self._holding.usual_share, self._target_c
        if usual is not None and target_c is not None and target_c > expect.ambient_c + 10.0:
            # What has just been seen to hold the target, scaled to where the reading is now.
            lost = max(lost, usual * (mean_c - expect.ambient_c) / (target_c - expect.ambient_c))
        return max(0.0, self._share - lost) * expect.rate_k_per_s * expect.factor * dt_s

    def _judge_answer(self, mean_c: float, dt_ms: int) -> None:
        """Heat that the reading does not answer."""
        if self._recent.count <= NO_RISE_WINDOW:
            return
        wanted_k = 0.0
        for part_k in self._wanted_k:
            wanted_k += part_k
        if wanted_k < NO_RISE_LEAST_K:
            return
        got_k = self._recent.rise_k(NO_RISE_WINDOW)
        target_c = self._target_c
        # A reading where it is wanted needs no rise; one that cannot change has a rule of its own.
        arrived = target_c is not None and mean_c >= target_c - NEAR_K
        if arrived or got_k >= NO_RISE_SHARE * wanted_k - NO_RISE_SLACK_K:
            self._unanswered_ms = max(0, self._unanswered_ms - dt_ms)
            if arrived:
                self._load_k = max(self._load_k, LOAD_K)
            return
        missing_k = (wanted_k - got_k) / NO_RISE_WINDOW
        if self._load_k > 0.0:
            self._load_k -= missing_k
            return
        if self._unanswered_ms == 0:
            self._onset_c = self._recent.ago_c(NO_RISE_WINDOW)
        if STEAM_FROM_C <= mean_c <= STEAM_TO_C and got_k > -STEAM_FALL_K:
            if self._water_k > 0.0:
                self._water_k -= missing_k
                return
            dt_ms = dt_ms // 2
        self._unanswered_ms += dt_ms
        if self._unanswered_ms >= self.limit_ms:
            code = "detached" if self._onset_c - mean_c > DETACHED_FALL_K else "no_rise"
            if got_k > 0.1 * wanted_k:
                code = "weak_rise"
            self._shut(code, got_k, NO_RISE_SHARE * wanted_k - NO_RISE_SLACK_K, "K")

    def _limit_power(self, mean_c: float, dt_ms: int) -> None:
        """Suspicion: power no higher than it takes to hold, with full power again now and then to decide."""
        if self._unanswered_ms * 3 >= self.limit_ms:
            if self.suspect != "no_rise":
                self.suspect = "no_rise"
                self._cap_ms = 0
        elif self.suspect != "no_rise" or self._unanswered_ms == 0:
            self.suspect = "hold_power" if self._holding.odd else ""
        if self.suspect != "no_rise":
            self.cap = 1.0
            return
        self._cap_ms += dt_ms
        target_c = mean_c if self._target_c is None else self._target_c
        usual = self._holding.usual_share
        if usual is None:
            usual = self.expect.hold_share(target_c) + 0.1
        self.cap = min(1.0, usual) if (self._cap_ms // CAP_MS) % 2 == 0 else 1.0
