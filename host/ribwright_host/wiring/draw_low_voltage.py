"""The low-voltage side: board, converters and thermocouples, panel, feedback, relay drivers, supply."""

from ribwright_host.board_pins import rails

from . import frame, symbols
from .design import Plan, ZonePlan
from .draw_converter import KINDS, chip_of, colours, converter, converters_high, ground_words, resistor
from .extent import LARGE, PLAIN, SMALL, fitted
from .pinout import BoardPin
from .sheet import Sheet

ROW = 0.8
BOARD_X0, BOARD_X1, BOARD_Y = 12.6, 16.4, 3.4
DRIVER_Y, DRIVER_PITCH = 12.9, 2.9


def low_voltage(plan: Plan, date: str) -> Sheet:
    """Draw the low-voltage side.

    plan: of the rig. date: for the title block.
    """
    sheet = Sheet("Low-voltage side")
    sheet.text(0.6, 0.75, "Low-voltage side", size=LARGE)
    sheet.text(
        0.6,
        1.4,
        "Thermocouples with insulated junctions only; mains wiring in a duct of its own.",
        size=PLAIN,
    )
    bottom = _board(sheet, plan)
    _panel(sheet, plan)
    y = 2.6
    for zone in plan.zones:
        converter(sheet, plan, zone, y)
        y += KINDS[chip_of(plan, zone)].pitch
    for i, zone in enumerate(plan.heated):
        _driver(sheet, plan, zone, DRIVER_Y + DRIVER_PITCH * i)
    _pulls(sheet, plan, max(bottom + 1.2, DRIVER_Y - 0.6))
    height = max(
        2.6 + converters_high(plan) + 2.6,
        DRIVER_Y + DRIVER_PITCH * len(plan.heated) + 2.0,
        max(bottom + 1.2, DRIVER_Y - 0.6) + 7.6,
    )
    frame.close(sheet, plan, date, 2, 32.6, height)
    return sheet


def _pin(plan: Plan, signal: str) -> BoardPin | None:
    return next((pin for pin in plan.pins if pin.signal == signal), None)


def _left_rows(plan: Plan) -> list[tuple[str, str, str]]:
    """Signal, words inside and physical pin of the left side, from the top."""
    rail = rails(plan.board)
    five = "5V" if plan.board == "esp32" else "VSYS"
    rows = [("5V", five, rail["5V"]), ("0V", "GND", rail["0V"]), ("3V3", "3V3", rail["3V3"])]
    for signal in ("START", "NEXT", "STOP", "FB"):
        pin = _pin(plan, signal)
        if pin is not None:
            rows.append((signal, f"GP{pin.gpio}", pin.place))
    return rows


def _board(sheet: Sheet, plan: Plan) -> float:
    """The board with every pin in use; the lower edge."""
    hidden = ["START", "NEXT", "STOP", "FB"]
    if not any(chip_of(plan, zone) == "MAX31856" for zone in plan.zones):
        hidden.append("MOSI")
    if not plan.heated:
        hidden.append("ALIVE")
    rights = [pin for pin in plan.pins if pin.signal not in hidden]
    lefts = _left_rows(plan)
    bottom = BOARD_Y + 1.0 + ROW * max(len(rights), len(lefts) + 2)
    sheet.box(BOARD_X0, BOARD_Y, BOARD_X1, bottom)
    prefix = "IO" if plan.board == "esp32" else "GP"
    names = {"pico": "Pico", "pico2": "Pico 2", "esp32": "ESP32"}
    sheet.label((BOARD_X0 + BOARD_X1) / 2, BOARD_Y - 0.35, [f"A1 {names[plan.board]} board"], align="center")
    for i, pin in enumerate(rights):
        y = BOARD_Y + 0.7 + ROW * i
        sheet.text(BOARD_X1 - 0.15, y, f"{prefix}{pin.gpio}", align="right", size=SMALL)
        sheet.text(BOARD_X1 + 0.15, y - 0.2, pin.place, size=SMALL)
        sheet.line((BOARD_X1, y), (BOARD_X1 + 1.4, y))
        sheet.flag(BOARD_X1 + 1.4, y, pin.signal, side="right")
    for i, (_, inside, place) in enumerate(lefts):
        y = BOARD_Y + 0.7 + ROW * (i if i < 3 else i + 1)
        sheet.text(BOARD_X0 + 0.15, y, inside.replace("GP", prefix) if i > 2 else inside, size=SMALL)
        sheet.text(BOARD_X0 - 0.15, y - 0.2, place, align="right", size=SMALL)
    return bottom


def _panel(sheet: Sheet, plan: Plan) -> None:
    """What hangs on the board's left side: supply, buttons, feedback."""
    y = BOARD_Y + 0.7
    # 24 V to 5 V, through a diode so that the board may also be fed by its USB port.
    sheet.box(3.6, y - 0.6, 6.2, y + ROW + 0.4)
    sheet.label(3.6, y - 0.95, ["T2 24 V to 5 V, 1 A"])
    sheet.text(4.9, y + 0.3, "DC / DC", align="center", size=SMALL)
    sheet.line((2.6, y), (3.6, y))
    sheet.flag(2.6, y, "24V", side="left")
    sheet.line((2.6, y + ROW), (3.6, y + ROW))
    sheet.flag(2.6, y + ROW, "0V", side="left")
    sheet.line((6.2, y), (7.0, y))
    sheet.part(symbols.Diode(), (7.0, y), (9.0, y))
    sheet.label(7.3, y - 0.5, ["D2 Schottky, 1 A"])
    sheet.line((9.0, y), (BOARD_X0, y))
    sheet.line((6.2, y + ROW), (BOARD_X0, y + ROW))
    sheet.line((BOARD_X0 - 1.2, y + 2 * ROW), (BOARD_X0, y + 2 * ROW))
    sheet.flag(BOARD_X0 - 1.2, y + 2 * ROW, "3V3", side="left")
    words = {
        "START": ("S1", "start"),
        "NEXT": ("S2", "next"),
        "STOP": ("S3", "stop"),
        "FB": ("K2", "feedback"),
    }
    row = 4
    for signal, (ref, word) in words.items():
        if _pin(plan, signal) is None:
            continue
        at = BOARD_Y + 0.7 + ROW * row
        row += 1
        switch = (
            symbols.Contact(american=plan.american)
            if signal == "FB"
            else symbols.Button(american=plan.american)
        )
        sheet.line((BOARD_X0, at), (9.4, at))
        sheet.text(9.5, at - 0.2, signal, size=SMALL)
        sheet.part(switch, (9.4, at), (7.6, at))
        sheet.line((7.6, at), (6.6, at))
        sheet.flag(6.6, at, "0V", side="left")
        sheet.label(5.4, at, [f"{ref} {word}"], align="right")


def _driver(sheet: Sheet, plan: Plan, zone: ZonePlan, y: float) -> None:
    """One low-side driver: gate resistor, pull-down, transistor, and the relay's input; y: of the gate."""
    n = zone.number
    sheet.flag(2.0, y, f"DRV{n}", side="left")
    sheet.line((2.0, y), (2.2, y))
    sheet.part(resistor(plan), (2.2, y), (4.2, y))
    sheet.label(2.5, y - 0.45, [f"R1{n} 220 \u03a9"])
    sheet.line((4.2, y), (5.8, y))
    sheet.dot(4.8, y)
    sheet.part(resistor(plan), (4.8, y), (4.8, y + 1.4))
    sheet.label(4.4, y + 0.75, [f"R3{n} 4.7 k\u03a9"], align="right")
    sheet.shape(symbols.zero_volts(), 4.8, y + 1.4)
    sheet.shape(symbols.transistor(), 5.8, y)
    sheet.label(6.9, y + 0.1, [f"V1{n}", "logic-level n-MOSFET"])
    sheet.line((6.5, y + 0.6), (6.5, y + 1.4))
    sheet.shape(symbols.zero_volts(), 6.5, y + 1.4)
    sheet.line((6.5, y - 0.6), (6.5, y - 1.0), (7.6, y - 1.0))
    if not zone.mechanical:
        sheet.flag(7.6, y - 1.0, f"K1{n}\u2212", side="right")
        sheet.text(9.0, y - 1.0, f"to K1{n}, {fitted(zone.name, 2.4, SMALL)}", size=SMALL)
        return
    sheet.part(symbols.Coil(american=plan.american), (7.6, y - 1.0), (9.2, y - 1.0))
    sheet.line((9.2, y - 1.0), (9.8, y - 1.0))
    sheet.flag(9.8, y - 1.0, "24V", side="right")
    sheet.line((7.6, y - 1.0), (7.6, y - 1.85))
    sheet.line((9.2, y - 1.0), (9.2, y - 1.85))
    sheet.dot(7.6, y - 1.0)
    sheet.dot(9.2, y - 1.0)
    sheet.part(symbols.Diode(), (7.6, y - 1.85), (9.2, y - 1.85))
    sheet.label(9.45, y - 1.75, [f"D3{n}"])
    sheet.label(10.85, y - 1.15, [f"K1{n} coil", fitted(zone.name, 1.6, SMALL)])


def _pulls(sheet: Sheet, plan: Plan, y: float) -> None:
    """Pull-up of the shared data line, pull-down of the alive line, and notes."""
    x = 14.9
    told = [chip_of(plan, zone) == "MAX31856" for zone in plan.zones]
    driver = ", R3 ... at the driver" if plan.heated else ""
    sheet.flag(x, y, "3V3", side="left")
    sheet.part(resistor(plan), (x, y), (x + 2.0, y))
    sheet.flag(x + 2.0, y, "MISO", side="right")
    sheet.label(x + 0.2, y - 0.45, ["R1 10 k\u03a9"])
    if plan.heated:
        sheet.flag(x, y + 1.2, "0V", side="left")
        sheet.part(resistor(plan), (x, y + 1.2), (x + 2.0, y + 1.2))
        sheet.flag(x + 2.0, y + 1.2, "ALIVE", side="right")
        sheet.label(x + 0.2, y + 0.75, ["R2 4.7 k\u03a9"])
    sheet.note(
        x - 1.1,
        y + 2.2,
        [
            "Outside a box: pin numbers; inside: printed names.",
            "Flags of one name are one wire. C1 ..., C2 ...,",
            f"{'C3 ..., ' if any(told) else ''}R2 ... sit at the converter{driver}.",
            *(["MAX31856: pins 6, 7 and 13 stay open (from memory)."] if any(told) else []),
            *colours(plan),
            ground_words(plan),
        ],
    )
