"""Proof before heat: good readings, converters that agree, memory and files; no heat with the contactor open
and the zones on; none with it closed and the zones off; each zone in turn answers a small pulse with its own
thermocouple. A pause is followed by a short proof without the pulses. All times are whole seconds.
"""

from .answer import beside, missed, unsure
from .expect import Expectation
from .levels import COLD_K, ROGUE_RISE_K, Levels
from .trip import Trip

GOOD_S = 2
WARM_GOOD_S = 6  # how a warm stack cools takes a while to see
REST_S = 30  # right after heat a stack cannot be foreseen; the pulses wait until that is over
SHORT_REST_S = 20
SHORT_GOOD_S = 4  # a short proof has no weld test in which to see how the stack cools by itself
LIMIT_S = 10
CLIMB_K_PER_S = 0.15  # right after heat a junction still climbs: it is waited for, so long at most
CLIMB_S = 25
COLD_SPREAD_K = 8.0  # converters of one rig sit in one box and agree
BELOW_K = 12.0  # no stack is that much colder than the box; a warm one read the wrong way round seems so
WELD_S = 3
WELD_WARM_S = 5  # what a warm stack loses by itself hides a little heat
WELD_WATCH_S = 3
OFF_S = 5
OFF_LONG_S = 8  # on a warm stack heat shows late; a rig that needs no weld test has the time anyhow
PULSE_S = 5
WATCH_S = 3
PULSE_DUTY = 0.3
FEEDBACK_S = 2  # the contactor follows the alive signal within its detector's 0.72 s and its own 0.1 s
ROGUE_WATCH_S = 3  # tells heat nobody asked for from a reading that has stepped
WEAK_SLOWING_SHARE = 0.2  # on a stack that falls fast a slow thermocouple's answer is measured with caution
SINKS_K = 0.2  # but what hangs so far below a straight line only falls ever more slowly
SURE_SHARE = 0.45  # a smaller answer is waited for a little longer: the thermocouple may be slow
SLOW_S = 5
MOST_RISE_K = 12.0
FAST_WATCH_S = 4  # with the relay off: a zone that stays on goes on climbing
STAYS_SHARE = 0.5
STILL_MS = 4000
LOST_S = 4  # a lost reading is given time to show what is wrong with it
LOST_TICKS = 3  # in a second; a lone spike is none


class Proving:
    """One proof, from the press on.

    expects: per zone its energy balance. feedback: the contactor is watched by a pin, so it needs no pulse.
    short: only what a pause may have changed. rested_ms: since a relay was on last.

    duties: per zone, 0 to 1. alive: whether the contactor may close. moved: a new step has begun. zone, seen,
    limit, unit: what the refusal is about. ratios: per zone measured over expected answer.
    """

    def __init__(self, expects: list[Expectation], feedback: bool, short: bool, rested_ms: int) -> None:
        count = len(expects)
        rest_s = SHORT_REST_S if short else REST_S - WELD_S - WELD_WATCH_S - OFF_S
        self._wait_s = max(0, rest_s - rested_ms // 1000)
        self.duties = [0.0] * count
        self.alive = False
        self.moved = False
        self.zone = -1
        self.seen = self.limit = 0.0
        self.unit = ""
        self.ratios = [1.0] * count
        self._expects = expects
        self._feedback = feedback
        self._short = short
        self._step = "settle"
        self._second_ms = 0
        self._step_s = self._good_s = self._total_s = 0
        self._bad = self._code = ""
        self._lost_ticks = self._samples = 0
        self._pulsed = self._off_s = 0
        self._best_k, self._again = 0.0, True  # a fall that only paused: once from the start
        self._sums_c = [0.0] * count
        self._levels = Levels(count)

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

        held: per zone why it is held off, "" when it is not. temps_c: per zone the admitted reading, C, or
        None. cold_c: per zone the converter's own temperature, C. contactor: True closed, False open, None
        when nothing watches it. still_ms: per zone how long its bits stood still. dt_ms: since the last step.
        """
        self.moved = False
        self._second_ms += dt_ms
        lost = [zone for zone in range(len(held)) if held[zone]]
        self._lost_ticks += 1 if lost else 0
        if lost and self._lost_ticks >= LOST_TICKS:
            self._bad = held[lost[-1]]
            self.zone = lost[-1]
        if not lost and not self._bad and None not in temps_c:
            for zone in range(len(temps_c)):
                self._sums_c[zone] += temps_c[zone] or 0.0
            self._samples += 1
        if self._second_ms < 1000:
            return "stay"
        self._second_ms -= 1000
        self._lost_ticks = 0
        verdict = self._second(cold_c, contactor, still_ms)
        self._bad = ""
        self._samples = 0
        self._sums_c = [0.0] * len(held)
        return verdict

    def refusal(self, code: str, now_ms: int) -> Trip:
        """Why the start is refused; code: what step() said."""
        return Trip(code, self.zone, self.seen, self.limit, self.unit, now_ms)

    def _second(self, cold_c: list[float], contactor: bool | None, still_ms: list[int]) -> str:
        self._total_s += 1
        self._step_s += 1
        if self._step == "lost":
            return self._lost()
        good = self._bad == "" and self._samples > 0
        if good:
            self._levels.keep([sum_c / self._samples for sum_c in self._sums_c])
        if self._step == "settle":
            return self._settle(good, cold_c)
        if not good:
            # What the lost second would have shown is not known: off, and a while to see what is wrong.
            self._code = self._bad or "stale"
            return self._go("lost", False)
        if self._step_s >= FEEDBACK_S and contactor is not None and contactor != self.alive:
            self.zone = -1
            return self._refuse("contactor_closed" if contactor else "contactor_open", 1.0, 0.0, "")
        verdict: str = getattr(self, "_" + self._step)(cold_c, still_ms)
        spread_k = max(cold_c) - min(cold_c)
        if verdict == "leap" and spread_k > COLD_SPREAD_K:  # it is the box that seems to have leapt
            self.zone = -1
            return self._refuse("cold_spread", spread_k, COLD_SPREAD_K, "K")
        return verdict

    def _refuse(self, code: str, seen: float, limit: float, unit: str) -> str:
        self.seen = seen
        self.limit = limit
        self.unit = unit
        return code

    def _go(self, step: str, alive: bool, duty: float = 0.0, only: int = -1) -> str:
        self._step = step
        self._step_s = 0
        self.moved = True
        self.alive = alive
        for zone in range(len(self.duties)):
            self.duties[zone] = duty if only in (-1, zone) else 0.0
        return "stay"

    def _lost(self) -> str:
        self._code = self._bad or self._code
        return "stay" if self._step_s < LOST_S else self._code

    def _settle(self, good: bool, cold_c: list[float]) -> str:
        self._good_s = self._good_s + 1 if good else 0
        if not good:
            self._levels = Levels(len(cold_c))
        self._code = self._bad or self._code
        zones = range(len(cold_c))
        spread_k = max(cold_c) - min(cold_c)
        climbs = good and max([self._levels.climb_k_per_s(zone) for zone in zones]) > CLIMB_K_PER_S
        warm = good and not self._short and self._levels.warmest_k(cold_c) >= COLD_K
        needed_s = max(SHORT_GOOD_S if self._short else WARM_GOOD_S if warm else GOOD_S, self._wait_s)
        ready = self._good_s >= needed_s and spread_k <= COLD_SPREAD_K
        for zone in zones:
            if ready and self._levels.last_c(zone) < cold_c[zone] - BELOW_K:
                self.zone = zone
                return self._refuse("reversed", self._levels.last_c(zone), cold_c[zone] - BELOW_K, "C")
        if ready and (not climbs or self._total_s >= CLIMB_S):
            self._levels.mark(cold_c)
            if self._short or self._feedback:
                self._go("open", False)
            else:
                self._go("weld", False, 1.0)
            return "ask"
        if ready or self._total_s < LIMIT_S + self._wait_s:
            return "stay"
        if self._bad or spread_k <= COLD_SPREAD_K:
            return self._bad or self._code or "stale"
        self.zone = -1
        return self._refuse("cold_spread", spread_k, COLD_SPREAD_K, "K")

    def _open(self, cold_c: list[float], still_ms: list[int]) -> str:
        """The contactor had its time to open; a pin that watches it has been asked by now."""
        waits = self._step_s < (FEEDBACK_S if self._feedback else 1)
        return "stay" if waits else self._watch_off(cold_c)

    def _watch_off(self, cold_c: list[float]) -> str:
        self._levels.mark(cold_c)
        return self._go("off", True)

    def _weld(self, cold_c: list[float], still_ms: list[int]) -> str:
        heat_s = WELD_WARM_S if True in self._levels.warm else WELD_S
        if self._step_s == heat_s:
            for zone in range(len(self.duties)):
                self.duties[zone] = 0.0
        if self._step_s < heat_s + WELD_WATCH_S:
            return "stay"
        rogue = self._levels.rogue_zone()
        if rogue >= 0:
            self.zone = rogue
            self._code = "contactor_closed"
            unclear = self._levels.steps(rogue, True)
            return self._go("rogue", False) if unclear else self._name_rogue(rogue, self._code, still_ms)
        return self._watch_off(cold_c)

    def _off(self, cold_c: list[float], still_ms: list[int]) -> str:
        over = self._step_s >= (OFF_LONG_S if self._feedback or True in self._levels.warm else OFF_S)
        rogue = self._levels.unasked_zone(over)
        if rogue >= 0:
            self.zone = rogue
            self._code = "heat_while_off"
            return self._go("rogue", False)
        if not over:
            return "stay"
        return "proved" if self._short else self._pulse(0, cold_c)

    def _rogue(self, cold_c: list[float], still_ms: list[int]) -> str:
        if self._step_s < (1 if self._code == "contactor_closed" else ROGUE_WATCH_S):
            return "stay"
        zone = self._levels.unasked_zone(True)
        if zone < 0 and self._again and not self._levels.steps(self.zone):
            self._again, self._total_s, self._good_s, self._code = False, 0, 0, ""
            self._levels = Levels(len(cold_c))
            return self._go("settle", False)
        if zone < 0:  # back where it was: a reading that stepped to and fro
            return self._name_rogue(self.zone, "leap", still_ms)
        return self._name_rogue(zone, self._code, still_ms)

    def _name_rogue(self, zone: int, code: str, still_ms: list[int]) -> str:
        self.zone = zone
        if still_ms[zone] >= STILL_MS:  # it only seems to have risen: it should have fallen
            code = "frozen"
        elif self._levels.steps(zone):
            code = "leap"
        seen_k = max(self._levels.rogue_k(zone), self._levels.rise_k(zone))
        return self._refuse(code, seen_k, ROGUE_RISE_K, "K")

    def _pulse(self, zone: int, cold_c: list[float]) -> str:
        self._pulsed = zone
        self._off_s, self._best_k = PULSE_S, 0.0
        self._levels.mark(cold_c)
        return self._go("answer", True, PULSE_DUTY, zone)

    def _answer(self, cold_c: list[float], still_ms: list[int]) -> str:
        """One zone's pulse and the seconds after it."""
        pulsed = self._pulsed
        levels = self._levels
        self.zone = pulsed
        probe_k = self._expects[pulsed].probe_k_per_s
        wanted_k = PULSE_DUTY * PULSE_S * probe_k
        rises_k = [levels.rise_k(zone) for zone in range(len(self.duties))]
        own_k = levels.answer_k(pulsed, self._off_s)
        self._best_k = best_k = max(self._best_k, own_k)  # a draught may take back what it had shown
        hot, fast_share = max(rises_k) > MOST_RISE_K, self._expects[pulsed].fast_share
        if self._step_s >= PULSE_S or hot:
            self._off_s = min(self._off_s, self._step_s)
            self.duties[pulsed] = 0.0
        watched_s = self._step_s - self._off_s
        fast = hot or own_k > fast_share * wanted_k
        needed_s = FAST_WATCH_S if fast else WATCH_S + SLOW_S if own_k < SURE_SHARE * wanted_k else WATCH_S
        if watched_s < needed_s:
            return "stay"
        if fast:  # off for seconds by now: what still climbs like a heated zone is heated
            self.zone = risen = rises_k.index(max(rises_k)) if hot else pulsed
            code = "heat_while_off" if levels.step_k(risen) > STAYS_SHARE * probe_k else "fast_rise"
            code = "leap" if levels.steps(risen) else code
            return self._refuse(code, max(rises_k), min(MOST_RISE_K, fast_share * wanted_k), "K")
        slowed = levels.slows(pulsed) and levels.bump_k(pulsed, self._off_s) >= -SINKS_K
        least_k = wanted_k * (WEAK_SLOWING_SHARE if slowed else self._expects[pulsed].weak_share)
        if best_k < least_k:
            code = missed(levels, pulsed, own_k, wanted_k, self._off_s, still_ms)
            return self._refuse(code, own_k, least_k, "K")
        other, code = beside(levels, pulsed, own_k, wanted_k, self._off_s, probe_k)
        if code and watched_s < WATCH_S + SLOW_S * (2 if unsure(code, levels, other, wanted_k) else 1):
            # What follows the pulse is told from what goes on by itself only when the pulse is long over.
            return "stay"
        if code:
            self.zone = other
            return self._refuse(code, rises_k[other], own_k, "K")
        # That it answers is sure by now; how much, the cautious figure of a falling stack would belittle.
        self.ratios[pulsed] = max(rises_k[pulsed], best_k) / wanted_k
        last = pulsed + 1 == len(rises_k)
        return self._sum_up(wanted_k, still_ms) if last else self._pulse(pulsed + 1, cold_c)

    def _sum_up(self, wanted_k: float, still_ms: list[int]) -> str:
        share = sum(self.ratios) / len(self.ratios)
        least = self._expects[0].all_weak_share
        if share < least:
            still = max(still_ms) >= STILL_MS
            self.zone = still_ms.index(max(still_ms)) if still else self.zone
            return self._refuse("frozen" if still else "weak_rise", share * wanted_k, least * wanted_k, "K")
        self.zone = -1
        return "proved"
