"""The last readings of every zone, as they came: what led to a trip."""

from .errors import FAULTS
from .sensing import Missing, Reading
from .units import TENTHS_MISSING, tenths

KEPT = 20


class Trail:
    """The last KEPT readings of each zone; a missing one keeps its cause.

    zones: how many.
    """

    def __init__(self, zones: int) -> None:
        self._values = [[TENTHS_MISSING] * KEPT for _ in range(zones)]
        self._at = [0] * zones

    def keep(self, zone: int, item: Reading | Missing | None) -> None:
        """Take what a converter has just given; None, nothing new, is no reading.

        zone: position. item: as the driver gives it.
        """
        if item is None:
            return
        # Far below anything cold: the number of a fault, so that it fits where a temperature does.
        if not isinstance(item, Reading):
            value = TENTHS_MISSING + FAULTS.get(item.code, (0, ""))[0]
        elif -1000.0 < item.temperature_c < 1000.0:
            value = tenths(item.temperature_c)
        else:
            # No number, or none of a temperature.
            value = TENTHS_MISSING + FAULTS["implausible"][0]
        at = self._at[zone]
        self._values[zone][at] = value
        self._at[zone] = (at + 1) % KEPT

    def last(self, zone: int) -> list[int]:
        """A zone's readings, the oldest first: tenths of a degree C, or TENTHS_MISSING plus a fault's number.

        zone: position.
        """
        at = self._at[zone]
        values = self._values[zone]
        return values[at:] + values[:at]
