"""What a blanket draws: resistance, current, the mains' tolerance and the wrong mains. Pure functions."""

from typing import Final

from .facts import CHOICE, COMPUTED, MEMORY, SEEN, Fact

MAINS_HIGH: Final = 1.10
MAINS_LOW: Final = 0.90
# A continuous load runs for three hours or more; sized as if, since a long day of bends comes near it.
CONTINUOUS: Final = 1.25
OHM = "Ohm's law with the power and voltage on the blanket's label"
SUPPLY_BAND = "EN 50160 / IEC 60038: 230 V +-10 %; US service range is narrower"


def resistance(power_w: float, volts: float) -> Fact:
    """Resistance of a blanket when cold or hot alike.

    power_w: on its label, W. volts: on its label, V.
    """
    return Fact("blanket resistance", volts * volts / power_w, "ohm", "V x V / P", OHM, COMPUTED)


def current(power_w: float, volts: float) -> Fact:
    """Current at the voltage of the label.

    power_w: W. volts: V.
    """
    return Fact("current", power_w / volts, "A", "P / V", OHM, COMPUTED)


def current_high(power_w: float, volts: float) -> Fact:
    """Current with the mains 10 % high.

    power_w: W. volts: V.
    """
    rule = "1.10 x P / V, a blanket is a plain resistance"
    value = MAINS_HIGH * power_w / volts
    return Fact("current, mains 10 % high", value, "A", rule, SUPPLY_BAND, SEEN)


def power_high(power_w: float) -> Fact:
    """Power with the mains 10 % high.

    power_w: W.
    """
    value = power_w * MAINS_HIGH**2
    return Fact("power, mains 10 % high", value, "W", "1.10 squared x P", SUPPLY_BAND, COMPUTED)


def power_low(power_w: float) -> Fact:
    """Power with the mains 10 % low.

    power_w: W.
    """
    value = power_w * MAINS_LOW**2
    return Fact("power, mains 10 % low", value, "W", "0.90 squared x P", SUPPLY_BAND, COMPUTED)


def continuous(amperes: float) -> Fact:
    """Current that fuse and conductors are sized for.

    amperes: rated current, A.
    """
    rule = "125 % of the load, as if it ran three hours or more"
    source = "NEC 210.19(A), 210.20(A), as quoted; kept for 200-250 V as well by our choice"
    return Fact("current to size for", amperes * CONTINUOUS, "A", rule, source, SEEN)


def wrong_mains(volts: float, label_volts: float) -> Fact:
    """Power of a blanket on other mains than its label says, as a multiple of its label's.

    volts: at the wall, V. label_volts: on the label, V.
    """
    rule = "(V wall / V label) squared"
    return Fact("power on these mains, of the label's", (volts / label_volts) ** 2, "", rule, OHM, COMPUTED)


def element_tolerance() -> Fact:
    """How far the power of a new blanket may lie above its label."""
    return Fact(
        "element tolerance, above", 5.0, "%", "+5 / -10 % on the power", "makers' usual tolerance", MEMORY
    )


def interleaved_share(currents_a: list[float], limit_a: float) -> Fact:
    """Share of the time that all zones can have when the board keeps their sum to the limit.

    currents_a: of each zone, A. limit_a: most at one moment, A. Zones that can never be on together share
    the time; 1 where all may be on at once.
    """
    total_a = sum(currents_a)
    value = 1.0 if total_a <= limit_a else limit_a / total_a
    if total_a > limit_a and all(
        a + b > limit_a for i, a in enumerate(currents_a) for b in currents_a[i + 1 :]
    ):
        value = 1.0 / len(currents_a)
    rule = "the board never switches on more than branch_limit_a at one moment"
    return Fact("time each zone can have, all asking", value, "", rule, "control core, window.py", CHOICE)
