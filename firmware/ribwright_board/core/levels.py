"""What every zone's reading does from second to second during a proof, beside what it would do by itself."""

# Seconds of rest that show how a warm stack cools by itself.
BASE_S = 8
# A zone this close to its converter is cold, and a cold one does not drift.
COLD_K = 8.0
# A warm stack cools more slowly as it goes on: so much of the foreseen fall may stay away.
SLOWING_SHARE = 0.35
# Of a rise by heat no two seconds bring more than this; what does is a step.
STEP_SHARE = 0.75


class Levels:
    """Means of every second of a proof.

    zones: how many.

    seconds: kept so far. warm: per zone whether it was warmer than its converter at the mark.
    """

    def __init__(self, zones: int) -> None:
        self.seconds = 0
        self.warm = [False] * zones
        self._means_c: list[list[float]] = [[] for _ in range(zones)]
        self._marked = 0
        self._base_c = [0.0] * zones
        self._slopes = [0.0] * zones
        self._trends = [0.0] * zones
        self._decays = [0.0] * zones

    def keep(self, means_c: list[float]) -> None:
        """Take one second's means, C, per zone."""
        self.seconds += 1
        for zone in range(len(means_c)):
            self._means_c[zone].append(means_c[zone])

    def mark(self, cold_c: list[float], still: bool = False) -> None:
        """Measure from here on against level and slope of the last seconds.

        cold_c: per zone the converter's own temperature, C. still: too short to know a slope, so none counts.
        """
        self._marked = self.seconds
        for zone in range(len(cold_c)):
            means_c = self._means_c[zone][-BASE_S:]
            count = len(means_c)
            middle = (count - 1) / 2.0
            level_c = 0.0
            weighted = 0.0
            squares = 0.0
            for i in range(count):
                level_c += means_c[i] / count
                weighted += (i - middle) * means_c[i]
                squares += (i - middle) * (i - middle)
            trend = weighted / squares if squares > 0.0 and not still else 0.0
            self.warm[zone] = level_c - cold_c[zone] >= COLD_K
            slope = min(trend, 0.0) if self.warm[zone] else 0.0
            self._trends[zone] = trend
            self._slopes[zone] = slope
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
        spent_s = self.seconds - self._marked
        level_c = (means_c[-1] + means_c[-2]) / 2.0
        return level_c - self._base_c[zone] - self._foreseen_k(zone, spent_s - 0.5)

    def off_trend_k(self, zone: int) -> float:
        """The same, less what trend before the mark and slower cooling may explain, K; zone: position."""
        spent_s = self.seconds - self._marked
        fall_k = SLOWING_SHARE * self._foreseen_k(zone, spent_s)
        return self.rise_k(zone) - max(0.0, self._trends[zone]) * spent_s + fall_k

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
        spent_s = self.seconds - self._marked
        foreseen_k = self._foreseen_k(zone, spent_s)
        return self._means_c[zone][-1] - self._base_c[zone] - (1.0 - SLOWING_SHARE) * foreseen_k

    def steps(self, zone: int) -> bool:
        """Whether most of the rise since the mark came within two seconds; zone: position."""
        slope = self._slopes[zone]
        means_c = self._means_c[zone][self._marked - self.seconds - 1 :]
        # Without what it would do by itself.
        own_c = [means_c[i] - slope * i for i in range(len(means_c))]
        most_k = 0.0
        for i in range(2, len(own_c)):
            most_k = max(most_k, own_c[i] - own_c[i - 2])
        return most_k >= STEP_SHARE * (own_c[-1] - min(own_c))
