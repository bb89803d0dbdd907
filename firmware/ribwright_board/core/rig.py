"""The only parser and checker of rigs, on both sides; a board lets go of it once its rig is read."""

from .checks import Table, check_head
from .errors import CheckError, Problem
from .gains import GAIN_NAMES, gains_for
from .relay_life import window_for
from .rig_values import BLANKET_MM, OFFSET_MOST_K, SLAT_MM, Rig, Zone
from .units import FIRMWARE_CEILING_C, TARGET_MARGIN_K, c_from, in_unit, k_from, number_text
from .wood_figures import WoodFigures, read_wood

SCHEMA = 1
MAX_ZONES = 4
BOARDS = ("pico", "pico2", "esp32")
# The MAX31855 is another part for each type, the MAX31856 is told which.
CHIPS = ("MAX31855", "MAX31856", "MAX6675")
THERMOCOUPLES = ("K", "J", "T", "N")
PIN_NAMES = ("sck", "mosi", "miso", "alive", "start", "next", "stop")
# Optional: an auxiliary contact or relay that shows voltage behind the master contactor; low is closed.
FEEDBACK_PIN = "feedback"
# Of a zone whose heat comes from elsewhere: it is watched, and nothing of it is switched.
NO_RELAY = "none"
# A mechanical relay wears out by operations, so its windows are this long unless its life is stated.
MECHANICAL_WINDOW_MS = 20000
WINDOW_MS = 1000


def _read_zone(table: Table, volts: float | None, pins: list[float]) -> Zone | None:
    """One zone's table; None when a part of it is wrong."""
    before = len(table.problems)
    name = table.text("name", True, 16)
    power_w = table.number("power_w", 5, 2000, "W")
    relay = table.choice("relay", ("solid-state", "mechanical", NO_RELAY))
    chip = table.choice("chip", CHIPS)
    kind = table.choice("thermocouple", THERMOCOUPLES)
    if chip == "MAX6675" and kind not in (None, "K"):
        text = 'is "%s", a MAX6675 reads type K alone; take a MAX31856, or the MAX31855 made for type %s'
        table.add("chip_type", table.where + ("thermocouple",), text % (kind, kind))
    length_mm = table.number("length_mm", 20, 2000, "mm")
    width_mm = table.number("width_mm", 20, 400, "mm")
    response_k_per_s = table.number("response", 0.1, 20, "K/s", False)
    if relay != NO_RELAY:
        _read_pin(table, "relay_pin", pins)
    _read_pin(table, "select_pin", pins)
    advice = "lower it, the firmware's limit cannot be lifted"
    ceiling = table.temperature("ceiling", 80.0, FIRMWARE_CEILING_C, False, advice)
    life_ms = window_for(table, relay)
    gains: dict[str, float] = {}
    if table.has("gains"):
        found = Table(table.take("gains"), table.where + ("gains",), table.problems, table.unit)
        for key in GAIN_NAMES:
            # The law divides by what these two make.
            value = found.number(key, 0.01 if key in ("c_gain", "c_integral") else 0.0, 100.0, "")
            if value is not None:
                gains[key] = value
        found.text("for_rig", True, 16)
        found.text("tuned_by", True, 80)
        found.finish()
    wood = WoodFigures()
    if table.has("wood"):
        read_wood(Table(table.take("wood"), table.where + ("wood",), table.problems, table.unit), wood)
    offset_k = _read_offset(table)
    table.finish()
    if len(table.problems) > before or name is None or power_w is None or volts is None:
        return None
    ceiling_c = FIRMWARE_CEILING_C if ceiling is None else c_from(ceiling, table.unit)
    current_a = power_w / volts
    zone = Zone(name, power_w, current_a, ceiling_c, gains)
    zone.length_mm = length_mm or 0.0
    zone.width_mm = width_mm or 0.0
    zone.response_k_per_s = response_k_per_s
    zone.shortest_ms = life_ms
    zone.offset_k = offset_k
    zone.mechanical = relay == "mechanical"
    zone.watched = relay == NO_RELAY
    zone.wood = wood
    return zone


def _read_offset(table: Table) -> float:
    """What a fixed point, such as boiling water, has shown of a zone's thermocouple and converter, K."""
    if not table.has("offset"):
        return 0.0
    offset = Table(table.take("offset"), table.where + ("offset",), table.problems, table.unit)
    found = offset.difference("reads_high_by", -OFFSET_MOST_K, OFFSET_MOST_K)
    if not offset.has("reads_high_by"):
        advice = "is not stated; measure it, or remove the table"
        offset.add("missing", offset.where + ("reads_high_by",), advice)
    offset.text("date", True, 20)
    offset.text("found_by", False, 80)
    offset.finish()
    return 0.0 if found is None else k_from(found, table.unit)


def _read_pin(table: Table, key: str, pins: list[float], required: bool = True) -> bool:
    """One pin number, used only once in the whole rig; whether it is stated."""
    pin = table.number(key, 0, 48, "", required, True)
    if pin is None:
        return False
    if pin in pins:
        table.add(
            "pin_twice", table.where + (key,), "is %d, which another part uses; choose a free pin" % pin
        )
    pins.append(pin)
    return True


def _read(values: object, problems: list[Problem]) -> Rig | None:
    unit = check_head(values, SCHEMA, problems)
    if not unit:
        return None
    top = Table(values, (), problems, unit)
    top.take("schema")
    top.take("unit")
    name = top.text("name", True, 40)
    board = top.choice("board", BOARDS)
    mains = Table(top.take("mains"), ("mains",), problems, unit)
    volts = mains.number("volts", 100, 250, "V")
    hertz = mains.number("hertz", 50, 60, "Hz", True, True)
    if hertz is not None and hertz not in (50, 60):
        mains.add("range", ("mains", "hertz"), "is %d, allowed are 50 and 60 Hz; change it" % hertz)
    limit_a = mains.number("branch_limit_a", 0.5, 32, "A")
    mains.finish()
    stated_ms = _read_window(top)
    used: list[float] = []
    pins = Table(top.take("pins"), ("pins",), problems, unit)
    for key in PIN_NAMES:
        _read_pin(pins, key, used)
    feedback = _read_pin(pins, FEEDBACK_PIN, used, False)
    pins.finish()
    zones = _read_zones(top, volts, limit_a, used)
    if top.has("panel"):
        from .rig_panel import read_panel  # noqa: PLC0415 - a rig without a panel needs no memory for it

        read_panel(Table(top.take("panel"), ("panel",), problems, unit), used, _read_pin)
    window_ms = _window_ms(top, zones, stated_ms)
    slat_mm, blanket_mm = _read_layers(top)
    _read_fit(top)
    top.finish()
    if problems or name is None or board is None or limit_a is None:
        return None
    half_cycle_ms = 10 if hertz == 50 else 9
    for zone in zones:
        if not zone.gains:
            zone.gains = gains_for(window_ms)
    rig = Rig(name, board, unit, zones, window_ms, limit_a, half_cycle_ms)
    rig.slat_mm = slat_mm
    rig.blanket_mm = blanket_mm
    rig.feedback = feedback
    rig.watches = zones[0].watched
    return rig


def _read_window(top: Table) -> int:
    """The relay window as stated, ms; 0 where it is not."""
    if not top.has("control"):
        return 0
    control = Table(top.take("control"), ("control",), top.problems, top.unit)
    stated_ms = int(control.number("window_ms", 500, MECHANICAL_WINDOW_MS, "ms", False, True) or 0)
    if stated_ms % 100:
        control.add(
            "range", ("control", "window_ms"), "is %d, it must be a multiple of 100 ms; change it" % stated_ms
        )
    control.finish()
    return stated_ms


def _window_ms(top: Table, zones: list[Zone], stated_ms: int) -> int:
    """The relay window, ms: as stated, or the shortest that every relay can live with."""
    life_ms = max([zone.shortest_ms for zone in zones] + [0])
    if 0 < stated_ms < life_ms:
        top.add(
            "range",
            ("control", "window_ms"),
            "is %d ms, the relays last the stated hours with %d ms or more; leave it out or lower relay_hours"
            % (stated_ms, life_ms),
        )
    unstated = [zone for zone in zones if zone.mechanical and not zone.shortest_ms]
    needed_ms = MECHANICAL_WINDOW_MS if unstated else max(WINDOW_MS, life_ms)
    return stated_ms or needed_ms


def _read_fit(top: Table) -> None:
    """What logs have shown of the rig: for the simulator, which checks the numbers itself."""
    if not top.has("fit"):
        return
    table = Table(top.take("fit"), ("fit",), top.problems, top.unit)
    table.text("for_rig", True, 16)
    table.text("fitted_by", True, 80)
    table.words("runs", 8, 80)
    for key in ("values", "sigmas"):
        Table(table.take(key), ("fit", key), top.problems, top.unit)
    table.finish()


def _read_layers(top: Table) -> tuple[float, float]:
    """Thickness of slat and blanket; the rest of the stack is for the simulator, which checks it itself."""
    stack = top.take("stack")
    layers: dict[str, object] = {}
    if isinstance(stack, dict):
        layers = {key: stack[key] for key in ("slat_mm", "blanket_mm") if key in stack}
    table = Table(layers, ("stack",), top.problems, top.unit)
    slat_mm = table.number("slat_mm", 0, 3, "mm", False)
    blanket_mm = table.number("blanket_mm", 0.3, 6, "mm", False)
    return SLAT_MM if slat_mm is None else slat_mm, BLANKET_MM if blanket_mm is None else blanket_mm


def _read_zones(top: Table, volts: float | None, limit_a: float | None, used: list[float]) -> list[Zone]:
    """Every zone, with what must hold between them."""
    listed = top.take("zones")
    zones: list[Zone] = []
    if not isinstance(listed, (list, tuple)) or not 1 <= len(listed) <= MAX_ZONES:
        top.add("zones", ("zones",), "needs 1 to %d [[zones]] tables" % MAX_ZONES)
        return zones
    for i in range(len(listed)):
        zone = _read_zone(Table(listed[i], ("zones", i), top.problems, top.unit), volts, used)
        if zone is None:
            continue
        if zone.name in [other.name for other in zones]:
            top.add(
                "zone_twice", ("zones", i, "name"), 'is "%s" again; give each zone its own name' % zone.name
            )
        if limit_a is not None and zone.current_a > limit_a:
            top.add(
                "branch",
                ("zones", i, "power_w"),
                "draws %s A, the branch limit is %s A; use a smaller blanket or another circuit"
                % (number_text(zone.current_a), number_text(limit_a)),
            )
        if zones and zone.watched != zones[0].watched:
            text = "differs from the first zone's: a rig has relays for all its zones, or it only watches"
            top.add("mixed", ("zones", i, "relay"), text)
        zones.append(zone)
    return zones


def check(values: object) -> list[Problem]:
    """Everything wrong with a rig, in the order of the file; empty when it may be used.

    values: the mapping of rig.toml.
    """
    problems: list[Problem] = []
    _read(values, problems)
    return problems


def parse(values: object) -> Rig:
    """The checked rig.

    values: the mapping of rig.toml.
    Raises CheckError with every problem found.
    """
    problems: list[Problem] = []
    rig = _read(values, problems)
    if rig is None:
        raise CheckError(problems)
    return rig


def highest_target(rig: Rig, zone: int, unit: str) -> float:
    """Highest target a profile may ask of a zone, in a unit.

    rig: the checked rig. zone: position. unit: "C" or "F".
    """
    return in_unit(rig.zones[zone].ceiling_c - TARGET_MARGIN_K, unit)
