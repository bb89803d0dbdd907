"""Before a run of a rig that only watches: good readings, converters that agree, then memory and files.

Nothing is switched, so nothing is pulsed: whether a thermocouple lies where it should, somebody has to look.
"""

from .proving import COLD_SPREAD_K, GOOD_S, LIMIT_S
from .trip import Trip


class Watching:
    """One look before a run, in place of a proof; as Proving, with no heat in any step.

    zones: how many.
    """

    def __init__(self, zones: int) -> None:
        self.duties = [0.0] * zones
        self.alive = self.moved = False
        self.zone = -1
        self.seen = self.limit = 0.0
        self.unit = ""
        self.ratios = [1.0] * zones
        self._good_ms = self._total_ms = 0
        self._asked = False
        self._code = ""

    def step(
        self,
        held: list[str],
        temps_c: list[float | None],
        cold_c: list[float],
        contactor: bool | None,
        still_ms: list[int],
        dt_ms: int,
    ) -> str:
        """The verdict: "stay", "proved", "ask" to have files and memory checked, or a fault's code.

        held, temps_c, cold_c, dt_ms: as Proving.step(). contactor, still_ms: not looked at here.
        """
        if self._asked:
            return "proved"
        self._total_ms += dt_ms
        bad = [zone for zone in range(len(held)) if held[zone] or temps_c[zone] is None]
        if bad:
            self.zone, self._code = bad[0], held[bad[0]] or self._code
        self._good_ms = 0 if bad else self._good_ms + dt_ms
        spread_k = max(cold_c) - min(cold_c)
        if self._good_ms >= GOOD_S * 1000 and spread_k <= COLD_SPREAD_K:
            self.zone = -1
            self._asked = True
            return "ask"
        if self._total_ms < LIMIT_S * 1000:
            return "stay"
        if spread_k > COLD_SPREAD_K:
            self.zone = -1
            self.seen, self.limit, self.unit = spread_k, COLD_SPREAD_K, "K"
            return "cold_spread"
        return self._code or "stale"

    def refusal(self, code: str, now_ms: int) -> Trip:
        """Why the start is refused; code: what step() said."""
        return Trip(code, self.zone, self.seen, self.limit, self.unit, now_ms)
