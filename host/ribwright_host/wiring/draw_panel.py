"""What the panel has beside its buttons: display, knob, buzzer, with what keeps noise out of their wires."""

from . import frame, symbols
from .design import Plan
from .draw_converter import resistor
from .extent import LARGE, PLAIN, SMALL
from .sheet import Sheet

WIDE, HIGH, HIGHER = 26.0, 12.6, 14.0
# Where the three parts stand, from the left.
DISPLAY_X, KNOB_X, BUZZER_X = 3.4, 11.2, 19.4
TOP = 3.2


def has_panel(plan: Plan) -> bool:
    """Whether the rig has any of these parts.

    plan: of the rig.
    """
    return "panel" in plan.rig.mapping


def panel(plan: Plan, date: str) -> Sheet:
    """Draw the panel's parts.

    plan: of the rig. date: for the title block.
    """
    stated = plan.rig.mapping["panel"]
    sheet = Sheet("Panel")
    sheet.text(0.6, 0.75, "Panel: display, knob, buzzer", size=LARGE)
    sheet.text(0.6, 1.4, "Low voltage only. Each is optional; no relay depends on any of them.", size=PLAIN)
    if "display" in stated:
        _display(sheet, plan)
    if "knob_a" in stated:
        _knob(sheet, plan, pushes="knob_push" in stated)
    if "buzzer" in stated:
        _buzzer(sheet, plan, passive=stated.get("buzzer_type") == "passive")
    frame.close(sheet, plan, date, 4 if plan.heated else 3, WIDE, HIGHER if "knob_push" in stated else HIGH)
    return sheet


def _display(sheet: Sheet, plan: Plan) -> None:
    """A display module with its bus pulled up and its supply held."""
    x, y = DISPLAY_X, TOP
    sheet.box(x, y, x + 3.0, y + 4.4)
    sheet.label(x, y - 0.35, ["P1 display, SSD1306"])
    sheet.box(x + 0.9, y + 0.5, x + 2.7, y + 2.4)
    for inside, net, dy in (
        ("GND", "0V", 2.8),
        ("VCC", "3V3", 3.2),
        ("SCL", "SCL", 3.6),
        ("SDA", "SDA", 4.0),
    ):
        sheet.text(x + 0.12, y + dy, inside, size=SMALL)
        sheet.line((x - 1.2, y + dy), (x, y + dy))
        sheet.flag(x - 1.2, y + dy, net, side="left")
    below = y + 5.4
    for i, net in enumerate(("SDA", "SCL")):
        at = below + 1.0 * i
        sheet.flag(x - 0.4, at, "3V3", side="left")
        sheet.part(resistor(plan), (x - 0.4, at), (x + 1.6, at))
        sheet.flag(x + 1.6, at, net, side="right")
        sheet.label(x - 0.2, at - 0.42, [f"R6{i + 1} 4.7 k\u03a9"])
    at = below + 2.0
    sheet.flag(x - 0.4, at, "3V3", side="left")
    sheet.part(symbols.Capacitor(), (x - 0.4, at), (x + 1.6, at))
    sheet.flag(x + 1.6, at, "0V", side="right")
    sheet.label(x - 0.2, at - 0.42, ["C61 10 \u00b5F"])


def _knob(sheet: Sheet, plan: Plan, *, pushes: bool) -> None:
    """A rotary encoder: two contacts to 0 V, each behind a resistor and a capacitor; pushes: a third."""
    x, y = KNOB_X, TOP
    sheet.label(x, y - 0.35, ["S4 knob: two contacts, one cycle a detent"])
    contacts = (("KA", 62, 63, "A"), ("KB", 63, 64, "B"), ("KP", 64, 67, "push"))
    for i, (signal, holds, limits, word) in enumerate(contacts if pushes else contacts[:2]):
        at = y + 1.0 + 2.3 * i
        sheet.flag(x, at, signal, side="left")
        sheet.line((x, at), (x + 0.6, at))
        sheet.dot(x + 0.6, at)
        sheet.part(symbols.Capacitor(), (x + 0.6, at), (x + 0.6, at + 1.2))
        sheet.shape(symbols.zero_volts(), x + 0.6, at + 1.2)
        sheet.label(x + 0.2, at + 0.6, [f"C{holds} 10 nF"], align="right")
        sheet.line((x + 0.6, at), (x + 1.0, at))
        sheet.part(resistor(plan), (x + 1.0, at), (x + 3.0, at))
        sheet.label(x + 1.2, at - 0.42, [f"R{limits} 1 k\u03a9"])
        # A blade, which both standards have: bars would look like one more capacitor.
        sheet.part(symbols.Contact(american=False), (x + 3.0, at), (x + 4.8, at))
        sheet.flag(x + 4.8, at, "0V", side="right")
        sheet.text(x + 3.2, at - 0.55, word, size=SMALL)
    turned = ["Turns the wrong way: exchange KA and KB."]
    other = ["A push button in the knob may be wired", "beside S2, as next."]
    sheet.note(x - 1.1, y + (7.7 if pushes else 6.0), turned + ([] if pushes else other))


def _buzzer(sheet: Sheet, plan: Plan, *, passive: bool) -> None:
    """A buzzer behind a transistor; passive: it gets a tone."""
    x, y = BUZZER_X, TOP + 2.6
    sheet.label(x + 1.2, TOP - 0.35, ["P2 buzzer, " + ("passive" if passive else "active")])
    sheet.flag(x, y, "BUZ", side="left")
    sheet.part(resistor(plan), (x, y), (x + 2.0, y))
    sheet.label(x + 0.2, y - 0.45, ["R65 220 \u03a9"])
    sheet.line((x + 2.0, y), (x + 3.0, y))
    sheet.dot(x + 2.4, y)
    sheet.part(resistor(plan), (x + 2.4, y), (x + 2.4, y + 1.4))
    sheet.shape(symbols.zero_volts(), x + 2.4, y + 1.4)
    sheet.label(x + 2.0, y + 0.75, ["R66 4.7 k\u03a9"], align="right")
    sheet.shape(symbols.transistor(), x + 3.0, y)
    sheet.label(x + 3.0, y + 1.2 + 0.75, ["V6", "n-MOSFET"])
    drain = x + 3.7
    sheet.line((drain, y + 0.6), (drain, y + 1.1))
    sheet.shape(symbols.zero_volts(), drain, y + 1.1)
    sheet.line((drain, y - 0.6), (drain, y - 1.2))
    sheet.box(drain - 0.5, y - 2.0, drain + 0.5, y - 1.2)
    sheet.text(drain, y - 1.6, "P2", align="center", size=SMALL)
    sheet.line((drain, y - 2.0), (drain, y - 2.3), (drain + 1.8, y - 2.3))
    sheet.flag(drain + 1.8, y - 2.3, "5V", side="right")
    sheet.dot(drain, y - 0.9)
    sheet.line((drain, y - 0.9), (drain + 1.2, y - 0.9))
    sheet.part(symbols.Diode(), (drain + 1.2, y - 0.9), (drain + 1.2, y - 2.3))
    sheet.label(drain + 1.5, y - 1.6, ["D6"])
    words = ["D6 where the buzzer has a coil;", "a piezo disc gets 1 k\u03a9 in its place."]
    sheet.note(x - 1.2, y + 3.4, words)
