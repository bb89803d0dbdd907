"""Fuses, conductors, breakers, receptacles, residual-current devices and cut-offs. Pure functions."""

from collections.abc import Sequence
from typing import Final

from . import tables
from .facts import CHOICE, COMPUTED, MEMORY, SEEN, Fact
from .load import CONTINUOUS
from .tables import Conductor, Series

# Plug-connected load on one receptacle of a circuit with several, by its breaker.
US_RECEPTACLE_A: Final = {15.0: 12.0, 20.0: 16.0}
# A link opens between its rated temperature and so much below; EN/IEC 60691.
LINK_TOLERANCE_K: Final = 10.0
# What a link may be held at for ever lies below its rated temperature by so much and more.
LINK_HOLD_K: Final = 30.0


def fuse(amperes: float, series: Series) -> Fact | None:
    """Fuse in one blanket's lead; None where the series ends too early.

    amperes: rated current of the blanket, A. series: sizes to choose from.
    """
    size = series.at_least(amperes * CONTINUOUS)
    if size is None:
        return None
    rule = "next size at or above 125 % of the current; time-lag or gG, ceramic, voltage rating >= mains"
    return Fact("fuse", size, "A", rule, series.source, series.status)


def derated(
    conductor: Conductor, kind: tuple[tuple[float, float], ...], surroundings_c: float
) -> Fact | None:
    """Current a conductor may carry in hot surroundings; None where its insulation may not be.

    conductor: its size. kind: factors of its insulation. surroundings_c: C.
    """
    factor = tables.hot_factor(kind, surroundings_c)
    if factor is None:
        return None
    rule = f"{conductor.rated_a:g} A x {factor:g} at {surroundings_c:g} C"
    source = f"{conductor.source}; {tables.HOT_SOURCE}"
    return Fact("current the lead may carry", conductor.rated_a * factor, "A", rule, source, SEEN)


def conductor(
    least_a: float,
    sizes: Sequence[Conductor],
    kind: tuple[tuple[float, float], ...],
    surroundings_c: float,
) -> Conductor | None:
    """The smallest conductor that carries a current in its surroundings; None where none does.

    least_a: the fuse or breaker before it, A. sizes: increasing. kind: factors of its insulation.
    surroundings_c: C.
    """
    for size in sizes:
        rated = derated(size, kind, surroundings_c)
        if rated is not None and rated.value >= least_a - 1e-9:
            return size
    return None


def drop(conductor: Conductor, amperes: float, length_m: float, volts: float) -> Fact:
    """Voltage lost in a lead, V.

    conductor: its size. amperes: A. length_m: one way, m. volts: mains, V.
    """
    lost_v = conductor.drop_mv * amperes * length_m / 1000
    power = 100 * (1 - (1 - lost_v / volts) ** 2)
    rule = f"{conductor.drop_mv:.0f} mV/A/m x {amperes:.2f} A x {length_m:g} m; power -{power:.1f} %"
    return Fact("voltage drop", lost_v, "V", rule, tables.IEC_CORD_SOURCE, SEEN)


def breaker(limit_a: float, series: Series, usual_a: float) -> Fact | None:
    """Breaker of the branch that a limit implies; None where the series ends too early.

    limit_a: most the rig draws at one moment, A. series: sizes to choose from. usual_a: of a socket circuit
    as one finds it, A; a smaller one is not assumed, or the cord would be too thin for it.
    """
    size = series.at_least(max(limit_a * CONTINUOUS, usual_a))
    if size is None:
        return None
    rule = f"next size at or above 125 % of branch_limit_a, not below the usual {usual_a:g} A"
    return Fact("branch breaker", size, "A", rule, series.source, series.status)


def receptacle(breaker_a: float, *, american: bool) -> Fact:
    """The most that plugged-in load may draw from a branch, A.

    breaker_a: its breaker, A. american: by NEC, else 80 % by our choice.
    """
    known = US_RECEPTACLE_A.get(breaker_a) if american else None
    if known is not None:
        rule = "12 A on a 15 A receptacle, 16 A on a 20 A one"
        return Fact("most from the receptacle", known, "A", rule, "NEC Table 210.21(B)(2), as quoted", SEEN)
    rule = "80 % of the breaker"
    return Fact("most from the receptacle", 0.8 * breaker_a, "A", rule, "as for 120 V branches", CHOICE)


def residual_current(*, american: bool) -> Fact:
    """The device that opens on current to earth, mA.

    american: class A GFCI, else RCD.
    """
    if american:
        rule = "class A GFCI: trips at 6 mA and above, not below 4 mA; nominal 5 mA"
        return Fact("ground-fault protection", 5.0, "mA", rule, "UL 943 class A, as quoted", SEEN)
    rule = "RCD, 30 mA or less, type A at least: a half-failed switch makes half-wave current"
    source = "IEC 60364-4-41, 415.1; IEC 61008/61009, as quoted"
    return Fact("residual-current protection", 30.0, "mA", rule, source, SEEN)


def cut_off(ceiling_c: float, zone_c: float, blanket_c: float) -> Fact | None:
    """Rated temperature of the one-shot cut-off on a blanket, C; None where none fits between.

    ceiling_c: hottest reading the firmware allows on any rig, C. zone_c: hottest on this zone, C.
    blanket_c: the blanket's own rating, C. One that may be held at zone_c is preferred.
    """
    # With its tolerance it must still lie above the ceiling, or healthy runs open it.
    least_c = ceiling_c + LINK_TOLERANCE_K
    size = tables.LINKS_C.at_least(max(least_c, zone_c + LINK_HOLD_K))
    if size is None or size > blanket_c:
        size = tables.LINKS_C.at_least(least_c)
    if size is None or size > blanket_c:
        return None
    rule = (
        f"opens at {size - LINK_TOLERANCE_K:g} to {size:g} C: above the firmware's {ceiling_c:g} C, "
        f"not above the blanket's {blanket_c:g} C"
    )
    return Fact("cut-off, rated", size, "C", rule, "IEC 60691: +0 / -10 C, as quoted", SEEN)


def holding(cut_off_c: float) -> Fact:
    """Temperature at which a one-shot cut-off may stay for long, C.

    cut_off_c: its rated temperature, C.
    """
    rule = "highest it stays closed at for 168 h; must lie above the hottest place it sees in daily use"
    source = "IEC 60691 term; the 30 K are a usual gap: read the data sheet"
    return Fact("cut-off may be held at", cut_off_c - LINK_HOLD_K, "C", rule, source, MEMORY)


def earth_bond() -> Fact:
    """Highest resistance from any steel that is touched to the earth pin of the plug, ohm."""
    rule = "0.1 ohm, or 0.2 ohm with the supply cord, at 10 A from under 12 V"
    return Fact("earth bond, at most", 0.2, "ohm", rule, "EN 50106, as quoted", SEEN)


def leakage(powers_w: list[float]) -> Fact:
    """Current to earth that healthy blankets may have together, mA.

    powers_w: of each blanket, W.
    """
    value = min(5.0, max(0.75, 0.75 * sum(powers_w) / 1000))
    rule = "0.75 mA or 0.75 mA per kW, at most 5 mA"
    return Fact("earth leakage, healthy", value, "mA", rule, "IEC 60335-2 clause 13, as quoted", COMPUTED)
