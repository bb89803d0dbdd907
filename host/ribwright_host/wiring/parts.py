"""The parts list: every designator of the drawings once, with its rating and what that rests on."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .design import Plan, ZonePlan
from .draw_alive import TIMING
from .draw_converter import KINDS, chip_of, part_name, type_of
from .facts import CHOICE, COMPUTED, MEMORY, SEEN, number

COLUMNS = ("refs", "part", "rating", "status")


@dataclass(frozen=True)
class Part:
    """One line of the list.

    refs: designators. part: what it is. rating: what to ask for. status: what that rests on, as facts.py.
    """

    refs: tuple[str, ...]
    part: str
    rating: str
    status: str

    def as_json(self) -> dict[str, Any]:
        """The same for a program."""
        return {"refs": list(self.refs), "part": self.part, "rating": self.rating, "status": self.status}


def parts(plan: Plan) -> list[Part]:
    """Every part of the rig.

    plan: of the rig.
    """
    found = [*_supply(plan), *_low_voltage(plan)]
    for zone in plan.zones:
        found += _converter(plan, zone)
    if plan.heated:
        found += _master(plan)
        for zone in plan.heated:
            found += _zone(plan, zone)
        found += _alive()
    return found + list(_panel(plan))


def _numbered(prefix: str, zone: ZonePlan) -> tuple[str, ...]:
    return (f"{prefix}{zone.number}",)


def _supply(plan: Plan) -> Iterator[Part]:
    american, volts = plan.american, plan.volts
    poles = "2 poles" if plan.two_hot else "1 pole"
    yield Part(
        ("Q0",), "breaker of the branch, in the building", f"{number(plan.breaker_a)} A, {poles}", CHOICE
    )
    if american:
        yield Part(("F0",), "GFCI", "class A, 5 mA, for this voltage and both poles", SEEN)
    else:
        yield Part(("F0",), "RCD", "30 mA, type A at least, 2 poles", SEEN)
    amps = next(size for size in (10.0, 13.0, 15.0, 16.0, 20.0, 32.0) if size >= min(plan.breaker_a, 32.0))
    yield Part(
        ("X0", "X1"), "receptacle and plug with earth", f"{amps:g} A, {volts:g} V, not re-used", CHOICE
    )
    kind = (
        "hard-service cord, 60 \u00b0C or better" if american else "rubber or PVC cord, 60 \u00b0C or better"
    )
    yield Part(("W1",), kind, f"3 x {plan.cord.name}, {plan.site.cord_m:g} m, with strain relief", SEEN)
    yield Part(("X2",), "terminals where the cord comes in", f"{number(plan.breaker_a)} A or more", CHOICE)
    yield Part(("X5",), "protective earth bar", "a screw for every bond, marked", CHOICE)
    yield Part(("F1",), "fuse and holder of the control supply", f"2 A time-lag, {volts:g} V or more", CHOICE)
    text = f"24 V DC, {plan.supply_w:g} W or more, reinforced insulation, output for PELV"
    yield Part(("T1",), "control supply, isolated", text, CHOICE)


def _low_voltage(plan: Plan) -> Iterator[Part]:
    names = {"pico": "Raspberry Pi Pico", "pico2": "Raspberry Pi Pico 2", "esp32": "ESP32 development board"}
    yield Part(("A1",), "board", names[plan.board], CHOICE)
    yield Part(("T2",), "converter 24 V to 5 V", "5 V, 1 A", CHOICE)
    yield Part(("D2",), "Schottky diode", "1 A, 20 V or more", MEMORY)
    yield Part(("S1", "S2", "S3"), "push buttons, open at rest", "gold contacts; one may be a pedal", CHOICE)
    yield Part(("R1",), "pull-up of the data line", "10 k\u03a9", CHOICE)


def _converter(plan: Plan, zone: ZonePlan) -> Iterator[Part]:
    chip, kind = chip_of(plan, zone), type_of(plan, zone)
    made = KINDS[chip]
    yield Part(
        _numbered("U", zone), f"converter, {zone.name}", f"{part_name(chip, kind)} on a small card", SEEN
    )
    yield Part(_numbered("B", zone), f"thermocouple, {zone.name}", f"type {kind}, insulated junction", SEEN)
    if made.twice:
        refs = (*_numbered("C1", zone), *_numbered("C3", zone))
        yield Part(refs, "capacitors, one at each supply pin", "0.1 \u00b5F ceramic", MEMORY)
    else:
        yield Part(_numbered("C1", zone), "capacitor at its supply", "0.1 \u00b5F ceramic", SEEN)
    yield Part(
        _numbered("C2", zone),
        "capacitor across the thermocouple",
        f"{made.across} ceramic",
        made.across_status,
    )
    yield Part(_numbered("R2", zone), "pull-up of its select", "10 k\u03a9", CHOICE)


def _master(plan: Plan) -> Iterator[Part]:
    text = f"{number(plan.contactor_a)} A AC-1, 2 poles or more, coil 24 V DC, 12 W or less"
    yield Part(("K1",), "master contactor", text, COMPUTED)
    yield Part(("D1",), "suppressor across its coil", "33 V, both directions, 600 W peak", MEMORY)
    yield Part(("S0",), "emergency stop, latching", "direct opening contact, red on yellow", SEEN)
    yield Part(("R2",), "pull-down of the alive line", "4.7 k\u03a9", CHOICE)
    if plan.feedback:
        yield Part(("F2",), "fuse of the feedback", f"1 A time-lag, {plan.volts:g} V or more", CHOICE)
        text = f"coil {plan.volts:g} V AC, gold contact, reinforced insulation"
        yield Part(("K2",), "feedback relay", text, CHOICE)


def _zone(plan: Plan, zone: ZonePlan) -> Iterator[Part]:
    n, values = zone.number, plan.rig.mapping["zones"][zone.number - 1]
    volts = plan.site.label_volts or plan.volts
    text = f"{values['power_w']:g} W, {volts:g} V, {values['length_mm']:g} x {values['width_mm']:g} mm"
    leads = f"leads {zone.lead.name} or thicker, {zone.insulation}"
    yield Part(
        (f"E{n}",),
        f"blanket, {zone.name}",
        f"{text}, rated {plan.site.blanket_c:g} \u00b0C; {leads}",
        COMPUTED,
    )
    refs = (f"F1{n}", f"F3{n}") if plan.two_hot else (f"F1{n}",)
    what = "fuses and holders" if plan.two_hot else "fuse and holder"
    text = f"{number(zone.fuse_a)} A time-lag or gG, ceramic, {plan.volts:g} V or more"
    yield Part(refs, f"{what}, {zone.name}", text, COMPUTED)
    text = f"{zone.cut_off_c:g} \u00b0C, +0 / \u221210 \u00b0C, {number(zone.fuse_a)} A or more, crimped"
    yield Part((f"F2{n}",), f"cut-off, {zone.name}: one-shot, or reset by hand", text, SEEN)
    terminal = f"terminals, {zone.name}: two, ceramic where warm"
    yield Part((f"X3:{n}a", f"X3:{n}b"), terminal, f"{number(zone.fuse_a)} A or more", CHOICE)
    if zone.mechanical:
        text = f"{number(zone.relay_a)} A resistive, coil 24 V DC, 2 W or less"
        yield Part((f"K1{n}",), f"zone relay, {zone.name}", text, COMPUTED)
        yield Part((f"D3{n}",), "diode across its coil", "1 A, 100 V", MEMORY)
    else:
        load_v = 240 if plan.volts <= 150 else 480
        text = (
            f"zero-cross, {number(zone.relay_a)} A or more, {load_v} V class, input 24 V, 0.5 W or less; "
            f"heat-sink {number(zone.sink_k_w)} K/W or less"
        )
        yield Part((f"K1{n}",), f"solid-state relay, {zone.name}", text, COMPUTED)
    yield Part((f"V1{n}",), "driver", "n-MOSFET, 60 V, 1 A, fully on at 2.5 V", CHOICE)
    yield Part((f"R1{n}",), "gate resistor", "220 \u03a9", CHOICE)
    yield Part((f"R3{n}",), "pull-down", "4.7 k\u03a9; an RP2350 asks for 8.2 k\u03a9 or less", SEEN)


def _panel(plan: Plan) -> Iterator[Part]:
    stated = plan.rig.mapping.get("panel", {})
    if "display" in stated:
        text = "128 x 64 dots, SSD1306 or SSD1309, I2C, 3.3 V; 2.42 inch reads from 2 m"
        yield Part(("P1",), "display", text, MEMORY)
        yield Part(
            ("R61", "R62"), "pull-ups of its bus", "4.7 k\u03a9; not where the module has them", CHOICE
        )
        yield Part(("C61",), "capacitor at its supply", "10 \u00b5F, 6.3 V or more", CHOICE)
    if "knob_a" in stated:
        yield Part(("S4",), "knob, rotary encoder", "two contacts, one cycle a detent, 24 detents", CHOICE)
        yield Part(("R63", "R64"), "resistors in its wires", "1 k\u03a9", CHOICE)
        yield Part(("C62", "C63"), "capacitors of its contacts", "10 nF ceramic", CHOICE)
    if "knob_push" in stated:
        yield Part(("R67",), "resistor in the wire of its push switch", "1 k\u03a9", CHOICE)
        yield Part(("C64",), "capacitor of its push switch", "10 nF ceramic", CHOICE)
    if "buzzer" in stated:
        kind = "passive, 2.7 kHz" if stated.get("buzzer_type") == "passive" else "active"
        yield Part(("P2",), "buzzer", f"{kind}, 5 V, 30 mA or less", CHOICE)
        yield Part(("R65",), "gate resistor", "220 \u03a9", CHOICE)
        yield Part(("R66",), "pull-down", "4.7 k\u03a9", CHOICE)
        yield Part(("V6",), "transistor of the buzzer", "n-MOSFET, 30 V, fully on at 2.5 V", CHOICE)
        yield Part(("D6",), "diode across the buzzer", "100 V, 100 mA", CHOICE)


def _alive() -> Iterator[Part]:
    yield Part(("A2",), "alive detector card", "sheet 3, made of:", CHOICE)
    chips = ("74HC86", "74HC4538", "74HC08", "74HC4017", "74HC4538")
    for i, chip in enumerate(chips):
        yield Part((f"U1{i + 1}",), "logic", chip, MEMORY)
    for i, stage in enumerate(("fast", "slow", "hold"), 2):
        ohm, farad = TIMING[stage]
        yield Part((f"R4{i}",), "timing", f"{ohm / 1e3:g} k\u03a9, 1 %", COMPUTED)
        yield Part((f"C4{i}",), "timing", f"{farad * 1e6:g} \u00b5F film, 5 %", COMPUTED)
    yield Part(("R41", "R45"), "resistors", "10 k\u03a9", CHOICE)
    yield Part(("R46",), "gate resistor", "220 \u03a9", CHOICE)
    yield Part(("R47",), "pull-down", "4.7 k\u03a9", CHOICE)
    yield Part(("R48",), "reset", "100 k\u03a9", CHOICE)
    yield Part(("C41",), "edge", "1 nF", CHOICE)
    yield Part(("C45",), "reset", "1 \u00b5F", CHOICE)
    yield Part(tuple(f"C5{i}" for i in range(1, 6)), "at each chip", "0.1 \u00b5F", CHOICE)
    yield Part(("D41", "D42"), "small-signal diodes", "100 V, 100 mA", CHOICE)
    yield Part(("V1",), "transistor of the coil", "n-MOSFET, 100 V, 2 A, fully on at 2.5 V", CHOICE)
