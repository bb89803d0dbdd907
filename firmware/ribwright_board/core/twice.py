"""Values that decide about heat, kept twice: once plain, once as the complement of its hundredths."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .profile import Profile
    from .rig import Rig

_MODULO = 0xFFFFFF


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


def _sum(rig: "Rig", profile: "Profile") -> int:
    """One number that changes with any limit, target, time or gain of a run.

    rig, profile: checked.
    """
    total = _mark(rig.branch_limit_a) + rig.window_ms + rig.half_cycle_ms
    for zone in rig.zones:
        for value in (zone.power_w, zone.current_a, zone.ceiling_c):
            total = (total * 31 + _mark(value)) & _MODULO
        for key in sorted(zone.gains):
            total = (total * 31 + _mark(zone.gains[key] * 100.0)) & _MODULO
    for stage in profile.stages:
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
        self.seen = self.limit = _sum(rig, profile)
        self._complement = ~self.limit
        self._rig = rig
        self._profile = profile

    def whole(self) -> bool:
        """Whether nothing has changed by itself."""
        self.seen = _sum(self._rig, self._profile)
        return self.seen == self.limit and self.limit == ~self._complement
