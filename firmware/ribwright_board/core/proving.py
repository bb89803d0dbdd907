"""Proof before heat: what must hold between the press at the rig and the first switching."""

# Every zone must have given good readings for this long, within this time.
GOOD_MS = 2000
LIMIT_MS = 10000
# Converters of one rig sit in one box and agree; wood may be warm from the side before.
COLD_SPREAD_K = 15.0


class Proving:
    """One proof, from the press on."""

    def __init__(self) -> None:
        self._spent_ms = 0
        self._good_ms = 0

    def step(self, held: list[str], cold_c: list[float], dt_ms: int) -> str:
        """The verdict: "stay", "proved", or the code of the fault that refuses the run.

        held: per zone why it is held off, "" when it is not. cold_c: per zone the converter's own
        temperature, C. dt_ms: time since the last step.
        """
        self._spent_ms += dt_ms
        bad = [code for code in held if code]
        self._good_ms = 0 if bad else self._good_ms + dt_ms
        agree = max(cold_c) - min(cold_c) <= COLD_SPREAD_K
        if self._good_ms >= GOOD_MS and agree:
            return "proved"
        if self._spent_ms < LIMIT_MS:
            return "stay"
        return bad[0] if bad else "implausible"
