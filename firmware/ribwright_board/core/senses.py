"""Readings of one tick on their way through the guard to whoever may use them."""

from .errors import FAULTS
from .sensing import Missing, Reading
from .trail import Trail

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .drive import Drive
    from .guard import Guard
    from .jury import Jury
    from .rig_values import Zone

# Relays that were on for less than this share of a second move no reading.
DRIVEN_SHARE = 0.02


class Senses:
    """What every zone shows now.

    rig_zones: of the rig; what a zone shows too much is taken off every reading before anybody sees it.

    temps_c: per zone the reading admitted in this tick, C, or None. newest_c: the same of the last tick in
    which anything came, since one that is early finds nothing new. held: per zone why it is held off, or "".
    cold_c: per zone its converter's own temperature, C. trail: the last readings as they were taken. events:
    list of (name, zone, a, b, text), emptied by the caller.
    """

    def __init__(self, rig_zones: "list[Zone]") -> None:
        zones = len(rig_zones)
        self._zones = rig_zones
        self._last: list[Reading | None] = [None] * zones
        self.temps_c: list[float | None] = [None] * zones
        self.newest_c: list[float | None] = [None] * zones
        self.held = [""] * zones
        self.cold_c = [20.0] * zones
        self.trail = Trail(zones)
        self.events: list[tuple[str, int, int, int, str]] = []

    def take(
        self,
        items: list[Reading | Missing | None],
        guard: "Guard",
        jury: "Jury",
        drive: "Drive",
        now_ms: int,
        dt_ms: int,
    ) -> None:
        """Hand every reading to the guard, and what it admits to the judges and the control law.

        items: per zone Reading, Missing or None. guard, jury, drive: of the same controller; jury gets what
        is judged, drive what the law goes by. now_ms: present time. dt_ms: since the last tick.
        """
        driven = max(drive.shares) > DRIVEN_SHARE
        for zone in range(len(items)):
            item = items[zone]
            offset_k = self._zones[zone].offset_k
            # A slow converter's last answer comes again.
            if offset_k and isinstance(item, Reading) and item is not self._last[zone]:
                item.temperature_c -= offset_k
                self._last[zone] = item
            self.trail.keep(zone, item)
            temperature_c = guard.admit(zone, item, now_ms, dt_ms)
            self.temps_c[zone] = temperature_c
            if item is not None:
                self.newest_c[zone] = temperature_c
            if isinstance(item, Reading):
                jury.judges[zone].bits(item.temperature_c, item.cold_c, dt_ms, driven)
                if temperature_c is not None:
                    drive.loops[zone].add(temperature_c)
                    jury.take(zone, temperature_c)
                    self.cold_c[zone] = item.cold_c
            code = guard.held(zone)
            self.held[zone] = code
            news = guard.news(zone)
            if news:
                self.events.append((news, zone, FAULTS[code][0] if code else 0, 0, code))
