"""What every zone's reading does from second to second during a proof, beside what it would do by itself."""

# Seconds of rest that show how a warm stack cools by itself.
BASE_S = 8
# Fewer show none.
SLOPE_S = 4
# A zone this close to its converter is cold, and a cold one does not drift.
COLD_K = 8.0
# A warm stack cools more slowly as it goes on: so much of the foreseen fall may stay away.
SLOWING_SHARE = 0.35
# A warm zone that falls so fast by itself goes on to fall; one that soon falls by less than this share is
# heated. Over so many seconds.
FALLS_K_PER_S = 0.5
STALL_SHARE = 0.45
STALL_S = 5
# No stack cools with a time constant under 25 s, even in a draught: what does is a junction in air.
AIR_DECAY_PER_S = 0.04
# One that falls so fast seems to rise by slowing down.
SLOWS_K_PER_S = 0.3
LEFT_SHARE = 0.5
# Rise that shows heat nobody asked for.
ROGUE_RISE_K = 0.9
# What climbed by itself before, as a junction in air beside a hot stack does, may climb on.
CLIMBED_K_PER_S = 0.1
# Of a rise by heat no two seconds bring more than this; what does is a step.
STEP_SHARE = 0.75
DROP_K = 12.0
# A junction turns so many seconds after the heat does.
TURN_S = 2


def _slope(means_c: list[float]) -> float:
    """Straight line through means a second apart, K/s; 0 for fewer than two."""
    middle = (len(means_c) - 1) / 2.0
    weighted = 0.0
    squares = 0.0
    for i in range(len(means_c)):
        weighted += (i - middle) * means_c[i]
        squares += (i - middle) * (i - middle)
    return weighted / squares if squares > 0.0 else 0.0


class Levels:
    """Means of every second of a proof.

    zones: how many.

    seconds: kept so far. warm: per zone whether it was warmer than its converter at this mark or one before.
    """

    def __init__(self, zones: int) -> None:
        self.seconds = 0
        self.warm = [False] * zones
        self._means_c: list[list[float]] = [[] for _ in range(zones)]
        self._marked = 0
        self._count = 0  # seconds before the mark that count, and their mean
        self._level_c = [0.0] * zones
        self._base_c = [0.0] * zones
        self._slopes = [0.0] * zones
        self._trends = [0.0] * zones
        self._decays = [0.0] * zones

    def keep(self, means_c: list[float]) -> None:
        """Take one second's means, C, per zone."""
        self.seconds += 1
        for zone in range(len(means_c)):
            self._means_c[zone].append(means_c[zone])

    def warmest_k(self, cold_c: list[float]) -> float:
        """How far the warmest zone is above its converter, K; cold_c: as mark()."""
        return max([self.last_c(zone) - cold_c[zone] for zone in range(len(cold_c))])

    def mark(self, cold_c: list[float]) -> None:
        """Measure from here on against level and slope of the last seconds; of too few no slope counts.

        cold_c: per zone the converter's own temperature, C.
        """
        still = self.seconds < SLOPE_S
        self._marked = self.seconds
        for zone in range(len(cold_c)):
            means_c = self._means_c[zone][-BASE_S:]
            count = self._count = len(means_c)
            middle = (count - 1) / 2.0
            level_c = sum(means_c) / max(1, count)
            trend = 0.0 if still else _slope(means_c)
            # What was warm at an earlier mark is still on its way to the room.
            self.warm[zone] = self.warm[zone] or level_c - cold_c[zone] >= COLD_K
            slope = min(trend, 0.0) if self.warm[zone] else 0.0
            self._trends[zone] = trend
            self._slopes[zone] = slope
            self._level_c[zone] = level_c
            self._base_c[zone] = level_c + slope * middle
            # What cools by itself slows down on its way to the room, at the rate it shows.
            above_k = max(level_c - cold_c[zone], COLD_K)
            self._decays[zone] = -slope / above_k

    def _foreseen_k(self, zone: int, spent_s: float) -> float:
        """What a zone would have done by itself since the mark, K; never above 0."""
        decay = self._decays[zone] * spent_s
        # Newton's cooling, its exponential to the second order.
        return self._slopes[zone] * spent_s * (1.0 - 0.5 * min(decay, 1.0))

    def step_k(self, zone: int) -> float:
        """Rise from the last second but one to the last, K; zone: position."""
        means_c = self._means_c[zone]
        return means_c[-1] - means_c[-2] if len(means_c) > 1 else 0.0

    def rise_k(self, zone: int) -> float:
        """Rise of the last two seconds together over what the zone would do by itself, K; zone: position."""
        means_c = self._means_c[zone]
        level_c = (means_c[-1] + means_c[-2]) / 2.0
        return level_c - self._base_c[zone] - self._foreseen_k(zone, self.seconds - self._marked - 0.5)

    def slows(self, zone: int) -> bool:
        """Whether a zone fell so fast before the mark that it slows down while watched; zone: position."""
        return self._slopes[zone] <= -SLOWS_K_PER_S

    def answer_k(self, zone: int, heat_s: int) -> float:
        """Rise that a pulse has brought, K; zone: position. heat_s: as bump_k.

        A zone that falls ever more slowly seems to rise: what it lost by itself follows from its slope at
        the mark and its slope now, since the one became the other by and by.
        """
        rise_k = self.rise_k(zone)
        slope = self._slopes[zone]
        spent_s = self.seconds - self._marked
        if not self.slows(zone) or spent_s < STALL_S:
            return rise_k
        means_c = self._means_c[zone]
        if self._decays[zone] > AIR_DECAY_PER_S:
            return min(rise_k, self.bump_k(zone, heat_s))
        # A slow junction still climbs: of a stack's fall so much is left at least.
        now = min(_slope(means_c[-STALL_S:]), LEFT_SHARE * slope)
        # Level and slope before the mark belong to the middle of its seconds.
        apart_s = spent_s + self._count / 2.0 - 1.0
        grown_k = (means_c[-1] + means_c[-2]) / 2.0 - self._level_c[zone]
        return min(rise_k, grown_k - (slope + now) / 2.0 * apart_s)

    def off_trend_k(self, zone: int) -> float:
        """The same, less what trend before the mark and slower cooling may explain, K; zone: position."""
        spent_s = self.seconds - self._marked
        fall_k = SLOWING_SHARE * self._foreseen_k(zone, spent_s)
        return self.rise_k(zone) - max(0.0, self._trends[zone]) * spent_s + fall_k

    def bump_k(self, zone: int, heat_s: int) -> float:
        """How far the rise at the end of heat stands above the straight line from the mark to now, K.

        What follows a pulse stands out; what goes on by itself, up or down, does not. zone: position.
        heat_s: seconds from the mark to the end of the heat.
        """
        means_c = self._means_c[zone]
        turn_s = heat_s + TURN_S
        spent_s = self.seconds - self._marked
        if spent_s <= turn_s + 1:
            return 0.0
        at = self._marked + turn_s
        top_c = (means_c[at - 2] + means_c[at - 1] + means_c[at]) / 3.0
        last_c = (means_c[-1] + means_c[-2]) / 2.0
        # The middle of each of these seconds, counted from the mark.
        share = (turn_s - 0.5) / (spent_s - 1.0)
        return top_c - self._base_c[zone] - share * (last_c - self._base_c[zone])

    def trend_k(self, zone: int) -> float:
        """What the slope before the mark would have brought since, K; zone: position."""
        return self._trends[zone] * (self.seconds - self._marked)

    def trend_k_per_s(self, zone: int) -> float:
        """Slope of the seconds before the mark, K/s; zone: position."""
        return self._trends[zone]

    def climb_k_per_s(self, zone: int) -> float:
        """Slope of the last three seconds, K/s; zone: position."""
        means_c = self._means_c[zone][-4:]
        return (means_c[-1] - means_c[0]) / max(1, len(means_c) - 1)

    def last_c(self, zone: int) -> float:
        """Mean of the last second, C; zone: position."""
        return self._means_c[zone][-1]

    def rogue_k(self, zone: int) -> float:
        """Rise of the last second that nothing explains, K; zone: position."""
        risen_k = self._means_c[zone][-1] - self._base_c[zone]
        if self._trends[zone] > CLIMBED_K_PER_S:
            risen_k -= self.trend_k(zone)
        if self._decays[zone] > AIR_DECAY_PER_S:
            return risen_k
        foreseen_k = self._foreseen_k(zone, self.seconds - self._marked)
        return risen_k - (1.0 - SLOWING_SHARE) * foreseen_k

    def rogue_zone(self) -> int:
        """The zone that rose most without heat, -1 when none did by enough."""
        found, most_k = -1, ROGUE_RISE_K
        for zone in range(len(self.warm)):
            rise_k = self.rogue_k(zone)
            if rise_k > most_k:
                found, most_k = zone, rise_k
        return found

    def stalls(self, zone: int) -> bool:
        """Whether a zone that fell before the mark has all but stopped; zone: position."""
        if self._slopes[zone] > -FALLS_K_PER_S or self._decays[zone] > AIR_DECAY_PER_S:
            return False
        # What is light, or hangs in air, slows down soon.
        spent = self._decays[zone] * (self.seconds - self._marked - STALL_S / 2.0)
        limit = STALL_SHARE * self._slopes[zone] / (1.0 + spent + 0.5 * spent * spent)
        return _slope(self._means_c[zone][-STALL_S:]) > limit

    def unasked_zone(self, stalled: bool) -> int:
        """The zone that heat nobody asked for shows in, -1 for none; stalled: a fall that ends counts too."""
        rogue = self.rogue_zone()
        if rogue >= 0 or not stalled:
            return rogue
        for zone in range(len(self.warm)):
            if self.stalls(zone):
                return zone
        return -1

    def steps(self, zone: int, begun: bool = False) -> bool:
        """Whether most of a rise came within two seconds, since the mark or just before.

        A rise that has only begun is none yet. No stack falls as fast as what has stepped down.

        zone: position. begun: it may be one.
        """
        slope = self._slopes[zone]
        means_c = self._means_c[zone][max(0, self._marked - BASE_S) :]
        # Without what it would do by itself.
        own_c = [means_c[i] - slope * i for i in range(len(means_c))]
        most_k = 0.0
        for i in range(2, len(own_c) - (0 if begun else 1)):
            most_k = max(most_k, own_c[i] - own_c[i - 2])
            if means_c[i - 2] - means_c[i] > DROP_K:
                return True
        return most_k >= STEP_SHARE * (own_c[-1] - min(own_c))
