"""A proof alone, fed second by second."""

from board.samples import bench_rig, profile_of
from board.warm import RESPONSE_K_PER_S, quick
from ribwright_board.core import proving as proving_module
from ribwright_board.core.expect import Expectation
from ribwright_board.core.proving import Proving

PULSE_MOST_S = 20
# The relays have been off for long.
LONG_MS = 1000000
STAGES = [{"kind": "ramp", "zones": ["waist", "full"], "target": 150}]
# Own answer of a blanket that does what its rig says: a pulse of PULSE_S seconds at PULSE_DUTY.
WANTED_K = proving_module.PULSE_DUTY * proving_module.PULSE_S * RESPONSE_K_PER_S


class Feed:
    """A proof alone, fed second by second."""

    def __init__(self, feedback=False, short=False, zones=2, rested_ms=LONG_MS, bare=False):
        rig = quick(bench_rig())
        profile = profile_of(STAGES, rig)
        if bare:
            rig.slat_mm = 0.0
            profile.piece.update({"thickness_mm": 0.5, "width_mm": 5})
        self.expects = [Expectation(rig, zone, profile) for zone in range(zones)]
        self.proof = Proving(self.expects, feedback, short, rested_ms)
        self.temps_c = [20.0] * zones
        self.held = [""] * zones
        self.cold_c = [20.0] * zones
        self.still_ms = [0] * zones
        self.contactor = None
        self.asked = 0

    def second(self):
        """One second; the verdict."""
        for _ in range(9):
            assert self.tick() == "stay"
        verdict = self.tick()
        self.asked += verdict == "ask"
        return "stay" if verdict == "ask" else verdict

    def tick(self, temps_c=None, held=None):
        proof = self.proof
        seen = temps_c or self.temps_c
        return proof.step(held or self.held, seen, self.cold_c, self.contactor, self.still_ms, 100)

    def seconds(self, count):
        """So many seconds in which nothing may be decided."""
        for _ in range(count):
            assert self.second() == "stay"

    def verdict(self, most_s, drift_k=(0.0, 0.0)):
        """Seconds to the first verdict from here on, and the verdict; 0 and "stay" for none."""
        for count in range(1, most_s + 1):
            self.temps_c = [at_c + k for at_c, k in zip(self.temps_c, drift_k)]
            verdict = self.second()
            if verdict != "stay":
                return count, verdict
        return 0, "stay"

    def pulse(self, rises_k):
        """A pulse and its watch: per zone the rise, reached by the end of the pulse."""
        before_c = list(self.temps_c)
        pulsed = self.proof._pulsed
        for second in range(1, PULSE_MOST_S):
            share = min(1.0, second / proving_module.PULSE_S)
            self.temps_c = [at_c + rise_k * share for at_c, rise_k in zip(before_c, rises_k)]
            verdict = self.second()
            if verdict != "stay" or self.proof._pulsed != pulsed:
                return verdict
        raise AssertionError("no verdict")

    def to_pulses(self):
        """Through everything before the first pulse."""
        self.seconds(2 + 3 + 3 + 5)
        return self


def heated(feed, seconds, rises_k):
    """Seconds in which each zone rises by so much a second; nothing may be decided."""
    for _ in range(seconds):
        feed.temps_c = [at_c + rise_k for at_c, rise_k in zip(feed.temps_c, rises_k)]
        feed.seconds(1)
