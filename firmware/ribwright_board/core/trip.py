"""A named cause: why the rig shut down, or why a start was refused."""

from .errors import FAULTS
from .units import tenths

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .guard import Guard
    from .rig_values import Rig
    from .shapes import Values


class Trip:
    """Why the rig shut down.

    code: key of errors.FAULTS. zone: position, -1 for the rig. seen, limit: figures in unit.
    at_ms: when it was decided.
    """

    def __init__(self, code: str, zone: int, seen: float, limit: float, unit: str, at_ms: int) -> None:
        self.code = code
        self.zone = zone
        # A figure that memory has spoiled is still a cause to name, and NaN has no tenths.
        self.seen = seen if -1.0e9 < seen < 1.0e9 else 0.0
        self.limit = limit
        self.unit = unit
        self.at_ms = at_ms

    def reading(self) -> int:
        """Tenths of a degree C for the log; the mark for a missing value when it was no temperature."""
        return tenths(self.seen if self.unit == "C" else None)

    def values(self) -> "Values":
        """As the link says it."""
        return {
            "code": self.code,
            "zone": self.zone,
            "seen": int(self.seen * 100) / 100.0,
            "limit": self.limit,
            "unit": self.unit,
            "ms": self.at_ms,
        }


def trip_words(trip: Trip, rig: "Rig") -> str:
    """A trip for people: where, what was seen, the limit, what to check.

    trip: the trip. rig: names its zone.
    """
    where = rig.zones[trip.zone].name if trip.zone >= 0 else "rig"
    figures = "seen %.2f, limit %.2f %s; " % (trip.seen, trip.limit, trip.unit) if trip.unit else ""
    return trip.code + ": " + where + ": " + figures + FAULTS[trip.code][1]


def stand_again(told: "Values", guard: "Guard", zones: int, now_ms: int) -> None:
    """Let a trip stand that stood before a planned reset; rig and firmware may be others by now.

    told: its values(). guard: of the controller. zones: how many the rig has. now_ms: present time.
    """
    zone = told.get("zone", -1)
    code = told.get("code")
    seen, limit, unit = told.get("seen", 0.0), told.get("limit", 0.0), told.get("unit", "")
    guard.shut(
        code if code in FAULTS else "software", zone if zone < zones else -1, seen, limit, unit, now_ms
    )
