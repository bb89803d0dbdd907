"""A guard with its clock, one zone fed and the others kept good."""

from ribwright_board.core.guard import Guard
from ribwright_board.core.sensing import Missing, Reading


class Bench:
    """A guard with its clock: one zone fed, the others kept good."""

    def __init__(self, zones=1, ceiling_c=190.0, off=None):
        self.now_ms = 1000
        self.guard = Guard([ceiling_c] * zones, self.now_ms, off)
        self.zones = zones

    def feed(self, item, rounds=1, zone=0):
        """Rounds of 100 ms with what make(now_ms) gives; the last admitted value."""
        admitted = None
        for _ in range(rounds):
            self.now_ms += 100
            dt_ms = self.guard.tick(self.now_ms)
            for other in range(self.zones):
                made = item(self.now_ms) if other == zone else Reading(25.0, 20.0, self.now_ms)
                seen_c = self.guard.admit(other, made, self.now_ms, dt_ms)
                admitted = seen_c if other == zone else admitted
        return admitted

    def allow(self, duty=0.5, zone=0):
        return self.guard.allow(zone, duty, self.now_ms)


def good(temperature_c=150.0):
    return lambda now_ms: Reading(temperature_c, 20.0, now_ms)


def bad(code):
    return lambda now_ms: Missing(code, now_ms)


def nothing(_now_ms):
    return None


def rounds_to_trip(bench, item, most=200):
    for count in range(1, most + 1):
        bench.feed(item)
        if bench.guard.trip:
            return count
    return 0
