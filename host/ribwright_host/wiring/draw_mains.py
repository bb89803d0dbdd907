"""The mains side: supply, master contactor, a column for every blanket, the coil's loop, protective earth."""

from . import frame, symbols
from .design import Plan, ZonePlan
from .extent import LARGE, PLAIN, SMALL, fitted
from .facts import number
from .sheet import Sheet
from .svg import THICK

L, N, PE = 4.0, 5.4, 6.8
TAIL = 16.9  # below the lower terminals of the blankets
PITCH = 4.5


def rail(plan: Plan) -> float:
    """Height of the return conductor; lower where its own pole is live and needs fuses.

    plan: of the rig.
    """
    return TAIL + (2.6 if plan.two_hot else 0.5)


def mains(plan: Plan, date: str) -> Sheet:
    """Draw the mains side.

    plan: of the rig. date: for the title block.
    """
    sheet = Sheet("Mains side")
    zones = plan.heated
    first_x = 17.2 + (3.6 if plan.feedback else 0.0)
    width = max(28.5, first_x + PITCH * len(zones) - 0.4)
    sheet.text(0.6, 0.75, "Mains side", size=LARGE)
    leaks = ": a solid-state relay that is off still leaks" if zones else ""
    sheet.text(0.6, 1.4, f"Unplug before touching any wire{leaks}.", size=PLAIN)
    _supply(sheet, plan)
    _control_supply(sheet, plan)
    if zones:
        _coil_loop(sheet, plan)
        _contactor(sheet, plan)
        end_x = first_x + PITCH * (len(zones) - 1)
        sheet.line((14.4, L), (end_x, L))
        sheet.text(15.0, L - 0.25, "3", size=SMALL)
        sheet.line((15.0, N), (15.0, rail(plan)), (end_x, rail(plan)))
        sheet.text(15.15, N + 0.6, "4", size=SMALL)
        if plan.feedback:
            _feedback(sheet, plan, 16.6)
        for i, zone in enumerate(zones):
            last = i == len(zones) - 1
            _zone(sheet, plan, zone, first_x + PITCH * i, last=last)
        sheet.box(first_x - 1.35, 11.0, end_x + 3.4, 16.2, dashed=True)
        sheet.text(end_x + 3.4, 16.45, "in the stack, outside the box", align="right", size=SMALL)
    else:
        for x, name in ((10.4, "24V"), (11.5, "0V")):
            sheet.line((x, 10.9), (x, 11.9), (x + 0.2, 11.9))
            sheet.flag(x + 0.2, 11.9, name, side="right")
        words = ["No zone of this rig has a relay: it only watches.", "There is no heat to wire."]
        sheet.note(15.0, L, words, size=PLAIN)
    _bonds(sheet, plan, 15.0, width - 0.8)
    _colours(sheet, plan)
    frame.close(sheet, plan, date, 1, width, rail(plan) + 5.8)
    return sheet


def live_words(plan: Plan) -> tuple[str, str]:
    """Names of the two supply conductors.

    plan: of the rig.
    """
    return ("L1", "L2") if plan.two_hot else ("L", "N")


def _supply(sheet: Sheet, plan: Plan) -> None:
    american = plan.american
    sheet.box(0.7, 2.6, 5.9, 8.6, dashed=True)
    sheet.text(0.9, 8.2, "building wiring", size=SMALL)
    for y, name in zip((L, N, PE), (*live_words(plan), "PE"), strict=True):
        sheet.text(1.5, y, name, align="right")
    sheet.part(symbols.Breaker(american=american), (1.6, L), (3.2, L))
    if plan.two_hot:
        sheet.part(symbols.Breaker(american=american), (1.6, N), (3.2, N))
        sheet.line((2.4, L + 0.1), (2.4, N - 0.4), dashed=True)
    else:
        sheet.line((1.6, N), (3.2, N))
    sheet.label(1.6, 3.0, [f"Q0 {number(plan.breaker_a)} A"])
    sheet.box(3.4, 3.4, 4.8, 6.0)
    for y in (L, N):
        sheet.line((3.2, y), (5.4, y))
    sheet.line((1.6, PE), (5.4, PE))
    sheet.text(4.1, L + 0.7, "5 mA" if american else "30 mA", align="center", size=SMALL)
    sheet.label(1.6, 7.4, ["F0 GFCI, class A" if american else "F0 RCD, type A, 30 mA"])
    for y in (L, N, PE):
        sheet.shape(symbols.Shape([(0.24, 0.2), (0.1, 0.14), (0.02, 0), (0.1, -0.14), (0.24, -0.2)]), 5.4, y)
        sheet.shape(symbols.Shape(filled=[[(0, 0.07), (0.3, 0.07), (0.3, -0.07), (0, -0.07)]]), 5.55, y)
        sheet.line((5.85, y), (8.5, y))
        sheet.terminal(8.6, y)
    sheet.label(4.8, 3.0, ["X0"])
    sheet.label(6.1, 3.0, ["X1 plug"])
    cord = [f"W1 3 x {plan.cord.name}", f"{plan.site.cord_m:g} m cord"]
    sheet.label(6.1, L + 0.55, cord)
    sheet.label(8.2, 3.0, ["X2"])
    sheet.line((8.7, PE), (9.4, PE))
    sheet.dot(9.4, PE)
    sheet.line((9.4, PE), (9.4, PE + 0.35))
    sheet.shape(symbols.protective_earth(), 9.4, PE + 0.35)
    sheet.text(8.9, 8.1, "to X5", align="right", size=SMALL)
    sheet.line((8.7, L), (12.4 if plan.heated else 10.4, L))
    sheet.line((8.7, N), (12.4 if plan.heated else 11.5, N))
    sheet.text(9.1, L - 0.25, "1", size=SMALL)
    sheet.text(9.1, N - 0.25, "2", size=SMALL)


def _control_supply(sheet: Sheet, plan: Plan) -> None:
    """Isolated supply, fed before the contactor: fuse, box, outputs."""
    left, right = 10.4, 11.5
    if plan.heated:
        sheet.dot(left, L)
        sheet.dot(right, N)
    sheet.line((right, N), (right, 9.4))
    sheet.part(symbols.fuse(american=plan.american), (left, L), (left, 9.4))
    sheet.label(left - 0.35, 6.0, ["F1", "2 A"], align="right")
    sheet.text(left + 0.32, 9.1, "5", size=SMALL)
    sheet.box(9.9, 9.4, 12.0, 10.9)
    sheet.line((9.9, 10.9), (12.0, 9.4))
    sheet.text(10.1, 9.65, "~", size=PLAIN)
    sheet.text(11.75, 10.65, "=", align="right", size=PLAIN)
    sheet.label(12.2, 9.6, ["T1 24 V DC", f"isolated, {plan.supply_w:g} W", "or more"])


def _coil_loop(sheet: Sheet, plan: Plan) -> None:
    """24 V through the emergency stop, the coil and the alive detector back to 0 V."""
    y, top = 14.4, 12.0
    sheet.line((10.4, 10.9), (10.4, top), (1.2, top), (1.2, y), (1.6, y))
    sheet.text(10.55, 11.3, "24V", size=SMALL)
    sheet.line((11.5, 10.9), (11.5, y), (9.4, y))
    sheet.text(11.65, 11.3, "0V", size=SMALL)
    sheet.dot(11.5, y)
    sheet.line((11.5, y), (11.5, y + 0.6))
    sheet.shape(symbols.protective_earth(), 11.5, y + 0.6)
    sheet.text(12.05, y + 1.1, "0V bonded", size=SMALL)
    sheet.text(12.05, y + 1.42, "at X5, once", size=SMALL)
    sheet.text(0.9, 11.6, "Coil loop, 24 V DC", size=PLAIN)
    stop = symbols.Stop(american=plan.american)
    stop.flip()
    sheet.part(stop, (1.6, y), (3.6, y))
    sheet.label(1.7, y - 1.55, ["S0 emergency stop"])
    sheet.line((3.6, y), (4.3, y))
    sheet.text(3.85, y - 0.25, "24E", align="center", size=SMALL)
    sheet.part(symbols.Coil(american=plan.american), (4.3, y), (6.1, y))
    sheet.label(4.9, y - 1.55, ["K1 coil"])
    sheet.dot(4.3, y)
    sheet.dot(6.1, y)
    sheet.line((4.3, y), (4.3, y + 1.3))
    sheet.line((6.1, y), (6.1, y + 1.3))
    sheet.part(symbols.Suppressor(), (6.1, y + 1.3), (4.3, y + 1.3))
    sheet.label(4.2, y + 1.95, ["D1 suppressor, both ways, 33 V"])
    sheet.line((6.1, y), (7.0, y))
    sheet.box(7.0, y - 0.7, 9.4, y + 0.7)
    sheet.label(7.2, y - 0.35, ["A2"])
    sheet.text(7.2, y + 0.02, "alive detector", size=SMALL)
    sheet.text(7.2, y + 0.36, "sheet 3", size=SMALL)
    sheet.line((8.2, y + 0.7), (8.2, y + 1.3), (8.5, y + 1.3))
    sheet.flag(8.5, y + 1.3, "ALIVE", side="right")


def _contactor(sheet: Sheet, plan: Plan) -> None:
    for y in (L, N):
        sheet.part(symbols.MainContact(american=plan.american), (12.4, y), (14.4, y))
    sheet.line((14.4, N), (15.0, N))
    sheet.line((13.4, L + 0.35), (13.4, N - 0.4), dashed=True)
    sheet.label(12.8, 3.0, [f"K1 {number(plan.contactor_a)} A AC-1"])
    sheet.text(12.8, 2.6, "master contactor", size=SMALL)


def _feedback(sheet: Sheet, plan: Plan, x: float) -> None:
    sheet.dot(x, L)
    sheet.part(symbols.fuse(american=plan.american), (x, L), (x, 7.4))
    sheet.label(x + 0.45, 5.5, ["F2", "1 A"])
    sheet.line((x, 7.4), (x, 8.0))
    sheet.text(x + 0.32, 7.5, "6", size=SMALL)
    sheet.part(symbols.Coil(american=plan.american), (x, 8.0), (x, 10.0))
    sheet.line((x, 10.0), (x, rail(plan)))
    sheet.dot(x, rail(plan))
    sheet.label(x + 0.65, 8.75, ["K2", f"{plan.volts:g} V coil", "feedback"])


def _zone(sheet: Sheet, plan: Plan, zone: ZonePlan, x: float, *, last: bool) -> None:
    """One blanket: fuse, switch, terminals, cut-off, blanket."""
    n, american = zone.number, plan.american
    if not last:
        sheet.dot(x, L)
        sheet.dot(x, rail(plan))
    sheet.text(x + 0.45, L + 0.5, fitted(zone.name, 3.2), size=PLAIN)
    sheet.part(symbols.fuse(american=american), (x, L), (x, 7.2))
    sheet.label(
        x + 0.45,
        5.45,
        [
            f"F1{n}",
            f"{number(zone.fuse_a)} A time-lag"
            if american
            else f"{number(zone.fuse_a)} A {_lag(zone.fuse_a)}",
        ],
    )
    sheet.text(x + 0.32, 6.9, f"{n}1", size=SMALL)
    _switch(sheet, plan, zone, x)
    sheet.text(x + 0.32, 9.95, f"{n}2", size=SMALL)
    sheet.line((x, 9.4), (x, 10.4))
    sheet.terminal(x, 10.5)
    sheet.label(x + 0.25, 10.5, [f"X3:{n}a"])
    sheet.line((x, 10.6), (x, 11.3))
    sheet.part(symbols.CutOff(american=american), (x, 11.3), (x, 13.3))
    sheet.label(x + 0.45, 12.0, [f"F2{n}", f"{zone.cut_off_c:g} \u00b0C", "one-shot"])
    sheet.text(x + 0.32, 13.5, f"{n}3", size=SMALL)
    sheet.part(symbols.heater(american=american), (x, 13.3), (x, 15.9))
    volts = plan.site.label_volts or plan.volts
    power = plan.rig.mapping["zones"][n - 1]["power_w"]
    sheet.label(
        x + 0.45, 14.2, [f"E{n}", f"{power:g} W, {volts:g} V", f"{number(zone.amperes)} A", zone.lead.name]
    )
    sheet.line((x, 15.9), (x, 16.7))
    sheet.terminal(x, 16.8)
    sheet.label(x + 0.25, TAIL - 0.1, [f"X3:{n}b"])
    if plan.two_hot:
        sheet.part(symbols.fuse(american=american), (x, TAIL + 0.1), (x, rail(plan)))
        sheet.line((x, TAIL), (x, TAIL + 0.1))
        sheet.label(x + 0.45, TAIL + 1.1, [f"F3{n}", f"{number(zone.fuse_a)} A time-lag"])
    else:
        sheet.line((x, TAIL), (x, rail(plan)))


def _lag(fuse_a: float) -> str:
    return "T" if fuse_a <= 10 else "gG"


def _switch(sheet: Sheet, plan: Plan, zone: ZonePlan, x: float) -> None:
    n = zone.number
    sheet.line((x, 7.2), (x, 7.4))
    if zone.mechanical:
        sheet.part(symbols.Contact(american=plan.american), (x, 7.4), (x, 9.4))
        sheet.label(x + 0.45, 8.2, [f"K1{n}", f"{number(zone.relay_a)} A relay", "coil: sheet 2"])
        return
    sheet.part(symbols.SolidState(), (x, 7.4), (x, 9.4))
    sheet.label(
        x + 0.75,
        8.05,
        [f"K1{n}", f"{number(zone.relay_a)} A zero-cross", f"sink \u2264 {number(zone.sink_k_w)} K/W"],
    )
    for y, name in ((8.1, "24V"), (8.7, f"K1{n}\u2212")):
        sheet.line((x - 0.55, y), (x - 0.75, y))
        sheet.flag(x - 0.75, y, name, side="left")


def _bonds(sheet: Sheet, plan: Plan, x0: float, x1: float) -> None:
    """The bar of protective earth and everything that is bonded to it."""
    bar = rail(plan) + 1.8
    sheet.line((x0, bar), (x1, bar), lw=THICK)
    sheet.shape(symbols.protective_earth(), x0, bar)
    sheet.label(x0, bar - 0.35, ["X5 protective earth bar"])
    parts = ("W1 cord", "enclosure, door", "form, press", "slats: fixed lug", "0V, once")
    step = (x1 - x0 - 1.2) / len(parts)
    for i, part in enumerate(parts):
        x = x0 + 1.1 + step * i
        sheet.dot(x, bar)
        sheet.line((x, bar), (x, bar + 0.5))
        sheet.text(x, bar + 0.75, part, align="center", size=SMALL)


def _colours(sheet: Sheet, plan: Plan) -> None:
    """Which colour each conductor has."""
    if plan.american:
        line = (
            "L1 and 1, 3, 11, 12 ...: black; L2 and 2, 4: red"
            if plan.two_hot
            else ("L and 1, 3, 11, 12 ...: black or red")
        )
        neutral = "no neutral" if plan.two_hot else "N and 2, 4: white or grey (NEC 200.6)"
        earth = "protective earth: green, green-yellow or bare (NEC 250.119)"
    else:
        line, neutral = "L and 1, 3, 11, 12 ...: brown or black", "N and 2, 4: blue (IEC 60445)"
        earth = "protective earth: green-yellow, for nothing else (IEC 60445)"
    words = [
        "Conductors",
        line,
        neutral,
        earth,
        "24V, 0V and signals: another colour, apart from mains, insulated for it",
    ]
    if plan.heated:
        words += [
            "Wire numbers stand beside the wires; 11 is after fuse F11, 12 after K11, 13 after F21.",
            "K1 breaks every live pole. F21 ... lie in the blanket's own lead and open without the board.",
        ]
    sheet.note(0.9, 17.6, words)
