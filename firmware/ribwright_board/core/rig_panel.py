"""The optional parts of a rig's panel: display, knob and buzzer; read once, on a board then let go of."""

from .checks import Table

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Callable

DISPLAYS = ("SSD1306",)
BUZZERS = ("active", "passive")
# Parts that need both of their pins.
PAIRS = (("sda", "scl"), ("knob_a", "knob_b"))


def read_panel(
    table: Table, used: list[float], read_pin: "Callable[[Table, str, list[float], bool], bool]"
) -> None:
    """See that every part of the panel has its pins, and no pin is used twice.

    table: [panel] of the rig. used: pins of the rig so far. read_pin: as core.rig reads one.
    """
    display = table.has("display")
    table.choice("display", DISPLAYS, False)
    for pair in PAIRS:
        there = [read_pin(table, key, used, False) for key in pair]
        if there[0] != there[1]:
            table.add("half", table.where + (pair[1 if there[0] else 0],), "is not stated; add its pin")
    push = read_pin(table, "knob_push", used, False)
    # Keys that belong to a part which is not there.
    bus = table.has("sda") or table.has("scl")
    if display and not bus:
        table.add("half", table.where + ("sda",), "is not stated; a display needs sda and scl")
    elif bus and not display:
        text = 'is stated without a display; add display = "SSD1306" or remove sda and scl'
        table.add("half", table.where + ("sda",), text)
    if push and not (display and table.has("knob_a")):
        missing = "a knob" if display else "a display"
        text = "is stated without %s; the list it opens needs a display and a knob: add them or remove it"
        table.add("half", table.where + ("knob_push",), text % missing)
    buzzer = read_pin(table, "buzzer", used, False)
    if table.has("buzzer_type") and not buzzer:
        table.add("half", table.where + ("buzzer",), "is not stated; add its pin or remove buzzer_type")
    table.choice("buzzer_type", BUZZERS, False)
    if not (display or buzzer or table.has("knob_a")):
        table.add("empty_panel", table.where, "names no part; add display, knob_a or buzzer, or remove it")
    table.finish()
