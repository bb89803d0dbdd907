"""One judge fed second by second, and the figures its rules come from."""

from board.samples import bench_rig, profile_mapping, put
from ribwright_board.core.expect import Expectation
from ribwright_board.core.judge import Judge
from ribwright_board.core.profile import parse as parse_profile

# A cold stack that is to become hot: no reading below is where it is wanted.
TARGET_C = 180.0
# High enough that what approaches it is another rule's business.
CEILING_C = 10000.0


def expectation(power_w=240, wetted="misted"):
    rig = bench_rig(put("zones", 0, "power_w", power_w))
    values = profile_mapping()
    values["piece"]["wetted"] = wetted
    return Expectation(rig, 0, parse_profile(values, rig))


class Feed:
    """A judge with the reading it is shown.

    at_c: the last second's mean. codes: of every second so far.
    """

    def __init__(self, at_c=20.0, power_w=240, wetted="misted", ceiling_c=CEILING_C, rested=True):
        self.judge = Judge(expectation(power_w, wetted))
        self.judge.powered = True
        if rested:
            # It has been off for long, and this firmware has seen it.
            self.judge._share = 0.0
        self.at_c = at_c
        self.ceiling_c = ceiling_c
        self.codes = []

    def second(self, rise_k=0.0, share=0.0, target_c=None, near_k=0.0):
        self.at_c += rise_k
        code = self.judge.second(self.at_c, share, near_k, target_c, self.ceiling_c, 1000)
        self.codes.append(code)
        return code

    def until(self, most, rise_k=0.0, share=0.0, target_c=None):
        """Second of the first code from here on, and the code; 0 and "" for none."""
        for count in range(1, most + 1):
            code = self.second(rise_k, share, target_c)
            if code:
                return count, code
        return 0, ""

    def wanted_k_per_s(self):
        """Rise that full power must bring here once the lag is over."""
        expect = self.judge.expect
        return (1.0 - expect.hold_share(self.at_c)) * expect.rate_k_per_s * expect.factor
