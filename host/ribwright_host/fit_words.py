"""What a fit found, in plain words: what the log tells, what it tells in part, and what it cannot tell."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ribwright_board.core.units import in_unit, in_unit_difference
from ribwright_board.core.wood_figures import BAND_K

# Up to here the model follows the readings; from there on it misses something.
FOLLOWS, MISSES = 1.2, 2.0
HEADS = (
    ("identified", "The log tells:"),
    ("partly", "The log tells in part:"),
    ("not identified", "The log cannot tell, so these stay near what the tables say:"),
)
GUIDE = "A calibration run with a second thermocouple in a scrap of wood can: ribwright fit --guide"
NO_DENSITY = "state density_kg_m3 in the profile's [piece] and make the run again."
UNITS = {"1": "times the table's", "s": "s", "K": "K", "%": "points of moisture", "cells": "cells"}


def _kelvin(value_k: float, unit: str) -> str:
    return f"{in_unit_difference(value_k, unit):.2f} {'K' if unit == 'C' else 'F'}"


def _degrees(value_c: float, unit: str) -> str:
    return f"{in_unit(value_c, unit):.0f} {unit}"


def summary(figures: Mapping[str, Any], unit: str, *, written: bool, rig: str) -> list[str]:
    """What came of a fit, line by line.

    figures: as fit.figures_of(). unit: to show, "C" or "F". written: whether the rig file has it now. rig:
    the rig file's path.
    """
    lines = []
    if figures["simulated"]:
        lines.append(
            "SIMULATED runs: what follows is about the virtual rig, and is never written into a rig."
        )
    runs = figures["runs"]
    seconds = sum(run["seconds"] for run in runs)
    logs = "1 log" if len(runs) == 1 else f"{len(runs)} logs"
    lines.append(
        f"{figures['rig']}: {logs}, {seconds / 60:.1f} minutes of warm-up, {figures['evaluations']} replays."
    )
    lines.append(_residual(figures, unit))
    for verdict, head in HEADS:
        told = [one for one in figures["parameters"] if one["verdict"] == verdict]
        if told:
            lines.append(head)
            lines += [_parameter(one, len(runs)) for one in told]
    lines += _wood(figures, unit)
    lines += _estimate(figures, unit, written=written)
    if written:
        lines.append(f"Next: ribwright tune {rig}, since the simulator knows this rig better now.")
    elif not figures["simulated"]:
        lines.append("Nothing was written into the rig file; --write does that.")
    return lines


def _residual(figures: Mapping[str, Any], unit: str) -> str:
    residual_k, noise_k = figures["fit_residual_k"], figures["noise_k"]
    said = f"Left over between model and readings: {_kelvin(residual_k, unit)}"
    noise = f"the readings' own noise is {_kelvin(noise_k, unit)}"
    if residual_k <= FOLLOWS * noise_k:
        return f"{said}; {noise}: the model follows the log."
    if residual_k <= MISSES * noise_k:
        return f"{said}; {noise}: the model follows the log closely, not wholly."
    return (
        f"{said}; {noise}: the model MISSES something of this rig. Look at the picture; check sizes, powers "
        "and what lay in the stack."
    )


def _parameter(one: Mapping[str, Any], runs: int) -> str:
    where = f", {one['zone']}" if one["zone"] else ""
    where += f", log {one['run'] + 1}" if one["run"] >= 0 and runs > 1 else ""
    said = f"  {one['words']}{where}: {one['value']:.3g} +- {one['sigma']:.2g} {UNITS[one['unit']]}"
    return f"{said} (before: {one['prior']:.3g} +- {one['prior_sigma']:.2g})"


def _wood(figures: Mapping[str, Any], unit: str) -> list[str]:
    """How well the middle of the wood is known, which is what a bend is about."""
    lines = []
    for number, run in enumerate(figures["runs"]):
        band = run["middle_of_wood"]
        which = f"log {number + 1}" if len(figures["runs"]) > 1 else "this log"
        lines.append(
            f"The wood: when the thermocouple arrives in {which}, the middle of the wood is at about "
            f"{_degrees(band['middle_c'], unit)}, give or take {_kelvin(2.0 * band['sigma_k'], unit)} "
            f"(before the fit {_kelvin(2.0 * band['prior_k'], unit)}; two sigma)."
        )
        if run["wood_residual_k"] is not None:
            left = _kelvin(run["wood_residual_k"], unit)
            lines.append(f"  A second thermocouple lay in it; {left} left over there.")
    if all(run["wood_residual_k"] is None for run in figures["runs"]):
        lost = sorted({one["words"] for one in figures["parameters"] if one["wood"] and _lost(one)})
        if lost:
            lines.append(f"  A log of the thermocouple alone does not contain the wood: {', '.join(lost)}.")
        lines.append(f"  {GUIDE}")
    return lines


def _estimate(figures: Mapping[str, Any], unit: str, *, written: bool) -> list[str]:
    """What the second thermocouple says of the board's own estimate."""
    found = figures["estimate"]
    if found is None:
        if figures["runs"][0]["wood_zone"] is None:
            return []
        return [f"The board estimates nothing of this wood: {NO_DENSITY}"]
    nominal = _kelvin(BAND_K, unit)
    before, after = _kelvin(found["before_k"], unit), _kelvin(found["residual_k"], unit)
    said = f"The board's estimate of the middle of the wood, zone {found['zone']}: {before} off the second"
    lines = [f"{said} thermocouple as it was, {after} with what was found ({found['readings']} readings)."]
    lines += [_figure(one) for one in found["figures"]]
    wood = f"{found['species']} of {found['thickness_mm']:g} mm, {found['wetted']}"
    if found["useful"]:
        verb = "goes" if written else "would go"
        band = _kelvin(found["band_k"], unit)
        lines.append(f"  For wood like this scrap ({wood}) the board {verb} by these, give or take {band};")
        lines.append(
            f"  for wood of another thickness or wetness by the nominal ones, give or take {nominal}."
        )
    elif all(one["verdict"] == "not identified" for one in found["figures"]):
        lines.append("  The log tells none of them: [zones.wood] is left as it was.")
    else:
        off = _kelvin(found["off_k"], unit)
        lines.append(
            f"  It may still be off by {off}, more than the nominal {nominal}: [zones.wood] is left as"
        )
        lines.append("  it was. Look at the picture; check [piece], the stopwatch and where the tip lay.")
    return lines


def _figure(one: Mapping[str, Any]) -> str:
    said = f"  {one['words']} ({one['name']}): {one['before']:.3g} -> {one['value']:.3g} {one['unit']}"
    if one["verdict"] == "not identified":
        return f"{said}; the log cannot tell it, so it is the nominal one"
    return f"{said}, +- {one['sigma']:.2g}{', told in part' if one['verdict'] == 'partly' else ''}"


def _lost(one: Mapping[str, Any]) -> bool:
    return bool(one["verdict"] == "not identified")
