"""What a rehearsal found, in plain words on one screen."""

import textwrap
from collections.abc import Mapping
from typing import Any

from ribwright_board.core.errors import FAULTS
from ribwright_board.core.units import in_unit, in_unit_difference

Band = Mapping[str, float]

# Stands behind every word that rests on an unverified bridge.
MARK = "*"
WIDTH = 100
SOFTNESS = {"soft": "soft enough", "partly soft": "not soft enough on every rig", "stiff": "too stiff"}


def temperature(value_c: Band | None, unit: str) -> str:
    """A band of temperatures for people.

    value_c: in C. unit: "C" or "F" to show.

    >>> temperature({"low": 95.0, "mid": 100.0, "high": 104.0}, "F")
    '212 F (203 to 219)'
    """
    if value_c is None:
        return "never"
    low, mid, high = (in_unit(value_c[end], unit) for end in ("low", "mid", "high"))
    return f"{mid:.0f} {unit} ({low:.0f} to {high:.0f})"


def margin(value_k: Band | None, unit: str) -> str:
    """A band of margins above softening for people.

    value_k: in K. unit: "C" or "F" to show.

    >>> margin({"low": -12.0, "mid": 5.0, "high": 20.0}, "C")
    '5 degrees C above softening (12 below to 20 above)'
    """
    if value_k is None:
        return "never"

    def side(value: float) -> str:
        shown = in_unit_difference(value, unit)
        return f"{abs(shown):.0f} {'below' if shown < 0 else 'above'}"

    size, where = side(value_k["mid"]).split()
    return f"{size} degrees {unit} {where} softening ({side(value_k['low'])} to {side(value_k['high'])})"


def _number(value: Band, digits: int) -> str:
    return f"{value['mid']:.{digits}f} ({value['low']:.{digits}f} to {value['high']:.{digits}f})"


def _heated(figures: Mapping[str, Any], stage: Mapping[str, Any]) -> list[str]:
    """The columns a stage heats as the zone in front."""
    zones = set(stage["zones"])
    heated = [name for name in figures["columns"] if zones & set(figures["over"][name])]
    return heated or list(figures["columns"])


def _grouped(words: Mapping[str, str]) -> list[str]:
    """Columns of which the same can be said, said once."""
    groups: dict[str, list[str]] = {}
    for name, text in words.items():
        groups.setdefault(text, []).append(name)
    return [f"{' and '.join(names)} {text}" for text, names in groups.items()]


def _stage(figures: Mapping[str, Any], stage: Mapping[str, Any], unit: str) -> str:
    head = f"{stage['number']:2d}. {stage['name']}"
    rigs = figures["plants"] + 1
    if not stage["reached"]:
        return f"{head}: no rig comes to it."
    some = "" if stage["reached"] == rigs else f", {stage['reached']} of {rigs} rigs come to it"
    words = {name: temperature(stage["columns"][name]["peak_c"], unit) for name in _heated(figures, stage)}
    return f"{head}, {stage['minutes']['mid']:.1f} min{some}: hottest wood {'; '.join(_grouped(words))}"


def _bend(figures: Mapping[str, Any], bend: Mapping[str, Any], unit: str) -> list[str]:
    stage = figures["stages"][bend["stage"] - 1]
    where = " and ".join(bend["columns"])
    rigs = stage["reached"]
    if bend["press_margin_k"] is None:
        return [f"Bending, {stage['name']} ({where}): no rig comes to it."]
    pressed = margin(bend["press_margin_k"], unit)
    lines = [
        f"Bending, {stage['name']} ({where}): {SOFTNESS[bend['word']]}{MARK} when first pressed, {pressed}."
    ]
    if bend["never_soft"]:
        lines.append(
            f"    On {bend['never_soft']} of {rigs} rigs it stays stiffer than that to the end of the hold: "
            "wait at heat before pressing, go hotter, or start damper."
        )
    elif bend["word"] != "soft" and bend["soft_after_s"]:
        lines.append(
            f"    Soft on every rig {bend['soft_after_s']['high']:.0f} s after arrival: wait so long."
        )
    return lines


def _colour(figures: Mapping[str, Any], unit: str) -> str:
    words = {}
    for name, colour in figures["colours"].items():
        low, mid, high = colour["words"]
        said = mid if low == high else f"{low} to {high}"
        minutes = colour["minutes_at_177_c"]
        words[name] = f"{said} ({minutes['mid']:.1f} min, at most {minutes['high']:.1f})"
    at = f"{in_unit(177.0, unit):.0f} {unit}"
    return f"Colour{MARK}, as minutes at {at}: {'; '.join(_grouped(words))}."


def _stretch(figures: Mapping[str, Any]) -> list[str]:
    stretch = figures["stretch"]
    if stretch is None:
        hint = "add tightest_radius_mm to [piece] to have it judged"
        return [f"Stretch at the tightest place: not known; {hint}."]
    word = {"within": "within", "near": "near", "over": "OVER"}[stretch["verdict"]]
    ratio = stretch["radius_mm"] / stretch["thickness_mm"]
    least, most = stretch["rule_thicknesses"]
    rule = f"{ratio:.0f} thicknesses, the rule without a strap says no less than {least:.0f} to {most:.0f}"
    place = f"{stretch['column']}, {stretch['radius_mm']:g} mm inside radius ({rule})"
    bears = f"{word} the {_number(stretch['limit_percent'], 1)} % it bears{MARK} when first pressed"
    lines = [f"Stretch in the {place}: {stretch['strain_percent']:.2f} %, {bears}."]
    if stretch["verdict"] != "within":
        lines.append(
            f"    Alone it bears about {stretch['least_radius_mm']:.0f} mm. Hold the outer slat tight, and "
            f"it takes the stretch: the inner face is then pressed {stretch['strap_percent']:.1f} %; cold "
            "wood bears about 5 %, hot wet wood far more."
        )
    return lines


def _taken(figures: Mapping[str, Any], unit: str) -> list[str]:
    """Whether the wood ends its last set stage below softening: then the bend has been dried in."""
    sets = [stage for stage in figures["stages"] if stage["kind"] == "set" and stage["reached"]]
    if not sets:
        return []
    words = {}
    for name in _heated(figures, sets[-1]):
        end = sets[-1]["columns"][name]
        words[name] = f"{_number(end['moisture_percent'], 0)} % water, {margin(end['margin_k'], unit)}"
    return [f"Set{MARK}, at its end: {'; '.join(_grouped(words))}."]


def _trips(figures: Mapping[str, Any]) -> str:
    rigs = figures["plants"] + 1
    found = []
    for trips in figures["trips"]:
        advice = FAULTS[trips["code"]][1] if trips["code"] in FAULTS else "a check failed at the start"
        when = f"in stage {trips['stage']}" if trips["stage"] else "before the first stage"
        found.append(f"{trips['rigs']} of {rigs} {when} by {trips['code']}, {trips['zone']} ({advice})")
    if figures["unfinished"]:
        found.append(f"{figures['unfinished']} of {rigs} never came to an end")
    return f"Shut down: {'; '.join(found)}." if found else "Shut down: none of the rigs."


def summary(figures: Mapping[str, Any], unit: str, chosen: str = "") -> list[str]:
    """What the wood reaches, whether it is soft while it is bent, colour, stretch, trips: one screen.

    figures: as rehearse.figures_of(). unit: "C" or "F" to show. chosen: how the rig was chosen, in words.
    """
    rig = figures["rig"] + (f" ({chosen})" if chosen else "")
    rigs = figures["plants"] + 1
    drawn = f"{rigs} rigs: as the file says and {figures['plants']} drawn around it"
    lines = [
        f"SIMULATED: {figures['profile']} on {rig}, {drawn}.",
        "Middle of the rigs; in brackets, 5 to 95 % of them.",
        "The rehearsed maker presses 5 s after a cue and goes on after 30 s.",
    ]
    lines += [_stage(figures, stage, unit) for stage in figures["stages"] if stage["kind"] != "cool"]
    for bend in figures["bends"]:
        lines += _bend(figures, bend, unit)
    lines += _taken(figures, unit)
    lines.append(_colour(figures, unit))
    lines += _stretch(figures)
    lines.append(_trips(figures))
    lines.append(f"{MARK} rests on an unverified bridge between published facts, and on the water assumed:")
    lines.append('  try it on an offcut before you trust it. Which bridges: "unverified" in the JSON file.')
    return [part for line in lines for part in textwrap.wrap(line, WIDTH, subsequent_indent="    ")]
