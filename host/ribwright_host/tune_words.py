"""What tuning found, in words and as one table for each zone; from the values of tune.figures_of()."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from rich.table import Table

from ribwright_board.core.units import in_unit, in_unit_difference

OURS = "ours"
# Short, for the picture too.
NAMES = {
    OURS: "ours",
    "zn_loop_pi": "Ziegler-Nichols loop PI",
    "zn_loop_pid": "Ziegler-Nichols loop PID",
    "zn_step_pi": "Ziegler-Nichols step PI",
    "zn_step_pid": "Ziegler-Nichols step PID",
    "cohen_coon_pi": "Cohen-Coon PI",
    "cohen_coon_pid": "Cohen-Coon PID",
    "tyreus_luyben_pi": "Tyreus-Luyben PI",
    "tyreus_luyben_pid": "Tyreus-Luyben PID",
    "simc_pi": "SIMC PI",
    "simc_pid": "SIMC PID",
    "amigo_pi": "AMIGO PI",
    "amigo_pid": "AMIGO PID",
}
SHORT_S = 1.0


def degrees(value_k: float, unit: str) -> str:
    """A difference for people.

    value_k: in K. unit: "C" or "F" to show.

    >>> degrees(0.5, "F")
    '0.90 F'
    """
    return f"{in_unit_difference(value_k, unit):.2f} {unit}"


def table(zone: Mapping[str, Any], unit: str) -> Table:
    """The comparison of one zone.

    zone: one of figures["zones"]. unit: "C" or "F" to show.
    """
    found = Table(title=f"\nzone {zone['name']}", title_justify="left", box=None, padding=(0, 2, 0, 0))
    found.add_column("gains", no_wrap=True)
    heads = (
        f"overshoot\n{unit}",
        "settled\ns",
        f"ripple\n{unit}",
        "never\nsettled",
        "gain\nmargin",
        "sensi-\ntivity",
    )
    for head in heads:
        found.add_column(head, justify="right")
    for one in zone["compared"]:
        found.add_row(
            NAMES[one["name"]],
            f"{in_unit_difference(one['overshoot_k_p95'], unit):.2f}",
            f"{one['settle_s_p95']:.0f}",
            f"{in_unit_difference(one['ripple_k_p95'], unit):.2f}",
            str(one["unsettled"]) if one["unsettled"] else "",
            f"{one['gain_margin']:.2f}",
            "swings" if one["sensitivity"] is None else f"{one['sensitivity']:.2f}",
            style="bold" if one["name"] == OURS else "",
        )
    return found


def lines(figures: Mapping[str, Any]) -> list[str]:
    """One head for the tables, and what stands below them.

    figures: as tune.tune_file().
    """
    unit, window_s = figures["unit"], figures["window_ms"] / 1000.0
    target = f"{in_unit(figures['target_c'], unit):.0f} {unit}"
    head = (
        f"SIMULATED: {figures['rig']}, from cold to {target}, relay window {window_s:g} s, "
        f"{figures['rigs']} rigs: as the file says and {figures['rigs'] - 1} drawn around it. "
        "On 95 % of them, at most:"
    )
    how = (
        "Every rule was told of the rig as its file says, without noise, and runs in the board's own law. "
        "Gain margin: by what all gains may be multiplied before the loop swings."
    )
    said = [head, how]
    for zone in figures["zones"]:
        said += _zone_lines(zone, unit, target, window_s, figures["rigs"])
    return said


def _zone_lines(zone: Mapping[str, Any], unit: str, target: str, window_s: float, rigs: int) -> list[str]:
    name, core = zone["name"], zone["firmware"]
    is_k, was_k = core["controller"], core["noisy"]
    agree = (
        f"{name}: the board's own controller overshoots {degrees(is_k['overshoot_k'], unit)} (search "
        f"{degrees(was_k['overshoot_k'], unit)}), ripple {degrees(is_k['ripple_k'], unit)} (search "
        f"{degrees(was_k['ripple_k'], unit)}): they agree."
    )
    said = [agree]
    short = zone["with_1_s_window"]
    if short is not None:
        long = zone["nominal"]
        said.append(
            f"{name}: what the window of {window_s:g} s costs, on the rig as the file says: overshoot "
            f"{degrees(long['overshoot_k'], unit)} instead of {degrees(short['overshoot_k'], unit)} with "
            f"{SHORT_S:g} s, ripple {degrees(long['ripple_k'], unit)} instead of "
            f"{degrees(short['ripple_k'], unit)}. A solid-state relay may have the short one."
        )
    if zone["much_duty"]:
        said.append(
            f"Warning: {name} needs {zone['duty']:.2f} of its power to hold {target}; little is left for the "
            "form and for wet wood."
        )
    if zone["never_reached"]:
        said.append(f"Warning: on {zone['never_reached']} of {rigs} rigs {name} never comes to {target}.")
    return said


def one_line(figures: Mapping[str, Any]) -> str:
    """The worst zone in one sentence.

    figures: as tune.tune_file().
    """
    unit = figures["unit"]
    worst = max(figures["zones"], key=lambda zone: float(zone["compared"][0]["overshoot_k_p95"]))
    ours = worst["compared"][0]
    core_k = max(zone["firmware"]["controller"]["overshoot_k"] for zone in figures["zones"])
    target = f"{in_unit(figures['target_c'], unit):.0f} {unit}"
    over, ripple = (degrees(ours[name], unit) for name in ("overshoot_k_p95", "ripple_k_p95"))
    return (
        f"gains written after {figures['trials']} simulated warm-ups to {target}: overshoot {over} or less "
        f"on 95 % of {figures['rigs']} rigs, ripple {ripple} (SIMULATED; the board's controller agrees: "
        f"{degrees(core_k, unit)} on the rig as its file says)"
    )
