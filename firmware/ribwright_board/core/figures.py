"""One second's figures of every zone, as the log and the link show them."""

from .units import TENTHS_MISSING, tenths


class Figures:
    """Per zone target and measured (tenths of a degree C), duty (permille), relay time (ms), and the middle
    of the wood as it is estimated (tenths of a degree C).

    zones: number of zones.

    rows: list of those five per zone, reused from second to second.
    """

    def __init__(self, zones: int) -> None:
        self.rows = [[TENTHS_MISSING, TENTHS_MISSING, 0, 0, TENTHS_MISSING] for _ in range(zones)]

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

    def estimate(self, zone: int, mid_wood_c: float | None) -> None:
        """Set what is estimated of a zone's wood; the last stays until then.

        zone: position. mid_wood_c: C, or None for no estimate.
        """
        self.rows[zone][4] = tenths(mid_wood_c)


def or_none(value: int) -> int | None:
    """Tenths of a degree for the link: a missing value is null, never a number.

    value: as a row of figures holds it.

    >>> or_none(1503), or_none(TENTHS_MISSING)
    (1503, None)
    """
    return None if value == TENTHS_MISSING else value
