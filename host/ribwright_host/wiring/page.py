"""The files a rig's wiring is told in: drawings, one page to print, a parts list for a spreadsheet."""

import csv
import io
import tomllib
from dataclasses import fields
from pathlib import Path
from typing import Any

from ribwright_host.board_pins import SOURCE, rails
from ribwright_host.inline import TEMPLATES, inline_svg, page_templates
from ribwright_host.writing import unwritable

from . import frame
from .design import Plan, Site
from .draw_alive import alive_detector
from .draw_low_voltage import low_voltage
from .draw_mains import mains
from .draw_panel import has_panel, panel
from .parts import parts
from .sheet import Sheet

WORDS: dict[str, Any] = tomllib.loads((TEMPLATES / "wiring_words.toml").read_text(encoding="utf-8"))
PAGE, PARTS, PINS = "wiring.html", "parts.csv", "pins.csv"
_SITE_WORDS = {
    "practice": "symbols and sizes",
    "breaker_a": "breaker, A",
    "label_volts": "blankets labelled for, V",
    "blanket_c": "blankets rated, \u00b0C",
    "cord_m": "cord, m",
    "lead_m": "each lead, m",
    "shop_c": "air of the shop, \u00b0C",
    "box_c": "air in the enclosure, \u00b0C",
    "lead_c": "hottest place of a lead, \u00b0C",
}
_OF_BLANKETS = ("label_volts", "blanket_c", "lead_m", "box_c", "lead_c")


def drawings(plan: Plan, date: str) -> dict[str, Sheet]:
    """File name without ending and sheet of every drawing; no alive detector where nothing heats, no panel
    where there is nothing beside its buttons.

    plan: of the rig. date: for the title blocks.
    """
    sheets = {"mains": mains(plan, date), "low_voltage": low_voltage(plan, date)}
    if plan.heated:
        sheets["alive_detector"] = alive_detector(plan, date)
    if has_panel(plan):
        sheets["panel"] = panel(plan, date)
    return sheets


def site_words(plan: Plan) -> str:
    """What the rig file does not hold, in words.

    plan: of the rig.
    """
    chosen: Site = plan.site
    found = []
    for one in fields(chosen):
        if not plan.heated and one.name in _OF_BLANKETS:
            continue
        value = getattr(chosen, one.name)
        if one.name == "practice":
            value = "North American" if plan.american else "IEC"
        elif one.name == "breaker_a":
            value = plan.breaker_a
        elif one.name == "label_volts":
            value = value or plan.volts
        shown = f"{value:g}" if isinstance(value, float) else value
        found.append(f"{_SITE_WORDS[one.name]} {shown}")
    return "; ".join(found)


def page(plan: Plan, date: str, sheets: dict[str, Sheet]) -> str:
    """The page as HTML that needs nothing else.

    plan: of the rig. date: of the drawing. sheets: as drawings() gives them.
    """
    pages = page_templates()
    pictures = [
        (
            sheet.title,
            inline_svg(sheet.svg(), f"{sheet.title} of {plan.rig.name}; its parts stand in the list"),
        )
        for sheet in sheets.values()
    ]
    return pages.get_template("wiring.html.j2").render(
        plan=plan,
        date=date,
        supply=frame.supply_words(plan),
        site=site_words(plan),
        words=WORDS,
        drawings=pictures,
        parts=parts(plan),
        rails=rails(plan.board),
        pin_source=SOURCE[plan.board],
    )


def _table(rows: list[list[str]]) -> str:
    handle = io.StringIO()
    csv.writer(handle, lineterminator="\n").writerows(rows)
    return handle.getvalue()


def texts(plan: Plan, date: str, sheets: dict[str, Sheet]) -> dict[str, str]:
    """Name and content of every text file.

    plan: of the rig. date: of the drawing. sheets: as drawings() gives them.
    """
    found = {f"{name}.svg": sheet.svg() for name, sheet in sheets.items()}
    listed = [[" ".join(part.refs), part.part, part.rating, part.status] for part in parts(plan)]
    found[PARTS] = _table([["designators", "part", "ask for", "rests on"], *listed])
    pins = [[pin.signal, str(pin.gpio), pin.place, pin.use, pin.note] for pin in plan.pins]
    found[PINS] = _table([["signal", "gpio", "pin", "use", "mind"], *pins])
    found[PAGE] = page(plan, date, sheets)
    return found


def write(plan: Plan, date: str, folder: Path) -> list[Path]:
    """Write everything into a folder; the files, the page last.

    plan: of the rig. date: of the drawing. folder: made when absent. Raises FileError when it cannot be
    written.
    """
    sheets = drawings(plan, date)
    contents: dict[str, str | bytes] = {f"{name}.png": sheet.png() for name, sheet in sheets.items()}
    contents.update(texts(plan, date, sheets))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            data = content if isinstance(content, bytes) else content.encode("utf-8", "replace")
            (folder / name).write_bytes(data)
    except OSError as error:
        raise unwritable(folder, error, "choose another folder") from error
    return [folder / name for name in contents]
