"""Two doors around the control law, and the one trip that stands.

admit() stands before the law: a reading passes, or it is a named fault. allow() stands after it:
heat passes only for a zone with a fresh, good reading below its ceiling. Evidence of a fault
accumulates while it lasts and decays when it is gone; the first cause to reach its limit trips.
"""

from .errors import FAULTS
from .sensing import Missing, Reading
from .units import tenths

# Starting values of the safety goals: proposals, to be tuned against fault and healthy runs.
BAD_TRIP_MS = 2000
STALE_OFF_MS = 1000
STALE_TRIP_MS = 2000
CEILING_TRIP_MS = 1000
LOOP_TRIP_MS = 2000


class Trip:
    """Why the rig shut down.

    code: key of errors.FAULTS. zone: position, -1 for the rig. seen, limit: figures in unit.
    at_ms: when it was decided.
    """

    def __init__(self, code: str, zone: int, seen: float, limit: float, unit: str, at_ms: int) -> None:
        self.code = code
        self.zone = zone
        self.seen = seen
        self.limit = limit
        self.unit = unit
        self.at_ms = at_ms

    def reading(self) -> int:
        """Tenths of a degree C for the log; the mark for a missing value when it was no temperature."""
        return tenths(self.seen if self.unit == "C" else None)


class _ZoneEvidence:
    """What is known against one zone."""

    def __init__(self, ceiling_c: float, now_ms: int) -> None:
        self.ceiling_c = ceiling_c
        self.good_ms = now_ms  # when the last good reading came; power-on counts as none yet
        self.seen = False
        self.last_c = 0.0
        self.bad_ms = 0  # time spent without a good reading, less what has decayed
        self.over_ms = 0
        self.code = "stale"  # why the zone is held off, "" when it is not
        self.told = False  # whether news() has said that it is held off


class Guard:
    """Judges every zone in every mode, from power-on.

    ceilings_c: per zone, C. now_ms: time of power-on.
    """

    def __init__(self, ceilings_c: list[float], now_ms: int) -> None:
        self.trip: Trip | None = None
        self._zones = [_ZoneEvidence(ceiling_c, now_ms) for ceiling_c in ceilings_c]
        self._tick_ms = now_ms

    def tick(self, now_ms: int) -> int:
        """Begin one round of judging; returns the ms since the last one.

        now_ms: present time. A round that is too late is itself a fault.
        """
        dt_ms = now_ms - self._tick_ms
        self._tick_ms = now_ms
        if dt_ms > LOOP_TRIP_MS:
            self.shut("late_loop", -1, dt_ms / 1000.0, LOOP_TRIP_MS / 1000.0, "s", now_ms)
        return dt_ms

    def shut(self, code: str, zone: int, seen: float, limit: float, unit: str, at_ms: int) -> None:
        """Trip. The first cause stands; later ones change nothing.

        Arguments as Trip.
        """
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
            evidence.good_ms = item.at_ms
            evidence.seen = True
            evidence.last_c = item.temperature_c
            evidence.bad_ms = max(0, evidence.bad_ms - dt_ms // 2)
            evidence.code = ""
            self._judge_ceiling(zone, evidence, now_ms, dt_ms)
            return item.temperature_c
        code = item.code if isinstance(item, Missing) else None
        age_ms = now_ms - evidence.good_ms
        if code is None:
            # Nothing came: the last reading may still be fresh enough for one round.
            if evidence.seen and age_ms <= STALE_OFF_MS:
                return None
            code = "stale"
        evidence.code = code
        evidence.bad_ms += dt_ms
        # Silence counts by its age, from the last good reading on; a named fault by its evidence.
        spent_ms = max(evidence.bad_ms, age_ms) if code == "stale" else evidence.bad_ms
        limit_ms = STALE_TRIP_MS if code == "stale" else BAD_TRIP_MS
        if spent_ms >= limit_ms:
            self.shut(code, zone, spent_ms / 1000.0, limit_ms / 1000.0, "s", now_ms)
        return None

    def _judge_ceiling(self, zone: int, evidence: _ZoneEvidence, now_ms: int, dt_ms: int) -> None:
        if not evidence.last_c <= evidence.ceiling_c:
            evidence.code = "ceiling"
            evidence.over_ms += dt_ms
            if evidence.over_ms >= CEILING_TRIP_MS:
                self.shut("ceiling", zone, evidence.last_c, evidence.ceiling_c, "C", now_ms)
        else:
            evidence.over_ms = max(0, evidence.over_ms - dt_ms)

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
        return min(duty, 1.0)

    def clear(self) -> bool:
        """Forget the trip if nothing is held against any zone now; says whether it did."""
        for evidence in self._zones:
            if evidence.code:
                return False
        self.trip = None
        for evidence in self._zones:
            evidence.bad_ms = 0
            evidence.over_ms = 0
        return True


def trip_words(trip: Trip, zone_name: str) -> str:
    """A trip for people: where, what was seen, the limit, what to check.

    trip: the trip. zone_name: name of its zone, or "rig".
    """
    figures = "seen %.2f, limit %.2f %s" % (trip.seen, trip.limit, trip.unit)
    return trip.code + ": " + zone_name + ": " + figures + "; " + FAULTS[trip.code][1]
