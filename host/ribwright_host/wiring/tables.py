"""Standard sizes and current ratings, each with the table it was taken from."""

from bisect import bisect_left
from dataclasses import dataclass
from typing import Final

from .facts import MEMORY, SEEN


@dataclass(frozen=True)
class Series:
    """Sizes one can buy.

    sizes: increasing. unit: their unit. source: the table. status: what it is worth.
    """

    sizes: tuple[float, ...]
    unit: str
    source: str
    status: str

    def at_least(self, value: float) -> float | None:
        """The smallest size that is not below a value; None where there is none."""
        place = bisect_left(self.sizes, value - 1e-9)
        return self.sizes[place] if place < len(self.sizes) else None


@dataclass(frozen=True)
class Conductor:
    """One size of flexible conductor.

    name: as it is printed, "18 AWG" or "0.75 mm\u00b2". mm2: cross-section. rated_a: current rating in 30 C
    surroundings. drop_mv: voltage drop of both conductors together, mV per ampere and metre. source: of the
    rating.
    """

    name: str
    mm2: float
    rated_a: float
    drop_mv: float
    source: str


# IEC 60127 small fuses follow the R10 series up to 10 A; above that gG links of IEC 60269, 10 x 38 mm.
IEC_FUSES: Final = Series(
    (0.5, 0.63, 0.8, 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10, 12, 16, 20, 25, 32),
    "A",
    "IEC 60127 (to 10 A), IEC 60269 gG (above)",
    MEMORY,
)
# Time-lag cartridges 6.3 x 32 mm and 10 x 38 mm as they are commonly sold.
US_FUSES: Final = Series(
    (0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4, 5, 6.25, 7, 8, 10, 12, 15, 20, 25, 30),
    "A",
    "UL 248-14 time-delay (to 30 A), sizes as commonly sold",
    MEMORY,
)
IEC_BREAKERS: Final = Series((6, 10, 13, 16, 20, 25, 32), "A", "IEC 60898-1, usual sizes", SEEN)
US_BREAKERS: Final = Series((15, 20, 25, 30, 35, 40), "A", "NEC 240.6(A), standard sizes", MEMORY)

US_CORD_SOURCE: Final = "NEC Table 400.5(A), two loaded conductors, 30 C, as quoted"
IEC_CORD_SOURCE: Final = "BS 7671 Table 4F3A/4F3B, flexible cords, as reproduced"
_OHM_MM2_MV: Final = 46.0 / 1.0  # of the 1.0 mm2 row: 46 mV/A/m

# Flexible cord, two loaded conductors, 30 C. The drop of a size is that of 1.0 mm2 by its cross-section.
US_CORDS: Final = tuple(
    Conductor(f"{awg} AWG", mm2, rated_a, _OHM_MM2_MV / mm2, US_CORD_SOURCE)
    for awg, mm2, rated_a in ((18, 0.82, 10.0), (16, 1.31, 13.0), (14, 2.08, 18.0), (12, 3.31, 25.0))
)
IEC_CORDS: Final = tuple(
    Conductor(f"{mm2:g} mm\u00b2", mm2, rated_a, drop_mv, IEC_CORD_SOURCE)
    for mm2, rated_a, drop_mv in (
        (0.5, 3.0, 93.0),
        (0.75, 6.0, 62.0),
        (1.0, 10.0, 46.0),
        (1.25, 13.0, 37.0),
        (1.5, 16.0, 32.0),
        (2.5, 25.0, 19.0),
        (4.0, 32.0, 12.0),
    )
)

# Surroundings up to so many C -> share of the rating; beyond the last one the type may not be used.
PVC_60: Final = ((30.0, 1.0), (35.0, 0.91), (40.0, 0.82), (45.0, 0.71), (50.0, 0.58), (55.0, 0.41))
SILICONE_180: Final = (
    (120.0, 1.0),
    (125.0, 0.96),
    (130.0, 0.85),
    (135.0, 0.74),
    (140.0, 0.60),
    (145.0, 0.42),
)
GLASS_FIBRE: Final = (
    (150.0, 1.0),
    (155.0, 0.92),
    (160.0, 0.82),
    (165.0, 0.71),
    (170.0, 0.57),
    (175.0, 0.40),
)
HOT_SOURCE: Final = "BS 7671 Table 4F3A, factors for ambient temperature, as reproduced"
HOT_TYPES: Final = (("silicone rubber, 180 C", SILICONE_180), ("glass fibre", GLASS_FIBRE))

# One-shot links: rated functioning temperatures one can buy between our ceiling and silicone's limit.
LINKS_C: Final = Series((192, 216, 227, 240, 250), "C", "one-shot links as commonly sold", MEMORY)


def hot_factor(kind: tuple[tuple[float, float], ...], surroundings_c: float) -> float | None:
    """Share of its rating that a conductor keeps; None where its insulation may not be.

    kind: one of the tables above. surroundings_c: air or stack around it, C. Between two rows the hotter
    one counts.
    """
    return next((factor for most_c, factor in kind if surroundings_c <= most_c + 1e-9), None)
