"""Relay windows: duty to on-time, interleaved so that the branch is never overloaded.

All zones share one window. Each gets one on-time in it, a multiple of the grain; what rounding
left over is carried into the next window. Zones whose currents fit the branch together may
overlap; others follow each other with at least one mains half-cycle between them, because a
zero-crossing relay lets go only at the next zero.
"""

GRAIN_MS = 10


class Windows:
    """Plans one window at a time.

    currents_a: per zone. branch_limit_a: largest sum at one moment. window_ms: length.
    half_cycle_ms: mains half-cycle, rounded up.
    """

    def __init__(
        self, currents_a: list[float], branch_limit_a: float, window_ms: int, half_cycle_ms: int
    ) -> None:
        self.window_ms = window_ms
        self.limited = False
        self._currents_a = currents_a
        self._limit_a = branch_limit_a
        self._gap_ms = ((half_cycle_ms + GRAIN_MS - 1) // GRAIN_MS) * GRAIN_MS
        count = len(currents_a)
        self._carry_ms = [0.0] * count
        self._last_end_ms = [0] * count
        self._tail_ms = [0] * count  # how far a zone's gap reaches into this window
        self.on_ms = [0] * count  # planned on-time
        self.start_ms = [0] * count  # offset from the window's start

    def plan(self, duties: list[float]) -> None:
        """Plan the next window.

        duties: per zone, 0 to 1. Sets on_ms, start_ms, and limited when the branch cut something.
        """
        for zone in range(len(duties)):
            self.on_ms[zone] = self._rounded(zone, duties[zone])
        self.limited = False
        for zone in range(len(duties)):
            over = self._last_end_ms[zone] + self._gap_ms - self.window_ms
            self._tail_ms[zone] = over if self._last_end_ms[zone] and over > 0 else 0
        # Shrink all by the same share until the plan fits; at worst it ends in a plan of nothing.
        while not self._place():
            self.limited = True
            for zone in range(len(duties)):
                self._carry_ms[zone] = 0.0
                self.on_ms[zone] = (self.on_ms[zone] * 31 // 32) // GRAIN_MS * GRAIN_MS
        for zone in range(len(duties)):
            self._last_end_ms[zone] = self.start_ms[zone] + self.on_ms[zone] if self.on_ms[zone] else 0

    def _rounded(self, zone: int, duty: float) -> int:
        """On-time in ms, a multiple of the grain, carrying what rounding leaves over."""
        if not duty > 0.0:
            # No heat wanted means none, at once; a carried rest would be heat nobody asked for.
            self._carry_ms[zone] = 0.0
            return 0
        if duty >= 1.0:
            self._carry_ms[zone] = 0.0
            return self.window_ms
        wanted_ms = duty * self.window_ms + self._carry_ms[zone]
        on_ms = int(wanted_ms / GRAIN_MS + 0.5) * GRAIN_MS
        on_ms = max(0, min(self.window_ms, on_ms))
        self._carry_ms[zone] = wanted_ms - on_ms
        return on_ms

    def _place(self) -> bool:
        """Give every zone the earliest start the branch allows; False when one does not fit."""
        placed: list[int] = []
        for zone in range(len(self.on_ms)):
            self.start_ms[zone] = 0
            if self.on_ms[zone] == 0:
                continue
            start = self._earliest(zone, placed)
            if start < 0:
                return False
            self.start_ms[zone] = start
            placed.append(zone)
        return True

    def _earliest(self, zone: int, placed: list[int]) -> int:
        """Earliest start that fits, trying 0 and the end of each other zone; -1 if none."""
        best = -1
        ends = [self.start_ms[other] + self.on_ms[other] + self._gap_ms for other in placed]
        for candidate in [0] + self._tail_ms + ends:
            if candidate + self.on_ms[zone] <= self.window_ms and self._fits(zone, candidate, placed):
                best = candidate if best < 0 else min(best, candidate)
        return best

    def _fits(self, zone: int, start: int, placed: list[int]) -> bool:
        """Whether the sum of currents stays under the limit at every edge inside the on-time."""
        # A zone placed before may start later than this one ends: the gap lies between them too.
        end = start + self.on_ms[zone] + self._gap_ms
        for edge in [start] + [self.start_ms[other] for other in placed]:
            if not start <= edge < end:
                continue
            total_a = self._currents_a[zone]
            for other in range(len(self.on_ms)):
                if other == zone:
                    continue
                # The gap belongs to the on-time: a relay may conduct until its next zero, also
                # when its on-time ended with the window before.
                busy = edge < self._tail_ms[other]
                if other in placed:
                    start_ms = self.start_ms[other]
                    busy = busy or start_ms <= edge < start_ms + self.on_ms[other] + self._gap_ms
                if busy:
                    total_a += self._currents_a[other]
            if total_a > self._limit_a:
                return False
        return True

    def room(self, zone: int, on: list[bool], off_ms: list[int], now_ms: int) -> bool:
        """Whether the branch has room for one more zone now, whatever was planned: edges may come late.

        zone: position. on: per zone whether its relay is on. off_ms: per zone when it went off last.
        now_ms: present time.
        """
        total_a = self._currents_a[zone]
        for other in range(len(on)):
            if other != zone and (on[other] or now_ms - off_ms[other] < self._gap_ms):
                total_a += self._currents_a[other]
        return total_a <= self._limit_a

    def on(self, zone: int, offset_ms: int) -> bool:
        """Whether a zone is on at an offset into the planned window.

        zone: position. offset_ms: time since the window's start.
        """
        start = self.start_ms[zone]
        return start <= offset_ms < start + self.on_ms[zone]

    def next_edge(self, offset_ms: int) -> int:
        """Offset of the next switching after an offset, the window's length when there is none.

        offset_ms: time since the window's start.
        """
        best = self.window_ms
        for zone in range(len(self.on_ms)):
            if self.on_ms[zone]:
                for edge in (self.start_ms[zone], self.start_ms[zone] + self.on_ms[zone]):
                    if offset_ms < edge < best:
                        best = edge
        return best
