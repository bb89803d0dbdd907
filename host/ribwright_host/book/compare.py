"""Two sides of a pair held against each other: every figure, its limit for "alike", and one plain verdict."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from .heat import BENDING_HEAT_C
from .models import BASS, MEASURED_AT_START, TREBLE
from .quantities import show_c, show_k, show_mm, show_s

# Colour change of hardwood veneers is hardly visible below and clearly visible above: Feher et al. 2014,
# BioResources 9(2):3456 (abstract).
COLOUR_C = 160.0
PROPOSAL = "our proposal, no source"
# Mains within 10 % of its rated voltage, as EN 50160 has it (from memory); a blanket's power goes with the
# square of its voltage (Ohm's law).
MAINS_SHARE = 0.1
RATED_ENERGY = "energy, as at rated mains"
RATED_NOTE = (
    "energy is reckoned from relay time and rated power, as if the mains stood at its rated voltage, which "
    "nobody measured. At mains 10 % lower or higher the true figure is 19 % less or 21 % more; of two sides "
    "that got the same heat the one on the lower mains reads as more, 2 % for each 1 % of voltage, because "
    "its relays were on for longer"
)


@dataclass(frozen=True)
class Limit:
    """Up to which difference a figure counts as alike.

    name: of the column. words: for people. least: in the figure's unit. share: of the larger value; whichever
    allows more holds. source: what it rests on. tells: it bears on spring-back by itself. noted: only the
    maker can tell it, so that a pair of which nobody did is not told of it.
    """

    name: str
    words: str
    least: float
    share: float
    source: str
    tells: bool = True
    noted: bool = False


WARM_START = {"start_c": "it began on a warmer form and was through sooner"} | dict.fromkeys(
    MEASURED_AT_START, "warm steel and a warm form take less heat out of the wood"
)
# In the order in which they matter to spring-back; the order decides between equals.
LIMITS = (
    Limit("heat_s", "time at bending heat", 30, 0.05, PROPOSAL),
    Limit("set_c", "set temperature", 3, 0, "MAX31855 data sheet: 2 K either way (from memory); " + PROPOSAL),
    Limit("set_s", "set time", 60, 0.05, PROPOSAL),
    Limit("thickness_mm", "thickness", 0.05, 0, PROPOSAL),
    Limit("peak_c", "peak", 4, 0, "MAX31855 data sheet: 2 K either way, twice (from memory)", tells=False),
    Limit("start_c", "start temperature", 15, 0, PROPOSAL, tells=False),
    Limit("form_start_c", "form at start", 10, 0, PROPOSAL, tells=False, noted=True),
    Limit("slat_start_c", "slat at start", 15, 0, PROPOSAL, tells=False, noted=True),
    Limit("energy_kwh", RATED_ENERGY, 0, 0.15, PROPOSAL, tells=False),
)


@dataclass(frozen=True)
class Figure:
    """One figure of both sides. difference: treble less bass. allowed: the limit here. alike: None where a
    side lacks it. over: difference in limits.
    """

    limit: Limit
    bass: float | None
    treble: float | None
    difference: float | None
    allowed: float | None
    alike: bool | None

    @property
    def over(self) -> float:
        """How many limits the sides are apart; 0 where unknown."""
        return abs(self.difference) / self.allowed if self.difference and self.allowed else 0.0

    @property
    def more(self) -> str:
        """The side that has more of it."""
        return TREBLE if (self.difference or 0) > 0 else BASS

    def show(self, value: float | None, unit: str = "C", lengths: str = "mm") -> str:
        """A value of this figure for people.

        value: as stored. unit: "C" or "F". lengths: "mm" or "in".
        """
        name = self.limit.name
        if name.endswith("_s"):
            return show_s(value)
        if name.endswith("_c"):
            return show_c(value, unit, 1)
        if name.endswith("_mm"):
            return show_mm(value, lengths)
        return "\u2013" if value is None else f"{value:.3f} kWh"

    def show_size(self, value: float | None, unit: str = "C", lengths: str = "mm") -> str:
        """A difference or limit of this figure, without sign.

        value: as stored. unit, lengths: as show().
        """
        if value is None:
            return "\u2013"
        name = self.limit.name
        if name.endswith("_s"):
            return f"{abs(value):.0f} s"
        return show_k(abs(value), unit) if name.endswith("_c") else self.show(abs(value), unit, lengths)

    def as_json(self) -> dict[str, Any]:
        """The figure for a program."""
        told = asdict(self)
        return told | {"limit": self.limit.name, "source": self.limit.source}


def figures(bass: Mapping[str, Any], treble: Mapping[str, Any]) -> list[Figure]:
    """Every figure of a pair, in the order of LIMITS.

    bass, treble: sums of the sides by column, and thickness_mm.

    >>> [f.alike for f in figures({"heat_s": 300.0}, {"heat_s": 374.0})][0]
    False
    """
    found = []
    for limit in LIMITS:
        low, high = bass.get(limit.name), treble.get(limit.name)
        if limit.noted and low is None and high is None:
            continue
        if low is None or high is None:
            found.append(Figure(limit, low, high, None, None, None))
            continue
        allowed = max(limit.least, limit.share * max(abs(low), abs(high)))
        difference = high - low
        # A limit is a round number and a difference a sum of readings: equal is alike.
        found.append(Figure(limit, low, high, difference, allowed, abs(difference) <= allowed + 1e-9))
    return found


def _meaning(figure: Figure, unit: str) -> str:
    """What follows from a difference, in the maker's terms."""
    name = figure.limit.name
    if name in ("heat_s", "set_s", "set_c"):
        return "expect it to spring back less"
    if name == "thickness_mm" and figure.bass and figure.treble:
        thin, thick = sorted((figure.bass, figure.treble))
        # A strip's stiffness in bending goes with the cube of its thickness (beam theory).
        return (
            f"it is {((thick / thin) ** 3 - 1) * 100:.0f} % stiffer in bending, expect it to fight the form"
        )
    if name == "peak_c":
        hottest = max(figure.bass or 0, figure.treble or 0)
        if hottest > COLOUR_C:
            return f"above {show_c(COLOUR_C, unit)} wood begins to darken, so compare their colour"
        return f"both stayed below {show_c(COLOUR_C, unit)}, where colour hardly changes"
    if name in WARM_START:
        return WARM_START[name]
    return "with the rest alike, look for lower mains, which reads as more, a wetter blank or a draught"


def _difference_words(figure: Figure, unit: str, lengths: str) -> str:
    size = figure.show_size(figure.difference, unit, lengths)
    words = {
        "heat_s": f"was held {size} longer above {show_c(BENDING_HEAT_C, unit)}",
        "set_c": f"was set {size} hotter",
        "set_s": f"was set {size} longer",
        "thickness_mm": f"is {size} thicker",
        "peak_c": f"peaked {size} higher",
        "start_c": f"began {size} warmer",
        "form_start_c": f"began on a form {size} warmer",
        "slat_start_c": f"began with a slat {size} warmer",
        "energy_kwh": f"took {size} more by relay time at rated power",
    }
    return f"The {figure.more} side {words[figure.limit.name]}"


def verdict(found: list[Figure], unit: str = "C", lengths: str = "mm") -> str:
    """One plain sentence about a pair, with the figure that decided it.

    found: of figures(). unit, lengths: to show.
    """
    known = [figure for figure in found if figure.alike is not None]
    if not known:
        return "Nothing can be compared: no figure is known of both sides."
    # What bears on spring-back by itself comes before what only goes with it.
    telling = [figure for figure in known if figure.limit.tells and not figure.alike]
    if not telling and all(figure.alike for figure in known):
        # Other mains alone sets reckoned energies apart; what was measured is spoken of before that.
        known = [figure for figure in known if figure.limit.words != RATED_ENERGY] or known
    worst = max(telling or known, key=lambda figure: figure.over)
    if worst.alike:
        if not worst.difference:
            return "Both sides got the same treatment: no figure differs."
        size, allowed = (worst.show_size(v, unit, lengths) for v in (worst.difference, worst.allowed))
        return (
            f"Both sides got the same treatment; furthest apart is {worst.limit.words}, "
            f"by {size} of {allowed} that count as alike."
        )
    return f"{_difference_words(worst, unit, lengths)}: {_meaning(worst, unit)}."
