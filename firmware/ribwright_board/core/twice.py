"""Values that decide about heat, kept twice: once plain, once as the complement of its hundredths."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .profile_values import Profile, Stage
    from .rig_values import Rig, Zone

_MODULO = 0xFFFFFF
# Parts that are looked at in one tick.
AT_ONCE = 2


def _mark(value: float) -> int:
    return int(value * 100.0 + (0.5 if value >= 0.0 else -0.5))


class Twice:
    """One number and its complement.

    value: the number, at most about five million. It is fixed; a change of either copy is noticed.
    """

    def __init__(self, value: float) -> None:
        self.value = value
        self._complement = ~_mark(value)

    def whole(self) -> bool:
        """Whether both copies still say the same; a NaN never does."""
        value = self.value
        return -5.0e6 < value < 5.0e6 and _mark(value) == ~self._complement

    def copy(self) -> float:
        """What the second copy says."""
        return ~self._complement / 100.0


def _rig_sum(rig: "Rig") -> int:
    """One number that changes with any limit of the rig as a whole."""
    return (_mark(rig.branch_limit_a) + rig.window_ms + rig.half_cycle_ms) & _MODULO


def _zone_sum(zone: "Zone") -> int:
    """One number that changes with any limit or gain of a zone."""
    total = 0
    for value in (zone.power_w, zone.current_a, zone.ceiling_c, zone.offset_k):
        total = (total * 31 + _mark(value)) & _MODULO
    for key in sorted(zone.gains):
        total = (total * 31 + _mark(zone.gains[key] * 100.0)) & _MODULO
    return total


def _stage_sum(stage: "Stage") -> int:
    """One number that changes with any target, time or zone of a stage."""
    total = 0
    for part in (stage.target_c, stage.band_k, stage.below_c, stage.rate_k_per_min, stage.mid_wood_c):
        total = (total * 31 + (7 if part is None else _mark(part))) & _MODULO
    for part in (stage.wood_face_c, stage.most_c):
        total = (total * 31 + (7 if part is None else _mark(part))) & _MODULO
    for time_ms in (stage.hold_ms, stage.longest_ms, stage.mid_wood_ms):
        total = (total * 31 + (7 if time_ms is None else time_ms)) & _MODULO
    for zone_at in stage.zones:
        total = (total * 31 + zone_at) & _MODULO
    return total


class MemorySum:
    """What a run's limits and targets added up to when it was laid out, kept twice.

    rig, profile: checked.

    seen, limit: the sum of now and the kept one.
    """

    def __init__(self, rig: "Rig", profile: "Profile") -> None:
        self._rig = rig
        self._stages = profile.stages
        # Of the rig, of every zone, of every stage.
        count = 1 + len(rig.zones) + len(profile.stages)
        self._parts = [self._part(at) for at in range(count)]
        self.seen = self.limit = self._added()
        self._complement = ~self.limit
        self._next = 0

    def whole(self) -> bool:
        """Whether nothing has changed by itself."""
        for at in range(len(self._parts)):
            self._parts[at] = self._part(at)
        return self._same()

    def look(self) -> bool:
        """Whether nothing has changed in the next few parts, all of them in turn: adding up a long profile
        takes a board longer than one tick has, and in a second and a half of ticks all are looked at.
        """
        for _ in range(AT_ONCE):
            self._parts[self._next] = self._part(self._next)
            self._next = (self._next + 1) % len(self._parts)
        return self._same()

    def _same(self) -> bool:
        self.seen = self._added()
        return self.seen == self.limit and self.limit == ~self._complement

    def _part(self, at: int) -> int:
        zones = self._rig.zones
        if at == 0:
            return _rig_sum(self._rig)
        return _zone_sum(zones[at - 1]) if at <= len(zones) else _stage_sum(self._stages[at - 1 - len(zones)])

    def _added(self) -> int:
        total = 0
        for part in self._parts:
            total = (total * 31 + part) & _MODULO
        return total
