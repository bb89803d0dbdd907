"""The alive detector: what holds the contactor's coil only while the board's rounds go on.

Gaps between edges count when they are neither shorter than the first time nor longer than the second; three
in a row let the coil in, and each holds it for the third. The logic is that of the virtual rig's detector.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from . import frame, symbols
from .design import Plan
from .draw_converter import resistor
from .extent import LARGE, PLAIN, SMALL
from .sheet import Sheet

# Timing of a 4538: 0.7 x R x C (from memory of its data sheet). Ohm and farad of each stage.
TIMING = {"fast": (107e3, 1.0e-6), "slow": (430e3, 2.2e-6), "hold": (430e3, 2.2e-6)}
TIMING_FACTOR = 0.7
# Resistors 1 %, film capacitors 5 %, the chip itself 2 %: what all may add up to.
SPREAD = 0.08


def seconds(stage: str) -> float:
    """Nominal time of a stage, s.

    stage: fast, slow or hold.
    """
    ohm, farad = TIMING[stage]
    return TIMING_FACTOR * ohm * farad


@dataclass(frozen=True)
class _Pin:
    """One pin of a block: name inside, number outside, name of its wire."""

    inside: str
    place: str
    net: str


def alive_detector(plan: Plan, date: str) -> Sheet:
    """Draw the alive detector.

    plan: of the rig. date: for the title block.
    """
    sheet = Sheet("Alive detector, A2")
    sheet.text(0.6, 0.75, "Alive detector, A2", size=LARGE)
    sheet.text(
        0.6,
        1.4,
        "On a card of its own, fed by the board's 3V3. Not built yet: measure its three times before "
        "it switches anything (bring-up, step 6).",
        size=PLAIN,
    )
    _edge(sheet, plan, 4.0)
    _timer(sheet, plan, "U12.1", 5.0, 9.4, "fast", trigger="falling")
    _gates(sheet, 3.6, 14.1)
    _timer(sheet, plan, "U12.2", 5.0, 20.0, "slow", trigger="rising")
    _counter(sheet, plan, 20.0, 3.4)
    _timer(sheet, plan, "U15.1", 20.0, 12.8, "hold", trigger="rising")
    _output(sheet, plan, 18.4, 18.0)
    _words(sheet, 17.2, 21.0)
    frame.close(sheet, plan, date, 3, 32.6, 26.6)
    return sheet


def _block(
    sheet: Sheet,
    ref: str,
    mark: str,
    x: float,
    y: float,
    ins: Sequence[_Pin],
    outs: Sequence[_Pin],
    wide: float = 2.4,
) -> None:
    """A box with its wires; ref: designator. mark: its function. x, y: upper left corner."""
    high = 0.8 * max(len(ins), len(outs)) + 0.3
    sheet.box(x, y, x + wide, y + high)
    sheet.designators.add(ref.split(".", maxsplit=1)[0])
    sheet.text(x + wide / 2, y + high + 0.25, ref, align="center")
    if mark:
        sheet.text(x + wide / 2, y + 0.55, mark, align="center", size=PLAIN)
    for i, pin in enumerate(ins):
        at = y + 0.55 + 0.8 * i
        if pin.inside:
            sheet.text(x + 0.12, at, pin.inside, size=SMALL)
        sheet.text(x - 0.12, at - 0.18, pin.place, align="right", size=SMALL)
        sheet.line((x - 0.8, at), (x, at))
        sheet.flag(x - 0.8, at, pin.net, side="left")
    for i, pin in enumerate(outs):
        at = y + 0.55 + 0.8 * i
        if pin.inside:
            sheet.text(x + wide - 0.12, at, pin.inside, align="right", size=SMALL)
        sheet.text(x + wide + 0.12, at - 0.18, pin.place, size=SMALL)
        sheet.line((x + wide, at), (x + wide + 0.8, at))
        sheet.flag(x + wide + 0.8, at, pin.net, side="right")


def _edge(sheet: Sheet, plan: Plan, y: float) -> None:
    """A short pulse for every edge, rising or falling."""
    sheet.text(0.6, y - 1.2, "1  A pulse for every edge", size=PLAIN)
    sheet.flag(2.0, y, "ALIVE", side="left")
    sheet.line((2.0, y), (7.4, y))
    sheet.dot(2.7, y)
    sheet.line((2.7, y), (2.7, y + 0.8), (3.0, y + 0.8))
    sheet.part(resistor(plan), (3.0, y + 0.8), (5.0, y + 0.8))
    sheet.label(3.2, y + 1.25, ["R41 10 k\u03a9"])
    sheet.line((5.0, y + 0.8), (7.4, y + 0.8))
    sheet.dot(5.8, y + 0.8)
    sheet.part(symbols.Capacitor(), (5.8, y + 0.8), (5.8, y + 2.0))
    sheet.shape(symbols.zero_volts(), 5.8, y + 2.0)
    sheet.label(6.15, y + 1.45, ["C41 1 nF"])
    sheet.box(7.4, y - 0.5, 9.0, y + 1.3)
    sheet.text(8.2, y + 0.4, "=1", align="center")
    sheet.text(8.2, y - 0.8, "U11.1", align="center")
    sheet.designators.add("U11")
    sheet.text(7.28, y - 0.2, "1", align="right", size=SMALL)
    sheet.text(7.28, y + 0.6, "2", align="right", size=SMALL)
    sheet.text(9.12, y + 0.22, "3", size=SMALL)
    sheet.line((9.0, y + 0.4), (9.8, y + 0.4))
    sheet.flag(9.8, y + 0.4, "EDGE", side="right")


_TIMER_WORDS = {
    "fast": ("2  How long an edge makes the next one too early", "FAST", "nFAST", "EDGE"),
    "slow": ("4  How long a good edge lets the count stand", "", "nSEEN", "GOOD"),
    "hold": ("6  How long a good edge holds the coil", "HOLD", "", "GO"),
}


def _timer(sheet: Sheet, plan: Plan, ref: str, x: float, y: float, stage: str, *, trigger: str) -> None:
    """A retriggerable one-shot with its timing parts."""
    words, q, nq, net = _TIMER_WORDS[stage]
    first = ref.endswith(".1")
    places = ("4", "5", "3", "6", "7", "1", "2") if first else ("12", "11", "13", "10", "9", "15", "14")
    rising = trigger == "rising"
    ins = (
        _Pin("A", places[0], net if rising else "0V"),
        _Pin("B", places[1], "3V3" if rising else net),
        _Pin("R", places[2], "POR"),
    )
    outs = [
        _Pin(name, place, wire) for name, place, wire in (("Q", places[3], q), ("nQ", places[4], nq)) if wire
    ]
    _block(sheet, ref, f"{1000 * seconds(stage):.0f} ms", x, y, ins, outs)
    ohm, farad = TIMING[stage]
    number = {"fast": 2, "slow": 3, "hold": 4}[stage]
    top = y - 0.9
    sheet.line((x + 0.6, y), (x + 0.6, top))
    sheet.line((x + 1.8, y), (x + 1.8, top))
    sheet.text(x + 0.48, y - 0.25, places[5], align="right", size=SMALL)
    sheet.text(x + 1.92, y - 0.25, places[6], size=SMALL)
    sheet.part(symbols.Capacitor(), (x + 0.6, top), (x + 1.8, top))
    sheet.dot(x + 1.8, top)
    sheet.part(resistor(plan), (x + 1.8, top), (x + 3.8, top))
    sheet.flag(x + 3.8, top, "3V3", side="right")
    sheet.label(x + 1.5, top - 0.5, [f"C4{number} {farad * 1e6:g} \u00b5F film"], align="right")
    sheet.label(x + 1.95, top - 0.5, [f"R4{number} {ohm / 1e3:g} k\u03a9 1 %"])
    sheet.text(0.6 if x < 16 else 17.2, top - 1.15, words, size=PLAIN)


def _gates(sheet: Sheet, x: float, y: float) -> None:
    """Good and bad edges."""
    sheet.text(0.6, y - 0.7, "3  Good edges, and those that come too early", size=PLAIN)
    _block(
        sheet,
        "U13.1",
        "&",
        x,
        y,
        (_Pin("", "1", "EDGE"), _Pin("", "2", "nFAST")),
        (_Pin("", "3", "GOOD"),),
        1.6,
    )
    _block(
        sheet,
        "U13.2",
        "&",
        x + 6.8,
        y,
        (_Pin("", "4", "EDGE"), _Pin("", "5", "FAST")),
        (_Pin("", "6", "BAD"),),
        1.6,
    )


def _counter(sheet: Sheet, plan: Plan, x: float, y: float) -> None:
    """Three good gaps in a row."""
    sheet.text(17.2, y - 0.6, "5  Four good edges, three good gaps in a row", size=PLAIN)
    ins = (_Pin("CP0", "14", "nENOUGH"), _Pin("nCP1", "13", "GOOD"), _Pin("MR", "15", "CLEAR"))
    _block(sheet, "U14", "", x, y, ins, (_Pin("Q3", "7", "ENOUGH"),))
    _block(
        sheet,
        "U11.2",
        "=1",
        x + 7.8,
        y,
        (_Pin("", "4", "ENOUGH"), _Pin("", "5", "3V3")),
        (_Pin("", "6", "nENOUGH"),),
        1.6,
    )
    _block(
        sheet,
        "U13.3",
        "&",
        x + 7.8,
        y + 3.4,
        (_Pin("", "9", "GOOD"), _Pin("", "10", "ENOUGH")),
        (_Pin("", "8", "GO"),),
        1.6,
    )
    at = y + 3.9
    for i, net in enumerate(("BAD", "nSEEN")):
        row = at + 0.9 * i
        sheet.flag(x - 0.8, row, net, side="left")
        sheet.part(symbols.Diode(), (x - 0.8, row), (x + 0.8, row))
        sheet.label(x - 0.3, row - 0.42, [f"D4{i + 1}"])
    sheet.line((x + 0.8, at), (x + 1.5, at), (x + 1.5, at + 0.9))
    sheet.line((x + 0.8, at + 0.9), (x + 2.2, at + 0.9))
    sheet.dot(x + 1.5, at + 0.9)
    sheet.flag(x + 2.2, at + 0.9, "CLEAR", side="right")
    sheet.part(resistor(plan), (x + 1.5, at + 0.9), (x + 1.5, at + 2.5))
    sheet.shape(symbols.zero_volts(), x + 1.5, at + 2.5)
    sheet.label(x + 1.9, at + 1.7, ["R45 10 k\u03a9"])


def _output(sheet: Sheet, plan: Plan, x: float, y: float) -> None:
    """The transistor in the coil's loop, and the reset as the supply comes up."""
    sheet.text(17.2, y - 1.7, "7  The coil's transistor", size=PLAIN)
    sheet.flag(x, y, "HOLD", side="left")
    sheet.part(resistor(plan), (x, y), (x + 2.0, y))
    sheet.label(x + 0.3, y - 0.45, ["R46 220 \u03a9"])
    sheet.line((x + 2.0, y), (x + 3.6, y))
    sheet.dot(x + 2.5, y)
    sheet.part(resistor(plan), (x + 2.5, y), (x + 2.5, y + 1.5))
    sheet.shape(symbols.zero_volts(), x + 2.5, y + 1.5)
    sheet.label(x + 2.15, y + 0.85, ["R47 4.7 k\u03a9"], align="right")
    sheet.shape(symbols.transistor(), x + 3.6, y)
    sheet.label(x + 4.7, y + 0.1, ["V1", "100 V, logic level"])
    sheet.line((x + 4.3, y + 0.6), (x + 4.3, y + 1.5))
    sheet.shape(symbols.zero_volts(), x + 4.3, y + 1.5)
    sheet.line((x + 4.3, y - 0.6), (x + 4.3, y - 1.0), (x + 5.0, y - 1.0))
    sheet.text(x + 5.1, y - 1.0, "to K1 coil (sheet 1)", size=SMALL)
    far = x + 9.2
    sheet.flag(far, y, "3V3", side="left")
    sheet.part(resistor(plan), (far, y), (far + 2.0, y))
    sheet.label(far + 0.2, y - 0.45, ["R48 100 k\u03a9"])
    sheet.line((far + 2.0, y), (far + 2.9, y))
    sheet.dot(far + 2.4, y)
    sheet.flag(far + 2.9, y, "POR", side="right")
    sheet.part(symbols.Capacitor(), (far + 2.4, y), (far + 2.4, y + 1.5))
    sheet.shape(symbols.zero_volts(), far + 2.4, y + 1.5)
    sheet.label(far + 2.05, y + 0.85, ["C45 1 \u00b5F"], align="right")


def _words(sheet: Sheet, x: float, y: float) -> None:
    """Chips, their supply, what to measure."""
    fast, slow, hold = (1000 * seconds(stage) for stage in ("fast", "slow", "hold"))
    for ref in ("U12", "U13", "U15"):
        sheet.designators.add(ref)
    sheet.note(
        x,
        y,
        [
            "U11 74HC86, U12 and U15 74HC4538, U13 74HC08, U14 74HC4017; pins from memory: compare.",
            "Each chip: 3V3 at its highest pin number, 0V at half of it, 0.1 \u00b5F between (C51 to C55).",
            "Inputs of parts that are not used go to 0V, and the spare half of U15 stays reset.",
            f"Measure: {fast:.0f} ms (60 to 90), {slow:.0f} and {hold:.0f} ms (600 to 720). Film capacitors.",
            "Let the alive line stop high, stop low and race: the coil must let go within 720 ms each time.",
        ],
    )
    sheet.designators |= {f"C5{i}" for i in range(1, 6)}
