"""One second's figures of every zone, as the log and the link show them."""

from .units import TENTHS_MISSING, tenths


class Figures:
    """Per zone target and measured (tenths of a degree C), duty (permille), relay time (ms).

    zones: number of zones.

    rows: list of those four per zone, reused from second to second.
    """

    def __init__(self, zones: int) -> None:
        self.rows = [[TENTHS_MISSING, TENTHS_MISSING, 0, 0] for _ in range(zones)]

    def fill(
        self, zone: int, target_c: float | None, measured_c: float | None, duty: float, on_ms: int
    ) -> None:
        """Set one zone's figures.

        zone: position. target_c, measured_c: C, or None for no value. duty: 0 to 1. on_ms: relay time.
        """
        row = self.rows[zone]
        row[0] = tenths(target_c)
        row[1] = tenths(measured_c)
        row[2] = int(duty * 1000.0 + 0.5)
        row[3] = on_ms
