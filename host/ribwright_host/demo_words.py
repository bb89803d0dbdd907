"""What the demo says of its plan, of what came of it, and where to look."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from .demo_folder import PROFILE
from .demo_pair import Pair
from .plan.sentences import degrees, margin, place_words


def plan_lines(figures: Mapping[str, Any], out: Path, took: str) -> list[str]:
    """The plan in a few lines.

    figures: of the plan. out: folder of the demo. took: how long it took, in words.
    """
    unit, piece = figures["unit"], figures["piece"]
    bends = " and ".join(
        f"{place_words(figures, number)} at {degrees(bend['tried']['target_c'], unit)}"
        for number, bend in enumerate(figures["bends"])
    )
    set_to = f"{degrees(figures['set_c'], unit)} for {figures['set_minutes']:.0f} min"
    wood = f"{piece['species']}, {piece['thickness_mm']:g} mm, {piece['wetted']}"
    return [
        f"plan     {wood}: {bends}, set at {set_to}; grade {figures['grade']}",
        f"         found on {figures['rigs']} simulated rigs; {out / PROFILE} has the reasons; {took}",
    ]


def shutdowns(count: int) -> str:
    """How often a run was shut down, in words.

    count: from 0.

    >>> shutdowns(0), shutdowns(1)
    ('0 shutdowns', '1 shutdown')
    """
    return f"{count} shutdown{'' if count == 1 else 's'}"


def agreement_lines(plan: Mapping[str, Any], softness: Mapping[str, Sequence[float]]) -> list[str]:
    """What the plan said of the wood while it is bent, beside what it was on the virtual rig.

    plan: its figures. softness: least margin above softening of each bend, K, by hand.
    """
    unit = plan["unit"]
    lines = [
        "agree    wood above its softening while bent, by an unverified curve; true wood of the simulation:"
    ]
    for number, bend in enumerate(plan["bends"]):
        low, high = (margin(bend["least_k"][end], unit) for end in ("low", "high"))
        was = ", ".join(f"{hand} {margin(one[number], unit)}" for hand, one in softness.items())
        lines.append(f"         {place_words(plan, number)}: planned from {low} to {high}; {was}")
    return lines


def closing_lines(figures: Mapping[str, Any], pair: Pair) -> list[str]:
    """What a person should know at the end: how it went, where the report is, what to look at.

    figures: of the demo. pair: of its notebook.
    """
    sides = {"bass": figures, "treble": figures["treble"]}
    minutes = sum(one["simulated_s"] for one in sides.values()) / 60
    overshoot_k, ripple_k = (max(one[key] for one in sides.values()) for key in ("overshoot_k", "hold_rms_k"))
    trips = sum(one["trips"] for one in sides.values())
    done = f"two sides, {minutes:.0f} simulated minutes, {shutdowns(trips)} (SIMULATED: nothing was heated)"
    held = f"overshoot {overshoot_k:.2f} K, ripple while holding {ripple_k:.2f} K at most"
    return [
        f"done     {done}; all of it took {figures['demo_wall_s']:.0f} s",
        f"         {held}, on the plant's true temperature",
        *(f"         {line}" for line in _doubt_lines(sides)),
        f"look at  {pair.page}, the pair on two pages to print: the sentence on top,",
        "         whether both curves lie over each other, then each figure beside its limit.",
        "         The gaps after rest are invented.",
        "then     in the same folder: profile_plan.html, why the profile is as it is; bass and treble,",
        "         each with report.html and with strip.svg, how the strip must lie; again.toml, what",
        "         side two took over from side one",
    ]


def _doubt_lines(sides: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """What the board doubted on the way, so that nobody looks for a fault that was not simulated."""
    return [
        f"On the {hand} side the board doubted {zone} ({doubt}) and went on: wet wood takes less as it dries."
        for hand, one in sides.items()
        for zone, doubt in one["doubts"]
        if doubt == "hold_power"
    ]
