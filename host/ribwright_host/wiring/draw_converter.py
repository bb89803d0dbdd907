"""A converter with its thermocouple on the low-voltage sheet, and what each kind of chip wants around it.

Pins, from memory of the data sheets: MAX31855 and MAX6675 SO-8, MAX31856 TSSOP-14; compare with the card.
"""

from dataclasses import dataclass
from typing import Final

from schemdraw.elements import Element2Term, ResistorIEC, ResistorIEEE

from . import symbols
from .design import Plan, ZonePlan
from .extent import PLAIN, SMALL, fitted
from .facts import CHOICE, SEEN
from .sheet import Sheet

CONVERTER_X: Final = 23.4
WIDE: Final = 2.5


@dataclass(frozen=True)
class Kind:
    """One kind of converter.

    supply: printed name, pins and height of 0 V and of 3.3 V. signals: printed name, pin, net and height of
    the others; CS stands for this zone's select. minus, plus: pins of the thermocouple. bias: pin that is
    wired to T-, "" for none. across: capacitor across the thermocouple. across_status: what that rests on.
    high: of the box; pitch: to the next one. grounded: T- goes to 0 V at the chip. twice: two supply pins, a
    capacitor at each.
    """

    supply: tuple[tuple[str, str, float], tuple[str, str, float]]
    signals: tuple[tuple[str, str, str, float], ...]
    minus: str
    plus: str
    across: str
    across_status: str
    bias: str = ""
    high: float = 4.5
    pitch: float = 5.7
    grounded: bool = False
    twice: bool = False


_EIGHT_SUPPLY: Final = (("GND", "1", 0.5), ("VCC", "4", 1.5))
_EIGHT_SIGNALS: Final = (("CS", "6", "CS", 2.9), ("SCK", "5", "SCK", 3.5), ("SO", "7", "MISO", 4.1))
KINDS: Final = {
    "MAX31855": Kind(_EIGHT_SUPPLY, _EIGHT_SIGNALS, "2", "3", "10 nF", SEEN),
    "MAX6675": Kind(_EIGHT_SUPPLY, _EIGHT_SIGNALS, "2", "3", "10 nF", CHOICE, grounded=True),
    "MAX31856": Kind(
        (("GND", "1, 14", 0.5), ("VDD", "5, 8", 1.5)),
        (
            ("CS", "9", "CS", 2.9),
            ("SCK", "10", "SCK", 3.5),
            ("SDI", "12", "MOSI", 4.1),
            ("SDO", "11", "MISO", 4.7),
        ),
        "3",
        "4",
        "0.1 \u00b5F",
        SEEN,
        bias="2",
        high=5.1,
        pitch=6.3,
        twice=True,
    ),
}
# Insulation of plus and minus by type: ASTM E230 and IEC 60584-3; K read in a copy, the others from memory.
COLOURS: Final = {
    "K": ("yellow", "red", "green", "white"),
    "J": ("white", "red", "black", "white"),
    "T": ("blue", "red", "brown", "white"),
    "N": ("orange", "red", "pink", "white"),
}


def resistor(plan: Plan) -> Element2Term:
    """Resistor in the style of the drawing.

    plan: of the rig.
    """
    return ResistorIEEE() if plan.american else ResistorIEC()


def chip_of(plan: Plan, zone: ZonePlan) -> str:
    """Converter of a zone; plan: of the rig. zone: its plan."""
    return str(plan.rig.mapping["zones"][zone.number - 1]["chip"])


def type_of(plan: Plan, zone: ZonePlan) -> str:
    """Thermocouple of a zone; plan: of the rig. zone: its plan."""
    return str(plan.rig.mapping["zones"][zone.number - 1]["thermocouple"])


def part_name(chip: str, kind: str) -> str:
    """What to ask for; chip: converter. kind: thermocouple. The MAX31855 is another part for each type."""
    return chip + kind if chip == "MAX31855" else chip


def converters_high(plan: Plan) -> float:
    """Height of all converters under each other; plan: of the rig."""
    return sum(KINDS[chip_of(plan, zone)].pitch for zone in plan.zones)


def colours(plan: Plan) -> list[str]:
    """A line for each type of the rig: which wire is plus; plan: of the rig."""
    found = []
    for kind in dict.fromkeys(type_of(plan, zone) for zone in plan.zones):
        plus, minus = COLOURS[kind][:2] if plan.american else COLOURS[kind][2:]
        standard = "ASTM E230" if plan.american else "IEC 60584-3"
        seen = "" if kind == "K" else ", from memory"
        found.append(f"Type {kind}: + {plus}, \u2212 {minus} ({standard}{seen})")
    return found


def ground_words(plan: Plan) -> str:
    """Where T- meets 0 V; plan: of the rig."""
    grounded = any(KINDS[chip_of(plan, zone)].grounded for zone in plan.zones)
    return "T\u2212 meets 0V at a MAX6675 alone." if grounded else "T\u2212 is connected to 0V nowhere."


def converter(sheet: Sheet, plan: Plan, zone: ZonePlan, y: float) -> None:
    """One converter with its thermocouple.

    sheet: to draw on. plan: of the rig. zone: whose. y: upper edge.
    """
    n, x, chip, kind = zone.number, CONVERTER_X, chip_of(plan, zone), type_of(plan, zone)
    made = KINDS[chip]
    sheet.box(x, y, x + WIDE, y + made.high)
    sheet.label(x, y - 0.3, [f"U{n} {part_name(chip, kind)}"])
    sheet.text(x + 1.25, y + made.high + 0.28, fitted(zone.name, 3.4), align="center", size=PLAIN)
    rows = [(*row[:2], net, row[2]) for row, net in zip(made.supply, ("0V", "3V3"), strict=True)]
    for inside, place, net, dy in (*rows, *made.signals):
        sheet.text(x + 0.12, y + dy, inside, size=SMALL)
        sheet.text(x - 0.12, y + dy - 0.18, place, align="right", size=SMALL)
        sheet.line((x - 2.2, y + dy), (x, y + dy))
        sheet.flag(x - 2.2, y + dy, f"CS{n}" if net == "CS" else net, side="left")
    _supply_side(sheet, plan, made, n, y)
    _thermocouple(sheet, made, n, y, kind)


def _supply_side(sheet: Sheet, plan: Plan, made: Kind, n: int, y: float) -> None:
    """Capacitors at the supply, and the pull-up of the select."""
    at = CONVERTER_X - (1.5 if made.twice else 1.2)
    select = made.signals[0][3]
    for dy in (made.supply[0][2], made.supply[1][2], select):
        sheet.dot(at, y + dy)
    sheet.part(symbols.Capacitor(), (at, y + 0.5), (at, y + 1.5))
    sheet.part(resistor(plan), (at, y + 1.5), (at, y + select))
    if made.twice:
        other = CONVERTER_X - 0.85
        sheet.dot(other, y + 0.5)
        sheet.dot(other, y + 1.5)
        sheet.part(symbols.Capacitor(), (other, y + 0.5), (other, y + 1.5))
        sheet.label(at - 0.4, y + 0.85, [f"C1{n} C3{n}", "0.1 \u00b5F each"], align="right")
        sheet.designators.add(f"C3{n}")
    else:
        sheet.label(at - 0.4, y + 1.0, [f"C1{n} 0.1 \u00b5F"], align="right")
    sheet.label(at - 0.4, y + 2.2, [f"R2{n} 10 k\u03a9"], align="right")


def _thermocouple(sheet: Sheet, made: Kind, n: int, y: float, kind: str) -> None:
    """The thermocouple, the capacitor across it, and what T- is tied to."""
    right = CONVERTER_X + WIDE
    for name, place, dy in (("T\u2212", made.minus, 1.2), ("T+", made.plus, 3.2)):
        sheet.text(right - 0.12, y + dy, name, align="right", size=SMALL)
        sheet.text(right + 0.12, y + dy - 0.18, place, size=SMALL)
        sheet.line((right, y + dy), (right + 2.6, y + dy))
    mid, tied = right + 1.1, right + 0.6
    if made.bias:
        sheet.text(right - 0.12, y + 0.5, "BIAS", align="right", size=SMALL)
        sheet.text(right + 0.12, y + 0.32, made.bias, size=SMALL)
        sheet.line((right, y + 0.5), (tied, y + 0.5), (tied, y + 1.2))
        sheet.dot(tied, y + 1.2)
    if made.grounded:
        sheet.dot(tied, y + 1.2)
        sheet.line((tied, y + 1.2), (tied, y + 0.5), (tied + 0.4, y + 0.5))
        sheet.flag(tied + 0.4, y + 0.5, "0V", side="right")
    sheet.dot(mid, y + 1.2)
    sheet.dot(mid, y + 3.2)
    sheet.part(symbols.Capacitor(), (mid, y + 1.2), (mid, y + 3.2))
    sheet.label(mid + 0.3, y + 1.95, [f"C2{n}", made.across])
    sheet.line((right + 2.6, y + 1.2), (right + 3.4, y + 2.2), (right + 2.6, y + 3.2))
    sheet.dot(right + 3.4, y + 2.2)
    sheet.label(right + 3.6, y + 1.95, [f"B{n} type {kind}", "insulated", "junction"])
