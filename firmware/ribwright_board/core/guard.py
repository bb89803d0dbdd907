"""Two doors around the control law, and the one trip that stands.

admit() stands before the law: a reading passes, or it is a named fault. allow() stands after it:
heat passes only for a zone with a fresh, good reading below its ceiling. Evidence of a fault
accumulates while it lasts and decays when it is gone; the first cause to reach its limit trips, and
the first thing a trip does is to switch everything off.
"""

from .judge import Judge
from .sensing import Missing, Reading
from .trip import Trip
from .twice import Twice

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Callable

# Starting values of the safety goals: proposals, to be tuned against fault and healthy runs.
BAD_TRIP_MS = 2000
STALE_OFF_MS = 1000
STALE_TRIP_MS = 2000
CEILING_TRIP_MS = 1000
LOOP_TRIP_MS = 2000
# No reading moves faster than this; a lone spike is passed over, one that stays is a fault.
LEAP_K = 5.0
LEAP_K_PER_S = 15.0
LEAP_OFF_MS = 1000
LEAP_TRIP_MS = 2000
LEAP_SAME_K = 10.0
# Three readings in ten thrown away for long enough: the rest is not worth much either.
NOISY_OFF_MS = 1000
NOISY_TRIP_MS = 3000
COLD_SPREAD_K = 10.0
COLD_SPREAD_TRIP_MS = 5000
# Below a ceiling the heat of all zones fades out over this span: blankets may lie over one another, and a
# neighbour's heat must not drive a zone into its limit.
FADE_FROM_K = 8.0
FADE_TO_K = 3.0
# So it does where a zone is this far above all that the profile wants: a neighbour's heat scorches as well.
SPILL_FROM_K = 13.0
SPILL_TO_K = 32.0
# The contactor follows the alive signal within its detector's 0.72 s and its own 0.1 s.
CONTACTOR_TRIP_MS = 1500


class _ZoneEvidence:
    """What is known against one zone."""

    def __init__(self, ceiling_c: float, now_ms: int) -> None:
        self.ceiling = Twice(ceiling_c)
        self.good_ms = now_ms  # when the last good reading came; power-on counts as none yet
        self.seen = False
        self.last_c = 0.0
        self.cold_c = 20.0
        self.bad_ms = 0  # time spent without a good reading, less what has decayed
        self.over_ms = 0
        self.leap_ms = 0  # how long readings far from the last good one have come without a break
        self.odd_c = 0.0  # the last reading that was too far off
        self.noisy_ms = 0
        self.code = "stale"  # why the zone is held off, "" when it is not
        self.told = False  # whether news() has said that it is held off


class Guard:
    """Judges every zone in every mode, from power-on.

    ceilings_c: per zone, C. now_ms: time of power-on. off: switches every relay off and cannot raise; called
    first when a trip is decided.

    heating: whether any relay may be on. judges: per zone, readings held against the heat given.
    hottest_c: highest target of the laid-out profile, C, None without one; set from outside.
    """

    def __init__(self, ceilings_c: list[float], now_ms: int, off: "Callable[[], None] | None" = None) -> None:
        self.trip: Trip | None = None
        self.heating = False
        self.judges: list[Judge] = []
        self.hottest_c: float | None = None
        self._off = off
        self._zones = [_ZoneEvidence(ceiling_c, now_ms) for ceiling_c in ceilings_c]
        self._tick_ms = now_ms
        self._spread_ms = 0
        self._contactor_ms = 0

    def tick(self, now_ms: int) -> int:
        """Begin one round of judging; returns the ms since the last one.

        now_ms: present time. A round that is too late is itself a fault.
        """
        dt_ms = now_ms - self._tick_ms
        self._tick_ms = now_ms
        if dt_ms > LOOP_TRIP_MS:
            self.shut("late_loop", -1, dt_ms / 1000.0, LOOP_TRIP_MS / 1000.0, "s", now_ms)
        for zone in range(len(self._zones)):
            ceiling = self._zones[zone].ceiling
            if not ceiling.whole():
                self.shut("memory", zone, ceiling.value, ceiling.copy(), "C", now_ms)
        return dt_ms

    def shut(self, code: str, zone: int, seen: float, limit: float, unit: str, at_ms: int) -> None:
        """Trip. The first cause stands; later ones change nothing.

        code, zone, seen, limit, unit, at_ms: as Trip.
        """
        if self._off is not None:
            self._off()
        if self.trip is None:
            self.trip = Trip(code, zone, seen, limit, unit, at_ms)

    def shut_late(self, zone: int, seen_c: float | None, target_c: float, spent_ms: int, at_ms: int) -> None:
        """Trip for a zone that did not arrive in the time its ramp was given.

        zone: position. seen_c: its temperature, C, or None. target_c: where it should be, C. spent_ms: time
        the ramp took. at_ms: present time.
        """
        if seen_c is None:
            # No temperature to show, so the time is the figure.
            self.shut("ramp_late", zone, spent_ms / 1000.0, spent_ms / 1000.0, "s", at_ms)
        else:
            self.shut("ramp_late", zone, seen_c, target_c, "C", at_ms)

    def admit(self, zone: int, item: Reading | Missing | None, now_ms: int, dt_ms: int) -> float | None:
        """The temperature in C that may be used for control, or None.

        zone: position. item: Reading, Missing, or None when nothing came. now_ms: present time.
        dt_ms: time since the last round.
        """
        evidence = self._zones[zone]
        # Written as what must be true, so that a NaN is not admitted, nor a reading of long ago.
        if (
            isinstance(item, Reading)
            and -1000.0 < item.temperature_c < 1000.0
            and now_ms - item.at_ms <= STALE_OFF_MS
        ):
            if self._leaps(zone, evidence, item, now_ms, dt_ms):
                return None
            evidence.good_ms = item.at_ms
            evidence.seen = True
            evidence.last_c = item.temperature_c
            evidence.cold_c = item.cold_c
            evidence.bad_ms = max(0, evidence.bad_ms - dt_ms // 2)
            evidence.code = ""
            self._judge_ceiling(zone, evidence, now_ms, dt_ms)
            return item.temperature_c
        code = item.code if isinstance(item, Missing) else None
        age_ms = now_ms - evidence.good_ms
        if code == "implausible":
            self._count_noise(zone, evidence, now_ms, dt_ms)
        if code is None:
            # Nothing came: the last reading may still be fresh enough for one round.
            if age_ms <= STALE_OFF_MS:
                return None
            # A cause that has been named stays: silence in between tells nothing better.
            code = "stale" if evidence.code in ("", "ceiling") else evidence.code
        evidence.code = "noisy" if self.noisy(zone) else code
        evidence.bad_ms += dt_ms
        # Silence counts by its age, from the last good reading on; a named fault by its evidence.
        spent_ms = max(evidence.bad_ms, age_ms) if code == "stale" else evidence.bad_ms
        limit_ms = STALE_TRIP_MS if code == "stale" else BAD_TRIP_MS
        if spent_ms >= limit_ms:
            self.shut(code, zone, spent_ms / 1000.0, limit_ms / 1000.0, "s", now_ms)
        return None

    def _leaps(self, zone: int, evidence: _ZoneEvidence, item: Reading, now_ms: int, dt_ms: int) -> bool:
        """Whether a reading is further from the last good one than heat or cold could bring it."""
        age_ms = now_ms - evidence.good_ms
        allowed_k = LEAP_K + LEAP_K_PER_S * age_ms / 1000.0
        away_k = item.temperature_c - evidence.last_c
        if not evidence.seen or -allowed_k <= away_k <= allowed_k:
            evidence.leap_ms = 0
            evidence.noisy_ms = max(0, evidence.noisy_ms - dt_ms * 3 // 7)
            return False
        # What stays at one new level has leapt; what lands anywhere is noise.
        near = -LEAP_SAME_K <= item.temperature_c - evidence.odd_c <= LEAP_SAME_K
        evidence.odd_c = item.temperature_c
        evidence.leap_ms = evidence.leap_ms + dt_ms if near else dt_ms
        self._count_noise(zone, evidence, now_ms, dt_ms)
        if evidence.leap_ms >= LEAP_OFF_MS or age_ms > STALE_OFF_MS:
            evidence.code = "leap"
        if evidence.leap_ms >= LEAP_TRIP_MS:
            self.shut("leap", zone, item.temperature_c, evidence.last_c, "C", now_ms)
            # From here on the new level is the one to go by, so that the trip can be acknowledged.
            evidence.seen = False
        return True

    def _count_noise(self, zone: int, evidence: _ZoneEvidence, now_ms: int, dt_ms: int) -> None:
        """One more reading that cannot be meant."""
        # Kept at the limit: noise that has gone must be forgotten within the proof.
        evidence.noisy_ms = min(evidence.noisy_ms + dt_ms, NOISY_TRIP_MS)
        if evidence.noisy_ms >= NOISY_OFF_MS:
            evidence.code = "noisy"
        if evidence.noisy_ms >= NOISY_TRIP_MS:
            self.shut("noisy", zone, evidence.noisy_ms / 1000.0, NOISY_TRIP_MS / 1000.0, "s", now_ms)

    def noise_ms(self, zone: int) -> int:
        """Net time in which a zone's readings could not be meant; zone: position."""
        return self._zones[zone].noisy_ms

    def noisy(self, zone: int) -> bool:
        """Whether too many readings of a zone cannot be meant to go by the rest; zone: position."""
        return self._zones[zone].noisy_ms >= NOISY_OFF_MS

    def ceiling_c(self, zone: int) -> float:
        """Hardest limit of a zone's reading, C; zone: position."""
        return self._zones[zone].ceiling.value

    def _judge_ceiling(self, zone: int, evidence: _ZoneEvidence, now_ms: int, dt_ms: int) -> None:
        ceiling_c = evidence.ceiling.value
        if not evidence.last_c <= ceiling_c:
            evidence.code = "ceiling"
            evidence.over_ms += dt_ms
            if evidence.over_ms >= CEILING_TRIP_MS:
                self.shut("ceiling", zone, evidence.last_c, ceiling_c, "C", now_ms)
        else:
            evidence.over_ms = max(0, evidence.over_ms - dt_ms)

    def judge_rig(self, alive: bool, contactor: bool | None, now_ms: int, dt_ms: int) -> None:
        """What concerns the whole rig: converters that disagree, a contactor that does not follow.

        alive: the alive signal was given. contactor: True closed, False open, None when nothing watches it.
        now_ms: present time. dt_ms: time since the last round.
        """
        colds_c = [evidence.cold_c for evidence in self._zones if evidence.seen]
        spread_k = max(colds_c) - min(colds_c) if colds_c else 0.0
        self._spread_ms = self._spread_ms + dt_ms if spread_k > COLD_SPREAD_K and self.heating else 0
        if self._spread_ms >= COLD_SPREAD_TRIP_MS:
            self.shut("cold_spread", -1, spread_k, COLD_SPREAD_K, "K", now_ms)
        self._contactor_ms = 0 if contactor is None or contactor == alive else self._contactor_ms + dt_ms
        if self._contactor_ms >= CONTACTOR_TRIP_MS:
            code = "contactor_closed" if contactor else "contactor_open"
            self.shut(code, -1, self._contactor_ms / 1000.0, CONTACTOR_TRIP_MS / 1000.0, "s", now_ms)

    def held(self, zone: int) -> str:
        """Why a zone is held off now, "" when it is not.

        zone: position.
        """
        return self._zones[zone].code

    def seen(self, zone: int) -> bool:
        """Whether a zone has given a good reading since power-on.

        zone: position.
        """
        return self._zones[zone].seen

    def news(self, zone: int) -> str:
        """What changed, said once: "zone_off" for one now held off, "zone_back" for one good again, or "".

        zone: position.
        """
        evidence = self._zones[zone]
        held = evidence.code != ""
        # Before the first good reading since power-on there is nothing to lose; stale will trip.
        if held == evidence.told or not self.seen(zone):
            return ""
        evidence.told = held
        return "zone_off" if held else "zone_back"

    def allow(self, zone: int, duty: float, now_ms: int) -> float:
        """The duty that may be switched, 0 to 1.

        zone: position. duty: what the law asks. now_ms: present time.
        """
        if self.trip is not None:
            return 0.0
        evidence = self._zones[zone]
        if evidence.code or not evidence.seen or now_ms - evidence.good_ms > STALE_OFF_MS:
            return 0.0
        # Also turns a NaN into no heat.
        if not duty > 0.0:
            return 0.0
        return min(duty, self.judges[zone].cap if self.judges else 1.0, self._headroom())

    def _headroom(self) -> float:
        """Share of power left to all by the zone nearest to its ceiling, or farthest above the profile."""
        share = 1.0
        for evidence in self._zones:
            if evidence.seen:
                below_k = evidence.ceiling.value - evidence.last_c
                share = min(share, (below_k - FADE_TO_K) / (FADE_FROM_K - FADE_TO_K))
                if self.hottest_c is not None:
                    below_k = self.hottest_c + SPILL_TO_K - evidence.last_c
                    share = min(share, below_k / (SPILL_TO_K - SPILL_FROM_K))
        return max(0.0, share)

    def clear(self) -> bool:
        """Forget the trip if nothing is held against any zone now; says whether it did."""
        for evidence in self._zones:
            if evidence.code:
                return False
        self.trip = None
        for evidence in self._zones:
            evidence.bad_ms = 0
            evidence.over_ms = 0
            evidence.noisy_ms = 0
        self._contactor_ms = 0
        return True
