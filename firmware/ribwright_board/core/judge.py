"""One zone's readings held against the heat it was given: once a second, in every mode.

Evidence is counted in milliseconds while a rule is broken and given back while it is kept, so that a
single second never trips and a recovery is forgotten. The trip itself belongs to the guard.
"""

from .adrift import Adrift
from .doubt import Doubt
from .expect import Expectation
from .holding import Holding
from .recent import Recent
from .unasked import Unasked

# Starting values of the safety goals: proposals, tuned against fault and healthy runs in simulation.
FROZEN_MS = 25000
STILL_MS = 10000
FROZEN_ABOVE_K = 20.0
# Heat reaches the junction with about this lag.
LAG_S = 4.0
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
        self._doubt = Doubt(expect, self._recent)
        self._adrift = Adrift(self._recent)
        # Lagged share of full power. What was before a reset nobody knows, so the most is assumed.
        self._share = 1.0
        self._target_c: float | None = None
        self._still_ms = 0
        self._same_ms = 0  # of that, with something that should have moved them
        self._last_bits = (0.0, 0.0)
        self._holding = Holding()

    def load(self, expect: Expectation) -> None:
        """Expect another load from now on; heat that is still under way, and frozen bits, know nothing of it.

        expect: its energy balance.
        """
        self.expect = expect
        self.unasked.expect = expect
        self._doubt.load(expect)
        self._holding = Holding()

    def restart(self) -> None:
        """Forget evidence that a deliberate change has made void."""
        self.unasked.restart()
        self._doubt.restart()
        self._holding = Holding()

    def meet_form(self) -> None:
        """The strip meets the cold form here: what the reading does now is no fault."""
        self.restart()
        self._doubt.meet_form()

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

    def frozen(self) -> bool:
        """Whether its bits have stood still for too long while something should have moved them."""
        if self._same_ms < FROZEN_MS:
            return False
        self._shut("frozen", self._same_ms / 1000.0, FROZEN_MS / 1000.0, "s")
        return True

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
        self.frozen()
        if mean_c is None:
            # What cannot be seen is not judged here; a missing reading has rules of its own.
            self._recent.clear()
            return self._code
        moves = target_c != self._target_c
        if moves:
            if target_c is None or self._target_c is None or abs(target_c - self._target_c) > AIM_K:
                self.restart()
                self.unasked.aim(mean_c)
            self._target_c = target_c
        rise_k = self._recent.add(mean_c)
        unasked = self.unasked
        if unasked.second(rise_k, share, self._share, near_k, target_c, ceiling_c, self.powered, dt_ms):
            # A reading that does not cool because it does not change at all is another fault.
            still = self._still_ms >= STILL_MS
            self._shut("frozen" if still else unasked.code, unasked.seen, unasked.limit, unasked.unit)
        doubt = self._doubt
        usual = self._holding.usual_share
        if usual is None:
            usual = self.expect.hold_share(mean_c if target_c is None else target_c)
        if doubt.second(self._least_rise_k(mean_c, dt_s), self._share, target_c, usual, dt_ms):
            self._shut(doubt.code, doubt.seen, doubt.limit, "K")
        adrift = self._adrift
        if adrift.second(self.expect, self._share, near_k, dt_ms):
            self._shut("detached", adrift.seen, adrift.limit, "K")
        # What a climbing target takes holds nothing.
        self._holding.second(mean_c, None if moves else target_c, share)
        self.cap = doubt.cap
        self.suspect = "no_rise" if doubt.doubtful else "hold_power" if self._holding.odd else ""
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
