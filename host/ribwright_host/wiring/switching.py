"""Solid-state and mechanical zone relays, the heat they make, and the master contactor. Pure functions."""

from typing import Final

from .facts import CHOICE, COMPUTED, MEMORY, SEEN, Fact
from .load import MAINS_HIGH

BASE_MOST_C: Final = 80.0
JUNCTION_MOST_C: Final = 115.0
# Assumed of a panel relay: junction to base, and the joint to the sink.
JUNCTION_K_W: Final = 1.5
JOINT_K_W: Final = 0.2
# A small finned sink; no panel relay is left without one.
SMALL_SINK_K_W: Final = 8.0
# Drop of a thyristor pair, W per A: 1.0 is a first estimate, 1.5 what a maker's 1.5 V allows.
WATTS_PER_AMP: Final = 1.5
# A panel relay is bought at least so much larger than its load, for its life and its surges.
SSR_HEADROOM: Final = 2.0
SSR_SIZES_A: Final = (10.0, 25.0, 40.0, 50.0, 75.0)
RELAY_SIZES_A: Final = (10.0, 16.0, 20.0, 30.0)
# What the parts list allows each to take from 24 V, W.
COIL_W: Final = 12.0
BOARD_W: Final = 5.0
RELAY_COIL_W: Final = 2.0
SSR_INPUT_W: Final = 0.5
SUPPLY_USE: Final = 0.7
SUPPLY_SIZES_W: Final = (30.0, 60.0, 100.0)
CONTACTOR_SIZES_A: Final = (12.0, 16.0, 20.0, 25.0, 32.0, 40.0, 63.0)


def dissipation(amperes: float, watts_per_amp: float = WATTS_PER_AMP) -> Fact:
    """Heat of a solid-state relay that is on, W.

    amperes: through it, A. watts_per_amp: of it, W/A.
    """
    rule = f"{watts_per_amp:g} W per A"
    source = "makers' 1.0 to 1.5 W/A; 1.5 V at most"
    return Fact("heat of the relay", amperes * watts_per_amp, "W", rule, source, SEEN)


def heat_sink(dissipated_w: float, air_c: float) -> Fact:
    """Largest thermal resistance from the relay's base to the air, joint included, K/W.

    dissipated_w: W. air_c: inside the box, C.
    """
    rule = f"(80 C base - {air_c:g} C air) / heat"
    value = (BASE_MOST_C - air_c) / dissipated_w
    source = "panel relay maker: base below 80 C"
    return Fact("heat-sink with joint, at most", value, "K/W", rule, source, SEEN)


def heat_sink_by_junction(dissipated_w: float, air_c: float) -> Fact:
    """What the junction would allow by itself, K/W; the base governs.

    dissipated_w: W. air_c: inside the box, C.
    """
    value = (JUNCTION_MOST_C - air_c) / dissipated_w - JUNCTION_K_W - JOINT_K_W
    rule = "(115 C - air) / heat - 1.5 K/W junction to base - 0.2 K/W joint"
    return Fact("heat-sink by the junction", value, "K/W", rule, "relay maker's heat-sink guide", COMPUTED)


def sink_to_buy(allowed_k_w: float) -> Fact:
    """The heat-sink to ask for, K/W: half steps at or below the limit with its joint taken off.

    allowed_k_w: largest with the joint, K/W.
    """
    sink = allowed_k_w - JOINT_K_W
    value = int(sink * 2) / 2 if sink >= 0.5 else max(0.01, sink)
    rule = f"{allowed_k_w:.2f} K/W - {JOINT_K_W:g} K/W of joint, rounded down; never without a sink"
    source = "joint: maker's value for compound"
    return Fact("heat-sink to buy, at most", min(value, SMALL_SINK_K_W), "K/W", rule, source, COMPUTED)


def base_c(dissipated_w: float, sink_k_w: float, air_c: float) -> float:
    """Temperature of a relay's base, C.

    dissipated_w: W. sink_k_w: heat-sink, K/W, to which the joint is added. air_c: C.
    """
    return air_c + dissipated_w * (sink_k_w + JOINT_K_W)


def control_supply(mechanical: int, solid: int) -> Fact:
    """Power of the 24 V supply, W: contactor's coil, board, and every zone's relay at once.

    mechanical, solid: zone relays of each kind.
    """
    needed = (COIL_W + BOARD_W + RELAY_COIL_W * mechanical + SSR_INPUT_W * solid) / SUPPLY_USE
    value = next((size for size in SUPPLY_SIZES_W if size >= needed), needed)
    rule = f"{COIL_W:g} W coil, {BOARD_W:g} W board, relays; used to {100 * SUPPLY_USE:.0f} %"
    return Fact("control supply", value, "W", rule, "limits set in the parts list", CHOICE)


def solid_state(amperes: float) -> Fact:
    """Rating of a solid-state relay, A.

    amperes: rated current of its blanket, A.
    """
    needed = SSR_HEADROOM * MAINS_HIGH * amperes
    value = next((size for size in SSR_SIZES_A if size >= needed), needed)
    rule = "twice the current with the mains 10 % high; zero-cross, load voltage class above the mains"
    return Fact("solid-state relay", value, "A", rule, "sizes as commonly sold", MEMORY)


def mechanical(amperes: float) -> Fact:
    """Rating of a mechanical zone relay's contact, A.

    amperes: rated current of its blanket, A.
    """
    needed = 1.25 * MAINS_HIGH * amperes
    value = next((size for size in RELAY_SIZES_A if size >= needed), needed)
    rule = "1.25 x the current with the mains 10 % high, resistive (AC-1) rating"
    return Fact("relay contact", value, "A", rule, "sizes as commonly sold", MEMORY)


def life_hours(operations: float, window_ms: float) -> Fact:
    """Hours of heating until a mechanical relay has used its operations.

    operations: rated at this load. window_ms: relay window, ms; one operation in each.
    """
    value = operations * window_ms / 1000 / 3600
    return Fact("relay life", value, "h", "operations x window", "maker's operations at this load", COMPUTED)


def contactor(total_a: float) -> Fact:
    """Rating of the master contactor, A: it must break everything at once, with a shorted switch as well.

    total_a: rated currents of all blankets together, A.
    """
    needed = total_a * MAINS_HIGH
    value = next((size for size in CONTACTOR_SIZES_A if size >= needed), needed)
    rule = "all blankets at once with the mains 10 % high, category AC-1, two poles or more"
    return Fact("master contactor", value, "A", rule, "IEC 60947-4-1 category; sizes as sold", MEMORY)
