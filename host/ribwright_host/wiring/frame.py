"""The frame of a sheet: border, title block and the words that belong to every drawing."""

from .design import Plan
from .extent import SMALL, fitted
from .facts import number
from .sheet import Sheet
from .svg import THICK, THIN

DISCLAIMER = "Control and drawing only, not a certified design. Local code and a licensed electrician decide."
STYLES = {
    True: "Symbols: IEEE 315. Conductor colours: NEC 200.6, 250.119; local code decides.",
    False: "Symbols: IEC 60617. Conductor colours: IEC 60445; local code decides.",
}
TITLE_HIGH = 2.1
TITLE_WIDE = 13.4


def supply_words(plan: Plan) -> str:
    """The mains as the drawings say them.

    plan: of the rig.
    """
    poles = "2 poles, no neutral" if plan.two_hot else "line and neutral"
    return f"{plan.volts:g} V, {plan.rig.mapping['mains']['hertz']:g} Hz, {poles}"


def close(sheet: Sheet, plan: Plan, date: str, place: int, width: float, height: float) -> None:
    """Draw border and title block, the block in the lower right corner.

    sheet: to close. plan: of the rig. date: of the drawing. place: from 1. width, height: of the
    sheet, units.
    """
    sheet.width, sheet.height = width, height
    sheet.box(0, 0, width, height, lw=THICK)
    x0, y0 = width - TITLE_WIDE, height - TITLE_HIGH
    sheet.box(x0, y0, width, height)
    total = (3 if plan.heated else 2) + ("panel" in plan.rig.mapping)
    rows = (y0 + 0.75, y0 + 1.45)
    for y in rows:
        sheet.line((x0, y), (width, y), lw=THIN)
    split = width - 5.6
    sheet.line((split, y0), (split, rows[1]), lw=THIN)
    sheet.text(x0 + 0.25, y0 + 0.38, sheet.title, size=11)
    sheet.text(split + 0.25, y0 + 0.38, fitted(plan.rig.name, 5.2, 9), size=9)
    sheet.text(x0 + 0.25, y0 + 1.1, f"{supply_words(plan)}, {number(plan.breaker_a)} A branch", size=SMALL)
    sheet.text(split + 0.25, y0 + 1.1, f"rig {plan.rig.hash}   {date}   sheet {place} of {total}", size=SMALL)
    sheet.text(x0 + 0.25, y0 + 1.77, DISCLAIMER, size=SMALL)
    sheet.text(0.4, height - 0.35, STYLES[plan.american], size=SMALL)
